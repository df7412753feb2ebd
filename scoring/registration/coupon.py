"""Find the coupon on the card: its outline first, coarse, then all sides' edges, fine."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scoring.errors import CouponNotFoundError, CouponOutOfBayError
from scoring.geometry import BLADE
from scoring.least_squares import MAD_TO_SD, fit_robust
from scoring.registration.beside import find_bay_line, find_feet_mm
from scoring.registration.edges import (
    FINE_PX_PER_MM,
    GROUPS,
    ROUNDING_MM,
    choose_pairs,
    edge_profiles,
)
from scoring.registration.level import level_layers
from scoring.registration.outline import (
    ACROSS,
    NORMALS,
    SIDES,
    find_boldest_step,
    scales_to_try,
    search_outline,
)
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement

LIMIT_MM = 7.0
LIMIT_TURN_RAD = np.deg2rad(9.0)
"""A coupon farther from its bay, or more askew, counts as out of it."""

WIDE_PASS_MM, FINE_PASS_MM = (2.4, 0.6, 0.3), (1.2, 0.2, 0.15)
"""How far edges are looked for, how near to the side's chosen one a point's may lie, and how well
the long sides keep their distance. The coarse turn may be off by so much that a side's ends lie
half a millimetre apart: hence twice."""

NEAR_END_MM = 0.6
"""How near for the short sides, whose corners are rounded."""

CLEAR_PEAK = 3.0
"""How far an edge must stand out of what else lies across its side."""

LEAST_SHARE, LEAST_GROUPS = 0.5, 3
"""Points fainter than that share of their side's (filament against bare, lit paper), and those that
the bay's line draws aside, do not count at last where so many others are left."""

TURNS_RAD = np.deg2rad(np.arange(-2.5, 2.51, 0.25))
"""How far the coarse turn may be off, where print or shadow drew it aside."""

MIN_CONTRAST, MIN_STEP = 1.6, 0.10
"""What an outline must show at least; the lamp's falloff alone makes steps of a few hundredths."""

MIN_SD_SCALE = 0.0005
SD_EDGE_MM = 0.05
SD_ROUNDING_MM = 0.3

SD_SHORT_SIDE_MM, SD_LONG_SIDE_MM = 0.15, 0.05
MERGED_FOOT_MM, SD_MERGED_MM = (-0.03, 0.6), 0.1
SPREADS, MAX_SPREAD_MM = 2.5, 0.3
"""All edge points of a side may err together; those of a long side also where the wall's foot is
seen so near the edge that the two merge, and by so many times the points' spread about a line."""

MOST_RESIDUAL_MM, MOST_SD_ACROSS_MM, MOST_OUTWARD_MM = 0.25, 0.047, 0.035
"""An outline that fits no better, is no better known across the layers (a long side that merges
with its foot is enough), or both of whose long sides lie that far outward (one of them is wrong
then, and drew the face with it), is unsure."""


@dataclass(frozen=True)
class CouponFit:
    """The coupon's placement, whichever way it is turned by half.

    ``sure`` says whether places across the layers are likely within 0.05 mm.
    """

    placement: Placement
    sure: bool


_L, _H, _C = BLADE.length_mm, BLADE.height_mm, BLADE.chamfer_leg_mm
_LONG = ACROSS == 1


def find_coupon(
    codes: NDArray[np.uint8],
    pose: Pose,
    *,
    known_scale: tuple[float, float] | None = None,
    aside_of: Placement | None = None,
) -> CouponFit:
    """Place the coupon from its outline in an (M, N, 3) photo.

    The card's bay gives where to look; every candidate is a rectangle of the coupon's known size,
    so a shadow's or a side wall's edge on one side cannot pull it. ``known_scale`` is how
    large it looks on the card, with the standard deviation, where its own features told;
    ``aside_of`` where it does not lie. Raises
    :class:`CouponNotFoundError` where no such outline stands out and :class:`CouponOutOfBayError`
    where it lies farther than 7 mm or 9 degrees from the bay.
    """
    scales = scales_to_try(pose)
    sure_of_scale = scales.size == 1
    if known_scale is None:
        known_scale = 1.0, pose.scale_sd(BLADE.thickness_mm)
    else:
        scales = np.array(known_scale[:1])
    coarse, contrast = search_outline(codes, pose, scales, aside_of=aside_of)
    if contrast < MIN_CONTRAST or find_boldest_step(codes, pose, coarse) < MIN_STEP:
        raise CouponNotFoundError(
            "The card was found, the coupon was not: no outline of 100 x 24 mm stands out near the "
            "bay. Lay the coupon in the bay, measured face up, and rake the lamp across it."
        )
    if max(abs(coarse.dx_mm), abs(coarse.dy_mm)) > LIMIT_MM or (
        abs(coarse.turn_rad) > LIMIT_TURN_RAD
    ):
        raise CouponOutOfBayError(
            f"The coupon lies {coarse.dx_mm:+.1f} mm, {coarse.dy_mm:+.1f} mm and "
            f"{np.rad2deg(coarse.turn_rad):+.1f} degrees from its bay; up to {LIMIT_MM:g} mm and "
            f"{np.rad2deg(LIMIT_TURN_RAD):.0f} degrees are read. Lay it inside the grey outline."
        )
    placement = _straighten(codes, pose, coarse)
    placement, _ = _refine(codes, pose, placement, WIDE_PASS_MM, known_scale=known_scale)
    placement, sd_turn_rad = level_layers(codes, pose, placement)
    line = find_bay_line(pose, placement, GROUPS)
    placement, sure = _refine(
        codes,
        pose,
        placement,
        FINE_PASS_MM,
        known_scale=known_scale,
        sd_turn_rad=sd_turn_rad,
        line=line,
    )
    return CouponFit(placement, sure and sure_of_scale)


def _straighten(codes: NDArray[np.uint8], pose: Pose, coarse: Placement) -> Placement:
    """The turn, near the coarse one, along which the long sides' edges line up best."""
    step = 1 / FINE_PX_PER_MM
    reach = WIDE_PASS_MM[0]
    off = np.arange(-reach, reach + step / 2, step)
    along = (np.arange(GROUPS) + 0.5) / GROUPS - 0.5
    score = np.zeros(TURNS_RAD.size)
    long_sides = SIDES[2:]
    profiles = edge_profiles(codes, pose, coarse, long_sides, off)
    for side, profile in zip(long_sides, profiles, strict=True):
        lever = along * (_L - 2 * _C) * -side.normal[1]
        shifted = (off - off[0] + TURNS_RAD[:, None, None] * lever[:, None]) / step
        shifted = np.clip(shifted, 0, off.size - 1)
        k = np.minimum(shifted.astype(np.intp), off.size - 2)
        groups = np.arange(GROUPS)[:, None]
        before, after = profile[groups, k], profile[groups, k + 1]
        lined_up = (before + (shifted - k) * (after - before)).mean(axis=1)
        score += np.log(np.abs(lined_up).max(axis=1) + 1e-6)
    return replace(coarse, turn_rad=coarse.turn_rad + float(TURNS_RAD[np.argmax(score)]))


def _refine(
    codes: NDArray[np.uint8],
    pose: Pose,
    coarse: Placement,
    within_mm: tuple[float, float, float],
    *,
    known_scale: tuple[float, float],
    sd_turn_rad: float = np.inf,
    line: NDArray[np.bool_] | None = None,
) -> tuple[Placement, bool]:
    """Edge points on every side, then shift, turn and scale by robust least squares.

    With whether the outline is sure; ``known_scale`` is how large the coupon is expected to look,
    with the standard deviation, ``sd_turn_rad`` says how well ``coarse`` is turned, ``line``
    (sides, GROUPS), once the place is known well enough to tell, which points the bay's printed
    line draws aside.
    """
    reach_mm, near_mm, sd_pair_mm = within_mm
    step = 1 / FINE_PX_PER_MM
    off = np.arange(-reach_mm, reach_mm + step / 2, step)
    profiles = edge_profiles(codes, pose, coarse, SIDES, off)
    size = np.abs(profiles)
    scale, sd_scale = known_scale[0], max(MIN_SD_SCALE, known_scale[1])
    feet = find_feet_mm(pose, coarse)
    chosen = choose_pairs(size.mean(axis=1), feet, off, sd_scale, sd_pair_mm)
    reach = np.where(_LONG, near_mm, NEAR_END_MM)[:, None]
    strength = size * (np.abs(off - np.array(chosen)[:, None]) < reach)[:, None]
    peak = off[np.argmax(strength, axis=2)]
    mass = strength * (np.abs(off - peak[..., None]) < 0.25)
    place = (mass * off).sum(axis=2) / np.maximum(mass.sum(axis=2), 1e-9)
    bold = strength.max(axis=2)
    clear = bold > CLEAR_PEAK * np.median(size, axis=2)
    seen = clear.sum(axis=1) >= GROUPS // 2
    if line is not None:
        undisturbed = clear & (bold > LEAST_SHARE * np.median(bold, axis=1, keepdims=True)) & ~line
        enough = undisturbed.sum(axis=1, keepdims=True) >= LEAST_GROUPS
        clear = np.where(enough, undisturbed, clear)
    t = (np.arange(GROUPS) + 0.5) / GROUPS
    u, w = np.stack([side.points(t) for side in SIDES], axis=1)
    side_of_point = np.nonzero(clear)[0]
    data = np.stack([u[clear], w[clear], place[clear]], axis=1)
    normal = NORMALS[side_of_point]
    spread = SPREADS * _spreads_mm(place, clear, seen)
    sd_side = _sd_sides_mm(spread, feet)
    sd_edge = np.hypot(SD_EDGE_MM, spread)[side_of_point]
    if len(data) < GROUPS:
        return coarse, False

    def misfit(p: NDArray[np.float64]) -> NDArray[np.float64]:
        # Displacement, in face axes, of a face point under a small change of the placement.
        right, up = data[:, 0] - _L / 2, data[:, 1] - _H / 2
        dx, dy, turn, stretch, rounding = np.moveaxis(p[..., :5, None], -2, 0)
        du = dx + turn * up + stretch * right
        dw = -dy - turn * right + stretch * up
        moved = du * normal[:, 0] + dw * normal[:, 1] - rounding * np.abs(normal[:, 0])
        moved = moved + p[..., 5:][..., side_of_point]
        priors = [
            (coarse.scale + stretch - scale) / sd_scale,
            (rounding - ROUNDING_MM) / SD_ROUNDING_MM,
            turn / sd_turn_rad,
            p[..., 5:] / sd_side,
        ]
        return np.concatenate([(moved - data[:, 2]) / sd_edge, *priors], axis=-1)

    begin = np.zeros(5 + len(SIDES))
    # Edges that do not keep the coupon's height apart are not both its own: do not start there.
    if abs(chosen[2] + chosen[3]) < 2 * np.hypot(sd_scale * _H, sd_pair_mm):
        begin[1] = (chosen[2] - chosen[3]) / 2
    fit, spread_of_fit = fit_robust(misfit, begin, priors=3 + len(SIDES), linear=True)
    residual = np.abs(misfit(fit)[: len(data)]) * sd_edge
    cos, sin = np.cos(coarse.turn_rad), np.sin(coarse.turn_rad)
    placement = Placement(
        coarse.dx_mm + cos * fit[0] - sin * fit[1],
        coarse.dy_mm + sin * fit[0] + cos * fit[1],
        coarse.turn_rad + fit[2],
        coarse.scale + fit[3],
    )
    rms = float(MAD_TO_SD * np.median(residual))
    sure = (
        int(seen.sum()) >= len(SIDES) - 1
        and rms < MOST_RESIDUAL_MM
        and float(np.sqrt(spread_of_fit[1, 1])) < MOST_SD_ACROSS_MM
        and float(fit[5:][_LONG].min()) < MOST_OUTWARD_MM
    )
    return placement, sure


def _spreads_mm(
    place: NDArray[np.float64], clear: NDArray[np.bool_], seen: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """How far each long side's ``clear`` points (sides, GROUPS) scatter about a line; ends: 0.

    ``MAX_SPREAD_MM`` where too few are clear for the side (sides,) to count as ``seen``.
    """
    line = np.stack([np.ones(GROUPS), np.linspace(-1, 1, GROUPS)], axis=1)
    spread = np.where(_LONG, MAX_SPREAD_MM, 0.0)
    for k in np.flatnonzero(_LONG & seen):
        at, points = line[clear[k]], place[k, clear[k]]
        off_line = points - at @ np.linalg.lstsq(at, points)[0]
        spread[k] = np.sqrt(np.sum(off_line**2) / (len(points) - 2))
    return spread


def _sd_sides_mm(spread_mm: NDArray[np.float64], feet_mm: list[float]) -> NDArray[np.float64]:
    """How far all points of each side may err together, (sides,)."""
    low_mm, high_mm = MERGED_FOOT_MM
    merged = np.array([low_mm < foot < high_mm for foot in feet_mm])
    own = np.hypot(SD_LONG_SIDE_MM, SD_MERGED_MM * merged)
    return np.where(_LONG, np.hypot(own, spread_mm), SD_SHORT_SIDE_MM)
