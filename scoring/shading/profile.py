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
    rows = np.diff(bounds)[:, None]
    hidden = np.stack([masked[s].sum(axis=0, dtype=np.uint32) for s in strips]).astype(np.int64)
    by_column = hidden.sum(axis=0) / len(masked)
    u = face.u_mm()
    inner = (u > CORNER_MM) & (u < BLADE.length_mm - CORNER_MM)
    counted = np.round(_counted_share(by_column[inner], face.px_per_mm) * rows).astype(np.int64)
    all_count = bool((counted == rows).all())
    luma = None if face.luma is None else face.luma[bounds[0] : bounds[-1], :, None]
    if not all_count:
        rank = np.where(masked, np.inf, part[..., 1] if luma is None else luma[..., 0])
        dimmest = [
            np.argpartition(rank[s], n - 1, axis=0)[:n, :, None]
            for s, n in zip(strips, counted[:, 0].tolist(), strict=True)
        ]

    def mean(part: NDArray[np.float32]) -> NDArray[np.float64]:
        parts = [part[s] for s in strips]
        if not all_count:
            chosen = zip(parts, dimmest, strict=True)
            parts = [np.take_along_axis(p, rows, axis=0) for p, rows in chosen]
        return np.asarray(np.stack([p.sum(axis=0) for p in parts]) / counted[..., None], np.float64)

    light = mean(part)
    own = None if luma is None else mean(luma)
    whole = by_column[inner].mean()
    start = by_column[(u > CORNER_MM) & (u < START_MM)].mean()
    return StripProfiles(
        u_mm=u,
        w_mm=(edges[:-1] + edges[1:]) / 2,
        light=with_luma(light) if own is None else np.concatenate([light, own], axis=-1),
        valid=np.full(hidden.shape, True) if all_count else rows - hidden >= counted,
        clipped_share=float(max(whole, start)),
    )


def _counted_share(clipped: NDArray[np.float64], px_per_mm: float) -> float:
    """The part of every column's pixels that counts, by each one's ``clipped`` share (N,)."""
    width = 2 * round(WORST_OVER_MM / 2 * px_per_mm) + 1
    worst = float(cv2.blur(clipped[None], (width, 1)).max())
    if worst < FEW_CLIPPED:
        return 1.0
    return max(1 - CLIPPED_MARGIN * worst, LEAST_COUNTED)
