"""Numbers and their intervals on problems of known truth."""

import numpy as np
import pytest
from surfalize import Profile
from surfalize.filter import GaussianFilter

from scoring.motion import Motion
from scoring.ripple.components import Damped, Steady, follow, heights_mm, slopes
from scoring.ripple.fit import Solution, evaluate
from scoring.ripple.numbers import DRIFT_MM, draw_profile, estimate_ripple
from scoring.ripple.search import find_components
from tests.ripple.synthetic import synthesise

MOTION = Motion(150, 5000, 5)


def _estimate(seed: int, *components: Damped | Steady, noise: float = 0.01):  # type: ignore[no-untyped-def]
    problem = synthesise(np.random.default_rng(seed), components, MOTION, noise=noise)
    detection = find_components(problem)
    return (
        problem,
        detection,
        estimate_ripple(problem, detection, MOTION, sd_gain=lambda _: 0.0),
    )


def test_peak_and_rms_are_those_of_the_known_profile() -> None:
    truth = Damped(60, 0.05, 0.03, 0.02)
    _, _, (metrics, modes) = _estimate(2, truth)
    y = 1e3 * heights_mm((truth,), follow(MOTION, np.arange(4, 64, 0.01)))
    assert metrics["ripple_peak_um"].value == pytest.approx(np.abs(y).max(), rel=0.02)
    assert metrics["ripple_rms_um"].value == pytest.approx(np.sqrt((y**2).mean()), rel=0.02)
    assert modes[0].wavelength_mm.value == pytest.approx(150 / 60, rel=0.005)


@pytest.mark.parametrize(
    "truth",
    [
        (Damped(60, 0.05, 0.03, 0.02),),
        (Damped(60, 0.05, 0.03, 0.02), Damped(35, 0.1, 0.0, -0.02)),
        (Damped(60, 0.05, 0.03, 0.02), Steady(2.0, 0.003, 0.0)),
    ],
)
def test_peak_and_rms_are_texture_parameters_of_the_fitted_profile(
    truth: tuple[Damped | Steady, ...],
) -> None:
    """Rq and the larger of Rp and Rv (ISO 4287) by a surface-metrology library, over the zone.

    ISO takes heights from the mean line, ours are from the level face: the mean is put back.
    """
    _, detection, (metrics, modes) = _estimate(2, *truth)
    track = follow(MOTION, np.arange(4, 64, 0.1))
    height = 1e3 * heights_mm(detection.solution.modes, track)
    profile = Profile(height, step=100.0)
    mean = float(height.mean())
    rms = metrics["ripple_rms_um"].value
    assert rms == pytest.approx(np.hypot(profile.Rq(), mean), rel=1e-9)
    assert rms == pytest.approx(profile.Rq(), rel=0.01)
    highest, lowest = profile.Rp(n_sections=1) + mean, profile.Rv(n_sections=1) - mean
    assert metrics["ripple_peak_um"].value == pytest.approx(max(highest, lowest), rel=1e-9)
    assert len(modes) == len(detection.solution.modes)


def test_a_sine_has_the_texture_parameters_of_the_standard() -> None:
    """Amplitude 10, wavelength 100 um: Rq 7.07107, Rz 20, slope Rdq 0.444288 (ISO 4287; values
    recomputed with surfalize). Whole waves of a ripple that does not decay."""
    sine = Steady(0.1, 0.010, 0.0)
    track = follow(MOTION, 4 + np.arange(0, 2, 0.0005))
    height = 1e3 * heights_mm((sine,), track)
    profile = Profile(height, step=0.5)
    assert (profile.Rq(), profile.Rt()) == pytest.approx((7.07107, 20.0), rel=1e-5)
    assert 1e3 * sine.envelope_mm == pytest.approx(profile.Rt() / 2)
    slope = np.sqrt(np.mean(slopes((sine,), track) ** 2))
    assert slope == pytest.approx(0.444288, rel=1e-5)
    assert slope == pytest.approx(profile.Rdq(), rel=1e-3)


@pytest.mark.parametrize("wave_mm", [8.0, 20.0, 40.0])
def test_drawing_leaves_out_drift_as_the_gaussian_profile_filter_does(wave_mm: float) -> None:
    """ISO 16610-21: a Gaussian of SD s passes half of a wave of s / 0.187391 and 2^-(cut-off / L)^2
    of one of L; the drawn heights are what it leaves, as a metrology library's filter has it."""
    ripple = Steady(wave_mm, 0.003, 0.0)
    problem = synthesise(np.random.default_rng(0), (ripple,), MOTION, noise=1e-7)
    flat = Solution(1.0, 0.0, np.zeros(problem.base.shape[1]), ())
    trace = draw_profile(problem, evaluate(problem, flat))
    cutoff_mm = DRIFT_MM / 0.187391
    u, drawn = np.array(trace.u_mm), np.array(trace.measured)
    inner = (u > 25) & (u < 60)
    wave = np.cos(2 * np.pi * (u - 4) / wave_mm)
    left = 1 - 2 ** -((cutoff_mm / wave_mm) ** 2)
    assert drawn[inner] == pytest.approx(3.0 * left * wave[inner], abs=0.02)
    height = 1e3 * heights_mm((ripple,), problem.track)
    kept = GaussianFilter(1e3 * cutoff_mm, "highpass")(Profile(height, step=100.0)).data
    on_trace = np.interp(u, problem.track.u_mm, kept)
    assert drawn[inner] == pytest.approx(on_trace[inner], abs=0.02)


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


@pytest.mark.parametrize("drift_per_mm", [-0.001, 0.001])
def test_a_scale_that_drifts_along_the_face_is_in_the_dampings_interval(
    drift_per_mm: float,
) -> None:
    """exp(-z w t) (1 + d u) decays like a ripple of another damping: z w less d times the speed."""
    damping, omega = 0.015, 2 * np.pi * 20
    seen = Damped(20, damping - drift_per_mm * 150 / omega, 0.06, 0.0)
    problem = synthesise(np.random.default_rng(0), (seen,), MOTION, noise=0.002)
    detection = find_components(problem)
    shown = [
        estimate_ripple(problem, detection, MOTION, sd_gain=lambda _: 0.0, drift_per_mm=drift)[1][0]
        for drift in (abs(drift_per_mm), 0.0)
    ]
    held = [m.damping_ratio.low <= damping <= m.damping_ratio.high for m in shown]
    assert held == [True, False]


def test_a_small_peak_allows_for_a_vibration_that_was_not_found() -> None:
    """Of 2 and 0.5 um, the slow one unseen: their sum's peak is held all the same."""
    truth = (Damped(60, 0.05, 0.002, 0.0), Damped(21, 0.1, 0.0005, 0.0))
    y = 1e3 * heights_mm(truth, follow(MOTION, np.arange(4, 64, 0.01)))
    held, alone = [], []
    for seed in range(20):
        _, _, (metrics, modes) = _estimate(seed, *truth, noise=0.012)
        assert len(modes) == 1
        peak = metrics["ripple_peak_um"]
        held.append(peak.low <= np.abs(y).max() <= peak.high)
        alone.append(peak.value + (peak.value - peak.low) >= np.abs(y).max())
    assert np.mean(held) >= 0.92
    assert np.mean(alone) < 0.5


def test_without_ripple_the_bound_is_the_detection_limit() -> None:
    _, detection, (metrics, modes) = _estimate(3)
    assert modes == ()
    assert metrics["ripple_peak_um"].value == 0.0
    sizes_um = [1e3 * c.envelope_mm for c in detection.just_found()]
    assert 0.5 * max(sizes_um) < metrics["ripple_peak_um"].high <= max(sizes_um)
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
    trace = draw_profile(problem, detection.fit)
    y = 1e3 * heights_mm((truth,), follow(MOTION, np.array(trace.u_mm)))
    assert np.std(np.array(trace.fitted) - y) < 0.5
    assert np.std(np.array(trace.measured) - y) < 1.0
