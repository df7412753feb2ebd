"""How the nozzle moves after a corner: speed, distance and time."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.errors import SettingsError

MAX_SPEED_MM_S = 2000.0
MAX_ACCEL_MM_S2 = 200_000.0


@dataclass(frozen=True)
class Motion:
    """Constant acceleration from the corner speed up to the cruise speed, then steady.

    ``corner_speed_mm_s`` is the speed at u = 0. Raises :class:`SettingsError` for numbers that no
    machine can have: zero, negative or not finite, or a corner faster than the cruise.
    """

    speed_mm_s: float
    accel_mm_s2: float
    corner_speed_mm_s: float = 5.0

    def __post_init__(self) -> None:
        for name, value, limit, unit in (
            ("speed", self.speed_mm_s, MAX_SPEED_MM_S, "mm/s"),
            ("acceleration", self.accel_mm_s2, MAX_ACCEL_MM_S2, "mm/s²"),
        ):
            if not (math.isfinite(value) and 0 < value <= limit):
                raise SettingsError(
                    f"The {name} is {value:g} {unit}; it must be above 0 and at most {limit:g} "
                    f"{unit}. Give the outer wall's own {name}."
                )
        if not (math.isfinite(self.corner_speed_mm_s) and self.corner_speed_mm_s >= 0):
            raise SettingsError(
                f"The corner speed is {self.corner_speed_mm_s:g} mm/s; it must be 0 or more."
            )
        if self.corner_speed_mm_s > self.speed_mm_s:
            raise SettingsError(
                f"The corner speed, {self.corner_speed_mm_s:g} mm/s, is above the outer wall's "
                f"speed, {self.speed_mm_s:g} mm/s. Were they swapped?"
            )

    @property
    def ramp_mm(self) -> float:
        """Length over which the nozzle still accelerates, (v^2 - vc^2) / 2a, in mm."""
        return (self.speed_mm_s**2 - self.corner_speed_mm_s**2) / (2 * self.accel_mm_s2)

    def speed_at(self, u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Speed in mm/s at each distance ``u_mm`` from the corner; any shape, same shape out."""
        u = np.maximum(u_mm, 0.0)
        v = np.sqrt(self.corner_speed_mm_s**2 + 2 * self.accel_mm_s2 * u)
        return np.asarray(np.minimum(v, self.speed_mm_s))

    def time_at(self, u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Seconds since the corner at each ``u_mm``; any shape, same shape out."""
        u = np.maximum(u_mm, 0.0)
        ramp = (self.speed_at(u) - self.corner_speed_mm_s) / self.accel_mm_s2
        return np.asarray(ramp + np.maximum(u - self.ramp_mm, 0.0) / self.speed_mm_s)
