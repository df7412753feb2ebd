"""Exact medians in a fraction of numpy's time, which looks for NaN and selects row by row."""

import numpy as np
from numpy.typing import NDArray


def median(values: NDArray[np.float64] | NDArray[np.float32]) -> float:
    """The median of all finite ``values``, any shape; at least one."""
    half = values.size // 2
    parted = np.partition(values, half, axis=None)
    upper = float(parted[half])
    return upper if values.size % 2 else (float(parted[:half].max()) + upper) / 2


def medians(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """The median of each short row of finite ``values`` (R, N): (R,)."""
    ordered, count = np.sort(values, axis=1), values.shape[1]
    return np.asarray((ordered[:, (count - 1) // 2] + ordered[:, count // 2]) / 2)
