"""Tone curves beyond the standard one, and the luma that JPEG keeps."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from scoring.photo.srgb import srgb_code, srgb_curve
from scoring.shading.tone import bend, luma_light, unbend


@given(light=st.floats(0.001, 0.999), contrast=st.floats(-0.6, 0.8))
def test_unbend_undoes_bend(light: float, contrast: float) -> None:
    there = bend(np.array([light]), contrast)
    assert unbend(there, contrast)[0] == pytest.approx(light, rel=2e-3, abs=1e-5)


def test_full_contrast_is_the_smooth_step() -> None:
    code = np.linspace(0, 1, 11)
    assert srgb_code(bend(srgb_curve(code), 1.0)) == pytest.approx(
        3 * code**2 - 2 * code**3, abs=1e-6
    )


def test_no_contrast_leaves_light_alone() -> None:
    light = np.linspace(0, 1, 50)
    assert bend(light, 0.0) == pytest.approx(light, abs=1e-6)


@given(shoulder=st.floats(-0.5, 0.8))
def test_a_shoulder_keeps_black_and_white_and_trades_contrast(shoulder: float) -> None:
    """Its slope at black is 1 + s, at white 1 - s: the derivative of c + s c (1 - c)."""
    code = np.array([0.0, 1e-3, 1 - 1e-3, 1.0])
    bent = srgb_code(bend(srgb_curve(code), 0.0, 1.0, shoulder))
    assert bent[[0, 3]] == pytest.approx([0, 1], abs=1e-9)
    slopes = [bent[1] / 1e-3, (1 - bent[2]) / 1e-3]
    assert slopes == pytest.approx([1 + shoulder, 1 - shoulder], abs=2e-3)


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_luma_is_that_of_jpeg(rgb: tuple[int, int, int]) -> None:
    """Pillow's YCbCr is JFIF's, in whole codes from tables of whole numbers: a code and a half."""
    luma = Image.new("RGB", (1, 1), rgb).convert("YCbCr").getpixel((0, 0))
    assert isinstance(luma, tuple)
    code = srgb_code(luma_light(srgb_curve(np.array(rgb) / 255)))
    assert 255 * code == pytest.approx(luma[0], abs=1.5)
