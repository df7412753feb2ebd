import numpy as np
import pytest

from scoring.photo.photo import Photo, Pixels
from scoring.photo.srgb import srgb_curve


def photo_of(pixels: Pixels) -> Photo:
    levels = int(np.iinfo(pixels.dtype).max) + 1
    light = srgb_curve(np.arange(levels) / (levels - 1)).astype(np.float32)
    return Photo(
        name="a.png",
        format="PNG",
        pixels=pixels,
        # Each channel gets a curve of its own, so that mixing them up shows.
        to_linear=np.stack([light, light * 0.5, light * 0.25], axis=1),
        clip_level=levels - 1,
        focal_35mm=None,
    )


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_linear_of_a_crop(dtype: type, rng: np.random.Generator) -> None:
    top = int(np.iinfo(dtype).max)
    pixels: Pixels = rng.integers(0, top + 1, (20, 30, 3)).astype(dtype)
    photo = photo_of(pixels)
    crop = slice(3, 12), slice(5, 29, 2)
    light = np.stack([photo.linear(*crop, channel) for channel in range(3)], axis=-1)
    expected = srgb_curve(pixels[3:12, 5:29:2] / top) * [1, 0.5, 0.25]
    assert light.shape == (9, 12, 3)
    assert light.dtype == np.float32
    assert light == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_an_empty_crop_is_empty(dtype: type) -> None:
    pixels: Pixels = np.zeros((5, 5, 3), dtype)
    assert photo_of(pixels).linear(slice(2, 2), slice(0, 5), 1).shape == (0, 5)


def test_clipped_where_any_channel_is_at_full_scale() -> None:
    pixels: Pixels = np.full((2, 3, 3), 100, np.uint8)
    pixels[1, 2, 1] = 255
    clipped = photo_of(pixels).clipped(slice(0, 2), slice(1, 3))
    assert clipped.tolist() == [[False, False], [False, True]]
