import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import signal

from scoring.motion import Motion
from scoring.ripple.spectrum import amplitude_spectrum

CRUISE = Motion(150.0, 40000.0, 150.0)
"""At speed from the corner on: time is distance over speed."""
U_MM = np.arange(0.0, 64.0, 0.1)


def damped(hertz: float, zeta: float, motion: Motion, size_um: float = 20.0) -> NDArray[np.float64]:
    t = motion.time_at(U_MM)
    omega = 2 * math.pi * hertz
    wave = size_um * np.exp(-zeta * omega * t) * np.sin(omega * math.sqrt(1 - zeta**2) * t)
    return np.asarray(wave)


@pytest.mark.parametrize("hertz", [30.0, 60.0, 90.0])
def test_a_damped_vibration_is_its_transfer_function(hertz: float) -> None:
    """|H| of omega_d / (s^2 + 2 zeta omega s + omega^2) (tables of the Laplace transform)."""
    zeta, size_um = 0.08, 20.0
    omega = 2 * math.pi * hertz
    spectrum = amplitude_spectrum(U_MM, damped(hertz, zeta, CRUISE), CRUISE, highest_hz=150)
    system = ([size_um * omega * math.sqrt(1 - zeta**2)], [1, 2 * zeta * omega, omega**2])
    _, expected = signal.freqs(*system, worN=2 * math.pi * spectrum.frequency_hz)
    near = np.abs(spectrum.frequency_hz - hertz) < 15
    off = np.abs(spectrum.density_um_s - np.abs(expected))[near]
    assert off.max() < 0.02 * np.abs(expected).max()


@pytest.mark.parametrize("accel_mm_s2", [1000.0, 5000.0, 20000.0])
def test_the_peak_stays_in_place_whatever_the_acceleration(accel_mm_s2: float) -> None:
    motion = Motion(150.0, accel_mm_s2, 5.0)
    spectrum = amplitude_spectrum(U_MM, damped(45.0, 0.05, motion), motion, highest_hz=150)
    assert spectrum.frequency_hz[np.argmax(spectrum.density_um_s)] == pytest.approx(45.0, abs=1.0)


def test_too_few_places_give_an_empty_spectrum() -> None:
    short = np.arange(3.0)
    assert amplitude_spectrum(short, short, CRUISE, highest_hz=100).frequency_hz.size == 0
