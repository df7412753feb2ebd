"""Heights and slopes between the cells of a height field (numba)."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Heights = NDArray[np.float32]


@njit(inline="always")
def find_height(heights: Heights, row: float, column: float) -> float:
    """The height at a place in cells, bilinear; beyond the edge that of the edge."""
    rows, columns = heights.shape
    i = int(row)
    j = int(column)
    if row < 0:
        i = 0
        row = 0.0
    if column < 0:
        j = 0
        column = 0.0
    if i > rows - 2:
        i = rows - 2
        row = rows - 1.0
    if j > columns - 2:
        j = columns - 2
        column = columns - 1.0
    a = row - i
    b = column - j
    low = heights[i, j] * (1 - b) + heights[i, j + 1] * b
    high = heights[i + 1, j] * (1 - b) + heights[i + 1, j + 1] * b
    return float(low * (1 - a) + high * a)


@njit(inline="always")
def find_slopes(
    heights: Heights, row: float, column: float, step_u: float, step_w: float
) -> tuple[float, float]:
    """Slopes along u and w at a place in cells, each the difference of two neighbours."""
    rows, columns = heights.shape
    i = int(max(0.0, min(row, rows - 1.001)))
    j = int(max(0.0, min(column, columns - 1.001)))
    a = min(max(row - i, 0.0), 1.0)
    b = min(max(column - j, 0.0), 1.0)
    low = heights[i, j + 1] - heights[i, j]
    high = heights[i + 1, j + 1] - heights[i + 1, j]
    left = heights[i + 1, j] - heights[i, j]
    right = heights[i + 1, j + 1] - heights[i, j + 1]
    return (low * (1 - a) + high * a) / step_u, (left * (1 - b) + right * b) / step_w
