"""One metric's numbers, pair by pair, on the scale on which it compares."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.comparing.comparison import Print, PrintPair, Scale
from scoring.estimate import Z95, Estimate
from scoring.metric_words import KNOWN
from scoring.metrics import FaceName

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Sample:
    """One side's prints of one pair: ``y`` (N,) logarithms or plain values, ``below`` and ``above``
    (N,) the measurement's standard deviations to either side of each, ``not_found`` prints that
    stand at their detection limit because no ripple was found."""

    y: Array
    below: Array
    above: Array
    not_found: int
    photos: int


@dataclass(frozen=True)
class Stratum:
    """One pair's prints of both sides, at least one each."""

    before: Sample
    after: Sample


def scale_of(metric: str) -> Scale:
    """Ripples, and all that the ring-down face tells, compare as ratios; gaps as differences."""
    return Scale.RATIO if KNOWN[metric].face is FaceName.RINGDOWN else Scale.DIFFERENCE


def sample_strata(pairs: Iterable[PrintPair], metric: str) -> tuple[Stratum, ...]:
    """The pairs in which both sides have a number of ``metric``.

    A ripple that was not found (0) stands at its detection limit, the interval's upper end, and is
    counted; one without even that, where the ratio has no meaning, is left out.
    """
    strata = []
    for pair in pairs:
        sides = [_sample(prints, metric) for prints in (pair.before, pair.after)]
        if all(side.y.size for side in sides):
            strata.append(Stratum(*sides))
    return tuple(strata)


def usable(estimate: Estimate, scale: Scale) -> bool:
    """Whether the number can stand on ``scale``: a ratio needs more than zero, or a limit."""
    return scale is Scale.DIFFERENCE or estimate.high > 0


def on_scale(estimate: Estimate, scale: Scale) -> tuple[float, float, float]:
    """The number on ``scale`` and the standard deviations of its measurement below and above it.

    Either part of the interval counts as 1.96 of them. An interval of a ripple that reaches down to
    zero has no lower end as a logarithm: its upper part stands for both.
    """
    value, low, high = estimate.value, estimate.low, estimate.high
    if scale is Scale.DIFFERENCE:
        return value, (value - low) / Z95, (high - value) / Z95
    if value <= 0:
        return math.log(high), 0.0, 0.0
    above = math.log(high / value) / Z95
    return math.log(value), math.log(value / low) / Z95 if low > 0 else above, above


def _sample(prints: Sequence[Print], metric: str) -> Sample:
    scale = scale_of(metric)
    with_number = [p for p in prints if metric in p.metrics and usable(p.metrics[metric], scale)]
    found = [p.metrics[metric] for p in with_number]
    placed = np.array([on_scale(e, scale) for e in found], float).reshape(-1, 3)
    face = KNOWN[metric].face
    return Sample(
        y=placed[:, 0],
        below=placed[:, 1],
        above=placed[:, 2],
        not_found=sum(e.value <= 0 for e in found) if scale is Scale.RATIO else 0,
        photos=sum(r.measurement.face is face for p in with_number for r in p.records),
    )
