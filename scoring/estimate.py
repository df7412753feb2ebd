"""One number with its 95 % interval."""

import math
from dataclasses import dataclass

Z95 = 1.959963984540054
"""Half-width of a normal distribution's central 95 % interval, in standard deviations."""


@dataclass(frozen=True)
class Estimate:
    """A value and the 95 % interval it stands in, all in the unit the metric names.

    Raises ``ValueError`` where ``low <= value <= high`` does not hold or a number is not finite:
    a number that could not be given is no ``Estimate``.
    """

    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not all(math.isfinite(x) for x in (self.value, self.low, self.high)):
            raise ValueError(f"not finite: {self}")
        if not self.low <= self.value <= self.high:
            raise ValueError(f"value outside its interval: {self}")

    @staticmethod
    def around(value: float, half_width: float) -> "Estimate":
        """``value`` in the middle of an interval of twice ``half_width``."""
        return Estimate(float(value), float(value - half_width), float(value + half_width))

    @property
    def half_width(self) -> float:
        """Half the interval's length, in the metric's unit."""
        return (self.high - self.low) / 2

    def is_unsure(self, share: float, amount: float = 0.0) -> bool:
        """Whether the interval reaches beyond both ``share`` of the value and ``amount`` from it.

        On its longer side: an interval that is open upwards says that the value may be far off.
        """
        return max(self.value - self.low, self.high - self.value) > max(share * self.value, amount)
