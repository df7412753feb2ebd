"""Facets found where they are, on profiles of known shift."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.ndimage import gaussian_filter1d

from scoring.registration.facets import facet_slope, find_facets

U = np.arange(0, 100, 0.05)
RIDGES_MM = np.array([0, 5, 0, 2.5, 0])


@given(shift=st.floats(-0.9, 0.9), stretch=st.floats(-0.002, 0.002), sign=st.sampled_from([-1, 1]))
def test_known_shift_and_stretch_come_back(shift: float, stretch: float, sign: int) -> None:
    rng = np.random.default_rng(0)
    true_u = U - shift - stretch * (U - 80.5)
    light = sign * 2.7 * facet_slope(true_u) + rng.normal(0, 0.002, U.size) - 0.004 * U
    fit = find_facets(U, light, sd_stretch=0.01)
    middle = np.array([70.0, 80.0, 90.0])
    expected = middle - shift - stretch * (middle - 80.5)
    assert fit.true_u_mm(middle) == pytest.approx(expected, abs=0.06)
    assert np.sign(fit.agreement) == sign
    assert abs(fit.agreement) > 0.8


@given(contrast=st.floats(0.1, 0.5), sign=st.sampled_from([-1, 1]), blur_mm=st.floats(0.03, 0.1))
def test_facets_that_differ_much_in_light_stay_in_place(
    contrast: float, sign: int, blur_mm: float
) -> None:
    """A step in light stays where it is under any even blur; one in its logarithm does not."""
    u = U + 0.025  # between the steps
    light = 0.3 * (1 + sign * contrast * facet_slope(u) / np.tan(np.deg2rad(3)))
    fit = find_facets(u, gaussian_filter1d(light, blur_mm / 0.05), sd_stretch=0.0005)
    assert fit.true_u_mm(np.array([5.0, 80.5])) == pytest.approx([5.0, 80.5], abs=0.003)


def test_a_face_whose_far_end_is_unsure_says_so() -> None:
    light = 2.7 * facet_slope(U) + np.random.default_rng(2).normal(0, 0.002, U.size)
    assert find_facets(U, light, sd_stretch=0.0004).sure
    assert not find_facets(U, light, sd_stretch=0.002).sure


@pytest.mark.parametrize("size", [0.05, 0.08])
def test_edges_that_texture_draws_aside_leave_the_place_less_sure(size: float) -> None:
    """Steps are 0.14 high; were each edge as sure as ever, 86 and 64 of 100 would be held."""
    corner = np.array([5.0])
    z = []
    for seed in range(100):
        texture = gaussian_filter1d(np.random.default_rng(seed).normal(0, 1, U.size), 6)
        light = 2.7 * facet_slope(U) + size * texture / texture.std()
        fit = find_facets(U, gaussian_filter1d(light, 2), sd_stretch=0.002)
        sd = np.hypot(fit.sd_shift_mm, fit.sd_stretch * (fit.middle_u_mm - corner[0]))
        z.append(float(fit.true_u_mm(corner)[0] - corner[0]) / sd)
    assert np.mean(np.abs(z) < 1.96) >= 0.92


@pytest.mark.parametrize("period_mm", [0.8, 1.28, 2.0])
@pytest.mark.parametrize("phase", [0.0, 2.0, 4.0])
def test_facets_under_a_strong_steady_ripple_are_found(period_mm: float, phase: float) -> None:
    """Two thirds as steep as the facets; at 0.8 mm they agreed to 0.3: photos were refused."""
    ripple = 0.034 * np.cos(2 * np.pi * U / period_mm + phase)
    noise = np.random.default_rng(3).normal(0, 0.002, U.size)
    fit = find_facets(U, 2.7 * (facet_slope(U) + ripple) + noise, sd_stretch=0.0005)
    assert fit.agreement > 0.95
    assert abs(fit.true_u_mm(np.array([80.5]))[0] - 80.5) < 1.96 * fit.sd_shift_mm < 0.25
    plain = find_facets(U, 2.7 * ripple + noise, sd_stretch=0.0005)
    assert abs(plain.agreement) < 0.45


def test_plain_face_does_not_agree() -> None:
    light = np.random.default_rng(1).normal(0, 0.01, U.size)
    assert abs(find_facets(U, light, sd_stretch=0.01).agreement) < 0.45


@given(lean=st.floats(-0.4, 0.4))
def test_ridges_seen_aslant_do_not_move_u(lean: float) -> None:
    """A ridge of height y is seen y times the view's tangent farther out (plane trigonometry)."""
    u = U + 0.025  # between the steps
    height = np.interp(u, [73, 78, 83, 88, 93], np.tan(np.deg2rad(3)) * RIDGES_MM)
    seen_at = u - lean * height
    light = 2.7 * np.interp(u, seen_at, facet_slope(u))
    fit = find_facets(u, light, sd_stretch=0.0005, view_tangent=lean)
    assert fit.true_u_mm(np.array([5.0, 80.5])) == pytest.approx([5.0, 80.5], abs=0.015)
