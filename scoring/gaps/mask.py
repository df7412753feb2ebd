"""Open gaps drawn on the rectified face, for a person to look at."""

import numpy as np
from numpy.typing import NDArray

from scoring.gaps.boundaries import Boundaries
from scoring.gaps.columns import Columns
from scoring.gaps.gaps import Gaps
from scoring.registration.face import RectifiedFace
from scoring.registration.grooves import UNSEEN, GrooveFit


def draw_mask(
    face: RectifiedFace,
    gaps: Gaps,
    boundaries: Boundaries,
    columns: Columns,
    grooves: GrooveFit = UNSEEN,
) -> NDArray[np.bool_]:
    """Mark each gap where its dark is seen, at least a pixel high; (M, N) like the face."""
    height_px, width_px, _ = face.linear.shape
    mask = np.zeros((height_px, width_px), dtype=bool)
    u, dark = grooves.true_u_mm(face.u_mm()), boundaries.dark_mm
    for row, first, last, height in zip(
        gaps.row, gaps.first, gaps.last, gaps.height_mm, strict=True
    ):
        begin, end = columns.u_mm[first], columns.u_mm[last]
        cols = np.flatnonzero((u >= begin) & (u <= end))
        along = slice(first, last + 1)
        at = np.interp(u[cols], columns.u_mm[along], dark[row, along])
        middle = np.rint((face.w0_mm - at) * face.px_per_mm).astype(np.intp)
        half = int(max(height * face.px_per_mm, 1.0) // 2)
        rows = np.clip(middle + np.arange(-half, half + 1)[:, np.newaxis], 0, height_px - 1)
        mask[rows, cols] = True
    return mask
