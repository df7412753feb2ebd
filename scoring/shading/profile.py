"""Brightness along u, in strips of w: what is left of the face once the layers are averaged."""

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.photo.opencv import cv2
from scoring.registration.face import RectifiedFace
from scoring.shading.tone import with_luma

STRIP_MM = 1.0
"""Strips of five layers or so: many enough to show the scatter, each wide enough to average."""

CORNER_MM, START_MM = 3.0, 8.0
"""Between these a ring-down is largest; one of strong damping is nowhere else."""

FEW_CLIPPED, CLIPPED_MARGIN, LEAST_COUNTED = 0.002, 1.6, 0.4
"""Where more of any column is clipped than ``FEW_CLIPPED``, so many times the worst column's share
is left out of every column, but ``LEAST_COUNTED`` of it counts; a strip's column with less than
that unclipped gives no value."""

WORST_OVER_MM = 0.5


@dataclass(frozen=True)
class StripProfiles:
    """Mean linear light of each strip, ``light`` (K, N, 4) over ``u_mm`` (N,): red, green, blue
    and luma.

    ``valid`` (K, N) is false where too much was clipped; ``clipped_share`` is over the measured
    band or over its start, whichever is more. ``w_mm`` (K,) are the strips' centres.
    """

    u_mm: NDArray[np.float64]
    w_mm: NDArray[np.float64]
    light: NDArray[np.float64]
    valid: NDArray[np.bool_]
    clipped_share: float


def extract_strips(face: RectifiedFace) -> StripProfiles:
    """Average the measured band of ``face`` over strips of w.

    The ripple repeats from layer to layer while noise and layer lines do not, so the mean over
    w shows micrometres and the scatter between strips is the honest uncertainty.

    Where full scale cuts pixels off, the rest's mean would be too low, and most so on the bright
    flanks. The dimmest part of each column's pixels, the same part everywhere, is brighter and
    darker by the same factor as all of them, and nothing of it is cut off: its mean is taken then.
    """
    low, high = BLADE.measured_band_w_mm
    w = face.w_mm()
    count = round((high - low) / STRIP_MM)
    edges = np.linspace(high, low, count + 1)
    bounds = np.searchsorted(-w, -edges)
    part = face.linear[bounds[0] : bounds[-1]]
    masked = face.clipped[bounds[0] : bounds[-1]]
    strips = [slice(a, b) for a, b in itertools.pairwise(bounds - bounds[0])]
    hidden = np.stack([masked[s].sum(axis=0, dtype=np.int64) for s in strips])
    by_column = hidden.sum(axis=0) / len(masked)
    u = face.u_mm()
    inner = (u > CORNER_MM) & (u < BLADE.length_mm - CORNER_MM)
    whole = by_column[inner].mean()
    start = by_column[(u > CORNER_MM) & (u < START_MM)].mean()

    luma = None if face.luma is None else face.luma[bounds[0] : bounds[-1], :, None]
    rows = np.diff(bounds)
    counted = np.round(_counted_share(by_column[inner], face.px_per_mm) * rows).astype(np.int64)
    valid = np.full(hidden.shape, True)
    chosen = None
    if (counted < rows).any():
        valid = rows[:, None] - hidden >= counted[:, None]
        brightness = np.where(masked, np.inf, part[..., 1] if luma is None else luma[..., 0])
        chosen = [_dimmest(brightness[s], int(n)) for s, n in zip(strips, counted, strict=True)]
    light = _average(part, strips, chosen)
    if luma is None:
        light = with_luma(light)
    else:
        light = np.concatenate([light, _average(luma, strips, chosen)], axis=-1)
    return StripProfiles(
        u_mm=u,
        w_mm=(edges[:-1] + edges[1:]) / 2,
        light=light,
        valid=valid,
        clipped_share=float(max(whole, start)),
    )


def _counted_share(clipped: NDArray[np.float64], px_per_mm: float) -> float:
    """The part of every column's pixels that counts, by each one's ``clipped`` share (N,)."""
    width = 2 * round(WORST_OVER_MM / 2 * px_per_mm) + 1
    worst = float(cv2.blur(clipped[None], (width, 1)).max())
    if worst < FEW_CLIPPED:
        return 1.0
    return max(1 - CLIPPED_MARGIN * worst, LEAST_COUNTED)


def _dimmest(brightness: NDArray[np.float32], count: int) -> NDArray[np.intp]:
    """Which rows (``count``, N) of each column of ``brightness`` (R, N) are its dimmest."""
    return np.argpartition(brightness, count - 1, axis=0)[:count]


def _average(
    part: NDArray[np.float32], strips: list[slice], chosen: list[NDArray[np.intp]] | None
) -> NDArray[np.float64]:
    """Mean (K, N, C) of each strip of ``part`` (M, N, C), over its ``chosen`` rows if any are."""
    parts = [part[s] for s in strips]
    if chosen is not None:
        pairs = zip(parts, chosen, strict=True)
        parts = [np.take_along_axis(p, rows[..., None], axis=0) for p, rows in pairs]
    return np.stack([p.sum(axis=0) / len(p) for p in parts]).astype(np.float64)
