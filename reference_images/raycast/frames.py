"""Where things lie: the card's frame and the coupon's.

The card's frame, mm: X is the card's x, Y its y turned over, Z up from the paper. The coupon's, mm:
u and w of the face, and y out of it, 0 in the face's plane.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reference_images.raycast.conditions import Laid
from reference_images.standard import CARD, HEIGHT_MM, LENGTH_MM, THICKNESS_MM

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Pose:
    """The lying coupon: card (X, Y) of its u = w = 0, and unit vectors along u and w; (2,) each."""

    origin_mm: Array
    along_u: Array
    along_w: Array

    def to_card(self, u_mm: ArrayLike, w_mm: ArrayLike, y_mm: ArrayLike = 0.0) -> Array:
        """Places in the card's frame, (..., 3), of places on the coupon, any shape."""
        u, w, y = np.broadcast_arrays(
            np.asarray(u_mm, float), np.asarray(w_mm, float), np.asarray(y_mm, float)
        )
        (x0, y0), (ux, uy), (wx, wy) = self.origin_mm, self.along_u, self.along_w
        return np.stack([x0 + u * ux + w * wx, y0 + u * uy + w * wy, THICKNESS_MM + y], -1)


def lay(laid: Laid) -> Pose:
    """The coupon in the bay, its middle off the bay's and turned about it."""
    left, top = CARD["bay"]["origin_mm"]
    width, height = CARD["bay"]["size_mm"]
    middle = np.array([left + width / 2 + laid.right_mm, -(top + height / 2) + laid.up_mm])
    turn = np.radians(laid.turned_deg)
    along_u = np.array([np.cos(turn), np.sin(turn)])
    along_w = np.array([-np.sin(turn), np.cos(turn)])
    return Pose(middle - along_u * LENGTH_MM / 2 - along_w * HEIGHT_MM / 2, along_u, along_w)
