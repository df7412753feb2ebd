"""Measure two photos of one coupon as a pair: lamp left, lamp right."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TypeVar

from scoring.errors import DifferentCouponsError, ScoringError, WrongFaceError
from scoring.flags import Flag, each_once, raised
from scoring.geometry import GEOMETRY_REVISION
from scoring.label import Label
from scoring.measure import PhotoMeasurement, place_photo, placing_flags, tell_registration
from scoring.measurement import Measurement, Registration
from scoring.metrics import FACE_WORDS, FaceName
from scoring.motion import Motion
from scoring.picture import draw_face
from scoring.registration.place import PlacedCoupon, rectify_face
from scoring.ripple.light import light_face, require_gain
from scoring.ripple.pair import join_faces
from scoring.ripple.ringdown import read_plain, tell_ripple
from scoring.ripple.search import find_components
from scoring.ripple.stain import allow_leak, find_stain, require_one_coupon
from scoring.shading.calibrate import calibrate_together

Step = TypeVar("Step")


def measure_pair(
    photos: tuple[Path | bytes, Path | bytes],
    *,
    names: tuple[str, str],
    motion: Motion | Callable[[Label | None], Motion],
    picture: bool = True,
) -> PhotoMeasurement:
    """Measure the ring-down face that two photos show, the lamp on opposite sides.

    Either photo may come first. ``motion`` and ``picture`` are as for :func:`measure_photo`, and so
    are the errors, the photo's name before their message. Raises :class:`SameLampError` where the
    lamp was not moved, and :class:`DifferentCouponsError` where labels or the layers' own pattern
    contradict.
    """
    (one, one_label), (other, other_label) = (
        _place(photo, name) for photo, name in zip(photos, names, strict=True)
    )
    label = _one_label((one_label, other_label), names)
    found = motion(label) if callable(motion) else motion
    rectified = rectify_face(one, whole=picture)
    read_one = _named(names[0], lambda: read_plain(one, rectified, found))
    read_other = _named(
        names[1], lambda: read_plain(other, rectify_face(other, whole=False), found)
    )
    by_one, by_other = calibrate_together((read_one.take, read_other.take))
    lit_one = light_face(read_one, by_one, found)
    lit_other = light_face(read_other, by_other, found)
    for name, lit in zip(names, (lit_one, lit_other), strict=True):
        _named(name, partial(require_gain, lit.gain))
    joined = join_faces(lit_one, lit_other)
    require_one_coupon(joined)
    stain = find_stain(joined, find_components(joined.lit.problem).solution)
    lit = allow_leak(joined.lit, stain)
    ring = tell_ripple(
        lit,
        find_components(lit.problem),
        found,
        blur_mm=max(one.blur_mm, other.blur_mm),
    )
    places = [tell_registration(placed) for placed in (one, other)]
    measurement = Measurement(
        photo=names[0],
        face=FaceName.RINGDOWN,
        run=label.run if label else None,
        axis=label.axis if label else None,
        registration=Registration(
            markers=min(p.markers for p in places),
            residual_mm=max(p.residual_mm for p in places),
            mm_per_px=max(p.mm_per_px for p in places),
        ),
        metrics=ring.metrics,
        modes=ring.modes,
        flags=each_once(
            placing_flags(one, label),
            placing_flags(other, label),
            ring.flags,
            raised({Flag.STAIN: stain.stands_out}),
        ),
        trace=ring.trace,
        geometry_revision=GEOMETRY_REVISION,
        pair=names[1],
    )
    face_jpeg = draw_face(rectified, shift_mm=lit_one.facets.shift_mm) if picture else b""
    return PhotoMeasurement(measurement, face_jpeg)


def _place(photo: Path | bytes, name: str) -> tuple[PlacedCoupon, Label | None]:
    placed, label = _named(name, lambda: place_photo(photo, name=name, face=None))
    if placed.face is not FaceName.RINGDOWN:
        raise WrongFaceError(
            f"{name}: the photo shows the {FACE_WORDS[placed.face]} face. Two lamps tell ripples "
            "from stains, so a pair shows the ring-down face; measure gaps from one photo each."
        )
    return placed, label


def _named(name: str, step: Callable[[], Step]) -> Step:
    """What ``step`` gives; its errors say which of the two photos they speak of."""
    try:
        return step()
    except ScoringError as error:
        said = str(error)
        for known in (name, Path(name).name):  # some name the photo, or its file, themselves
            said = said.removeprefix(f"{known}: ")
        raise type(error)(f"{name}: {said}") from error


def _one_label(labels: tuple[Label | None, Label | None], names: tuple[str, str]) -> Label | None:
    """The label of either photo; the shadow may hide the other's."""
    one, other = labels
    if one and other and one != other:
        raise DifferentCouponsError(
            f"The labels name different coupons: {names[0]} says run {one.run}, axis {one.axis}, "
            f"{names[1]} run {other.run}, axis {other.axis}. A pair is two photos of one coupon; "
            "measure different coupons one by one."
        )
    return one or other
