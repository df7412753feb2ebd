"""Read HEIC and other HEIF (ISO/IEC 23008-12), 8 to 12 bits."""

import numpy as np
import pillow_heif
from PIL import Image

from scoring.errors import PhotoUnreadableError
from scoring.photo.exif import ExifFacts, read_exif
from scoring.photo.srgb import srgb_curve
from scoring.photo.stored import StoredPicture, check_size
from scoring.photo.tone import ToneCurve, bt709_curve, linear_curve, profile_curve

# Transfer characteristics by code point, ITU-T H.273 table 3. Unspecified (2) is taken as sRGB.
CURVES: dict[int, ToneCurve] = {
    1: bt709_curve,
    2: srgb_curve,
    6: bt709_curve,
    8: linear_curve,
    13: srgb_curve,
    14: bt709_curve,
    15: bt709_curve,
}

JPEGS_MATRICES = (5, 6)
"""Matrix coefficients of luma as JFIF has it (Rec. ITU-R BT.601), ITU-T H.273 table 4."""


def read_heif(data: bytes) -> StoredPicture:
    """The file's primary picture, turned as the file says; samples deeper than 8 bits as 16.

    Raises :class:`PhotoUnreadableError` for a file cut off before its end, and for a picture
    graded for a bright screen (PQ, HLG), whose code values are not light of the scene.
    """
    check_boxes(data)
    picture = pillow_heif.open_heif(data, convert_hdr_to_8bit=False)
    check_size(*picture.size)
    samples = np.asarray(picture)
    bits = int(picture.info.get("bit_depth") or 8)
    # Deeper samples are shifted up to fill 16 bits, with zeros below.
    full_scale = 255 if samples.dtype == np.uint8 else ((1 << bits) - 1) << (16 - bits)
    facts = ExifFacts()
    if picture.info.get("exif"):
        exif = Image.Exif()
        exif.load(picture.info["exif"])
        facts = read_exif(exif)
    return StoredPicture(
        format="HEIF",
        samples=samples,
        curve=_curve(picture),
        full_scale=full_scale,
        clip_level=full_scale - (full_scale >> 8),
        # The file's own rotation has been applied; EXIF's tag repeats it and must not count twice.
        orientation=1,
        focal_35mm=facts.focal_35mm,
        keeps_luma=bits == 8 and _has_jpegs_luma(picture.info.get("nclx_profile") or {}),
    )


def check_boxes(data: bytes) -> None:
    """Raise :class:`PhotoUnreadableError` where a box of the file (ISO/IEC 14496-12) is cut off."""
    at = 0
    while at < len(data):
        size, header = int.from_bytes(data[at : at + 4], "big"), 8
        if size == 1:
            size, header = int.from_bytes(data[at + 8 : at + 16], "big"), 16
        if size == 0:  # to the end of the file
            return
        if size < header or at + size > len(data):
            raise PhotoUnreadableError(
                f"the file ends after {len(data)} bytes, before the picture does. Copy it again."
            )
        at += size


def _has_jpegs_luma(coding: dict[str, int]) -> bool:
    whole_range = bool(coding.get("full_range_flag"))
    return whole_range and coding.get("matrix_coefficients") in JPEGS_MATRICES


def _curve(picture: pillow_heif.HeifFile) -> ToneCurve:
    if picture.info.get("icc_profile"):
        return profile_curve(picture.info["icc_profile"])
    coded = (picture.info.get("nclx_profile") or {}).get("transfer_characteristics", 2)
    if coded not in CURVES:
        raise PhotoUnreadableError(
            f"the picture is graded for a bright screen (transfer characteristics {coded}). Turn "
            "that off in the camera, or export it as JPEG."
        )
    return CURVES[coded]
