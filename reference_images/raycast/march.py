"""Following a ray of sight down into the relief (numba)."""

from typing import NamedTuple

from numba import njit

from reference_images.raycast.heights import find_height
from reference_images.raycast.relief_fill import CODE_MM, OFF_FACE
from reference_images.raycast.views import ReliefView

FAST = {"nnan", "ninf", "nsz", "arcp", "contract", "reassoc"}
"""What of floating point may be rearranged in following and shading rays."""

BOTTOM_MM = -1.35
"""Below this there are walls alone."""

MISSED, SURFACE, SIDE = 0, 1, 2
"""What a ray met: nothing, the relief or a slot's floor from above, or an upright side."""


class Sight(NamedTuple):
    """A ray down: u and w at the relief's top, and how far it goes along each for 1 mm of depth."""

    u: float
    w: float
    per_depth_u: float
    per_depth_w: float


class Meeting(NamedTuple):
    """What a ray met, where (u, w, y), with what code; a side's normal is along u (0) or w (1)."""

    kind: int
    u: float
    w: float
    y: float
    code: int
    across: int
    sign: float


@njit(fastmath=FAST)
def meet_relief(relief: ReliefView, sight: Sight) -> Meeting:
    """March from the relief's top to its bottom in steps under a cell, to where the ray is below.

    Steps on one surface are shared out between both ends' heights over it; a step from a higher
    into a lower place is met from above, the other way round on an upright side.
    """
    heights, codes = relief.heights, relief.codes
    step_u, step_w = relief.step_u, relief.step_w
    rows, columns = heights.shape
    length, height = columns * step_u, rows * step_w
    along_u, along_w = sight.per_depth_u, sight.per_depth_w
    depth = relief.top - BOTTOM_MM
    count = int(max(abs(along_u) * depth / step_u, abs(along_w) * depth / step_w) * 1.2) + 10
    step = depth / count
    old_u, old_w, old_y, old_z = sight.u, sight.w, relief.top, -100.0
    old_code, old_i, old_j = -1, 0, 0
    kind = MISSED
    met_u, met_w, met_y = 0.0, 0.0, 0.0
    met_code, across, sign = 0, 0, 0.0
    for k in range(count + 1):
        y = relief.top - k * step
        u = sight.u + along_u * step * k
        w = sight.w + along_w * step * k
        i = -1 if w < 0 else (rows if w >= height else int(w / step_w))
        j = -1 if u < 0 else (columns if u >= length else int(u / step_u))
        code, z = OFF_FACE, -100.0
        if 0 <= i < rows and 0 <= j < columns:
            code = codes[i, j]
            if code == 0:
                z = find_height(heights, w / step_w - 0.5, u / step_u - 0.5)
            elif code != OFF_FACE:
                z = heights[i, j] - code * CODE_MM
        if y < z:
            same = old_code == code
            into_lower = old_code != OFF_FACE and old_code <= code
            if k == 0 or same or into_lower or y > z - 0.004:
                kind, met_code = SURFACE, code
                met_u, met_w, met_y = u, w, z
                if k > 0 and same:
                    above, under = old_y - old_z, z - y
                    share = above / max(above + under, 1e-9)
                    met_u = old_u + (u - old_u) * share
                    met_w = old_w + (w - old_w) * share
                    met_y = old_y + (y - old_y) * share
            else:
                kind, met_code = SIDE, old_code
                met_u, met_w, met_y = old_u, old_w, y
                through_end = i == old_i or abs(along_u) * step_w > abs(along_w) * step_u * 3
                if old_code == OFF_FACE and through_end and j != old_j:
                    across, sign = 0, -1.0 if along_u > 0 else 1.0
                else:
                    across, sign = 1, -1.0 if along_w > 0 else 1.0
            break
        old_u, old_w, old_y, old_z = u, w, y, z
        old_code, old_i, old_j = code, i, j
    return Meeting(kind, met_u, met_w, met_y, met_code, across, sign)
