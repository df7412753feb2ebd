"""Gather what card and face say about lamp, tone curve and gloss."""

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE, CARD
from scoring.photo.photo import Photo
from scoring.photo.srgb import srgb_code
from scoring.registration.place import PlacedCoupon
from scoring.shading.evidence import Evidence, ShadedPaper
from scoring.shading.ink import read_ink
from scoring.shading.layer_line import LayerLine
from scoring.shading.paper import Paper, bay_centre_mm, project_card
from scoring.shading.profile import StripProfiles
from scoring.shading.shadow import Shade, find_shade, find_shadow, read_shadow_lines
from scoring.shading.tone import GAMMA, with_luma

FIRST_BLOCK_U_MM, BLOCK_MM = 20.0, 4.0
"""Blocks of the zone start where most ripple has died out and average over a period or so."""

FACET_MARGIN_MM = 0.7
"""Left out beside facets' edges: printed ones are rounded, by up to 0.33 mm (SD) where others drew
them."""

SD_LOG_BLOCK, SD_LOG_FACET = 0.01, 0.004
"""How well the account may follow a face's light: where filament or paper go by other laws than its
own, following closer bends lamp and tone curve instead. Paper likewise."""

SD_CODE, LUMA_SHARE = 0.5, 0.3
"""How far a mean code may be off after coding: colour is coded coarsely, luma finely."""

SD_LOG_PAPER, SD_CARD_CODE, CARD_LUMA_SHARE = 0.006, 2.0, 0.05
"""Even paper's colour is coded in whole steps, alike over much of the card: many places do not
average that out. Their luma does. Ink likewise."""

SD_LOG_INK = 0.02
"""How alike a black print is all over the card, with care: drawn and traced ones are to 0.5 %."""

SD_LOG_SHADE = 0.07
"""On traced photos stray light in the shade is 0.98 to 1.04 of what falls elsewhere: the wall hides
about as much of it as it sends on, so none is counted there."""

SD_WALLS = 0.1
"""How far the light of the coupon's walls on the paper may be off, for paper that sees nothing but
walls."""

MIN_VALID_STRIPS = 0.6
MIN_COLUMNS = 10


def gather_evidence(
    placed: PlacedCoupon,
    paper: Paper,
    strips: StripProfiles,
    *,
    layer_line: LayerLine | None = None,
    lamp_on_right: bool = False,
) -> Evidence:
    """Paper, ink, shadow, and mean light of the ring-down face in blocks and on the facets.

    ``lamp_on_right`` says on which side of the face the lamp stands, should the paper not tell.
    Raises nothing: blocks without enough unclipped columns are left out.
    """
    face_u_mm, face_slope, face, face_sd = _average_blocks(strips)
    side = placed.placement.turn_rad + (0.0 if lamp_on_right else np.pi)
    middle = np.full_like(face_u_mm, BLADE.height_mm / 2)
    walls = see_walls(paper.card_mm)
    ink = read_ink(placed.photo, placed.pose, placed.markers.ids, paper)
    lines = read_shadow_lines(placed.photo, placed.pose, placed.placement, paper)
    shade = find_shade(placed.photo, lines) if lines else None
    return Evidence(
        paper=paper,
        paper_sd=_doubt_paper(paper, walls),
        paper_walls=walls,
        paper_off_axis=off_axis(placed.photo, project_card(placed.pose, paper.card_mm)),
        ink=ink,
        ink_sd=np.hypot(SD_LOG_INK, _coding_sd(ink.light, SD_CARD_CODE, CARD_LUMA_SHARE)),
        ink_off_axis=off_axis(placed.photo, project_card(placed.pose, ink.card_mm)),
        face_off_axis=off_axis(
            placed.photo, placed.pose.project(placed.placement.card_mm(face_u_mm, middle))
        ),
        face_u_mm=face_u_mm,
        face_slope=face_slope,
        face=face,
        face_sd=face_sd,
        shadow=find_shadow(lines) if lines else None,
        shaded=_gather_shade(placed, shade) if shade else None,
        layer_line=layer_line,
        azimuth_rad=paper.lamp_azimuth_rad if paper.enough else side,
    )


def relight_face(evidence: Evidence, strips: StripProfiles) -> Evidence:
    """``evidence`` with the light of ``strips``, whose valid columns are those it was made of."""
    _, _, face, face_sd = _average_blocks(strips)
    return replace(evidence, face=face, face_sd=face_sd)


def _average_blocks(
    strips: StripProfiles,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Of the blocks: middle u (B,), slope (B,), mean light (B, 4) and its logarithm's SD (B, 4)."""
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
            rows.append(((low + high) / 2, slope, sd, *mean))
    table = np.array(rows).reshape(-1, 7)
    face = table[:, 3:]
    face_sd = np.hypot(table[:, 2:3], _coding_sd(face, SD_CODE, LUMA_SHARE))
    return table[:, 0], table[:, 1], face, np.asarray(face_sd)


def _gather_shade(placed: PlacedCoupon, shade: Shade) -> ShadedPaper:
    light = with_luma(shade.light)
    return ShadedPaper(
        light,
        np.hypot(SD_LOG_SHADE, _coding_sd(light, SD_CARD_CODE, CARD_LUMA_SHARE)),
        float(off_axis(placed.photo, project_card(placed.pose, shade.card_mm))),
    )


def see_walls(card_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """The share of what paper at ``card_mm`` (P, 2) sees that is the coupon's nearest wall, (P,).

    As of an endless wall: 1 - cos of its height's angle, halved (view factors of strips at right
    angles; standard text on radiative exchange, from memory).
    """
    half = np.array(CARD.bay_size_mm) / 2
    away = np.hypot(*np.maximum(np.abs(card_mm - bay_centre_mm()) - half, 0.0).T)
    return np.asarray((1 - away / np.hypot(away, BLADE.thickness_mm)) / 2)


def _doubt_paper(paper: Paper, walls: NDArray[np.float64]) -> NDArray[np.float64]:
    """Standard deviation (P, 4) of the log of ``paper``'s light and its luma."""
    even = np.hypot(SD_LOG_PAPER, SD_WALLS * walls)[:, None]
    return np.asarray(np.hypot(even, _coding_sd(paper.light, SD_CARD_CODE, CARD_LUMA_SHARE)))


def _coding_sd(
    light: NDArray[np.float64], sd_code: float, luma_share: float
) -> NDArray[np.float64]:
    """Standard deviation (..., 4) of log ``light``, its luma last, for codes off by ``sd_code``.

    In a dark channel a step is much of the light there.
    """
    step = sd_code / 255 * GAMMA / np.maximum(srgb_code(light), 1 / 255)
    return np.asarray(step * np.array([1.0, 1.0, 1.0, luma_share]))


def off_axis(photo: Photo, px: NDArray[np.floating[Any]]) -> NDArray[np.float64]:
    """Squared distance (...) of pixels (..., 2) from the picture's middle, 1 at its corners."""
    half = np.array(photo.pixels.shape[1::-1]) / 2
    return np.asarray(((px + 0.5 - half) ** 2).sum(axis=-1) / (half @ half))
