"""Limits and how they were kept, in words."""

import math
from collections.abc import Mapping, Sequence

from scoring.comparing.acceptance import AcceptanceLimit, Ladder, LadderRung, Reach, Rung
from scoring.comparing.effect_words import spoken
from scoring.comparing.factor import setting_words, value_words
from scoring.estimate import Estimate
from scoring.metric_words import FRACTIONS, shown_unit

NOT_REPEATED = (
    "Where no acceleration has two prints that show ripples or gaps, the intervals know how well "
    "photos measure, not how prints of the same settings differ: print a coupon twice before you "
    "rely on the last step. Stay within what the machine's and the filament's makers allow, "
    "whatever passes."
)
"""Stands under limits of which none knows how prints differ."""


def limit_words(limit: AcceptanceLimit) -> str:
    """The limit as a condition, such as "ripple peak at most 15 µm"."""
    return f"{spoken(limit.metric)} at most {_with_unit(f'{_scaled(limit, limit.most):g}', limit)}"


def rung_words(limit: AcceptanceLimit, value: Estimate) -> str:
    """A value with its 95 % interval, such as "14.2 µm (13.6 to 14.9)"."""
    middle, low, high = (_scaled(limit, x) for x in (value.value, value.low, value.high))
    half = (high - low) / 2
    places = min(max(0, 1 - math.floor(math.log10(half))), 6) if half > 0 else 3
    return f"{_with_unit(f'{middle:.{places}f}', limit)} ({low:.{places}f} to {high:.{places}f})"


def group_words(group: Mapping[str, object]) -> str:
    """A group of prints in words, machine and setup first."""
    rest = [
        f"{setting_words(name)} {value_words(name, value)}"
        for name, value in group.items()
        if name not in {"machine", "setup"} and value is not None
    ]
    return ", ".join([f"{group['machine']}, {group['setup']}", *rest])


def group_labels(groups: Sequence[Mapping[str, object]]) -> tuple[str, ...]:
    """A short label for each group: machine, setup, and what else tells it from its namesakes."""

    def differ(one: Mapping[str, object], other: Mapping[str, object], name: str) -> bool:
        return value_words(name, one[name]).casefold() != value_words(name, other[name]).casefold()

    labels = []
    for group in groups:
        alike = [g for g in groups if not any(differ(g, group, n) for n in ("machine", "setup"))]
        rest = [
            f"{setting_words(name)} {value_words(name, value)}"
            for name, value in group.items()
            if any(differ(group, other, name) for other in alike)
        ]
        labels.append(", ".join([f"{group['machine']}, {group['setup']}", *rest]))
    return tuple(labels)


def ladder_sentence(
    limit: AcceptanceLimit, rungs: Sequence[LadderRung], reach: Reach, passed: int
) -> str:
    """How far the limit is kept; ``passed`` counts the accelerations that pass, from the lowest."""
    said = limit_words(limit)
    said = said[0].upper() + said[1:]
    if reach is Reach.UNKNOWN:
        return f"{said}: not measured."
    if reach is Reach.NOT_REACHED:
        return (
            f"{said}: passes up to {rungs[-1].accel_mm_s2:g} mm/s², the highest that was printed; "
            "the limit was not reached."
        )
    ended = rungs[passed]
    why = {Rung.FAILS: "which fails", Rung.UNSURE: "which is not shown to pass"}[ended.rung]
    there = f"at {ended.accel_mm_s2:g} mm/s² it is {rung_words(limit, ended.value)}, {why}"
    start = f"passes up to {rungs[passed - 1].accel_mm_s2:g} mm/s²" if passed else "never passes"
    again = [f"{r.accel_mm_s2:g}" for r in rungs[passed + 1 :] if r.rung is Rung.PASSES]
    more = f"; {', '.join(again)} mm/s² passes again, which does not count" if again else ""
    return f"{said}: {start}; {there}{more}."


def result_sentence(
    group: Mapping[str, object], ladders: Sequence[Ladder], reach: Reach, highest: float | None
) -> str:
    """All limits at once, for one machine and setup."""
    who = f"{group['machine']}, {group['setup']}"
    limits = " and ".join(limit_words(ladder.limit) for ladder in ladders)
    if reach is Reach.NEVER:
        failed = next(lad for lad in ladders if lad.reach is Reach.NEVER)
        return (
            f"{who}: no acceleration passes; already at {failed.rungs[0].accel_mm_s2:g} mm/s² "
            f"{limit_words(failed.limit)} is not kept with 95 % confidence."
        )
    if highest is None:
        return f"{who}: cannot be told, since not all of {limits} was measured."
    said = f"{who}: {highest:g} mm/s² is the highest acceleration that passes ({limits})"
    if reach is Reach.NOT_REACHED:
        said += "; none higher was printed for all limits, so the true one may lie higher"
    if not all(ladder.between_prints for ladder in ladders):
        said += "; no repeated prints tell how prints differ, so this knows the photos' "
        said += "uncertainty only"
    return f"{said}."


def _scaled(limit: AcceptanceLimit, value: float) -> float:
    return 100 * value if limit.metric in FRACTIONS else value


def _with_unit(text: str, limit: AcceptanceLimit) -> str:
    unit = shown_unit(limit.metric)
    return f"{text} {unit}" if unit else text


def reach_words(reach: Reach, highest_mm_s2: float | None) -> str:
    """How far it goes, for a table: "5000", "5000 or more", "never passes", "not measured"."""
    if highest_mm_s2 is None:
        return str(reach)
    return f"{highest_mm_s2:g}{' (not reached)' if reach is Reach.NOT_REACHED else ''}"
