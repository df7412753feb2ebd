"""Gather what card and face say about lamp, tone curve and gloss."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.photo.photo import Photo
from scoring.photo.srgb import srgb_code
from scoring.registration.place import PlacedCoupon
from scoring.shading.calibrate import Evidence
from scoring.shading.paper import Paper, project_card
from scoring.shading.profile import StripProfiles
from scoring.shading.shadow import find_shadow
from scoring.shading.tone import luma_light

FIRST_BLOCK_U_MM, BLOCK_MM = 20.0, 4.0
"""Blocks of the zone start where most ripple has died out and average over a period or so."""

FACET_MARGIN_MM = 0.5
SD_LOG_BLOCK, SD_LOG_FACET = 0.01, 0.004
SD_CODE, LUMA_SHARE, GAMMA = 0.5, 0.3, 2.2
"""How far a mean code may be off after coding: colour is coded coarsely, luma finely."""

MIN_VALID_STRIPS = 0.6
MIN_COLUMNS = 10


def gather_evidence(
    placed: PlacedCoupon, paper: Paper, strips: StripProfiles, *, lamp_on_right: bool = False
) -> Evidence:
    """Paper, shadow, and mean light of the ring-down face in blocks and on the facets.

    ``lamp_on_right`` says on which side of the face the lamp stands, should the paper not tell.
    Raises nothing: blocks without enough unclipped columns are left out.
    """
    u = strips.u_mm
    count = np.maximum(strips.valid.sum(axis=0), 1)[:, None]
    light = (strips.light * strips.valid[..., None]).sum(axis=0) / count
    good = strips.valid.mean(axis=0) > MIN_VALID_STRIPS
    zone_end = BLADE.facets[0].u_mm[0]
    starts = np.arange(FIRST_BLOCK_U_MM, zone_end - BLOCK_MM + 0.1, BLOCK_MM)
    blocks = [(a, a + BLOCK_MM, 0.0, SD_LOG_BLOCK) for a in starts]
    blocks += [
        (f.u_mm[0] + FACET_MARGIN_MM, f.u_mm[1] - FACET_MARGIN_MM, f.slope, SD_LOG_FACET)
        for f in BLADE.facets
    ]
    rows = []
    for low, high, slope, sd in blocks:
        inside = (u > low) & (u < high) & good
        if inside.sum() >= MIN_COLUMNS:
            mean = np.maximum(light[inside].mean(axis=0), 1e-5)
            rows.append(((low + high) / 2, slope, sd, *mean, float(luma_light(mean))))
    table = np.array(rows).reshape(-1, 7)
    face = table[:, 3:]
    # A code is off by a fraction of a step, which in a dark channel is much of the light there.
    step_sd = SD_CODE / 255 * GAMMA / np.maximum(srgb_code(face), 1 / 255)
    step_sd[:, 3] *= LUMA_SHARE
    side = placed.placement.turn_rad + (0.0 if lamp_on_right else np.pi)
    middle = np.full(len(table), BLADE.height_mm / 2)
    return Evidence(
        paper=paper,
        paper_off_axis=off_axis(placed.photo, project_card(placed.pose, paper.card_mm)),
        face_off_axis=off_axis(
            placed.photo, placed.pose.project(placed.placement.card_mm(table[:, 0], middle))
        ),
        face_u_mm=table[:, 0],
        face_slope=table[:, 1],
        face=face,
        face_sd=np.hypot(table[:, 2:3], step_sd),
        shadow=find_shadow(placed.photo, placed.pose, placed.placement, paper),
        azimuth_rad=paper.lamp_azimuth_rad if paper.enough else side,
    )


def off_axis(photo: Photo, px: NDArray[np.floating[Any]]) -> NDArray[np.float64]:
    """Squared distance (...) of pixels (..., 2) from the picture's middle, 1 at its corners."""
    half = np.array(photo.pixels.shape[1::-1]) / 2
    return np.asarray(((px + 0.5 - half) ** 2).sum(axis=-1) / (half @ half))
