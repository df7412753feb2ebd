"""The effect on each metric, over all pairs and at each acceleration."""

import dataclasses
import math
from collections.abc import Iterable, Sequence

from scoring.comparing.block_model import fit_blocks
from scoring.comparing.comparison import Basis, Effect, Outcome, PrintPair, Scale
from scoring.comparing.effect_words import effect_sentence
from scoring.comparing.permutation import permute_exactly
from scoring.comparing.samples import Stratum, sample_strata, scale_of
from scoring.metric_words import metric_unit


def effects_by_accel(pairs: Iterable[PrintPair], metric: str) -> tuple[Effect, ...]:
    """The effect at each acceleration that pairs share, in order; none where they share none."""
    by_accel: dict[float, list[PrintPair]] = {}
    for pair in pairs:
        if pair.accel_mm_s2 is not None:
            by_accel.setdefault(pair.accel_mm_s2, []).append(pair)
    return tuple(find_effect(by_accel[accel], metric, accel) for accel in sorted(by_accel))


def find_effect(
    pairs: Iterable[PrintPair], metric: str, accel_mm_s2: float | None = None
) -> Effect:
    """The effect on ``metric`` over ``pairs``.

    Every pair counts by its numbers of prints (see :func:`fit_blocks`). A pair in which no ripple
    was found on either side says nothing of their ratio and is left out. Where none was found on
    one side, its prints stand at their detection limits: the ratio found is then a bound, and the
    interval is open beyond it; where that happened on both sides in turn, neither end is known.
    """
    strata = sample_strata(pairs, metric)
    telling = [s for s in strata if not _found_nowhere(s)]
    effect = _count(strata, telling, metric, accel_mm_s2)
    if telling:
        effect = _fill(effect, telling)
    return dataclasses.replace(effect, sentence=effect_sentence(effect))


def _found_nowhere(stratum: Stratum) -> bool:
    return all(side.not_found == side.y.size for side in (stratum.before, stratum.after))


def _count(
    strata: Sequence[Stratum], telling: Sequence[Stratum], metric: str, accel_mm_s2: float | None
) -> Effect:
    """What was compared, with nothing said of it yet."""
    return Effect(
        metric=metric,
        unit=metric_unit(metric),
        scale=scale_of(metric),
        accel_mm_s2=accel_mm_s2,
        value=None,
        low=None,
        high=None,
        basis=Basis.NONE,
        outcome=Outcome.OPEN,
        p_exact=None,
        p_least=None,
        smallest_change=None,
        pairs=len(telling),
        prints_before=sum(s.before.y.size for s in telling),
        prints_after=sum(s.after.y.size for s in telling),
        photos_before=sum(s.before.photos for s in telling),
        photos_after=sum(s.after.photos for s in telling),
        not_found_before=sum(s.before.not_found for s in telling or strata),
        not_found_after=sum(s.after.not_found for s in telling or strata),
        sentence="",
    )


def _fill(effect: Effect, strata: Sequence[Stratum]) -> Effect:
    bound_below = any(s.before.not_found for s in strata)
    bound_above = any(s.after.not_found for s in strata)
    if bound_below and bound_above:
        return effect
    fit = fit_blocks(strata)
    ends = [fit.low, fit.value, fit.high]
    smallest = None if fit.smallest is None else abs(fit.smallest)
    if effect.scale is Scale.RATIO:
        ends = [math.exp(end) for end in ends]
        smallest = None if smallest is None else math.exp(-smallest)
    # The ripple before may be smaller than its limit: the ratio can only be larger; and so on.
    low, high = (None if bound_above else ends[0]), (None if bound_below else ends[2])
    censored = bound_below or bound_above
    exact = None if censored else permute_exactly(strata)
    outcome = Outcome.OPEN
    if high is not None and high < effect.no_change:
        outcome = Outcome.LOWER
    elif low is not None and low > effect.no_change:
        outcome = Outcome.HIGHER
    return dataclasses.replace(
        effect,
        value=ends[1],
        low=low,
        high=high,
        basis=Basis.MEASUREMENT if fit.df == 0 else Basis.PRINTS,
        outcome=outcome,
        p_exact=exact.p if exact else None,
        p_least=exact.p_least if exact else None,
        smallest_change=None if censored else smallest,
    )
