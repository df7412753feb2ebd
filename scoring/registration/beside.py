"""What is seen beside each of the coupon's sides: its wall's foot and the bay's printed line."""

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import CARD
from scoring.registration.outline import ACROSS, NORMALS, SIDES
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement

LINE_MM = (-0.2, 0.45)
"""So near to an edge, outward, the bay's line draws it aside; farther in the coupon hides it."""

_BAY = np.stack([CARD.bay_origin_mm, np.add(CARD.bay_origin_mm, CARD.bay_size_mm)])
# Of each side's own line: which way along x or y is outward, and where it is printed.
_OUTWARD = NORMALS @ np.array([1.0, -1.0])
_PRINTED_MM = _BAY[(_OUTWARD > 0).astype(np.intp), ACROSS]


def find_feet_mm(pose: Pose, placement: Placement) -> list[float]:
    """How far outside each face's edge its wall's foot is seen; negative where it is hidden."""
    u, w = np.stack([side.points(np.array(0.5)) for side in SIDES], axis=1)
    top = placement.card_mm(u, w)
    foot = top * np.array([1.0, 1.0, 0.0])
    ahead = placement.card_mm(u + NORMALS[:, 0], w + NORMALS[:, 1])
    seen_foot, seen_top, seen_ahead = pose.project(np.stack([foot, top, ahead]))
    outward = seen_ahead - seen_top
    off = ((seen_foot - seen_top) * outward).sum(axis=1) / (outward**2).sum(axis=1)
    return [float(one) for one in off]


def find_bay_line(pose: Pose, placement: Placement, groups: int) -> NDArray[np.bool_]:
    """In which of each side's ``groups`` the bay's line is seen at the edge, (sides, groups).

    The coupon's edge is above the card, so the line is seen where the sight over the edge meets
    the card. For a coupon upright on the card, as it is before its face is told.
    """
    ends = np.linspace(0, 1, groups + 1)
    u, w = np.stack([side.points(ends) for side in SIDES], axis=1)
    edge, camera = placement.card_mm(u, w), pose.camera_mm
    share = edge[..., 2:] / (edge[..., 2:] - camera[2])
    met = edge + share * (camera - edge)
    off = (_PRINTED_MM[:, None] - met[np.arange(len(SIDES)), :, ACROSS]) * _OUTWARD[:, None]
    low = np.minimum(off[:, :-1], off[:, 1:])
    high = np.maximum(off[:, :-1], off[:, 1:])
    return np.asarray((high > LINE_MM[0]) & (low < LINE_MM[1]))
