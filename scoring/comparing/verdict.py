"""The answer in one plain sentence, which says no more than the intervals show."""

from collections.abc import Sequence

from scoring.comparing.comparison import Basis, Comparison, Effect, Outcome, PrintPair, Side
from scoring.comparing.effect_words import change_words, spoken
from scoring.comparing.factor import setting_words, sorted_values

HEADLINES = ("ripple_peak_um", "gap_fraction")
"""The metrics that the sentence is about, where they were compared."""
NOT_A_CAUSE = {"machine", "name", "printed_on", "notes"}
"""Factors of which one does not say that they lowered or raised something."""
SLIGHT = {"printed_on", "notes"}
"""Settings whose difference alone casts no doubt on the cause; they are listed all the same."""


def say_verdict(found: Comparison) -> str:
    """One sentence on the headline metrics of ``found``, or on the first one compared.

    "Lowered" and "raised" are said of a change to a machine whose pairs differ in nothing else
    given; otherwise the sentence says how the sides differ, and what else does.
    """
    old, new = side_words(found.factor, found.before), side_words(found.factor, found.after)
    if not found.pairs:
        return f"Nothing can be said of {new} against {old}: no two prints can be paired."
    told = [e for e in found.overall if e.metric in HEADLINES and e.value is not None]
    told = told or [e for e in found.overall if e.value is not None][:1]
    if not told:
        return f"Nothing can be said of {new} against {old}: no number can be compared."
    others = [c.words for c in found.confounders if c.name not in SLIGHT]
    causal = not others and found.factor not in NOT_A_CAUSE
    changed = [e for e in told if e.outcome is not Outcome.OPEN]
    unchanged = [e for e in told if e.outcome is Outcome.OPEN]
    parts = " and ".join(_changed_words(effect, causal=causal) for effect in changed)
    where = f"{_where(found.factor, found.pairs)}, {_on_what(told)}"
    if not changed:
        said = f"With {new} instead of {old}, {_unchanged_words(unchanged)}{where}"
    else:
        said = f"{new} {parts} against {old}" if causal else f"With {new} instead of {old}, {parts}"
        said += where
        said += f"; {_unchanged_words(unchanged)}" if unchanged else ""
    if others:
        differ = "differs" if len(others) == 1 else "differ"
        said += f"; {_joined(others)} {differ} too, so that may be the cause"
    return f"{said[0].upper()}{said[1:]}."


def side_words(factor: str, side: Side) -> str:
    """A side as it stands in running text, such as "the setup brace"."""
    if factor == "machine":
        return side.words
    return f"the {setting_words(factor)} {side.words}"


def _changed_words(effect: Effect, *, causal: bool) -> str:
    name, change = f"the {spoken(effect.metric)}", change_words(effect)
    if not causal:
        return f"{name} was {change}"
    verb = "lowered" if effect.outcome is Outcome.LOWER else "raised"
    size, way, rest = change.partition(f" {effect.outcome}")
    return f"{verb} {name} by {size}{rest}" if way else f"made {name} {change}"


def _unchanged_words(effects: Sequence[Effect]) -> str:
    named = " or ".join(f"the {spoken(e.metric)}" for e in effects)
    ends = [change_words(e).removeprefix("no change established").strip(" ()") for e in effects]
    return f"no change of {named} was established ({'; '.join(end for end in ends if end)})"


def _where(factor: str, pairs: Sequence[PrintPair]) -> str:
    prints = (p for pair in pairs for p in (*pair.before, *pair.after))
    machines = sorted_values("machine", (p.settings.machine for p in prints))
    said = "" if factor == "machine" or len(machines) > 3 else f", on {_joined(machines)}"
    accels = sorted({pair.accel_mm_s2 for pair in pairs if pair.accel_mm_s2 is not None})
    if accels:
        span = f"{accels[0]:g}" + (f" to {accels[-1]:g}" if len(accels) > 1 else "")
        said += f" at {span} mm/s²"
    return said


def _on_what(told: Sequence[Effect]) -> str:
    most = max(told, key=lambda e: e.pairs)
    if most.basis is Basis.MEASUREMENT:
        return "from one print a side, so the interval knows the photos' uncertainty only"
    prints = most.prints_before + most.prints_after
    groups = "pair" if most.pairs == 1 else "pairs"
    if prints == 2 * most.pairs:
        return f"from {most.pairs} {groups} of prints"
    return f"from {prints} prints in {most.pairs} {'group' if most.pairs == 1 else 'groups'}"


def _joined(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
