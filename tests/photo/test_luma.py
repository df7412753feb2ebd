"""Luma had back from decoded colours, against libjpeg's own decoding of luma alone."""

import io

import imagecodecs
import numpy as np
import pytest
import simplejpeg  # type: ignore[import-untyped]
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms

from scoring.photo.decode import decode_photo
from scoring.photo.photo import Pixels, luma_codes
from scoring.shading.tone import LUMA


def _draw(colour: tuple[int, int, int], seed: int) -> Pixels:
    """A soft wave in ``colour`` with a little noise, as on a printed face."""
    wave = 1 + 0.05 * np.sin(np.arange(96) / 7)
    noise = np.random.default_rng(seed).normal(0, 1.5, (64, 96, 3))
    return np.clip(np.round(np.array(colour) * wave[:, None] + noise), 0, 255).astype(np.uint8)


def _save(pixels: Pixels, **how: object) -> bytes:
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "JPEG", **how)
    return file.getvalue()


CODES = st.integers(20, 235)


@settings(deadline=None, max_examples=40)
@given(
    colour=st.tuples(CODES, CODES, CODES),
    seed=st.integers(0, 99),
    quality=st.integers(50, 100),
    subsampling=st.sampled_from(["4:4:4", "4:2:2", "4:2:0"]),
)
def test_it_is_the_luma_that_the_file_holds(
    colour: tuple[int, int, int], seed: int, quality: int, subsampling: str
) -> None:
    """To the last code, wherever no channel was cut off at either end."""
    data = _save(_draw(colour, seed), quality=quality, subsampling=subsampling)
    photo = decode_photo(data, "a.jpg")
    assert photo.keeps_luma
    pixels = photo.codes8
    whole = (pixels.min(axis=-1) > 0) & (pixels.max(axis=-1) < 255)
    held = simplejpeg.decode_jpeg(data, colorspace="GRAY")[..., 0]
    assert np.array_equal(luma_codes(pixels)[whole], held[whole])


def test_unrounded_it_would_be_off_by_the_same_over_all_of_a_colour() -> None:
    """Why it is rounded: the mean of many pixels does not come nearer to what the file holds."""
    data = _save(_draw((200, 120, 40), 1), quality=90)
    held = simplejpeg.decode_jpeg(data, colorspace="GRAY")[..., 0]
    pixels = decode_photo(data, "a.jpg").codes8
    off = (pixels @ LUMA - held).reshape(-1, 8, 96).mean(axis=(1, 2))
    assert np.abs(off).max() > 0.05
    assert np.abs(luma_codes(pixels).astype(float) - held).max() == 0


def test_a_grey_file_is_its_own_luma() -> None:
    data = _save(np.asarray(Image.fromarray(_draw((90, 90, 90), 2)).convert("L")))
    photo = decode_photo(data, "grey.jpg")
    assert photo.keeps_luma
    assert np.array_equal(luma_codes(photo.codes8), photo.codes8[..., 0])


def test_a_file_of_red_green_and_blue_keeps_none() -> None:
    data = _save(_draw((200, 120, 40), 3), keep_rgb=True)
    assert not decode_photo(data, "rgb.jpg").keeps_luma


def test_a_png_keeps_none() -> None:
    file = io.BytesIO()
    Image.fromarray(_draw((200, 120, 40), 4)).save(file, "PNG")
    assert not decode_photo(file.getvalue(), "a.png").keeps_luma


@pytest.mark.parametrize(
    ("profile", "kept"),
    [
        (ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes(), True),
        (bytes(imagecodecs.cms_profile("adobergb")), False),
    ],
)
def test_luma_is_understood_in_the_standards_curve_alone(profile: bytes, kept: bool) -> None:
    data = _save(_draw((200, 120, 40), 5), icc_profile=profile)
    assert decode_photo(data, "a.jpg").keeps_luma is kept
