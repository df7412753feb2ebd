"""A camera straight above the card, whose photo just holds it."""

import numpy as np

from scoring.geometry import CARD
from scoring.registration.pose import Pose


def stand_above(*, px_per_mm: float, height_mm: float) -> tuple[Pose, tuple[int, int]]:
    """The pose, and the photo's shape (M, N) in pixels."""
    wide, high = (int(side * px_per_mm) for side in CARD.size_mm)
    centre_px = ((wide - 1) / 2, (high - 1) / 2)
    place_mm = np.array([-centre_px[0] / px_per_mm, -centre_px[1] / px_per_mm, height_mm])
    focal_px = px_per_mm * height_mm
    pose = Pose(np.eye(3), place_mm, focal_px, centre_px, np.zeros(4), 0.1, 12, 0.003)
    return pose, (high, wide)
