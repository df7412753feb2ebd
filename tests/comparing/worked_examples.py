"""Worked examples of statistics, with their sources."""

import numpy as np

from scoring.comparing.samples import Array, Sample, Stratum

SLEEP = (
    np.array([0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]),
    np.array([1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]),
)
"""Hours of sleep gained on two drugs: R's ``sleep`` (Student 1908)."""
MAIZE = np.array([49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48], float)
"""Darwin's maize: crossed less selfed height, 1/8 inch (Fisher, Design of Experiments, 1935)."""
PEAK_FLOW = (
    np.array([494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]),
    np.array([512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]),
)
"""Two meters, l/min (Bland and Altman, Lancet 1986; from memory)."""


def sample(values: object, sigma: float = 0.0) -> Sample:
    """One side's prints without, or with, the measurement's own spread."""
    y = np.atleast_1d(np.asarray(values, float))
    return Sample(y, np.full(y.size, sigma), np.full(y.size, sigma), 0, y.size)


def pairs_of(before: Array, after: Array, sigma: float = 0.0) -> list[Stratum]:
    """One stratum a pair, one print a side."""
    both = zip(before, after, strict=True)
    return [Stratum(sample(b, sigma), sample(a, sigma)) for b, a in both]
