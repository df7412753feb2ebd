"""Which boundaries stand open, from where to where."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.gaps.closed import EVERY, JUDGE_MM, SMALLEST_SD, Darkness
from scoring.gaps.columns import Columns
from scoring.gaps.stretches import Stretches, find_stretches
from scoring.geometry import BLADE
from scoring.least_squares import MAD_TO_SD
from scoring.medians import median, medians
from scoring.photo.opencv import cv2

LONG_MM = 2.4
MIN_SD = 4.5
SHIFT_SD = 5.0
FALSE_ALARMS = 0.15
"""How many false gaps a recovery zone may bring, for each length of smoothing."""

MAX_TAIL = 0.12
"""The steady zone's tail raises the threshold no higher than this: missed gaps cost more."""

OWN_TAIL, MAX_OWN_TAIL = 1.2, 0.3
EASIEST, EASED_SD, CROWDED_SHARE, CROWD_MM = 0.65, 4.0, 0.05, 6.0
"""Where gaps crowd, a faint dark is likely one more: the threshold falls to ``EASIEST`` of itself,
but not below 4 standard deviations, where ``CROWDED_SHARE`` of the boundaries within ``CROWD_MM``
stand open beyond doubt."""

EASED_MM = 3.0
"""That holds for short gaps only: what is faint and long is more likely the shadow of a step."""

LINE_SHARE, LINE_BESIDE = 1.2, 0.45
"""What is longer, and less dark on the whole than this times the threshold and than such a share of
a usual gap, is a dark line between two layers, which noise lifts above the threshold here and
there; only there may it be a gap."""

LEAST_CLEAR_MM = 10.0
"""What less than this of clear gaps shows in common is taken for chance."""

BESIDE_SHARE = 0.12
COMPANION, COMPANION_SD = 1.5, 6.0
"""A starved bead may lie deeper, with a darker valley on its far side: a line beside nearly every
gap. Where three in four clear gaps have one that tops ``BESIDE_SHARE``, so many times its usual
depth is no gap."""

DEEPER = 1.4
GROW_SD, GROW_SHARE = 1.5, 0.4
TAIL_SHARE = 0.5
"""A line fainter than this share of the threshold, or of the gap's own darkest place, that runs on
beyond a gap's end or from one gap to the next is no part of them."""

PLATEAU_MM = 1.6
MIN_LENGTH_MM, MIN_HEIGHT_MM = 0.6, 0.012
USUAL_RISE = 0.7
"""The lamp's rise over its run across the layers, at 35 degrees."""


@dataclass(frozen=True)
class Evidence:
    """Depth of the dark at every boundary, against what closed layers' spread asks of a gap.

    ``depth`` (K, C) is the mean share of light missing over 0.8 mm along u, less what neighbours
    spill; ``ratio`` (K, C) the larger of depth over threshold at two lengths of smoothing: above 1
    stands a gap. ``sd`` (C,) is the spread of ``depth`` where layers touch, ``need`` the usual
    threshold. ``shift`` is the spread of whole layers' depth over long stretches, a sign of glints.
    ``least`` and ``most`` are the strictness that noise alone would ask for (at most 1, lower where
    glints raise the threshold), and what would pass over all of the steady zone's shadows (1 at
    least): between them lies what might be a gap. ``easiest`` is the least strictness where gaps
    crowd.
    """

    depth: NDArray[np.float64]
    ratio: NDArray[np.float64]
    sd: NDArray[np.float64]
    need: float
    shift: float
    least: float
    most: float
    easiest: float


@dataclass(frozen=True)
class Gaps:
    """G gaps; ``member`` (K, C) numbers their places from 1, 0 is closed.

    ``row`` (G,) is the boundary, ``first`` and ``last`` (G,) the end columns, ``height_mm`` (G,)
    the mean open height.
    """

    member: NDArray[np.intp]
    row: NDArray[np.intp]
    first: NDArray[np.intp]
    last: NDArray[np.intp]
    height_mm: NDArray[np.float64]


def combine(mean: Darkness, least: Darkness) -> Darkness:
    """One darkness out of two readings, each weighed by its spread around each u.

    ``mean`` over a pitch suffers from glints, ``least`` from the lens and coarse pixels. A gap
    takes ``DEEPER`` times as much from the darkest pixel as from the mean.
    """
    of_mean = 1 / mean.local_sd**2
    of_least = DEEPER / least.local_sd**2
    total = of_mean + DEEPER * of_least
    share = (of_mean * mean.share + of_least * least.share) / total
    sd = np.sqrt((of_mean * mean.local_sd) ** 2 + (of_least * least.local_sd) ** 2) / total
    return Darkness(share, median(sd), np.asarray(sd), mean.level)


def weigh_evidence(dark: Darkness, columns: Columns) -> Evidence:
    """Compare the missing share of light with its spread where layers touch.

    The threshold is 4.5 standard deviations, or higher where the steady zone's darkest places say
    so: steps between layers throw shadows that look like thin gaps, mostly at the same layers all
    along. It follows the spread around each u. A short kernel finds short gaps, a long one shallow
    ones.
    """
    scale = dark.local_sd / median(dark.local_sd[columns.span(BLADE.steady_zone_u_mm)])
    scale = np.maximum(scale, 1.0)
    smooth = [columns.smooth(dark.share, length) for length in (JUDGE_MM, LONG_MM)]
    shift = _layer_shift(smooth[1], columns)
    above, below = _find_companions(smooth[0], dark.sd, columns)
    depths, spreads, needs, leasts, mosts, noises = [], [], [], [], [], []
    ratio = np.zeros_like(dark.share)
    for depth in smooth:
        sd, usual, tail = _need(depth, columns)
        need = np.maximum(scale * usual, SHIFT_SD * shift)
        leasts.append(median(scale * usual / need))
        noises.append(median(sd / usual))
        mosts.append(median(np.maximum(scale * tail / need, 1.0)))
        # A trace of a strong gap's dark stays in its neighbours.
        beside = np.maximum(depth, 0.0)
        own = depth.copy()
        own[1:] -= above * beside[:-1]
        own[:-1] -= below * beside[1:]
        ratio = np.maximum(ratio, own / need)
        depths.append(own)
        spreads.append(scale * sd)
        needs.append(median(need))
    easiest = max(EASIEST, EASED_SD * max(noises))
    return Evidence(
        depths[0], ratio, spreads[0], min(needs), shift, min(leasts), max(mosts), easiest
    )


def _find_companions(
    depth: NDArray[np.float64], sd: float, columns: Columns
) -> tuple[float, float]:
    """The share of a gap's depth that its neighbour above shows, and that below, though closed."""
    depth = depth[:, columns.span(BLADE.recovery_zone_u_mm)][:, ::EVERY]  # smoothed along u
    below, middle, above = depth[:-2], depth[1:-1], depth[2:]
    clear = (middle > COMPANION_SD * sd) & (middle > above) & (middle > below)
    if clear.sum() * EVERY * columns.width_mm < LEAST_CLEAR_MM:
        return BESIDE_SHARE, BESIDE_SHARE
    shares = (neighbour[clear] / middle[clear] for neighbour in (above, below))
    quarters = [np.quantile(share, (0.25, 0.5)) for share in shares]
    up, down = (COMPANION * q[1] if q[0] > BESIDE_SHARE else BESIDE_SHARE for q in quarters)
    return float(up), float(down)


def _layer_shift(depth: NDArray[np.float64], columns: Columns) -> float:
    """Spread of whole layers' depth over thirds of the recovery zone.

    Glints shift layers as a whole, to either side; gaps, in fewer than half of them, do not count.
    """
    zone = depth[:, columns.span(BLADE.recovery_zone_u_mm)]
    means = [medians(part[:, ::2]) for part in np.array_split(zone, 3, axis=1)]
    return MAD_TO_SD * median(np.abs(np.concatenate(means)))


def _need(depth: NDArray[np.float64], columns: Columns) -> tuple[float, NDArray[np.float64], float]:
    """Spread in the steady zone, the depth that makes a gap (K, C), and what tops all shadows."""
    calm = depth[:, columns.span(BLADE.steady_zone_u_mm)]
    base = max(SMALLEST_SD, MAD_TO_SD * median(np.abs(calm)))
    darkest = calm.max(axis=1)
    middle, upper = np.interp([0.5, 0.9], np.linspace(0, 1, darkest.size), np.sort(darkest))
    zone, steady = BLADE.recovery_zone_u_mm, BLADE.steady_zone_u_mm
    rows = depth.shape[0] * (zone[1] - zone[0]) / (steady[1] - steady[0])
    # Gumbel's law of extremes: the p quantile lies at mu - beta ln(-ln p).
    rare, ten, half = (-np.log(-np.log(p)) for p in (1 - FALSE_ALARMS / rows, 0.9, 0.5))
    tail = middle + (upper - middle) * (rare - half) / (ten - half)
    need = max(MIN_SD * base, min(tail, MAX_TAIL))
    own = np.minimum(OWN_TAIL * darkest, MAX_OWN_TAIL)
    after = np.maximum(need, own)[:, None] * (columns.u_mm > BLADE.detail_zone_u_mm[0])
    return base, np.maximum(need, after), tail


def find_dark(
    evidence: Evidence,
    columns: Columns,
    *,
    grow_share: float = GROW_SHARE,
    tail_share: float = TAIL_SHARE,
) -> Stretches:
    """The stretches that may be gaps, however faint.

    Each ends where the dark is less than ``grow_share`` as deep as nearby, or turns into a mere
    tail, below ``tail_share`` of the threshold or of its own darkest place.
    """
    near = 2 * round(PLATEAU_MM / columns.width_mm / 2) + 1
    grown = np.zeros(evidence.depth.shape, np.uint8)
    for part in columns.segments:
        depth = evidence.depth[:, part].astype(np.float32)  # spread four times as quickly
        plateau = np.asarray(cv2.dilate(depth, np.ones((1, near), np.uint8)))
        grown[:, part] = depth > np.maximum(GROW_SD * evidence.sd[part], grow_share * plateau)
    dark = find_stretches(grown, columns)
    ratio = evidence.ratio.ravel()[dark.places]
    tail = tail_share * np.minimum(dark.highest(ratio), 1.0)
    inside = np.zeros_like(grown)
    inside.ravel()[dark.places] = ratio >= np.repeat(tail, dark.sizes)
    return find_stretches(inside, columns)


def choose_open(
    dark: Stretches, evidence: Evidence, columns: Columns, *, strictness: float = 1.0
) -> NDArray[np.intp]:
    """Number the stretches that look open, (K, C) from 1; 0 is closed.

    They hold a place above ``strictness`` times the threshold, less where gaps crowd. From a
    strictness of 1 on, only what is above it is taken of dark lines.
    """
    ratio, column = evidence.ratio.ravel()[dark.places], dark.places % dark.shape[1]
    highest = dark.highest(ratio)
    keep = highest > strictness
    clear = column[np.repeat(keep, dark.sizes)]
    crowd = np.bincount(clear, minlength=dark.shape[1]) / dark.shape[0]
    crowd = columns.smooth(crowd, CROWD_MM)
    ease = 1 - (1 - evidence.easiest) * np.minimum(crowd / CROWDED_SHARE, 1.0)
    faint = dark.highest(ratio - strictness * ease[column]) > 0
    short = dark.sizes * columns.width_mm < EASED_MM
    usual = median(highest[keep]) if strictness >= 1 and keep.any() else 0.0
    line = ~short & (dark.mean(ratio) < min(LINE_SHARE * strictness, LINE_BESIDE * usual))
    kept = np.repeat(keep & ~line | faint & short, dark.sizes)
    inside = np.zeros(dark.shape, np.uint8)
    inside.ravel()[dark.places] = kept | np.repeat(line, dark.sizes) & (ratio > strictness)
    return find_stretches(inside, columns).number()


def list_gaps(
    member: NDArray[np.intp],
    open_mm: NDArray[np.float64],
    columns: Columns,
    *,
    lamp_rise: float = USUAL_RISE,
) -> Gaps:
    """The gaps among stretches numbered row by row, their open height from ``open_mm`` (K, C).

    Dropped is what is no longer along u than it is high, shorter than 0.6 mm, or lower than
    12 um: the shadow of a step between two layers looks like that, and the longer the lower the
    lamp is.
    """
    places = np.flatnonzero(member > 0)
    of = member.ravel()[places] - 1
    size = np.bincount(of)
    height = np.bincount(of, weights=open_mm.ravel()[places]) / np.maximum(size, 1)
    length = size * columns.width_mm
    least = MIN_HEIGHT_MM * max(1.0, USUAL_RISE / lamp_rise)
    keep = (length >= np.maximum(MIN_LENGTH_MM, height)) & (height >= least)
    end = np.cumsum(size)
    row, first = np.divmod(places[end[keep] - size[keep]], member.shape[1])
    kept = np.zeros_like(member)
    kept.ravel()[places] = np.where(keep, np.cumsum(keep), 0)[of]
    return Gaps(kept, row, first, first + size[keep] - 1, height[keep])
