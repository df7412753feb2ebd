import io
from collections.abc import Callable
from typing import Any

import imagecodecs
import numpy as np
import pillow_heif
import pytest
from numpy.typing import NDArray
from PIL import Image

from scoring.errors import PhotoUnreadableError
from scoring.photo.heif import check_boxes, read_heif
from scoring.photo.photo import luma_codes
from scoring.photo.srgb import srgb_curve
from scoring.photo.stored import turn_upright
from scoring.shading.tone import LUMA

Bytes = NDArray[np.uint8]
CODE = np.arange(256) / 255


def heic(samples: NDArray[np.generic], *, mode: str = "RGB", **options: Any) -> bytes:
    rows, cols = samples.shape[:2]
    picture = pillow_heif.from_bytes(mode, (cols, rows), samples.tobytes())
    file = io.BytesIO()
    picture.save(file, **{"quality": 95, **options})
    return file.getvalue()


def test_eight_bits(picture: Bytes) -> None:
    stored = read_heif(heic(picture))
    assert stored.samples.dtype == np.uint8
    assert np.abs(stored.samples.astype(int) - picture).mean() < 3
    assert np.array_equal(stored.curve(CODE), srgb_curve(CODE))


def test_ten_bits_keep_their_full_scale(picture: Bytes) -> None:
    white = np.full((64, 64, 3), 65535, np.uint16)
    stored = read_heif(heic(white, mode="RGB;16", quality=-1))
    assert stored.samples.dtype == np.uint16
    # Ten bits shifted to the top of sixteen end at 1023 * 64.
    assert stored.full_scale == 1023 * 64
    assert stored.samples.max() == stored.full_scale
    assert stored.clip_level <= stored.full_scale


def test_luma_is_had_back(picture: Bytes) -> None:
    """What was put in without loss comes out; libheif rounds a code differently here and there."""
    soft = np.asarray(40 + picture * 0.6, np.uint8)
    stored = read_heif(heic(soft, quality=-1, chroma=444, matrix_coefficients=6))
    assert stored.keeps_luma
    off = luma_codes(np.asarray(stored.samples, np.uint8)) - soft @ LUMA
    assert np.abs(off).max() <= 1.0
    assert np.sqrt(np.mean(off**2)) < 0.35


@pytest.mark.parametrize(
    "coding", [{"matrix_coefficients": 1}, {"matrix_coefficients": 6, "full_range_flag": 0}]
)
def test_other_lumas_are_not_taken_for_it(picture: Bytes, coding: dict[str, Any]) -> None:
    assert not read_heif(heic(picture, **coding)).keeps_luma


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_files_own_rotation_counts_once(
    picture: Bytes, exif: Callable[..., bytes], orientation: int
) -> None:
    data = heic(picture, exif=exif(orientation=orientation, focal_35mm=26))
    stored = read_heif(data)
    assert (stored.orientation, stored.focal_35mm) == (1, 26.0)
    upright = turn_upright(picture, orientation).astype(int)
    assert stored.samples.shape == upright.shape
    assert np.abs(stored.samples - upright).mean() < 3


def test_profile(picture: Bytes, write: Callable[..., bytes]) -> None:
    pillow_heif.register_heif_opener()
    icc = bytes(imagecodecs.cms_profile("adobergb"))
    data = write(Image.fromarray(picture), "HEIF", quality=90, icc_profile=icc)
    assert read_heif(data).curve(CODE)[:, 1] == pytest.approx(CODE**2.19921875, abs=2e-5)


@pytest.mark.parametrize("transfer", [16, 18])
def test_pictures_graded_for_a_bright_screen_are_refused(picture: Bytes, transfer: int) -> None:
    # ITU-T H.273, table 3: 16 is PQ (SMPTE ST 2084), 18 is HLG (ARIB STD-B67).
    data = heic(picture, transfer_characteristics=transfer, save_nclx_profile=True)
    with pytest.raises(PhotoUnreadableError, match="bright screen"):
        read_heif(data)


@pytest.mark.parametrize("cut", [1, 100, 20_000])
def test_cut_off_heic_is_refused(picture: Bytes, cut: int) -> None:
    data = heic(picture)
    assert len(data) > 20_500
    with pytest.raises(PhotoUnreadableError, match="ends after"):
        read_heif(data[:-cut])


def test_heic_cut_between_two_boxes_is_refused(picture: Bytes) -> None:
    data = heic(picture)
    with pytest.raises(ValueError, match="file"):
        read_heif(data[: data.index(b"mdat") - 4])


def test_boxes_of_every_length() -> None:
    # ISO/IEC 14496-12, 4.2: size 1 puts a 64-bit size after the type, size 0 runs to the end.
    large = (1).to_bytes(4, "big") + b"free" + (20).to_bytes(8, "big") + bytes(4)
    last = bytes(4) + b"mdat" + bytes(100)
    check_boxes(large + last)
    with pytest.raises(PhotoUnreadableError):
        check_boxes(large[:-1])
    with pytest.raises(PhotoUnreadableError):
        check_boxes((4).to_bytes(4, "big") + b"free")
