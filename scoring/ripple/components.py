"""The parts a ripple is made of: damped vibrations in time, and a steady ripple in length."""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.motion import Motion

START_U_MM = BLADE.ringdown_zone_u_mm[0]
SHAPE_BOUNDS = np.log([[2.0, 0.005], [600.0, 0.4]])
"""Lowest and highest frequency in Hz and damping that a fit may pass through on its way."""

PERIOD_BOUNDS_MM = (0.1, 50.0)


@dataclass(frozen=True)
class Track:
    """The nozzle's path: ``u_mm``, seconds since it passed u = 4 mm, and speed; (N,) each."""

    u_mm: NDArray[np.float64]
    time_s: NDArray[np.float64]
    speed_mm_s: NDArray[np.float64]


def follow(motion: Motion, u_mm: NDArray[np.float64]) -> Track:
    """The track of ``motion`` over ``u_mm`` (N,)."""
    start = motion.time_at(np.array([START_U_MM]))[0]
    return Track(u_mm, motion.time_at(u_mm) - start, motion.speed_at(u_mm))


def find_pole(
    frequency_hz: float | NDArray[np.float64], damping_ratio: float | NDArray[np.float64]
) -> NDArray[np.complex128]:
    """The poles of damped vibrations, in 1/s: their real parts say how they die out."""
    z = np.asarray(damping_ratio)
    return np.asarray(2 * np.pi * frequency_hz * (-z + 1j * np.sqrt(1 - z**2)))


@dataclass(frozen=True)
class Damped:
    """y = exp(-z w t) (a cos(w_d t) + b sin(w_d t)), t from the zone's start, a and b in mm."""

    frequency_hz: float
    damping_ratio: float
    a_mm: float
    b_mm: float

    @property
    def envelope_mm(self) -> float:
        """The envelope at the zone's start."""
        return float(np.hypot(self.a_mm, self.b_mm))

    def shape(self) -> NDArray[np.float64]:
        """The two nonlinear parameters, log frequency and log damping."""
        return np.log([self.frequency_hz, self.damping_ratio])

    def reshaped(self, shape: NDArray[np.float64], a_mm: float, b_mm: float) -> "Damped":
        """This component with other parameters, held to what a ring-down can have."""
        frequency, damping = (
            math.exp(min(max(x, low), high))
            for x, low, high in zip(shape.tolist(), *SHAPE_BOUNDS.tolist(), strict=True)
        )
        return Damped(frequency, damping, a_mm, b_mm)

    @cached_property
    def pole(self) -> complex:
        """The vibration as one complex exponential, exp(pole t), in 1/s."""
        return complex(find_pole(self.frequency_hz, self.damping_ratio))

    @staticmethod
    def of(pole: complex, amplitude_mm: complex) -> "Damped":
        """The vibration of ``pole`` whose ``amplitude_mm`` is a - i b."""
        size = abs(pole)
        damping = -pole.real / size
        return Damped(size / (2 * np.pi), damping, amplitude_mm.real, -amplitude_mm.imag)

    def heights_mm(self, track: Track) -> NDArray[np.float64]:
        """The height (N,)."""
        return np.asarray((complex(self.a_mm, -self.b_mm) * self._wave(track)).real)

    def height_derivatives(self, track: Track) -> NDArray[np.float64]:
        """Derivatives (4, N) of the height by log frequency, log damping, a and b."""
        wave = self._wave(track)
        return self._by_parameters(track.time_s * wave, wave)

    def slope_derivatives(self, track: Track) -> NDArray[np.float64]:
        """Derivatives (4, N) of the slope by log frequency, log damping, a and b."""
        wave = self._wave(track) / track.speed_mm_s
        return self._by_parameters((1 + self.pole * track.time_s) * wave, self.pole * wave)

    def _wave(self, track: Track) -> NDArray[np.complex128]:
        """The vibration of unit amplitude, (N,)."""
        grown = np.exp(self.pole.real * track.time_s)
        turned = self.pole.imag * track.time_s
        # The real functions together take half as long as the complex exponential.
        wave = np.empty(grown.shape, np.complex128)
        wave.real, wave.imag = grown * np.cos(turned), grown * np.sin(turned)
        return wave

    def _by_parameters(
        self, by_pole: NDArray[np.complex128], linear: NDArray[np.complex128]
    ) -> NDArray[np.float64]:
        """Derivatives (4, N) by log frequency, log damping, a and b."""
        omega, z = 2 * np.pi * self.frequency_hz, self.damping_ratio
        by_pole = by_pole * complex(self.a_mm, -self.b_mm)
        by_damping = z * omega * complex(-1, -z / np.sqrt(1 - z**2))
        return np.stack(
            [(self.pole * by_pole).real, (by_damping * by_pole).real, linear.real, linear.imag]
        )


@dataclass(frozen=True)
class Steady:
    """A ripple of constant length that does not decay: belt teeth, motor steps."""

    period_mm: float
    a_mm: float
    b_mm: float

    @property
    def envelope_mm(self) -> float:
        """The amplitude."""
        return float(np.hypot(self.a_mm, self.b_mm))

    def shape(self) -> NDArray[np.float64]:
        """The nonlinear parameter, log period."""
        return np.log([self.period_mm])

    @staticmethod
    def of(pole: complex, amplitude_mm: complex) -> "Steady":
        """The ripple exp(pole u) whose ``amplitude_mm`` is a - i b, ``pole`` in 1/mm."""
        return Steady(2 * np.pi / pole.imag, amplitude_mm.real, -amplitude_mm.imag)

    def reshaped(self, shape: NDArray[np.float64], a_mm: float, b_mm: float) -> "Steady":
        """This component with other parameters, its period held to what a face can show."""
        period = float(np.clip(np.exp(np.clip(shape[0], -5, 5)), *PERIOD_BOUNDS_MM))
        return Steady(period, a_mm, b_mm)

    def heights_mm(self, track: Track) -> NDArray[np.float64]:
        """The height (N,)."""
        wave = np.exp(2j * np.pi / self.period_mm * (track.u_mm - START_U_MM))
        return np.asarray((complex(self.a_mm, -self.b_mm) * wave).real)

    def slope_derivatives(self, track: Track) -> NDArray[np.float64]:
        """Derivatives (3, N) of the slope by log period, a and b."""
        k = 2 * np.pi / self.period_mm
        length = track.u_mm - START_U_MM
        linear = 1j * k * np.exp(1j * k * length)
        by_period = -(1 + 1j * k * length) * linear * (self.a_mm - 1j * self.b_mm)
        return np.stack([by_period.real, linear.real, linear.imag])


class Component(Protocol):
    """A part of a ripple: linear in ``a_mm`` and ``b_mm``, its shape's parameters nonlinear."""

    @property
    def a_mm(self) -> float: ...

    @property
    def b_mm(self) -> float: ...

    @property
    def envelope_mm(self) -> float: ...

    def shape(self) -> NDArray[np.float64]: ...

    def reshaped(self, shape: NDArray[np.float64], a_mm: float, b_mm: float) -> "Component": ...

    def heights_mm(self, track: Track) -> NDArray[np.float64]: ...

    def slope_derivatives(self, track: Track) -> NDArray[np.float64]: ...


def heights_mm(components: tuple[Component, ...], track: Track) -> NDArray[np.float64]:
    """The summed height (N,) of the components."""
    total = np.zeros_like(track.u_mm)
    for c in components:
        total += c.heights_mm(track)
    return total


def slopes(components: tuple[Component, ...], track: Track) -> NDArray[np.float64]:
    """The summed slope dy/du (N,) of the components."""
    total = np.zeros_like(track.u_mm)
    for c in components:
        total += np.array([c.a_mm, c.b_mm]) @ c.slope_derivatives(track)[-2:]
    return total
