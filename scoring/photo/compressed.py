"""Read JPEG, and the other compressed pictures of the web."""

import io
import warnings

import numpy as np
import simplejpeg  # type: ignore[import-untyped]
from PIL import Image, UnidentifiedImageError

from scoring.errors import PhotoUnreadableError
from scoring.photo.exif import ExifFacts, read_exif
from scoring.photo.srgb import srgb_curve
from scoring.photo.stored import StoredPicture, check_size
from scoring.photo.tone import ToneCurve, power_curve, profile_curve

# Lossy coding smears full scale over the code value below it.
LOSSY_CLIP_LEVEL = 254
# The wide-gamut space of DCF's option (CIPA DC-009) has the exponent 2 + 51/256; from memory.
WIDE_GAMUT_EXPONENT = 563 / 256


def open_header(data: bytes, formats: tuple[str, ...]) -> Image.Image:
    """Pillow's view of the file with no pixel decoded; its size is checked.

    Raises :class:`PhotoUnreadableError` for a broken header, a picture too large to decode, and one
    with a palette.
    """
    try:
        with warnings.catch_warnings():
            # Pillow warns of half the size that is the limit here.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = Image.open(io.BytesIO(data), formats=formats)
    except UnidentifiedImageError as error:
        raise PhotoUnreadableError(
            "the file's header is broken or cut off. Copy it again from the camera."
        ) from error
    except Image.DecompressionBombError as error:
        raise PhotoUnreadableError(
            f"the picture is too large ({error}) Photograph at 12 to 50 megapixels."
        ) from error
    check_size(image.width, image.height)
    if image.mode in ("1", "P"):
        raise PhotoUnreadableError(
            "the picture is reduced to a few colours (a palette): faint shades are gone. Use the "
            "file as the camera wrote it."
        )
    return image


def read_jpeg(data: bytes) -> StoredPicture:
    """A baseline or progressive JPEG, RGB or grey; of several pictures in a file, the first.

    Raises ``ValueError`` where data are missing or corrupt anywhere, which the usual readers pass
    over, and :class:`PhotoUnreadableError` for inks (CMYK).
    """
    image = open_header(data, ("JPEG",))
    if image.mode not in ("RGB", "L"):
        raise PhotoUnreadableError(f"the picture is stored as {image.mode}. Export it as RGB.")
    space = "RGB" if image.mode == "RGB" else "GRAY"
    try:
        samples = simplejpeg.decode_jpeg(data, colorspace=space, strict=True)
    except ValueError as error:
        if "extraneous bytes" not in str(error):
            raise
        # Stray bytes between two markers: some cameras write them, the picture is whole.
        samples = simplejpeg.decode_jpeg(data, colorspace=space, strict=False)
    facts = read_exif(image.getexif())
    return StoredPicture(
        format="JPEG",
        samples=samples,
        curve=_curve(image, facts),
        full_scale=255,
        clip_level=LOSSY_CLIP_LEVEL,
        orientation=facts.orientation,
        focal_35mm=facts.focal_35mm,
        keeps_luma=not _is_stored_as_rgb(image),
    )


def _is_stored_as_rgb(image: Image.Image) -> bool:
    """Whether a JPEG's three components are red, green and blue themselves.

    By the marker of one kind of file, or by their names (as libjpeg tells them; from memory).
    """
    names = bytes(layer[0] for layer in getattr(image, "layer", ()))
    return image.info.get("adobe_transform") == 0 or names == b"RGB"


def read_other(data: bytes) -> StoredPicture:
    """WebP, AVIF, BMP and GIF, 8 bits a channel, through Pillow; of several frames the first."""
    Image.init()
    image = open_header(data, ("WEBP", "AVIF", "BMP", "GIF"))
    facts = read_exif(image.getexif())
    curve = _curve(image, facts)
    alpha = image.has_transparency_data
    samples = np.asarray(image.convert("RGBA" if alpha else "RGB"))
    return StoredPicture(
        format=str(image.format),
        samples=samples,
        curve=curve,
        full_scale=255,
        clip_level=LOSSY_CLIP_LEVEL,
        orientation=facts.orientation,
        focal_35mm=facts.focal_35mm,
    )


def _curve(image: Image.Image, facts: ExifFacts) -> ToneCurve:
    icc = image.info.get("icc_profile")
    if icc:
        return profile_curve(icc)
    return power_curve(WIDE_GAMUT_EXPONENT) if facts.wide_gamut else srgb_curve
