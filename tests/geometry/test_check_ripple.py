"""The check blade's designed ripple: what its file says, read back from y(u) by other means."""

import tomllib
from importlib.resources import files

import numpy as np
import pytest

from scoring.geometry import BLADE
from scoring.geometry.check_ripple import CHECK_RIPPLE, CheckStretch

U = np.linspace(0.0, 100.0, 100_001)
RAW = tomllib.loads(files("scoring.geometry").joinpath("check_ripple.toml").read_text("utf-8"))


def test_it_holds_every_number_of_its_file() -> None:
    assert CHECK_RIPPLE.wavelength_mm == RAW["wavelength_mm"] == 3.0
    assert [s.amplitude_um for s in CHECK_RIPPLE.rippled] == [20.0, 50.0, 100.0]
    assert [list(s.u_mm) for s in CHECK_RIPPLE.stretches] == [s["u_mm"] for s in RAW["stretches"]]
    assert (CHECK_RIPPLE.zero_u_mm, CHECK_RIPPLE.ramp_mm) == (RAW["zero_u_mm"], RAW["ramp_mm"])


@pytest.mark.parametrize("stretch", CHECK_RIPPLE.stretches, ids=lambda s: str(s.amplitude_um))
def test_each_stretch_is_whole_waves_of_its_amplitude(stretch: CheckStretch) -> None:
    """By the discrete Fourier transform: one line, at 3 mm, of the designed size."""
    start, end = stretch.u_mm
    u = np.linspace(start, end, 3000, endpoint=False)
    lines = 2e3 * np.abs(np.fft.rfft(CHECK_RIPPLE.height_mm(u))) / u.size
    waves = round((end - start) / CHECK_RIPPLE.wavelength_mm)
    assert waves * CHECK_RIPPLE.wavelength_mm == pytest.approx(end - start)
    assert lines[waves] == pytest.approx(stretch.amplitude_um, abs=1e-9)
    assert np.delete(lines, waves) == pytest.approx(0, abs=1e-9)


def test_the_whole_lies_in_the_ringdown_zone_and_fades_in_and_out() -> None:
    start, end = CHECK_RIPPLE.rippled_u_mm
    zone = BLADE.ringdown_zone_u_mm
    assert zone[0] < start < end < CHECK_RIPPLE.flat.u_mm[0] < CHECK_RIPPLE.flat.u_mm[1] <= zone[1]
    outside = (start >= U) | (end <= U)
    assert np.abs(CHECK_RIPPLE.height_mm(U[outside])).max() == 0
    # No kink anywhere: the slope changes by less than the wave's own curvature allows.
    slope = np.diff(CHECK_RIPPLE.height_mm(U)) / 1e-3
    steepest_curve = 0.1 * (2 * np.pi / 3) ** 2
    assert np.abs(np.diff(slope)).max() < 1.05 * steepest_curve * 1e-3


def test_between_stretches_the_windows_add_up_to_one() -> None:
    first, second, third, _ = CHECK_RIPPLE.stretches
    cosine_at_zero = 1  # the quarter wave on shows the window where the sine is nought
    for left, right in ((first, second), (second, third)):
        u = np.arange(left.u_mm[1], right.u_mm[0] + 0.1, 1.5) - 1e-12
        sizes = sum(np.hypot(*CHECK_RIPPLE.waves(s, u)[0].T) for s in (left, right))
        assert sizes == pytest.approx(np.full(u.size, cosine_at_zero))


@pytest.mark.parametrize("stretch", CHECK_RIPPLE.stretches, ids=lambda s: str(s.amplitude_um))
def test_slopes_are_the_heights_derivatives(stretch: CheckStretch) -> None:
    height, slope = CHECK_RIPPLE.waves(stretch, U)
    # Where a window starts the curvature steps, by up to (pi / 3)^2 / 2: half a step of 1 um of it.
    assert slope[1:-1] == pytest.approx(np.gradient(height, U, axis=0)[1:-1], abs=3e-4)
