"""The rectified face: what every measurement downstream starts from."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.metrics import FaceName


@dataclass(frozen=True)
class RectifiedFace:
    """The coupon's face in face millimetres.

    ``linear`` is (M, N, 3) float32, rows first, red-green-blue in linear light with 1.0 at full
    scale; ``clipped`` is (M, N) bool, true where the photo gave no light value. The centre of
    pixel (i, j) lies at u = ``u0_mm`` + j / ``px_per_mm``, w = ``w0_mm`` - i / ``px_per_mm``: rows
    run down the picture, w runs up. ``luma`` (M, N) is the light of the file's own luma, where it
    keeps one.
    """

    face: FaceName
    linear: NDArray[np.float32]
    clipped: NDArray[np.bool_]
    px_per_mm: float
    u0_mm: float
    w0_mm: float
    luma: NDArray[np.float32] | None = None

    def u_mm(self) -> NDArray[np.float64]:
        """The u of each column, (N,) in mm."""
        return self.u0_mm + np.arange(self.linear.shape[1]) / self.px_per_mm

    def w_mm(self) -> NDArray[np.float64]:
        """The w of each row, (M,) in mm, falling."""
        return self.w0_mm - np.arange(self.linear.shape[0]) / self.px_per_mm
