"""The run label: what its code says, written and read."""

import re
import unicodedata
from dataclasses import dataclass

from scoring.errors import SettingsError
from scoring.metrics import FaceName
from scoring.remedies import PRINT_LABEL

PREFIX = "coupon"
AXES = ("x", "y")
MOST_CHARACTERS = 32
"""A longer run name would make the label's code too fine to photograph."""
_RUN = re.compile(rf"[A-Z0-9-]{{1,{MOST_CHARACTERS}}}")


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
        require_run_name(self.run)
        if self.axis not in AXES:
            raise SettingsError(f"The axis is {self.axis!r}; it must be x or y.")
        if self.face not in tuple(FaceName):
            raise SettingsError(f"The face is {self.face!r}; it must be ringdown or flow.")


def require_run_name(name: str) -> None:
    """Nothing, for a name that a label can carry: 1 to 32 of A-Z, 0-9 and ``-``.

    Every new run must have such a name; stores of earlier versions hold others. Raises
    :class:`SettingsError` that offers the nearest one.
    """
    if not _RUN.fullmatch(name):
        plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().upper()
        near = re.sub("[^A-Z0-9]+", "-", plain)[:MOST_CHARACTERS].strip("-") or "B7-012"
        raise SettingsError(
            f"The run is {name!r}; a run's name is 1 to {MOST_CHARACTERS} characters out of A to "
            f"Z, 0 to 9 and '-', so that a label can carry it: for example {near}."
        )


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
        raise SettingsError(f"The code says {text[:80]!r}, not coupon:RUN:AXIS:FACE. {PRINT_LABEL}")
    return Label(parts[1], parts[2], _face(parts[3]))


def _face(face: str) -> FaceName:
    try:
        return FaceName(face)
    except ValueError as error:
        raise SettingsError(f"The face is {face!r}; it must be ringdown or flow.") from error
