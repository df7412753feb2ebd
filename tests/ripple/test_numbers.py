"""Numbers and their intervals on problems of known truth."""

import numpy as np
import pytest

from scoring.motion import Motion
from scoring.ripple.components import Damped, Steady, follow, heights_mm
from scoring.ripple.numbers import draw_profile, estimate_ripple
from scoring.ripple.search import find_components
from tests.ripple.synthetic import synthesise

MOTION = Motion(150, 5000, 5)


def _estimate(seed: int, *components: Damped | Steady, noise: float = 0.01):  # type: ignore[no-untyped-def]
    problem = synthesise(np.random.default_rng(seed), components, MOTION, noise=noise)
    detection = find_components(problem)
    return (
        problem,
        detection,
        estimate_ripple(problem, detection, MOTION, sd_gain=0.0, sd_u_mm=0.0, sd_stretch=0.0),
    )


def test_peak_and_rms_are_those_of_the_known_profile() -> None:
    truth = Damped(60, 0.05, 0.03, 0.02)
    _, _, (metrics, modes) = _estimate(2, truth)
    y = 1e3 * heights_mm((truth,), follow(MOTION, np.arange(4, 64, 0.01)))
    assert metrics["ripple_peak_um"].value == pytest.approx(np.abs(y).max(), rel=0.02)
    assert metrics["ripple_rms_um"].value == pytest.approx(np.sqrt((y**2).mean()), rel=0.02)
    assert modes[0].wavelength_mm.value == pytest.approx(150 / 60, rel=0.005)


def test_intervals_hold_the_truth() -> None:
    """Nominal 95 %; 30 photos of four numbers leave at least 85 % with near certainty."""
    truth = Damped(60, 0.05, 0.006, 0.004)
    held = []
    for seed in range(30):
        _, _, (_, modes) = _estimate(seed, truth, noise=0.02)
        mode = modes[0]
        held += [
            mode.envelope_um.low <= 1e3 * truth.envelope_mm <= mode.envelope_um.high,
            mode.frequency_hz.low <= 60 <= mode.frequency_hz.high,
            mode.damping_ratio.low <= 0.05 <= mode.damping_ratio.high,
        ]
    assert np.mean(held) >= 0.85


def test_without_ripple_the_bound_is_the_detection_limit() -> None:
    _, detection, (metrics, modes) = _estimate(3)
    assert modes == ()
    assert metrics["ripple_peak_um"].value == 0.0
    assert 0 < metrics["ripple_peak_um"].high < 2e3 * detection.limit_mm
    assert "steady_period_mm" not in metrics


def test_steady_ripple_is_not_counted_as_ghosting() -> None:
    _, _, (metrics, modes) = _estimate(4, Steady(2.0, 0.004, 0.0))
    assert modes == ()
    assert metrics["ripple_peak_um"].value == 0.0
    assert metrics["steady_ripple_um"].value == pytest.approx(4.0, rel=0.1)
    assert metrics["steady_period_mm"].value == pytest.approx(2.0, rel=0.005)


def test_drawn_profile_follows_the_known_one() -> None:
    truth = Damped(60, 0.05, 0.03, 0.02)
    problem, detection, _ = _estimate(5, truth)
    trace = draw_profile(problem, detection.solution)
    y = 1e3 * heights_mm((truth,), follow(MOTION, np.array(trace.u_mm)))
    assert np.std(np.array(trace.fitted) - y) < 0.5
    assert np.std(np.array(trace.measured) - y) < 1.0
