"""Decode a photo of any usual kind, or say why it cannot be."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scoring.errors import PhotoError, PhotoUnreadableError
from scoring.photo.compressed import read_jpeg, read_other
from scoring.photo.exif import ExifFacts
from scoring.photo.photo import Photo
from scoring.photo.png import SIGNATURE as PNG_SIGNATURE
from scoring.photo.png import read_png
from scoring.photo.srgb import srgb_curve
from scoring.photo.stored import StoredPicture, to_rgb, turn_upright

__all__ = ["Photo", "decode_photo", "read_photo"]

MAX_FILE_BYTES = 1 << 30
STANDARD_WITHIN = 0.003
"""How far a profile's light may be from the standard's: cameras write it with rounded numbers."""

READS = "JPEG, PNG, TIFF, HEIC, DNG and other raw files are read"
Reader = Callable[[bytes], StoredPicture]


def read_photo(source: Path) -> Photo:
    """Read and decode the file ``source``.

    Raises :class:`PhotoUnreadableError` as :func:`decode_photo` does, and where there is no such
    file or it may not be read.
    """
    try:
        size = source.stat().st_size
        if size > MAX_FILE_BYTES:
            raise PhotoUnreadableError(
                f"{source.name}: the file has {size / 1e9:.1f} GB, too much for a photo. {READS}."
            )
        data = source.read_bytes()
    except FileNotFoundError as error:
        raise PhotoUnreadableError(
            f"{source.name}: there is no such file. Check the path {source}."
        ) from error
    except OSError as error:
        raise PhotoUnreadableError(
            f"{source}: the file cannot be opened ({error.strerror}). Give a photo's path."
        ) from error
    return decode_photo(data, source.name)


def decode_photo(data: bytes, name: str) -> Photo:
    """Decode ``data``, the contents of a file called ``name`` (used in messages only).

    The kind of file is told from the contents, never from the name. EXIF's orientation is applied;
    light follows the embedded ICC profile, else IEC 61966-2-1 (raw files are linear). Raises
    :class:`PhotoUnreadableError` for a file that is empty, cut off, corrupt, no picture, too
    large, or of a kind whose values are not light.
    """
    try:
        stored = _reader(data)(data)
        levels = int(np.iinfo(stored.samples.dtype).max) + 1
        code = np.minimum(np.arange(levels) / stored.full_scale, 1.0)
        light = np.asarray(stored.curve(code), np.float32)
        pixels = turn_upright(to_rgb(stored.samples, stored.full_scale), stored.orientation)
    except PhotoError as error:
        raise type(error)(f"{name}: {error}") from error
    except MemoryError as error:
        raise PhotoUnreadableError(
            f"{name}: the picture does not fit into memory. Photograph at 12 to 50 megapixels."
        ) from error
    except Exception as error:
        # The readers raise errors of every kind on broken files; all of them mean this one.
        raise PhotoUnreadableError(
            f"{name}: the file is broken or cut off ({_first_line(error)}). "
            "Copy it again from the camera."
        ) from error
    return Photo(
        name=name,
        format=stored.format,
        pixels=pixels,
        to_linear=np.broadcast_to(light.reshape(levels, -1), (levels, 3)).copy(),
        clip_level=stored.clip_level,
        focal_35mm=stored.focal_35mm,
        keeps_luma=stored.keeps_luma and _is_standard(light),
    )


def _is_standard(light: NDArray[np.float32]) -> bool:
    """Whether a table of 256 codes is IEC 61966-2-1's, in which luma is understood."""
    usual = srgb_curve(np.arange(256) / 255)
    return len(light) == usual.size and bool(
        np.abs(light.reshape(usual.size, -1) - usual[:, None]).max() < STANDARD_WITHIN
    )


def _reader(data: bytes) -> Reader:
    if not data:
        raise PhotoUnreadableError("the file is empty (0 bytes). Copy it again from the camera.")
    starts: tuple[tuple[bytes, Reader], ...] = (
        (b"\xff\xd8\xff", read_jpeg),
        (PNG_SIGNATURE, read_png),
        (b"II*\0", _read_tiff),
        (b"MM\0*", _read_tiff),
        (b"II+\0", _read_tiff),
        (b"MM\0+", _read_tiff),
        (b"BM", read_other),
        (b"GIF8", read_other),
    )
    for start, reader in starts:
        if data.startswith(start):
            return reader
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return read_other
    if data[4:8] == b"ftyp":
        return _reader_of_brands(data)
    return _read_unknown


# Most photos are JPEG: every worker would load the libraries of the other kinds for nothing.


def _read_tiff(data: bytes) -> StoredPicture:
    from scoring.photo.tiff import read_tiff  # noqa: PLC0415

    return read_tiff(data)


def _reader_of_brands(data: bytes) -> Reader:
    """HEIF, AVIF, one maker's raw files and films share a container; its brands tell them apart."""
    from scoring.photo.heif import check_boxes, read_heif  # noqa: PLC0415

    length = int.from_bytes(data[:4], "big")
    brands = {data[8:12], *(data[k : k + 4] for k in range(16, min(length, len(data)), 4))}
    if b"crx " in brands:
        return _read_unknown
    if brands & {b"avif", b"avis"}:
        check_boxes(data)
        return read_other
    if brands & {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"}:
        return read_heif
    raise PhotoUnreadableError(f"the file is a film, not a photo. {READS}.")


def _read_unknown(data: bytes) -> StoredPicture:
    """Raw files come under many signatures, so LibRaw has the last word."""
    from scoring.photo.raw import read_raw  # noqa: PLC0415

    try:
        return read_raw(data, ExifFacts())
    except PhotoError:
        raise
    except Exception as error:
        raise PhotoUnreadableError(
            f"this is not a picture that can be read (it begins {data[:8]!r}). {READS}."
        ) from error


def _first_line(error: Exception) -> str:
    text = next(iter(str(error).strip().splitlines()), "")
    return text[:160] or type(error).__name__
