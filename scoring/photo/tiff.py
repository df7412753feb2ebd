"""Read TIFF, and tell the raw files that are built like one."""

import io
import logging
from collections.abc import Iterable, Iterator

import numpy as np
import tifffile

from scoring.errors import PhotoUnreadableError
from scoring.photo.exif import ExifFacts, focal_35mm_of
from scoring.photo.raw import read_raw
from scoring.photo.srgb import srgb_curve
from scoring.photo.stored import Samples, StoredPicture, check_size
from scoring.photo.tone import ToneCurve, profile_curve

# What is wrong with a file is said once, in the error.
logging.getLogger("tifffile").setLevel(logging.CRITICAL)

PHOTOMETRIC = tifffile.PHOTOMETRIC
SENSOR = (PHOTOMETRIC.CFA, PHOTOMETRIC.LINEAR_RAW)
READ = (PHOTOMETRIC.MINISWHITE, PHOTOMETRIC.MINISBLACK, PHOTOMETRIC.RGB)
JPEG_COMPRESSION = (tifffile.COMPRESSION.OJPEG, tifffile.COMPRESSION.JPEG)
ICC_PROFILE, EXIF_IFD, ORIENTATION = 34675, 34665, 274


def read_tiff(data: bytes) -> StoredPicture:
    """The first full-size picture of a TIFF, 8 or 16 bits; a raw file goes to its own reader.

    Raises :class:`PhotoUnreadableError` for floating point, inks, palettes and cut-off files.
    """
    with tifffile.TiffFile(io.BytesIO(data)) as tiff:
        pages = [p for p in tiff.pages if isinstance(p, tifffile.TiffPage)]
        if not pages:
            raise PhotoUnreadableError("the file holds no picture.")
        facts = _facts(pages[0])
        # Bytes 8 and 9 mark one maker's raw files, whose sensor data carry no colour filter tag.
        if data[8:10] == b"CR" or any(p.photometric in SENSOR for p in _all_pages(pages)):
            return read_raw(data, facts)
        page = next((p for p in pages if not p.is_reduced), pages[0])
        check_size(page.imagewidth, page.imagelength)
        _check_whole(page, len(data))
        samples, full_scale = _samples(page)
        icc = page.tags.get(ICC_PROFILE)
        curve: ToneCurve = profile_curve(bytes(icc.value)) if icc else srgb_curve
    return StoredPicture(
        format="TIFF",
        samples=samples,
        curve=curve,
        full_scale=full_scale,
        clip_level=full_scale,
        orientation=facts.orientation,
        focal_35mm=facts.focal_35mm,
    )


def _all_pages(pages: Iterable[tifffile.TiffPage]) -> Iterator[tifffile.TiffPage]:
    """The pages and those beneath them: many cameras keep a small preview on top."""
    for page in pages:
        yield page
        if page.subifds:
            yield from _all_pages(p for p in page.pages or () if isinstance(p, tifffile.TiffPage))


def _facts(page: tifffile.TiffPage) -> ExifFacts:
    orientation, exif = page.tags.get(ORIENTATION), page.tags.get(EXIF_IFD)
    notes = exif.value if exif and isinstance(exif.value, dict) else {}
    return ExifFacts(
        orientation=int(orientation.value) if orientation else 1,
        focal_35mm=focal_35mm_of(notes.get("FocalLengthIn35mmFilm")),
    )


def _check_whole(page: tifffile.TiffPage, length: int) -> None:
    """A strip that ends beyond the file decodes to grey without a word."""
    ends = [o + n for o, n in zip(page.dataoffsets, page.databytecounts, strict=False)]
    if not ends or max(ends) > length or min(page.databytecounts) == 0:
        raise PhotoUnreadableError(
            f"the file ends after {length} bytes, before the picture does. Copy it again."
        )


def _samples(
    page: tifffile.TiffPage,
) -> tuple[Samples, int]:
    """(M, N) or (M, N, C) samples without unnamed channels, and their full scale."""
    photometric = page.photometric
    decoded_ycc = photometric == PHOTOMETRIC.YCBCR and page.compression in JPEG_COMPRESSION
    if photometric not in READ and not decoded_ycc:
        raise PhotoUnreadableError(
            f"the picture is stored as {getattr(photometric, 'name', photometric)}. "
            "Export it as RGB."
        )
    if page.dtype not in (np.uint8, np.uint16):
        raise PhotoUnreadableError(
            f"the picture's samples are {page.dtype}. Export it with 8 or 16 bits a channel."
        )
    samples = np.asarray(page.asarray())
    if page.axes == "SYX":
        samples = np.moveaxis(samples, 0, -1)
    elif page.axes not in ("YX", "YXS"):
        raise PhotoUnreadableError(f"the picture has axes {page.axes}, not rows and columns alone.")
    full_scale = (1 << int(np.max(page.bitspersample))) - 1
    if photometric == PHOTOMETRIC.MINISWHITE:
        samples = full_scale - samples
    return np.ascontiguousarray(_named_channels(samples, page, full_scale)), full_scale


def _named_channels(samples: Samples, page: tifffile.TiffPage, full_scale: int) -> Samples:
    """Colour, and alpha where a channel is named so; colour stored ready-mixed is unmixed."""
    if samples.ndim == 2 or not page.extrasamples:
        return samples
    colours = samples.shape[-1] - len(page.extrasamples)
    first = page.extrasamples[0]
    if first == tifffile.EXTRASAMPLE.UNASSALPHA:
        return samples[..., : colours + 1]
    colour = samples[..., :colours]
    if first == tifffile.EXTRASAMPLE.ASSOCALPHA:
        # Premultiplied colour on white needs only the white that shows through.
        through = full_scale - samples[..., colours : colours + 1]
        return np.minimum(colour, full_scale - through) + through
    return colour
