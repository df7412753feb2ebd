"""Rounding read back from drawn facets that were rounded by a known amount."""

import numpy as np
import pytest

from scoring.verify.designed import fit_designed
from scoring.verify.rounding import Rounding, measure_rounding
from tests.verify.drawn_check import draw_problem

DESIGNED = np.array([20.0, 50.0, 100.0, 0.0])


def _measure(rounding_mm: float, noise: float = 0.002) -> Rounding:
    found = fit_designed(draw_problem(DESIGNED, rounding_mm=rounding_mm, noise=noise))
    return measure_rounding(found.problem, found.solution)


@pytest.mark.parametrize("rounding_mm", [0.08, 0.12, 0.18, 0.25])
def test_known_rounding_comes_back(rounding_mm: float) -> None:
    found = _measure(rounding_mm)
    assert found.spread_mm == pytest.approx(rounding_mm, rel=0.08)
    assert abs(found.variance_mm2 - rounding_mm**2) < 2 * found.sd_mm2


def test_sharp_edges_are_hardly_rounded() -> None:
    found = _measure(0.0)
    assert 0 <= found.variance_mm2 < 0.004


def test_noise_is_told() -> None:
    assert _measure(0.12, noise=0.3).sd_mm2 > 1.2 * _measure(0.12).sd_mm2


def test_what_is_kept_of_a_wave() -> None:
    """A box of 0.4 mm, a nozzle's bore, leaves sinc(0.4 / 3) = 0.971 of a wave of 3 mm, and has a
    variance of 0.4^2 / 12."""
    share, sd = Rounding(0.4**2 / 12, 0.0).kept(3.0)
    assert share == pytest.approx(np.sinc(0.4 / 3.0), abs=1e-3)
    assert sd == pytest.approx(0.3 * (1 - share))
    assert Rounding(0.0, 0.0).kept(3.0) == (1.0, 0.0)


def test_rounding_takes_from_ripple_what_it_says() -> None:
    """The ripple of the same drawn face is smaller by just the share that the edges tell."""
    sharp, soft = (fit_designed(draw_problem(DESIGNED, rounding_mm=r)) for r in (0.0, 0.2))
    share, _ = measure_rounding(soft.problem, soft.solution).kept(3.0)
    shrunk = soft.amplitude_um[:3, 0] / sharp.amplitude_um[:3, 0]
    assert shrunk == pytest.approx(np.full(3, share), abs=0.01)
