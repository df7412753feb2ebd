"""Tell which face is up, and which way round: by facets or grooves, else by the cut corner."""

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.metrics import FaceName
from scoring.registration.chamfer import find_chamfer
from scoring.registration.facets import match_facets
from scoring.registration.grooves import ENOUGH_EDGES, find_grooves
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement, sample_face

STEP_MM = 0.125
EDGE_MM, BAND_MM, ROWS = 0.5, 4.0, 24
SURE = 0.6
"""Correlation at which facets are taken as seen; flow faces stay under 0.35."""

MIN_GROOVE_EDGES, BLUR_MM = 6, 0.06
"""Of twelve; ring-down faces show none."""

BY_CHAMFER = {
    "top-right": (FaceName.RINGDOWN, 0.0),
    "top-left": (FaceName.FLOW, 0.0),
    "bottom-left": (FaceName.RINGDOWN, np.pi),
    "bottom-right": (FaceName.FLOW, np.pi),
}


def recognise_face(
    codes: NDArray[np.uint8], pose: Pose, placement: Placement
) -> tuple[FaceName, float]:
    """The face that is up and the turn, 0 or pi, that sets it upright.

    A dark coupon's cut corner may not show against its own shadow, but the steps between facets
    are a code of their own, and so are the grooves; the corner decides where neither is seen.
    """
    u = np.arange(EDGE_MM, BLADE.length_mm - EDGE_MM + STEP_MM / 2, STEP_MM)
    w = np.linspace(BAND_MM, BLADE.height_mm - BAND_MM, ROWS)
    uu, ww = np.meshgrid(u, w)
    profile = sample_face(codes, pose, placement, uu, ww).mean(axis=(0, 2)) + 1.0
    both_ways = ((profile, 0.0), (profile[::-1], np.pi))
    agreement = [abs(match_facets(u, p)[1]) for p, _ in both_ways]
    if max(agreement) > SURE:
        return FaceName.RINGDOWN, both_ways[int(np.argmax(agreement))][1]
    edges = []
    for upright, turn in both_ways:
        edges.append(find_grooves(u, upright, blur_mm=BLUR_MM, sd_stretch=0.01).edges)
        if edges[-1] >= ENOUGH_EDGES:  # never the wrong way round
            return FaceName.FLOW, turn
    if max(edges) >= MIN_GROOVE_EDGES:
        return FaceName.FLOW, both_ways[int(np.argmax(edges))][1]
    return BY_CHAMFER[find_chamfer(codes, pose, placement)]
