"""The parts a ripple is made of: damped vibrations in time, and a steady ripple in length."""

import math
from dataclasses import dataclass
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

    @property
    def pole(self) -> complex:
        """The vibration as one complex exponential, exp(pole t), in 1/s."""
        z = self.damping_ratio
        return 2 * np.pi * self.frequency_hz * complex(-z, np.sqrt(1 - z**2))

    def heights_mm(self, track: Track) -> NDArray[np.float64]:
        """The height (N,)."""
        return np.asarray((complex(self.a_mm, -self.b_mm) * np.exp(self.pole * track.time_s)).real)

    def slope_derivatives(self, track: Track) -> NDArray[np.float64]:
        """Derivatives (N, 4) of the slope by log frequency, log damping, a and b."""
        omega, z = 2 * np.pi * self.frequency_hz, self.damping_ratio
        root = np.sqrt(1 - z**2)
        pole = self.pole
        turned = pole.imag * track.time_s
        # The real functions together take half as long as the complex exponential.
        grown = np.exp(pole.real * track.time_s) / track.speed_mm_s
        wave = grown * np.cos(turned) + 1j * (grown * np.sin(turned))
        by_pole = (1 + pole * track.time_s) * wave * (self.a_mm - 1j * self.b_mm)
        by_damping = z * omega * (-1 - 1j * z / root)
        linear = pole * wave
        return np.stack(
            [(pole * by_pole).real, (by_damping * by_pole).real, linear.real, linear.imag], axis=1
        )


def damped_slopes(
    track: Track, frequency_hz: NDArray[np.float64], damping_ratio: NDArray[np.float64]
) -> NDArray[np.float32]:
    """Slopes dy/du (N, 2 F) of unit cosine and sine for F frequencies and dampings."""
    pole = 2 * np.pi * frequency_hz * (-damping_ratio + 1j * np.sqrt(1 - damping_ratio**2))
    grown = np.exp(np.multiply.outer(track.time_s, pole.real).astype(np.float32))
    size = grown / track.speed_mm_s.astype(np.float32)[:, None]
    return _slopes_of(pole, track.time_s, np.asarray(size, np.float32))


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

    def reshaped(self, shape: NDArray[np.float64], a_mm: float, b_mm: float) -> "Steady":
        """This component with other parameters, its period held to what a face can show."""
        period = float(np.clip(np.exp(np.clip(shape[0], -5, 5)), *PERIOD_BOUNDS_MM))
        return Steady(period, a_mm, b_mm)

    def heights_mm(self, track: Track) -> NDArray[np.float64]:
        """The height (N,)."""
        wave = np.exp(2j * np.pi / self.period_mm * (track.u_mm - START_U_MM))
        return np.asarray((complex(self.a_mm, -self.b_mm) * wave).real)

    def slope_derivatives(self, track: Track) -> NDArray[np.float64]:
        """Derivatives (N, 3) of the slope by log period, a and b."""
        k = 2 * np.pi / self.period_mm
        length = track.u_mm - START_U_MM
        linear = 1j * k * np.exp(1j * k * length)
        by_period = -(1 + 1j * k * length) * linear * (self.a_mm - 1j * self.b_mm)
        return np.stack([by_period.real, linear.real, linear.imag], axis=1)


def steady_slopes(track: Track, period_mm: NDArray[np.float64]) -> NDArray[np.float32]:
    """Slopes dy/du (N, 2 P) of unit cosine and sine for P periods."""
    turn = np.asarray(2j * np.pi / period_mm, np.complex128)
    return _slopes_of(turn, track.u_mm - START_U_MM, np.float32(1.0))


def _slopes_of(
    pole: NDArray[np.complex128],
    at: NDArray[np.float64],
    size: NDArray[np.float32] | np.float32,
) -> NDArray[np.float32]:
    """Real and imaginary parts (N, 2 K), side by side, of ``size`` (N, K) times the pole turned on.

    Good to a ten-thousandth, for searching: single precision takes a thirtieth of the time.
    """
    turned = (np.multiply.outer(at, pole.imag) + np.angle(pole)).astype(np.float32)
    size = size * np.abs(pole).astype(np.float32)
    pair = np.empty((*turned.shape, 2), np.float32)
    np.multiply(size, np.cos(turned), out=pair[..., 0])
    np.multiply(size, np.sin(turned), out=pair[..., 1])
    return pair.reshape(len(at), -1)


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
        total += c.slope_derivatives(track)[:, -2:] @ np.array([c.a_mm, c.b_mm])
    return total
