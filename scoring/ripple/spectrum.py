"""The spectrum of a height trace, in hertz whatever the nozzle's acceleration: for the eye."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from scoring.motion import Motion

PADDING = 8
"""Zeros are added up to so many times the length: a smooth line, no finer resolution."""


@dataclass(frozen=True)
class Spectrum:
    """``density_um_s`` (N,) is the amplitude per hertz (µm·s = µm/Hz) at ``frequency_hz`` (N,)."""

    frequency_hz: NDArray[np.float64]
    density_um_s: NDArray[np.float64]


def amplitude_spectrum(
    u_mm: NDArray[np.float64],
    height_um: NDArray[np.float64],
    motion: Motion,
    *,
    highest_hz: float,
) -> Spectrum:
    """Magnitude of the Fourier integral over time of heights (N,) at places ``u_mm`` (N,).

    The heights' mean is taken off and they are set on even steps of time along ``motion``; a
    damped vibration of amplitude A then peaks at A / (2 zeta omega) (its Laplace transform on the
    imaginary axis, zeta small). Not windowed: a ring-down is largest at its start. Fewer than four
    places give an empty spectrum.
    """
    if u_mm.size < 4:
        return Spectrum(np.empty(0), np.empty(0))
    time_s = motion.time_at(u_mm)
    even_s = np.linspace(time_s[0], time_s[-1], 2 * u_mm.size)
    height = np.interp(even_s, time_s, height_um - np.mean(height_um))
    step_s = float(even_s[1] - even_s[0])
    length = fft.next_fast_len(PADDING * even_s.size, real=True)
    frequency_hz = fft.rfftfreq(length, step_s)
    density = np.abs(fft.rfft(height, length)) * step_s
    shown = frequency_hz <= highest_hz
    return Spectrum(frequency_hz[shown], density[shown])
