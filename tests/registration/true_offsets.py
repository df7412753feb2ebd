"""How far a photo's true places lie from where they are measured to be, along one axis."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from scoring.registration.place import PlacedCoupon


def read_off_mm(
    placed: PlacedCoupon, true_px: NDArray[np.float64], here: Any, ahead: Any
) -> NDArray[np.float64]:
    """Offsets (N,) of ``true_px`` (N, 2) from the places ``here`` toward those 1 mm ``ahead``.

    Both are pairs of u and w, (N,) each.
    """
    seen, next_px = (placed.pose.project(placed.placement.card_mm(*at)) for at in (here, ahead))
    step = next_px - seen
    return np.asarray(((true_px - seen) * step).sum(axis=1) / (step**2).sum(axis=1))
