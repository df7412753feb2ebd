"""The standard tone curve against the standard's values and a general-purpose library."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.color import rgb2xyz

from scoring.photo.srgb import srgb_code, srgb_curve

# 8-bit sRGB code -> linear light, IEC 61966-2-1; colour-science and scikit-image agree to 1e-10.
STANDARD = {
    1: 0.000303527, 10: 0.003035270, 11: 0.003346536, 64: 0.051269458, 118: 0.181164244,
    128: 0.215860500, 188: 0.502886458, 200: 0.577580440, 254: 0.991102097,
}  # fmt: skip


@pytest.mark.parametrize(("code", "light"), STANDARD.items())
def test_code_values_are_the_standards(code: int, light: float) -> None:
    assert srgb_curve(np.array(code / 255)) == pytest.approx(light, abs=1e-9)
    assert srgb_code(np.array(light)) * 255 == pytest.approx(code, abs=1e-5)


def test_curve_agrees_with_scikit_image_over_all_codes() -> None:
    """The Y of a grey is its linear light; scikit-image's row of luminances sums to 1."""
    codes = np.arange(256) / 255
    greys = np.repeat(codes[:, np.newaxis], 3, axis=1)
    assert srgb_curve(codes) == pytest.approx(rgb2xyz(greys)[:, 1], abs=1e-6)


@given(light=st.floats(0, 4))
def test_code_undoes_curve_beyond_full_scale_too(light: float) -> None:
    """The standard's two pieces meet to 1e-7 of light only."""
    assert srgb_curve(srgb_code(np.array(light))) == pytest.approx(light, rel=1e-6, abs=1e-6)
