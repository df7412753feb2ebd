"""Everything that can stop a command, as one small tree.

Each class has a stable ``code`` (it stands in the JSON output) and carries a message that says
what was found and what to do about it.
"""

from typing import ClassVar


class ScoringError(Exception):
    """Base of every error that this package raises on purpose."""

    code: ClassVar[str] = "scoring-error"


class PhotoError(ScoringError):
    """The file, or the picture in it, cannot be measured."""

    code = "photo-error"


class PhotoUnreadableError(PhotoError):
    """Not a picture, a broken or cut-off file, or a format that no reader knows."""

    code = "photo-unreadable"


class PhotoBlurredError(PhotoError):
    """Edges in the photo are too soft for the ripple's wavelengths."""

    code = "photo-blurred"


class PhotoTooCoarseError(PhotoError):
    """Fewer than the smallest allowed pixels per millimetre on the face."""

    code = "photo-too-coarse"


class PhotoClippedError(PhotoError):
    """Too much of the face is at full scale or at black."""

    code = "photo-clipped"


class RegistrationError(ScoringError):
    """The card or the coupon could not be placed."""

    code = "registration-error"


class CardNotFoundError(RegistrationError):
    """No marker of the card was recognised."""

    code = "card-not-found"


class TooFewMarkersError(RegistrationError):
    """Some markers were recognised, but not enough of them agree with the card."""

    code = "too-few-markers"


class CornersWrongError(RegistrationError):
    """The corners pointed at are not those of a coupon's face."""

    code = "corners-wrong"


class CouponNotFoundError(RegistrationError):
    """The card is there, the coupon is not."""

    code = "coupon-not-found"


class CouponOutOfBayError(RegistrationError):
    """The coupon lies too far from its bay, or too much askew."""

    code = "coupon-out-of-bay"


class WrongFaceError(RegistrationError):
    """The photo shows another face than the one asked for, or than its label says."""

    code = "wrong-face"


class LampError(ScoringError):
    """The facets do not separate: the lamp is too high, or shines along the ripple; or, on the flow
    face, it is so low that layers shade each other."""

    code = "lamp-unsuitable"


class NoDesignedRippleError(ScoringError):
    """The face does not carry the check blade's designed ripple."""

    code = "no-designed-ripple"


class PairError(ScoringError):
    """Two photos do not make a pair."""

    code = "pair-error"


class SameLampError(PairError):
    """In both photos the lamp stands on the same side."""

    code = "pair-same-lamp"


class DifferentCouponsError(PairError):
    """The two photos do not show the same coupon."""

    code = "pair-different-coupons"


class SettingsError(ScoringError):
    """A setting is missing, absurd, or in an unknown unit."""

    code = "bad-settings"


class LabelNeededError(SettingsError):
    """Only a label could tell the photo's run, and none was read."""


class SideNotFoundError(SettingsError):
    """No measured print is on one side of a comparison; the message lists the values there are."""

    code = "side-not-found"


class StoreError(ScoringError):
    """The run store cannot do what was asked."""

    code = "store-error"


class RunNotFoundError(StoreError):
    """No run has that name."""

    code = "run-not-found"


class MissingPackageError(ScoringError):
    """A library, or a system package that it needs, is not installed."""

    code = "missing-package"
