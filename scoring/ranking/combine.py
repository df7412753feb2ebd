"""Several estimates of one quantity as one, and the difference of two."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scoring.estimate import Z95, Estimate

NO_LENGTH = 1e-12
"""Next to how far estimates lie apart an interval so short is none: its square would not fit."""


@dataclass(frozen=True)
class _Weighed:
    """The weighted mean, each estimate's weight and lower and upper half-width, the Birge ratio."""

    mean: float
    weights: list[float]
    sides: list[tuple[float, float]]
    birge: float


def combine(estimates: Sequence[Estimate]) -> Estimate:
    """Inverse-variance weighted mean of independent estimates of the same quantity.

    Half-widths count as 1.96 standard deviations. Where the estimates scatter more than their
    intervals allow, the interval is widened by the :func:`birge_ratio`; it is never narrowed. Lower
    and upper half-widths are carried through apart, each in quadrature, and a quantity none of
    whose intervals reaches below zero stays so. An interval of no length takes the shortest one's
    length among the others; if none has a length, the scatter alone makes the interval. One
    estimate is returned as it is; none raises ``ValueError``.
    """
    if not estimates:
        raise ValueError("nothing to combine")
    if len(estimates) == 1:
        return estimates[0]
    weighed = _weigh(estimates)
    if not any(map(any, weighed.sides)):
        below = above = Z95 * weighed.birge / math.sqrt(len(estimates))
    else:
        stretch = max(1.0, weighed.birge) / math.fsum(weighed.weights)
        sides = zip(weighed.weights, weighed.sides, strict=True)
        weighted = [(w * below, w * above) for w, (below, above) in sides]
        below, above = (stretch * math.hypot(*side) for side in zip(*weighted, strict=True))
    low = weighed.mean - below
    if all(e.low >= 0 for e in estimates):
        low = max(low, 0.0)
    return Estimate(weighed.mean, min(low, weighed.mean), weighed.mean + above)


def birge_ratio(estimates: Sequence[Estimate]) -> float:
    """How far two or more estimates scatter over what their intervals allow: sqrt(chi^2 / (n - 1)).

    R. T. Birge, Phys. Rev. 40, 207 (1932), doi:10.1103/PhysRev.40.207. Intervals of no length
    count as in :func:`combine`; if none has a length, the estimates' own standard deviation is
    given. Fewer than two raise ``ValueError``.
    """
    if len(estimates) < 2:
        raise ValueError("one estimate does not scatter")
    return _weigh(estimates).birge


def _weigh(estimates: Sequence[Estimate]) -> _Weighed:
    """Two or more ``estimates``; one of no length has the shortest other's."""
    values = [e.value for e in estimates]
    least = min(values)
    none = NO_LENGTH * (max(values) - least)
    shortest = min((e.half_width for e in estimates if e.half_width > none), default=0.0)
    sides = [
        (e.value - e.low, e.high - e.value) if e.half_width > none else (shortest, shortest)
        for e in estimates
    ]
    sigmas = [sum(both) / 2 / Z95 or 1.0 for both in sides]
    # Weights relative to the surest: squares of very small or large widths would not fit a float.
    weights = [(min(sigmas) / s) ** 2 for s in sigmas]
    above_least = (w * (v - least) for w, v in zip(weights, values, strict=True))
    mean = least + math.fsum(above_least) / math.fsum(weights)
    scatter = [(v - mean) / s for v, s in zip(values, sigmas, strict=True)]
    return _Weighed(mean, weights, sides, math.hypot(*scatter) / math.sqrt(len(estimates) - 1))


def difference(first: Estimate, second: Estimate) -> Estimate:
    """``first`` minus ``second``, both independent: half-widths add in quadrature, side by side.

    The lower side joins how far the first may lie below with how far the second may lie above.
    """
    value = first.value - second.value
    below = math.hypot(first.value - first.low, second.high - second.value)
    above = math.hypot(first.high - first.value, second.value - second.low)
    return Estimate(value, value - below, value + above)
