"""Find the coupon's cut corner, which tells its faces apart and up from down."""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from scoring.geometry import BLADE
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement, sample_face

PX_PER_MM = 12.0
REACH_MM, NEAR_MM = 1.2, 0.5
"""How far from the diagonal its surroundings are seen, and how near the cut's edge lies."""

_L, _H, _C = BLADE.length_mm, BLADE.height_mm, BLADE.chamfer_leg_mm
_CORNERS = {
    "top-right": ((_L, _H), (-1.0, -1.0)),
    "top-left": ((0.0, _H), (1.0, -1.0)),
    "bottom-right": ((_L, 0.0), (-1.0, 1.0)),
    "bottom-left": ((0.0, 0.0), (1.0, 1.0)),
}


def find_chamfer(codes: NDArray[np.uint8], pose: Pose, placement: Placement) -> str:
    """The corner whose diagonal carries the boldest edge, as seen with the card upright.

    "top-right", "top-left", "bottom-right" or "bottom-left" of the (M, N, 3) photo's coupon.
    """
    s = np.linspace(0.15, 0.85, 24)[:, None]
    off = np.arange(-REACH_MM, REACH_MM + 1e-4, 1 / PX_PER_MM)
    u, w = np.stack([
        (u0 + du * (_C * s - off / np.sqrt(2)), w0 + dw * (_C * (1 - s) - off / np.sqrt(2)))
        for (u0, w0), (du, dw) in _CORNERS.values()
    ], axis=1)  # fmt: skip
    picture = sample_face(codes, pose, placement, u.reshape(-1, off.size), w.reshape(-1, off.size))
    lines = picture.reshape(*u.shape, 3).mean(axis=1)
    slope = np.abs(gaussian_filter1d(lines, 0.1 * PX_PER_MM, axis=1, order=1))
    boldest = slope[:, np.abs(off) < NEAR_MM].max(axis=(1, 2))
    score = boldest / (np.median(slope, axis=(1, 2)) + 0.5)
    return list(_CORNERS)[int(np.argmax(score))]
