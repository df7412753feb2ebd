"""How far up the accelerations prints keep within the user's own limits."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import norm
from scipy.stats import t as student_t

from scoring.comparing.acceptance import (
    AcceptanceLimit,
    Ladder,
    LadderRung,
    LimitResult,
    Reach,
    Rung,
)
from scoring.comparing.comparison import Print, Scale
from scoring.comparing.likeness import group_alike
from scoring.comparing.limit_words import ladder_sentence, result_sentence
from scoring.comparing.prints import gather_prints
from scoring.comparing.samples import Array, on_scale, scale_of, usable
from scoring.errors import SettingsError
from scoring.estimate import Estimate
from scoring.metric_words import FRACTIONS, KNOWN, closest_metrics
from scoring.runs.quantity import read_quantity
from scoring.store.records import MeasurementRecord

DEFAULT_LIMITS = (AcceptanceLimit("ripple_peak_um", 15.0), AcceptanceLimit("gap_fraction", 0.01))
"""A starting point of no authority (common practice, no source): the user sets their own."""
ONE_SIDED, TWO_SIDED = 0.95, 0.975


def read_limit(written: str) -> AcceptanceLimit:
    """A limit as people write it: ``ripple_peak_um=15``, ``gap_fraction=1 %``.

    Raises :class:`SettingsError` for an unknown metric, one that is not better lower, a value that
    is no number above zero or has another unit, and a share that every print keeps.
    """
    name, equals, value = (part.strip() for part in written.partition("="))
    judged = [metric.name for metric in KNOWN.values() if metric.better == "lower"]
    if name not in judged:
        hint = closest_metrics(name, judged)
        raise SettingsError(f"{name!r} is no metric that is better lower; {hint}")
    if not equals:
        raise SettingsError(f"{written!r}: write the limit behind the name, like {name}=15.")
    most = read_quantity(value, KNOWN[name].unit)
    if most <= 0:
        raise SettingsError(f"{written!r}: a limit must be above zero.")
    if name in FRACTIONS and most >= 1:
        raise SettingsError(
            f"{written!r}: that is {100 * most:g} % of the area, which no print can exceed; write "
            f"a share below 100 %, like {name}=1% or {name}=0.01."
        )
    return AcceptanceLimit(name, most)


def read_limits(written: Sequence[str]) -> tuple[AcceptanceLimit, ...]:
    """The limits as written, or :data:`DEFAULT_LIMITS` for none. Raises as :func:`read_limit`."""
    return tuple(read_limit(one) for one in written) or DEFAULT_LIMITS


def find_limits(
    records: Iterable[MeasurementRecord], limits: Sequence[AcceptanceLimit] = DEFAULT_LIMITS
) -> tuple[LimitResult, ...]:
    """Each machine and setup (prints of like settings, acceleration aside) against ``limits``.

    An acceleration passes where the one-sided 95 % upper bound of the prints' mean is at most the
    limit, and fails where the lower bound is above it. The answer is the highest acceleration that
    was printed up to which every one passes; nothing is claimed between or beyond. To pass several
    limits at once, each at 95 %, has itself 95 % (intersection-union test; Berger 1982,
    doi:10.1080/00401706.1982.10487790). No records or no limits give no
    result; records without the metric give :attr:`Reach.UNKNOWN`.
    """
    groups = group_alike(gather_prints(records), but=("accel_mm_s2",))
    return tuple(_judge(group, prints, limits) for group, prints in groups) if limits else ()


def _judge(
    group: Mapping[str, object], prints: Sequence[Print], limits: Sequence[AcceptanceLimit]
) -> LimitResult:
    ladders = tuple(climb(prints, limit) for limit in limits)
    reached = [ladder.highest_mm_s2 for ladder in ladders]
    highest = None if None in reached else min(r for r in reached if r is not None)
    # How it ends is told by the limit that ends it: another's may end farther up.
    ends = {lad.reach for lad in ladders if highest is None or lad.highest_mm_s2 == highest}
    reach = next(
        (r for r in (Reach.NEVER, Reach.UNKNOWN, Reach.FOUND) if r in ends), Reach.NOT_REACHED
    )
    return LimitResult(
        group=group,
        ladders=ladders,
        reach=reach,
        highest_mm_s2=highest,
        sentence=result_sentence(group, ladders, reach, highest),
    )


def climb(prints: Iterable[Print], limit: AcceptanceLimit) -> Ladder:
    """One limit up the accelerations of ``prints``, which are alike in all else.

    The spread from print to print is pooled over the accelerations that were printed more than
    once, as a ratio for ripples; without any, the bounds know the photos' uncertainty only. They
    are never closer than that. A ripple that was not found counts as its detection limit; it tells
    nothing of how prints differ, nor does an acceleration at which no print has a gap.
    """
    scale = scale_of(limit.metric)
    gathered: dict[float, list[Estimate]] = {}
    for one in prints:
        estimate = one.metrics.get(limit.metric)
        if estimate is not None and usable(estimate, scale):
            gathered.setdefault(one.settings.accel_mm_s2, []).append(estimate)
    levels = [(accel, gathered[accel]) for accel in sorted(gathered)]
    spread = _pool([found for _, found in levels], scale)
    rungs = tuple(_rung(accel, found, limit, spread) for accel, found in levels)
    passed = 0
    while passed < len(rungs) and rungs[passed].rung is Rung.PASSES:
        passed += 1
    if not rungs:
        reach = Reach.UNKNOWN
    elif passed == len(rungs):
        reach = Reach.NOT_REACHED
    else:
        reach = Reach.FOUND if passed else Reach.NEVER
    return Ladder(
        limit=limit,
        rungs=rungs,
        reach=reach,
        highest_mm_s2=rungs[passed - 1].accel_mm_s2 if passed else None,
        between_prints=spread.df > 0,
        sentence=ladder_sentence(limit, rungs, reach, passed),
    )


@dataclass(frozen=True)
class _Spread:
    """The pooled standard deviation from print to print; with ``df`` 0 there is none."""

    sd: float
    df: int


def _pool(levels: Sequence[Sequence[Estimate]], scale: Scale) -> _Spread:
    told = ([e for e in found if e.value > 0 or scale is Scale.DIFFERENCE] for found in levels)
    # Prints that all show nothing stand at one value whatever they are.
    telling = [found for found in told if any(e.value > 0 for e in found)]
    ys = [np.array([on_scale(e, scale)[0] for e in found]) for found in telling]
    df = sum(y.size - 1 for y in ys)
    squares = math.fsum(float(np.sum((y - y.mean()) ** 2)) for y in ys)
    return _Spread(math.sqrt(squares / df) if df else 0.0, df)


def _rung(
    accel: float, found: Sequence[Estimate], limit: AcceptanceLimit, spread: _Spread
) -> LadderRung:
    scale = scale_of(limit.metric)
    y, below, above = np.array([on_scale(e, scale) for e in found]).T
    mean = float(y.mean())

    def reach(share: float, measured: Array) -> float:
        between = spread.sd / math.sqrt(len(found))
        known = float(student_t.ppf(share, spread.df)) * between if spread.df else 0.0
        return max(known, float(norm.ppf(share) * np.linalg.norm(measured)) / len(found))

    def back(value: float) -> float:
        return math.exp(value) if scale is Scale.RATIO else value

    low, high = back(mean - reach(TWO_SIDED, below)), back(mean + reach(TWO_SIDED, above))
    value = Estimate(back(mean), low, high)
    least, most = back(mean - reach(ONE_SIDED, below)), back(mean + reach(ONE_SIDED, above))
    if scale is Scale.DIFFERENCE and all(e.low >= 0 for e in found):
        value = Estimate(value.value, max(value.low, 0.0), value.high)
        least = max(least, 0.0)
    if any(e.low <= 0 for e in found) and scale is Scale.RATIO:
        # A factor does not reach zero: nothing may be said of how far below it lies.
        least = 0.0
        shown = 0.0 if all(e.value <= 0 for e in found) else value.value
        value = Estimate(shown, 0.0, value.high)
    rung = Rung.UNSURE
    if most <= limit.most:
        rung = Rung.PASSES
    elif least > limit.most:
        rung = Rung.FAILS
    return LadderRung(accel, value, least, most, len(found), rung)
