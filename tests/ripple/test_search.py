"""Known truth in, truth out; and no ripple from noise alone."""

import numpy as np
import pytest

from scoring.motion import Motion
from scoring.ripple.components import Damped, Steady, follow
from scoring.ripple.search import find_components
from tests.ripple.synthetic import COTANGENT, synthesise

MOTION = Motion(150, 5000, 5)


def _modes(found: tuple[object, ...]) -> list[Damped]:
    modes = [c for c in found if isinstance(c, Damped)]
    return sorted(modes, key=lambda c: -c.envelope_mm)


@pytest.mark.parametrize("frequency", [25.0, 45.0, 80.0, 110.0])
@pytest.mark.parametrize("damping", [0.03, 0.1])
def test_one_mode_comes_back(frequency: float, damping: float) -> None:
    truth = Damped(frequency, damping, 0.02, -0.01)
    rng = np.random.default_rng(int(frequency))
    detection = find_components(synthesise(rng, (truth,), MOTION))
    (mode,) = _modes(detection.solution.components)
    assert mode.frequency_hz == pytest.approx(frequency, rel=0.005)
    assert mode.damping_ratio == pytest.approx(damping, rel=0.1)
    assert mode.envelope_mm == pytest.approx(truth.envelope_mm, rel=0.05)


def test_two_modes_and_a_steady_ripple_are_told_apart() -> None:
    truth = (Damped(48, 0.05, 0.02, 0.0), Damped(85, 0.06, 0.0, 0.012), Steady(2.0, 0.002, 0.0))
    detection = find_components(synthesise(np.random.default_rng(1), truth, MOTION))
    found = detection.solution.components
    first, second = _modes(found)
    assert (first.frequency_hz, second.frequency_hz) == pytest.approx((48, 85), rel=0.01)
    (steady,) = [c for c in found if isinstance(c, Steady)]
    assert steady.period_mm == pytest.approx(2.0, rel=0.005)
    assert steady.envelope_mm == pytest.approx(0.002, rel=0.2)


def test_noise_alone_holds_no_ripple() -> None:
    """At most one false alarm in forty: the chance asked for is far smaller."""
    rng = np.random.default_rng(7)
    false = sum(
        bool(find_components(synthesise(rng, (), MOTION)).solution.components) for _ in range(40)
    )
    assert false <= 1


def test_ripple_over_the_limit_is_found() -> None:
    rng = np.random.default_rng(8)
    limit = find_components(synthesise(rng, (), MOTION)).limit_mm
    truth = Damped(50.0, 0.05, 2 * limit, 0.0)
    assert _modes(find_components(synthesise(rng, (truth,), MOTION)).solution.components)


def test_scatter_is_near_the_cramer_rao_bound() -> None:
    """Real damped sinusoid in white noise: var w = var alpha = (2 s^2 / A^2) S0 / (S0 S2 - S1^2),
    S_k = sum n^k exp(-2 alpha n), per sample (within 2 % of the full Fisher matrix for damping over
    0.05). At constant speed the slope of a damped sinusoid is one too."""
    motion = Motion(100, 200_000, 100)
    frequency, damping, noise, strips = 50.0, 0.06, 0.02, 18
    truth = Damped(frequency, damping, 0.004, 0.003)
    runs = 60
    rng = np.random.default_rng(11)
    found = []
    for _ in range(runs):
        detection = find_components(synthesise(rng, (truth,), motion, noise=noise))
        found.append(_modes(detection.solution.components)[0].shape())
    track = follow(motion, np.arange(3.5, 93, 0.1))
    per_sample = 2 * np.pi * frequency * 0.1 / 100
    alpha = damping * per_sample
    n = np.arange(track.u_mm.size)
    s0, s1, s2 = (np.sum(n**k * np.exp(-2 * alpha * n)) for k in range(3))
    start = np.exp(-damping * 2 * np.pi * frequency * track.time_s[0])
    contrast = COTANGENT * truth.envelope_mm * 2 * np.pi * frequency / 100 * start
    variance = 2 * noise**2 / strips / contrast**2 * s0 / (s0 * s2 - s1**2)
    sd_log_frequency = np.sqrt(variance) / per_sample
    scatter = np.std([f[0] for f in found], ddof=1)
    # 60 runs know a standard deviation to 9 %; baseline and facets cost a little too.
    assert scatter < 1.15 * (1 + 2 * 0.09) * sd_log_frequency
    assert scatter > 0.7 * sd_log_frequency


def test_a_nozzle_too_slow_for_any_vibration_still_shows_a_steady_ripple() -> None:
    """At 5 mm/s even 12 Hz makes waves under 0.6 mm: no vibration is looked for."""
    problem = synthesise(np.random.default_rng(9), (Steady(2.0, 0.002, 0.0),), Motion(5, 2500, 5))
    (found,) = find_components(problem).solution.components
    assert isinstance(found, Steady)
    assert found.period_mm == pytest.approx(2.0, rel=0.005)
