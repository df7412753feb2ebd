"""Read PNG (ISO/IEC 15948), 8 and 16 bits."""

import imagecodecs
import numpy as np
from PIL import Image

from scoring.errors import PhotoUnreadableError
from scoring.photo.compressed import open_header
from scoring.photo.exif import read_exif
from scoring.photo.srgb import srgb_curve
from scoring.photo.stored import StoredPicture
from scoring.photo.tone import ToneCurve, power_curve, profile_curve

SIGNATURE = b"\x89PNG\r\n\x1a\n"


def read_png(data: bytes) -> StoredPicture:
    """Grey or RGB, with or without alpha, 8 or 16 bits (fewer are widened to 8).

    Raises :class:`PhotoUnreadableError` for a file cut off before its end.
    """
    image = open_header(data, ("PNG",))
    _check_end(data)
    samples = np.asarray(imagecodecs.png_decode(data))
    facts = read_exif(image.getexif())
    full_scale = int(np.iinfo(samples.dtype).max)
    return StoredPicture(
        format="PNG",
        samples=samples,
        curve=_curve(image),
        full_scale=full_scale,
        clip_level=full_scale,
        orientation=facts.orientation,
        focal_35mm=facts.focal_35mm,
    )


def _check_end(data: bytes) -> None:
    """Walk the chunks to IEND: libpng is content once it has its pixels."""
    at = len(SIGNATURE)
    while at + 12 <= len(data):
        length, kind = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8]
        if kind == b"IEND":
            return
        at += 12 + length
    raise PhotoUnreadableError("the file ends before the picture does. Copy it again.")


def _curve(image: Image.Image) -> ToneCurve:
    """The order of precedence in the standard: profile, sRGB chunk, gAMA chunk."""
    info = image.info
    if info.get("icc_profile"):
        return profile_curve(info["icc_profile"])
    gamma = info.get("gamma")
    # 0.45455 is what the standard tells writers of sRGB to put there, so it is taken as sRGB.
    if "srgb" in info or not gamma or abs(gamma - 0.45455) < 0.0005:
        return srgb_curve
    return power_curve(1 / gamma)
