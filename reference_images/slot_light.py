"""Light out of an open slot between two layers: what of its walls and floor the camera sees."""

import numpy as np
from numpy.typing import NDArray

from reference_images.mesh import SLOT_DEPTH_MM

Array = NDArray[np.float64]


def find_lit_wall(from_lip_mm: Array, height_mm: Array, *, lean: Array, lamp_rise: Array) -> Array:
    """1 where a slot's lower wall is seen in the lamp's light, else 0; all of one shape (...).

    ``from_lip_mm`` is the place above the lower lip, ``lean`` how far a line of sight moves towards
    that lip for each mm it goes down, ``lamp_rise`` the lamp's height over its way across the slot.
    The lower wall faces the rim, where the lamp stands; the upper lip shades it from ``lamp_rise``
    times the slot's height down.
    """
    depth = from_lip_mm / np.maximum(lean, 1e-6)
    lit = depth < np.minimum(height_mm * lamp_rise, SLOT_DEPTH_MM)
    return np.asarray(lit & (lean > 0), dtype=np.float64)
