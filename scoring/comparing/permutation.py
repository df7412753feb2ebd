"""The exact permutation test: how often chance alone would part the sides as far."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.stats import permutation_test

from scoring.comparing.samples import Array, Stratum

MOST = 1_000_000
"""Exact only: with more ways to swap the sides than this no p is given; the interval speaks."""


@dataclass(frozen=True)
class ExactTest:
    """Two-sided p, and the least p that so many prints could give."""

    p: float
    p_least: float


def permute_exactly(strata: Sequence[Stratum]) -> ExactTest | None:
    """Swap the sides within each stratum in every possible way (Fisher 1935; Pitman 1937).

    The statistic is the mean difference that :func:`scoring.comparing.block_model.fit_blocks`
    estimates; the two-sided p is twice the smaller tail, at most 1. ``None`` where there are too
    many ways, and for a single pair with one print on a side: that print can only change places
    with each of the others, whose number alone would then make p, whatever was measured.
    """
    sizes = [(s.before.y.size, s.after.y.size) for s in strata]
    ways = math.prod(math.comb(b + a, a) for b, a in sizes)
    if ways > MOST or (len(sizes) == 1 and min(sizes[0]) == 1):
        return None
    least = min(1.0, 2 / ways)
    if len(strata) == 1:
        done = permutation_test(
            (strata[0].after.y, strata[0].before.y),
            _mean_difference,
            vectorized=True,
            n_resamples=MOST,
            batch=10_000,
        )
        return ExactTest(float(done.pvalue), least)
    if all(size == (1, 1) for size in sizes):
        done = permutation_test(
            (np.array([float(s.after.y[0] - s.before.y[0]) for s in strata]),),
            _mean,
            permutation_type="samples",
            vectorized=True,
            n_resamples=MOST,
            batch=10_000,
        )
        return ExactTest(float(done.pvalue), least)
    return ExactTest(_stratified_p(strata), least)


def _mean(of: Array, axis: int) -> Array:
    return np.asarray(np.mean(of, axis=axis))


def _mean_difference(after: Array, before: Array, axis: int) -> Array:
    return _mean(after, axis) - _mean(before, axis)


def _stratified_p(strata: Sequence[Stratum]) -> float:
    """The same for several strata of several prints, which the library has no name for."""
    every = np.zeros(1)
    observed = 0.0
    for stratum in strata:
        differences = _differences(stratum)
        weight = 1 / (1 / stratum.before.y.size + 1 / stratum.after.y.size)
        every = np.add.outer(every, weight * differences).ravel()
        observed += weight * float(differences[0])
    # Equal splits may differ by rounding: as near as this counts as equal, as the library has it.
    near = 100 * np.finfo(float).eps * max(abs(observed), float(np.max(np.abs(every))))
    tails = (np.mean(every >= observed - near), np.mean(every <= observed + near))
    return min(1.0, 2 * float(min(tails)))


def _differences(stratum: Stratum) -> Array:
    """After minus before for every way to part the stratum's prints, the true one first."""
    y = np.concatenate([stratum.after.y, stratum.before.y])
    size, total = stratum.after.y.size, float(np.sum(y))
    sums = np.array([np.sum(y[list(chosen)]) for chosen in combinations(range(y.size), size)])
    return np.asarray(sums / size - (total - sums) / (y.size - size))
