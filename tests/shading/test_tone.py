"""Tone curves against the standard's values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.color import rgb2xyz

from scoring.photo.srgb import srgb_code, srgb_curve
from scoring.shading.tone import bend, unbend

# sRGB, IEC 61966-2-1: 8-bit code and linear light; colour-science and scikit-image agree to 1e-10.
STANDARD = {
    1: 0.000303527, 10: 0.003035270, 11: 0.003346536, 64: 0.051269458, 118: 0.181164244,
    128: 0.215860500, 188: 0.502886458, 200: 0.577580440, 254: 0.991102097,
}  # fmt: skip


@pytest.mark.parametrize(("code", "light"), STANDARD.items())
def test_decode_is_the_standard(code: int, light: float) -> None:
    assert srgb_curve(np.array(code / 255)) == pytest.approx(light, abs=1e-9)
    assert srgb_code(np.array(light)) * 255 == pytest.approx(code, abs=1e-5)


def test_decode_agrees_with_scikit_image() -> None:
    codes = np.linspace(0, 1, 50)
    grey = np.repeat(codes[None, :, None], 3, axis=2)
    assert srgb_curve(codes) == pytest.approx(rgb2xyz(grey)[0, :, 1], abs=1e-5)


@given(light=st.floats(0.001, 0.999), contrast=st.floats(-0.6, 0.8))
def test_unbend_undoes_bend(light: float, contrast: float) -> None:
    there = bend(np.array([light]), contrast)
    assert unbend(there, contrast)[0] == pytest.approx(light, rel=2e-3, abs=1e-5)


def test_full_contrast_is_the_smooth_step() -> None:
    code = np.linspace(0, 1, 11)
    assert srgb_code(bend(srgb_curve(code), 1.0)) == pytest.approx(
        3 * code**2 - 2 * code**3, abs=1e-6
    )
