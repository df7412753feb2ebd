"""Which boundaries stand open, from where to where."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from scoring.gaps.closed import JUDGE_MM, SMALLEST_SD, Darkness
from scoring.gaps.columns import Columns
from scoring.geometry import BLADE
from scoring.least_squares import MAD_TO_SD
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

BESIDE_SHARE = 0.12
DEEPER = 1.4
GROW_SD, GROW_SHARE = 1.5, 0.4
TAIL_SHARE = 0.5
"""A line fainter than this share of the threshold, or of the gap's own darkest place, that runs on
beyond a gap's end or from one gap to the next is no part of them."""

PLATEAU_MM, CLOSE_MM = 1.6, 0.4
MIN_LENGTH_MM, MIN_HEIGHT_MM = 0.6, 0.012
USUAL_RISE = 0.7
"""The lamp's rise over its run across the layers, at 35 degrees."""

ALONG = np.array([[0, 0, 0], [1, 1, 1], [0, 0, 0]])


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
    return Darkness(share, float(np.median(sd)), np.asarray(sd), mean.level)


def weigh_evidence(dark: Darkness, columns: Columns) -> Evidence:
    """Compare the missing share of light with its spread where layers touch.

    The threshold is 4.5 standard deviations, or higher where the steady zone's darkest places say
    so: steps between layers throw shadows that look like thin gaps, mostly at the same layers all
    along. It follows the spread around each u. A short kernel finds short gaps, a long one shallow
    ones.
    """
    scale = dark.local_sd / float(np.median(dark.local_sd[columns.inside(BLADE.steady_zone_u_mm)]))
    scale = np.maximum(scale, 1.0)
    shift = _layer_shift(columns.smooth(dark.share, LONG_MM), columns)
    depths, spreads, needs, leasts, mosts, noises = [], [], [], [], [], []
    ratio = np.zeros_like(dark.share)
    for length in (JUDGE_MM, LONG_MM):
        depth = columns.smooth(dark.share, length)
        sd, usual, tail = _need(depth, columns)
        need = np.maximum(scale * usual, SHIFT_SD * shift)
        leasts.append(float(np.median(scale * usual / need)))
        noises.append(float(np.median(sd / usual)))
        mosts.append(float(np.median(np.maximum(scale * tail / need, 1.0))))
        # A trace of a strong gap's dark stays in its neighbours.
        beside = BESIDE_SHARE * np.maximum(depth, 0.0)
        own = depth.copy()
        own[1:] -= beside[:-1]
        own[:-1] -= beside[1:]
        ratio = np.maximum(ratio, own / need)
        depths.append(own)
        spreads.append(scale * sd)
        needs.append(float(np.median(need)))
    easiest = max(EASIEST, EASED_SD * max(noises))
    return Evidence(
        depths[0], ratio, spreads[0], min(needs), shift, min(leasts), max(mosts), easiest
    )


def _layer_shift(depth: NDArray[np.float64], columns: Columns) -> float:
    """Spread of whole layers' depth over thirds of the recovery zone.

    Glints shift layers as a whole, to either side; gaps, in fewer than half of them, do not count.
    """
    zone = np.flatnonzero(columns.inside(BLADE.recovery_zone_u_mm))
    means = [np.median(depth[:, part[::2]], axis=1) for part in np.array_split(zone, 3)]
    return MAD_TO_SD * float(np.median(np.abs(np.concatenate(means))))


def _need(depth: NDArray[np.float64], columns: Columns) -> tuple[float, NDArray[np.float64], float]:
    """Spread in the steady zone, the depth that makes a gap (K, C), and what tops all shadows."""
    calm = depth[:, columns.inside(BLADE.steady_zone_u_mm)]
    base = max(SMALLEST_SD, MAD_TO_SD * float(np.median(np.abs(calm))))
    darkest = calm.max(axis=1)
    middle, upper = np.quantile(darkest, [0.5, 0.9])
    zone, steady = BLADE.recovery_zone_u_mm, BLADE.steady_zone_u_mm
    rows = depth.shape[0] * (zone[1] - zone[0]) / (steady[1] - steady[0])
    # Gumbel's law of extremes: the p quantile lies at mu - beta ln(-ln p).
    rare, ten, half = (-np.log(-np.log(p)) for p in (1 - FALSE_ALARMS / rows, 0.9, 0.5))
    tail = middle + (upper - middle) * (rare - half) / (ten - half)
    need = max(MIN_SD * base, min(tail, MAX_TAIL))
    own = np.minimum(OWN_TAIL * darkest, MAX_OWN_TAIL)
    after = np.maximum(need, own)[:, None] * (columns.u_mm > BLADE.detail_zone_u_mm[0])
    return base, np.maximum(need, after), tail


def mark_open(
    evidence: Evidence,
    columns: Columns,
    *,
    strictness: float = 1.0,
    grow_share: float = GROW_SHARE,
    tail_share: float = TAIL_SHARE,
) -> NDArray[np.intp]:
    """Number the stretches that look open, (K, C) from 1; 0 is closed.

    A stretch holds a place above ``strictness`` times the threshold, less where gaps crowd, and
    runs to where the dark is less than ``grow_share`` as deep as nearby, or to a mere tail, below
    ``tail_share`` of the threshold or of its own darkest place.
    """
    near = 2 * round(PLATEAU_MM / columns.width_mm / 2) + 1
    grown = np.zeros(evidence.depth.shape, dtype=bool)
    for part in columns.segments:
        depth = evidence.depth[:, part]
        plateau = np.asarray(cv2.dilate(depth, np.ones((1, near), np.uint8)))
        grown[:, part] = depth > np.maximum(GROW_SD * evidence.sd[part], grow_share * plateau)
    labels, count = _label_stretches(grown, columns)
    inside = labels > 0
    ratio, of = evidence.ratio[inside], labels[inside]
    darkest = np.zeros(count + 1)
    np.maximum.at(darkest, of, ratio)
    inside[inside] = ratio >= tail_share * np.minimum(darkest, 1.0)[of]
    member, count = _label_stretches(inside, columns)
    keep = np.zeros(count + 1, dtype=bool)
    keep[member[evidence.ratio > strictness]] = True
    keep[0] = False
    crowd = columns.smooth(keep[member].mean(axis=0), CROWD_MM)
    ease = 1 - (1 - evidence.easiest) * np.minimum(crowd / CROWDED_SHARE, 1.0)
    faint = np.zeros(count + 1, dtype=bool)
    faint[member[evidence.ratio > strictness * ease]] = True
    keep |= faint & (np.bincount(member.ravel()) * columns.width_mm < EASED_MM)
    return _renumber(member, keep)


def _label_stretches(open_: NDArray[np.bool_], columns: Columns) -> tuple[NDArray[np.intp], int]:
    """Number the stretches along u, small breaks closed, none across the grooves; their count."""
    width = 2 * round(CLOSE_MM / columns.width_mm / 2) + 1
    closed = np.zeros_like(open_)
    for part in columns.segments:
        piece = open_[:, part].astype(np.uint8)
        closed[:, part] = (
            cv2.morphologyEx(piece, cv2.MORPH_CLOSE, np.ones((1, width), np.uint8)) > 0
        )
        closed[:, part.stop - 1] = False
    labels, count = ndimage.label(closed, structure=ALONG)
    return np.asarray(labels, np.intp), int(count)


def list_gaps(
    member: NDArray[np.intp],
    open_mm: NDArray[np.float64],
    columns: Columns,
    *,
    lamp_rise: float = USUAL_RISE,
) -> Gaps:
    """The gaps among numbered stretches, with their open height taken from ``open_mm`` (K, C).

    Dropped is what is no longer along u than it is high, shorter than 0.6 mm, or lower than
    12 um: the shadow of a step between two layers looks like that, and the longer the lower the
    lamp is.
    """
    count = int(member.max(initial=0))
    size = np.bincount(member.ravel(), minlength=count + 1)
    area = np.bincount(member.ravel(), weights=open_mm.ravel(), minlength=count + 1)
    height = area / np.maximum(size, 1)
    length = size * columns.width_mm
    least = MIN_HEIGHT_MM * max(1.0, USUAL_RISE / lamp_rise)
    keep = (length >= np.maximum(MIN_LENGTH_MM, height)) & (height >= least)
    member = _renumber(member, keep)
    keep[0] = False
    places = ndimage.find_objects(member)
    return Gaps(
        member,
        np.array([p[0].start for p in places], dtype=np.intp),
        np.array([p[1].start for p in places], dtype=np.intp),
        np.array([p[1].stop - 1 for p in places], dtype=np.intp),
        height[keep],
    )


def _renumber(member: NDArray[np.intp], keep: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Keep some numbers, counted anew from 1; ``keep`` (G + 1,) starts with the closed places'."""
    keep = keep.copy()
    keep[0] = False
    return np.asarray(np.where(keep, np.cumsum(keep), 0)[member])
