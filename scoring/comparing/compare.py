"""Before and after: the two sides of a factor set against each other."""

import dataclasses
from collections.abc import Iterable, Sequence

from scoring.comparing.comparison import Comparison, Print
from scoring.comparing.effects import effects_by_accel, find_effect
from scoring.comparing.factor import check_setting, find_side, setting_words
from scoring.comparing.pairing import choose_pairing, find_confounders, pair_prints
from scoring.comparing.prints import gather_prints
from scoring.comparing.remarks import find_remarks
from scoring.comparing.verdict import say_verdict
from scoring.errors import SettingsError
from scoring.metric_words import known_metrics
from scoring.metrics import METRICS, MODE_METRICS
from scoring.store.records import MeasurementRecord

COMPARED = (
    *(metric.name for metric in METRICS if metric.better == "lower"),
    *(metric.name for metric in MODE_METRICS if metric.name != "wavelength_mm"),
)
"""What is compared if nothing is asked for: all that is better lower, frequency and damping."""


def compare_sides(
    records: Iterable[MeasurementRecord],
    *,
    factor: str,
    before: object,
    after: object,
    metrics: Sequence[str] | None = None,
    pair_on: Sequence[str] | None = None,
) -> Comparison:
    """Compare the prints whose ``factor`` is ``before`` with those whose is ``after``.

    ``records`` is what :meth:`scoring.store.run_store.RunStore.measurements` gives, filtered as
    wanted. ``factor`` is any setting of a run, or ``extra.NAME``; ``before`` and ``after`` are its
    values as numbers or as text with or without a unit, ``None`` or ``""`` for not given. Without
    ``metrics`` those of :data:`COMPARED` that were measured; without ``pair_on`` pairs share what
    :func:`scoring.comparing.pairing.choose_pairing` says.

    Raises :class:`SettingsError` for an unknown factor, setting or metric, and for two sides that
    are the same; :class:`scoring.errors.SideNotFoundError`, which lists the values there are, where
    no measured print is on a side. No pairs at all is a result that says so.
    """
    prints = gather_prints(records)
    check_setting(factor, prints)
    sides = (find_side(prints, factor, before), find_side(prints, factor, after))
    if sides[0].prints == sides[1].prints:
        raise SettingsError(
            f"Both sides are {setting_words(factor)} {sides[0].words}; choose two that differ."
        )
    wanted = known_metrics(metrics or ()) or _measured(prints)
    if pair_on is None:
        paired_on = choose_pairing(factor, *sides)
    else:
        paired_on = tuple(check_setting(name, prints) for name in pair_on if name != factor)
    pairs, unpaired = pair_prints(sides[0], sides[1], paired_on)
    found = Comparison(
        factor=factor,
        factor_words=setting_words(factor),
        before=sides[0],
        after=sides[1],
        confounders=find_confounders(factor, *sides, paired_on=paired_on, pairs=pairs),
        remarks=(),
        paired_on=paired_on,
        pairs=pairs,
        unpaired=unpaired,
        overall=tuple(find_effect(pairs, metric) for metric in wanted) if pairs else (),
        by_accel=tuple(effect for metric in wanted for effect in effects_by_accel(pairs, metric)),
        verdict="",
    )
    return dataclasses.replace(found, remarks=find_remarks(found), verdict=say_verdict(found))


def _measured(prints: Sequence[Print]) -> tuple[str, ...]:
    return tuple(name for name in COMPARED if any(name in p.metrics for p in prints))
