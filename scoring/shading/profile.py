"""Brightness along u, in strips of w: what is left of the face once the layers are averaged."""

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.registration.face import RectifiedFace
from scoring.shading.tone import with_luma

STRIP_MM = 1.0
"""Strips of five layers or so: many enough to show the scatter, each wide enough to average."""

CORNER_MM, START_MM = 3.0, 8.0
"""Between these a ring-down is largest; one of strong damping is nowhere else."""

MIN_SHARE = 0.5
"""A strip's column with less unclipped area than this gives no value there."""


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
    hidden = np.stack([masked[s].sum(axis=0, dtype=np.uint32) for s in strips])
    kept = rows - hidden.astype(np.int64)

    def mean(part: NDArray[np.float32]) -> NDArray[np.float64]:
        total = np.stack(
            [
                (part[s] * ~masked[s, :, None] if lost.any() else part[s]).sum(axis=0)
                for s, lost in zip(strips, hidden, strict=True)
            ]
        )
        return np.asarray(total / np.maximum(kept, 1)[..., None], np.float64)

    light = mean(part)
    own = None if face.luma is None else mean(face.luma[bounds[0] : bounds[-1], :, None])
    by_column = hidden.sum(axis=0) / len(masked)
    u = face.u_mm()
    whole = by_column[(u > CORNER_MM) & (u < BLADE.length_mm - CORNER_MM)].mean()
    start = by_column[(u > CORNER_MM) & (u < START_MM)].mean()
    return StripProfiles(
        u_mm=u,
        w_mm=(edges[:-1] + edges[1:]) / 2,
        light=with_luma(light) if own is None else np.concatenate([light, own], axis=-1),
        valid=np.asarray(kept >= MIN_SHARE * rows),
        clipped_share=float(max(whole, start)),
    )
