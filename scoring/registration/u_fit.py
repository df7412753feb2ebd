"""A shift and a stretch that set u on a face, as its own features show them."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE

MIN_SD_STRETCH = 0.0003
"""However well the camera knows lengths, print and pose leave so much of the stretch in doubt."""

MOST_SD_MM = 0.05
"""How well u is to be known all over the face. Own photos are placed better than their standard
deviation; those of a sixth renderer, where focal lengths are up to 3 % from what the file tells,
are not: at 0.065 two of its 18 places over 0.05 mm off were silent."""


@dataclass(frozen=True)
class UFit:
    """A place read as u stands at u - ``shift_mm`` - ``stretch`` (u - ``middle_u_mm``).

    ``sd_shift_mm`` and ``sd_stretch`` are their standard deviations.
    """

    middle_u_mm: ClassVar[float]

    shift_mm: float
    stretch: float
    sd_shift_mm: float
    sd_stretch: float

    @property
    def sure(self) -> bool:
        """Whether u is known all over the face, the far end included."""
        far_mm = max(self.middle_u_mm, BLADE.length_mm - self.middle_u_mm)
        return bool(np.hypot(self.sd_shift_mm, self.sd_stretch * far_mm) < MOST_SD_MM)

    def true_u_mm(self, u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Face coordinates of places read as ``u_mm``, any shape."""
        return np.asarray(u_mm - self.shift_mm - self.stretch * (u_mm - self.middle_u_mm))

    def read_u_mm(self, u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """The inverse of :meth:`true_u_mm`."""
        away = (u_mm - self.middle_u_mm + self.shift_mm) / (1 - self.stretch)
        return np.asarray(away + self.middle_u_mm)
