"""The layer line's contrast, against waves of known size and general-purpose filters."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import ndimage

from scoring.metrics import FaceName
from scoring.registration.face import RectifiedFace
from scoring.shading.layer_line import first_harmonic, measure_layer_line

PX_PER_MM = 20.0


def _face(amplitude: float, pitch_mm: float, *, blur_mm: float = 0.0) -> RectifiedFace:
    """Layers whose light is a wave across w, with noise of 2 % a pixel, through a lens."""
    rng = np.random.default_rng(5)
    w = 26.0 - np.arange(561) / PX_PER_MM
    fine = np.arange(-2.0, 26.0, 0.002)
    wave = ndimage.gaussian_filter1d(
        np.cos(2 * np.pi * fine / pitch_mm), max(blur_mm, 1e-3) / 0.002
    )
    rows = 0.3 * (1 + amplitude * np.interp(w, fine, wave))
    noisy = rows[:, None] * (1 + 0.02 * rng.standard_normal((w.size, 2081)))
    light = noisy.astype(np.float32)
    return RectifiedFace(
        FaceName.RINGDOWN,
        np.stack([light] * 3, axis=-1),
        np.zeros(light.shape, bool),
        PX_PER_MM,
        -2.0,
        26.0,
        light,
    )


@pytest.mark.parametrize("pitch_mm", [0.16, 0.2, 0.32])
def test_a_wave_of_known_size(pitch_mm: float) -> None:
    line = measure_layer_line(_face(0.05, pitch_mm), blur_mm=0.0)
    assert line is not None
    assert line.amplitude == pytest.approx(0.05, rel=0.03)
    assert line.pitch_mm == pytest.approx(pitch_mm, rel=0.01)
    assert line.passed == pytest.approx(1.0)


def test_what_the_lens_lets_through() -> None:
    """As scipy's Gaussian filter does to a wave."""
    line = measure_layer_line(_face(0.1, 0.25, blur_mm=0.05), blur_mm=0.05)
    assert line is not None
    assert line.amplitude == pytest.approx(0.1 * line.passed, rel=0.03)


@pytest.mark.parametrize("amplitude", [0.0, 0.002])
def test_no_line_where_none_stands_out(amplitude: float) -> None:
    assert measure_layer_line(_face(amplitude, 0.2), blur_mm=0.05) is None


def test_no_line_through_a_lens_that_hides_it() -> None:
    assert measure_layer_line(_face(0.05, 0.12), blur_mm=0.08) is None


@given(st.lists(st.floats(0.1, 2.0), min_size=3, max_size=12))
def test_first_harmonic_is_the_discrete_fourier_transforms(values: list[float]) -> None:
    wave = np.fft.rfft(values)
    expected = 2 * abs(wave[1]) / abs(wave[0])
    assert first_harmonic(np.array(values)) == pytest.approx(expected, abs=1e-9)
