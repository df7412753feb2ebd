"""The run label: what its code says, written and read."""

import re
from dataclasses import dataclass

from scoring.errors import SettingsError
from scoring.metrics import FaceName

PREFIX = "coupon"
AXES = ("x", "y")
_RUN = re.compile(r"[A-Z0-9-]{1,32}")


@dataclass(frozen=True)
class Label:
    """One photo's label: the run it shows, the blade's axis and the face.

    Raises :class:`SettingsError` for a run that is not 1 to 32 of A-Z, 0-9 and ``-``, for an axis
    other than ``x`` or ``y``, and for an unknown face.
    """

    run: str
    axis: str
    face: FaceName

    def __post_init__(self) -> None:
        if not _RUN.fullmatch(self.run):
            raise SettingsError(
                f"The run is {self.run!r}; a run's name is 1 to 32 characters out of A to Z, 0 to "
                "9 and '-', for example B7-012."
            )
        if self.axis not in AXES:
            raise SettingsError(f"The axis is {self.axis!r}; it must be x or y.")
        if self.face not in tuple(FaceName):
            raise SettingsError(f"The face is {self.face!r}; it must be ringdown or flow.")


def label_text(run: str, axis: str, face: str) -> str:
    """The text of the label's code, ``coupon:RUN:AXIS:FACE``.

    Raises :class:`SettingsError` as :class:`Label` does.
    """
    label = Label(run, axis, _face(face))
    return ":".join((PREFIX, label.run, label.axis, label.face.value))


def parse_label(text: str) -> Label:
    """The label that ``text`` says; the inverse of :func:`label_text`.

    Raises :class:`SettingsError` for any other text.
    """
    parts = text.split(":")
    if len(parts) != 4 or parts[0] != PREFIX:
        raise SettingsError(
            f"The code says {text[:80]!r}, not coupon:RUN:AXIS:FACE. Lay a label from "
            "'coupon make labels' in the card's label bay."
        )
    return Label(parts[1], parts[2], _face(parts[3]))


def _face(face: str) -> FaceName:
    try:
        return FaceName(face)
    except ValueError as error:
        raise SettingsError(f"The face is {face!r}; it must be ringdown or flow.") from error
