"""Sizes set against the design: the generalised least squares, and the printer's steps."""

from dataclasses import replace

import numpy as np
import pytest

from scoring.verify.designed import DesignedFit, fit_designed
from scoring.verify.rounding import Rounding
from scoring.verify.scale import SD_STEP_UM, ScaleResult, scale_heights
from tests.verify.drawn_check import draw_problem, lit_face

DESIGNED = np.array([20.0, 50.0, 100.0, 0.0])
SHARP = Rounding(0.0, 0.0)
FIT = fit_designed(draw_problem(DESIGNED, noise=0.01))


def _as_if(amplitudes_um: list[float], *, turn: float = 0.0) -> DesignedFit:
    """The drawn fit with other amplitudes put in its place."""
    size = np.array(amplitudes_um)
    return replace(FIT, amplitude_um=np.stack([size * np.cos(turn), -size * np.sin(turn)], axis=1))


def _scale(fit: DesignedFit, rounding: Rounding = SHARP) -> ScaleResult:
    return scale_heights(fit, rounding, lit_face(FIT.problem))


@pytest.mark.parametrize("scale", [0.6, 1.0, 1.3])
def test_proportional_sizes_have_that_scale_and_lose_nothing(scale: float) -> None:
    found = _scale(_as_if([20 * scale, 50 * scale, 100 * scale, 0]))
    assert found.scale.value == pytest.approx(scale)
    assert found.lost_um.value == pytest.approx(0, abs=1e-6)
    assert [s.ratio.value for s in found.stretches] == pytest.approx([scale] * 3)


def test_a_dead_band_is_told_apart_from_scale() -> None:
    found = _scale(_as_if([14, 44, 94, 0]))
    assert found.lost_um.value == pytest.approx(6)
    assert found.lost_um.low > 0


def test_a_turn_is_a_shift_and_costs_no_size() -> None:
    found = _scale(_as_if([20, 50, 100, 0], turn=2 * np.pi * 0.1 / 3))
    assert found.shift_mm == pytest.approx(0.1)
    assert found.scale.value == pytest.approx(1)


def test_rounding_is_allowed_for_and_doubted() -> None:
    plain = _scale(_as_if([20, 50, 100, 0]))
    rounded = _scale(_as_if([20, 50, 100, 0]), Rounding(0.0144, 0.003))
    kept = np.exp(-0.0144 * (2 * np.pi / 3) ** 2 / 2)
    assert rounded.scale.value == pytest.approx(1 / kept)
    assert rounded.stretches[2].printed_um.value == pytest.approx(100 * kept)
    assert rounded.stretches[2].measured_um == plain.stretches[2].measured_um
    assert rounded.shared_sd > plain.shared_sd


def test_the_interval_is_no_narrower_than_what_all_stretches_share() -> None:
    found = _scale(_as_if([20, 50, 100, 0]))
    assert found.scale.half_width > found.t * found.shared_sd
    assert found.scale.half_width < found.stretches[0].ratio.half_width


def test_ripple_on_the_flat_stretch_is_its_own_number() -> None:
    found = _scale(_as_if([20, 50, 100, 4]))
    assert found.flat_um.value == pytest.approx(4)
    assert found.flat_um.low > 2
    assert _scale(_as_if([20, 50, 100, 0])).flat_um.low == 0


@pytest.mark.parametrize("amplitude_um", [20.0, 50.0, 100.0])
def test_motor_steps_leave_waves_within_what_is_allowed(amplitude_um: float) -> None:
    """A wave rounded to steps of 12.5 um (1.8 degrees, 16 microsteps, 20 teeth of 2 mm: common
    practice, no source), over all phases: the error of its amplitude by projection."""
    rng = np.random.default_rng(0)
    step = 12.5
    turn = np.linspace(0, 2 * np.pi, 2000, endpoint=False)
    errors = []
    for offset, phase in zip(rng.uniform(0, step, 2000), rng.uniform(0, 6.3, 2000), strict=True):
        wave = np.sin(turn + phase)
        stepped = step * np.round((amplitude_um * wave + offset) / step)
        errors.append(2 * np.mean(stepped * wave) - amplitude_um)
    rms = float(np.sqrt(np.mean(np.square(errors))))
    assert 0.4 * SD_STEP_UM < rms < SD_STEP_UM * 1.02
