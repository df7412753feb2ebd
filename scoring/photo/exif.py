"""Orientation, focal length and colour space out of EXIF (CIPA DC-008)."""

import math
import struct
from dataclasses import dataclass

from PIL import Image

ORIENTATION = 0x0112
EXIF_IFD = 0x8769
INTEROP_IFD = 0xA005
FOCAL_LENGTH_IN_35MM_FILM = 0xA405
INTEROP_INDEX = 0x0001


@dataclass(frozen=True)
class ExifFacts:
    """``orientation`` 1 to 8; ``focal_35mm`` in mm or ``None``; ``wide_gamut`` after DCF option."""

    orientation: int = 1
    focal_35mm: float | None = None
    wide_gamut: bool = False


def focal_35mm_of(value: object) -> float | None:
    """The focal length in mm, or ``None`` where EXIF says unknown (0) or an absurd number."""
    if isinstance(value, tuple) and len(value) == 1:
        value = value[0]
    if not isinstance(value, int | float) or not math.isfinite(value):
        return None
    return float(value) if 4 <= value <= 1200 else None


def read_exif(exif: Image.Exif) -> ExifFacts:
    """What ``exif`` says; an EXIF block that is absent or broken says nothing.

    A photo is not refused for it: the picture is whole, only the camera's notes are lost.
    """
    try:
        orientation = exif.get(ORIENTATION, 1)
        focal = exif.get_ifd(EXIF_IFD).get(FOCAL_LENGTH_IN_35MM_FILM)
        index = exif.get_ifd(INTEROP_IFD).get(INTEROP_INDEX)
    except (ValueError, SyntaxError, KeyError, TypeError, OSError, struct.error):
        return ExifFacts()
    return ExifFacts(
        orientation=orientation if isinstance(orientation, int) else 1,
        focal_35mm=focal_35mm_of(focal),
        wide_gamut=str(index).strip("\0 ") == "R03",
    )
