"""What to know before a comparison's numbers are believed."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from scoring.comparing.comparison import (
    Basis,
    Comparison,
    Effect,
    Outcome,
    Print,
    PrintPair,
    Remark,
)
from scoring.comparing.effect_words import spoken
from scoring.comparing.factor import setting_value, setting_words, sorted_values
from scoring.flags import Flag

MANY = 5
"""From so many metrics side by side on, chance alone is likely to bring forth a change."""
NO_DEFECTS = {
    Flag.NO_RIPPLE_FOUND, Flag.NO_GAPS_FOUND, Flag.STEADY_RIPPLE, Flag.CLOSE_MODES,
    Flag.LABEL_UNREAD,
}  # fmt: skip
"""Flags that speak of the print or the label, not of how well a photo could be measured."""


def find_remarks(found: Comparison) -> tuple[Remark, ...]:
    """Everything that lessens what ``found``'s effects say, the gravest first."""
    if not found.pairs:
        return (_no_pairs(found), *_versions((*found.before.prints, *found.after.prints)))
    prints = [p for pair in found.pairs for p in (*pair.before, *pair.after)]
    return (
        *_few_prints(found.pairs, found.overall),
        *_both_ways(found.by_accel),
        *_versions(prints),
        *_flags(found.pairs),
        *_unpaired(found.unpaired, found.paired_on),
        *_not_given(found.paired_on, found.pairs),
        *_one_machine(found.factor, prints),
        *_many(found.overall),
    )


def _no_pairs(found: Comparison) -> Remark:
    apart = []
    for name in found.paired_on:
        values = [
            sorted_values(name, (setting_value(p.settings, name) for p in side.prints))
            for side in (found.before, found.after)
        ]
        if not {v.casefold() for v in values[0]} & {v.casefold() for v in values[1]}:
            sides = " against ".join(", ".join(side) for side in values)
            apart.append(f"{setting_words(name)} ({sides})")
    said = "Nothing can be compared: no print of one side agrees with one of the other in "
    said += ", ".join(map(setting_words, found.paired_on))
    if apart:
        said += f". They have nothing in common in {', '.join(apart)}"
    return Remark("no-pairs", f"{said}. Print both sides alike, the factor aside.")


def _few_prints(pairs: Sequence[PrintPair], overall: Sequence[Effect]) -> Iterator[Remark]:
    single = all(len(side) == 1 for pair in pairs for side in (pair.before, pair.after))
    told = [effect.basis for effect in overall if effect.basis is not Basis.NONE]
    if set(told) == {Basis.MEASUREMENT} or (single and len(pairs) == 1):
        yield Remark(
            "one-print-a-side",
            "There is one print a side: the intervals know how well the photos were measured, not "
            "how much two prints of the same settings differ. Print both sides again.",
        )
    elif single:
        yield Remark(
            "one-print-an-acceleration",
            "No settings were printed twice: the effect over all is judged by how well the pairs "
            "agree; intervals at one acceleration know the photos' uncertainty only.",
        )


def _both_ways(by_accel: Sequence[Effect]) -> Iterator[Remark]:
    """A mean over all says little where a change goes one way here and the other way there."""
    for metric in dict.fromkeys(effect.metric for effect in by_accel):
        told = {
            way: [f"{e.accel_mm_s2:g}" for e in by_accel if (e.metric, e.outcome) == (metric, way)]
            for way in (Outcome.LOWER, Outcome.HIGHER)
        }
        if all(told.values()):
            down, up = (", ".join(places) for places in told.values())
            yield Remark(
                "both-ways",
                f"The {spoken(metric)} is lower at {down} mm/s² and higher at {up} mm/s²: read it "
                "acceleration by acceleration.",
            )


def _versions(prints: Sequence[Print]) -> Iterator[Remark]:
    measured = [r.measurement for p in prints for r in p.records]
    methods = Counter(m.method_version for m in measured)
    if len(methods) > 1:
        yield Remark(
            "mixed-methods",
            f"The photos were measured by different versions of the method ({_tally(methods)}): "
            "measure the stored photos again before you compare.",
        )
    revisions = Counter(m.geometry_revision or "unknown" for m in measured)
    if len(revisions) > 1:
        yield Remark(
            "mixed-coupons",
            f"The coupons are of different revisions ({_tally(revisions)}): their faces, and so "
            "their numbers, need not be alike.",
        )
    stale = [p.settings.name for p in prints if p.stale]
    if stale:
        yield Remark(
            "out-of-date",
            f"Numbers of {_listed(stale)} are out of date: measure the stored photos again.",
        )


def _tally(counts: Counter[str]) -> str:
    return ", ".join(f"{name}: {counts[name]} photos" for name in sorted(counts))


def _flags(pairs: Sequence[PrintPair]) -> Iterator[Remark]:
    sides = [[p for pair in pairs for p in side(pair)] for side in (_before, _after)]
    for flag in Flag:
        counts = [sum(flag in p.flags for p in side) for side in sides]
        if flag in NO_DEFECTS or all(counts) or not any(counts):
            continue
        told = [f"{count} of {len(side)}" for count, side in zip(counts, sides, strict=True)]
        yield Remark(
            "flags-differ",
            f"Flagged {flag} on one side only ({told[0]} prints before, {told[1]} after): what it "
            "does to the numbers does not cancel.",
        )


def _before(pair: PrintPair) -> tuple[Print, ...]:
    return pair.before


def _after(pair: PrintPair) -> tuple[Print, ...]:
    return pair.after


def _unpaired(unpaired: Sequence[Print], paired_on: Sequence[str]) -> Iterator[Remark]:
    if unpaired:
        have = "print has" if len(unpaired) == 1 else "prints have"
        yield Remark(
            "unpaired",
            f"{len(unpaired)} {have} no counterpart of the same "
            f"{', '.join(map(setting_words, paired_on))} and count nowhere: "
            f"{_listed([p.settings.name for p in unpaired])}.",
        )


def _not_given(paired_on: Sequence[str], pairs: Sequence[PrintPair]) -> Iterator[Remark]:
    unknown = [name for name in paired_on if any(pair.on[name] is None for pair in pairs)]
    if unknown:
        yield Remark(
            "not-given",
            f"Not given for some pairs, and taken to be alike: "
            f"{', '.join(map(setting_words, unknown))}.",
        )


def _one_machine(factor: str, prints: Iterable[Print]) -> Iterator[Remark]:
    machines = sorted_values("machine", (p.settings.machine for p in prints))
    if len(machines) == 1 and factor != "machine":
        yield Remark(
            "one-machine",
            f"All prints are from {machines[0]}: another machine may answer otherwise.",
        )


def _many(overall: Sequence[Effect]) -> Iterator[Remark]:
    if len(overall) >= MANY:
        yield Remark(
            "many-metrics",
            f"{len(overall)} metrics stand side by side; of twenty 95 % intervals one misses by "
            "chance. Decide beforehand which metric counts.",
        )


def _listed(names: Sequence[str], most: int = 8) -> str:
    shown = ", ".join(names[:most])
    return shown if len(names) <= most else f"{shown} and {len(names) - most} more"
