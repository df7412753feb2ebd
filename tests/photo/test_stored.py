import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageOps

from scoring.errors import PhotoUnreadableError
from scoring.photo.stored import MAX_PIXELS, Samples, check_size, to_rgb, turn_upright


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_turning_agrees_with_pillow(orientation: int, dtype: type) -> None:
    pixels = np.arange(2 * 3 * 3, dtype=np.uint8).reshape(2, 3, 3)
    image = Image.fromarray(pixels)
    image.getexif()[0x0112] = orientation
    upright = np.asarray(ImageOps.exif_transpose(image))
    turned = turn_upright(pixels.astype(dtype), orientation)
    assert turned.dtype == dtype
    assert np.array_equal(turned, upright)


@given(st.integers().filter(lambda n: not 2 <= n <= 8))
def test_unknown_orientation_is_upright(orientation: int) -> None:
    pixels = np.arange(18, dtype=np.uint8).reshape(2, 3, 3)
    assert np.array_equal(turn_upright(pixels, orientation), pixels)


@pytest.mark.parametrize(("dtype", "full"), [(np.uint8, 255), (np.uint16, 65535)])
def test_alpha_is_laid_on_white(dtype: type, full: int) -> None:
    half = (full + 1) // 2
    samples: Samples = np.array(
        [[[half, 0, full, full], [half, 0, full, 0], [0, 0, 0, half]]], dtype
    )
    rgb = to_rgb(samples, full)
    assert rgb.dtype == dtype
    assert rgb[0, 0].tolist() == [half, 0, full]
    assert rgb[0, 1].tolist() == [full, full, full]
    assert rgb[0, 2].tolist() == [full - half] * 3


@pytest.mark.parametrize("mode", ["RGBA", "LA"])
def test_alpha_agrees_with_pillows_compositing(mode: str, rng: np.random.Generator) -> None:
    channels = len(mode)
    samples = rng.integers(0, 256, (40, 50, channels), dtype=np.uint8)
    on_white = Image.alpha_composite(
        Image.new("RGBA", (50, 40), "white"), Image.fromarray(samples, mode=mode).convert("RGBA")
    )
    difference = to_rgb(samples, 255).astype(int) - np.asarray(on_white.convert("RGB"))
    assert np.abs(difference).max() <= 1


def test_grey_is_repeated() -> None:
    grey = np.array([[1, 2], [3, 4]], np.uint16)
    assert np.array_equal(to_rgb(grey, 65535), np.stack([grey] * 3, axis=-1))


@pytest.mark.parametrize("size", [(0, 10), (10, 0), (MAX_PIXELS, 2)])
def test_absurd_sizes_are_refused(size: tuple[int, int]) -> None:
    with pytest.raises(PhotoUnreadableError):
        check_size(*size)


def test_usual_sizes_pass() -> None:
    check_size(4000, 3000)
    check_size(1, 1)
