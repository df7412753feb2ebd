"""A shift and a stretch that set u on a face, as its own features show them."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

MIN_SD_STRETCH = 0.0003
"""However well the camera knows lengths, print and pose leave so much of the stretch in doubt."""


@dataclass(frozen=True)
class UFit:
    """A place read as u stands at u - ``shift_mm`` - ``stretch`` (u - ``middle_u_mm``)."""

    middle_u_mm: ClassVar[float]

    shift_mm: float
    stretch: float

    def true_u_mm(self, u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Face coordinates of places read as ``u_mm``, any shape."""
        return np.asarray(u_mm - self.shift_mm - self.stretch * (u_mm - self.middle_u_mm))

    def read_u_mm(self, u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """The inverse of :meth:`true_u_mm`."""
        away = (u_mm - self.middle_u_mm + self.shift_mm) / (1 - self.stretch)
        return np.asarray(away + self.middle_u_mm)
