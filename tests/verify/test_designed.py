"""Amplitudes fitted through the light, on drawn strips whose ripple is known."""

from dataclasses import replace

import numpy as np
import pytest

from scoring.geometry.check_ripple import CHECK_RIPPLE
from scoring.motion import Motion
from scoring.ripple.components import follow
from scoring.ripple.fit import evaluate, refine
from scoring.verify.designed import DesignedWave, fit_designed
from tests.verify.drawn_check import draw_problem

DESIGNED = np.array([20.0, 50.0, 100.0, 0.0])
NOISE = 0.004


@pytest.mark.parametrize("scale", [0.7, 1.0, 1.2])
def test_known_amplitudes_come_back(scale: float) -> None:
    found = fit_designed(draw_problem(scale * DESIGNED, noise=NOISE))
    assert found.amplitude_um[:3, 0] == pytest.approx(scale * DESIGNED[:3], rel=0.01)
    assert np.abs(found.amplitude_um[3]).max() < 0.5
    assert found.facet_exponent == pytest.approx(1, abs=0.02)
    assert found.explained > 0.98


def test_a_dead_band_shows_in_the_small_stretches() -> None:
    printed = np.array([14.0, 44.0, 94.0, 0.0])
    found = fit_designed(draw_problem(printed, noise=NOISE))
    assert found.amplitude_um[:3, 0] == pytest.approx(printed[:3], rel=0.012)


def test_a_shift_goes_to_the_quarter_wave() -> None:
    """By as much as places on the face may be off; by twice that the smallest loses 1.5 %."""
    found = fit_designed(draw_problem(DESIGNED, shift_mm=0.05))
    size = np.hypot(*found.amplitude_um[:3].T)
    turn = np.arctan2(-found.amplitude_um[:3, 1], found.amplitude_um[:3, 0])
    assert size == pytest.approx(DESIGNED[:3], rel=0.01)
    assert turn / (2 * np.pi) * 3.0 == pytest.approx(np.full(3, 0.05), abs=0.005)


def test_a_flat_face_explains_nothing() -> None:
    found = fit_designed(draw_problem(0 * DESIGNED, noise=NOISE))
    assert found.explained < 0.1
    assert np.abs(found.amplitude_um).max() < 0.5


def test_the_scatter_is_as_told() -> None:
    """Over 24 draws of noise the amplitudes scatter as their covariance says (chi-square, 5 %)."""
    found = [fit_designed(draw_problem(DESIGNED, noise=0.02, seed=s)) for s in range(24)]
    scatter = np.std([f.amplitude_um[:, 0] for f in found], axis=0, ddof=1)
    told = np.sqrt(np.mean([np.diag(f.covariance_um2)[::2] for f in found], axis=0))
    assert scatter / told == pytest.approx(np.ones(4), rel=0.45), (scatter, told)


def test_where_the_fit_starts_does_not_matter() -> None:
    found = fit_designed(draw_problem(DESIGNED, noise=NOISE))
    waves = tuple(DesignedWave(s, 0.7e-3 * s.amplitude_um, 1e-3) for s in CHECK_RIPPLE.stretches)
    beside = evaluate(found.problem, replace(found.solution, components=waves))
    again = refine(found.problem, beside).solution
    amplitudes = [[1e3 * c.a_mm, 1e3 * c.b_mm] for c in again.components]
    assert np.array(amplitudes) == pytest.approx(found.amplitude_um, abs=0.02)


def test_a_waves_slopes_are_what_its_derivatives_say() -> None:
    track = follow(Motion(20, 500), np.arange(5.0, 60.0, 0.01))
    wave = DesignedWave(CHECK_RIPPLE.stretches[1], 0.03, -0.01)
    slope = np.array([wave.a_mm, wave.b_mm]) @ wave.slope_derivatives(track)
    numeric = np.gradient(wave.heights_mm(track), track.u_mm)
    assert np.median(np.abs(numeric - slope)) < 1e-3 * np.abs(slope).max()
    assert wave.shape().size == 0
    assert wave.reshaped(np.empty(0), 0.1, 0.2) == DesignedWave(wave.stretch, 0.1, 0.2)
