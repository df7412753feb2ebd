"""An effect in words that claim no more than its interval shows."""

import math

from scoring.comparing.comparison import Basis, Effect, Outcome, Scale
from scoring.metric_words import FRACTIONS, metric_words

SPOKEN = {
    "recovery_mm": "recovery distance",
    "recovery_s": "recovery time",
    "gap_longest_mm": "longest gap",
    "gap_count": "number of gaps",
}
"""Names that read better in a sentence, or that would be one without their units."""
MANY_TIMES = 2.5
"""From this ratio on, "3 times" reads better than "200 % higher"."""

HOW_TO_READ = (
    "p is the exact permutation test's, two-sided; the smallest that so many prints can give is 2 "
    "over the number of ways to swap them, so read the interval first. None is given for a single "
    "pair with one print on a side, since swapping that says nothing. Would have shown: the "
    "smallest change that so many prints establish in four of five cases. * one print a side: the "
    "interval knows the photos' uncertainty only."
)
"""Stands under a table of :func:`effect_cells`."""


def effect_sentence(effect: Effect) -> str:
    """One sentence: metric, acceleration, change with its interval, and what that stands on."""
    where = "" if effect.accel_mm_s2 is None else f" at {effect.accel_mm_s2:g} mm/s²"
    name = spoken(effect.metric)
    return f"{name[0].upper()}{name[1:]}{where}: {change_words(effect)}{_basis_words(effect)}."


def effect_cells(effect: Effect) -> tuple[str, ...]:
    """An effect's cells in a table: metric, change, p, pairs, prints and what would have shown."""
    return (
        spoken(effect.metric),
        change_words(effect) + (" *" if effect.basis is Basis.MEASUREMENT else ""),
        "" if effect.p_exact is None else f"{effect.p_exact:.3g}",
        str(effect.pairs),
        f"{effect.prints_before} + {effect.prints_after}",
        smallest_words(effect),
    )


def change_words(effect: Effect, *, interval: bool = True) -> str:
    """The change, such as "38 % lower (31 to 45 %)", or without the ``interval`` in brackets."""
    if effect.value is None:
        return _why_nothing(effect)
    if effect.low is None or effect.high is None:
        return _bound_words(effect, why=interval)
    low, value, high = effect.low, effect.value, effect.high
    if effect.outcome is Outcome.OPEN:
        said = "no change established"
        return f"{said} ({_span(effect, low, high)})" if interval else said
    if effect.scale is Scale.RATIO and value >= MANY_TIMES:
        places = _places((high - low) / 2)
        said = f"{value:.{places}f} times as high"
        return f"{said} ({low:.{places}f} to {high:.{places}f} times)" if interval else said
    ends = sorted((abs(size(effect, low)), abs(size(effect, high))))
    places = _places((ends[1] - ends[0]) / 2)
    said = f"{abs(size(effect, value)):.{places}f}{unit_words(effect)} {effect.outcome}"
    if not interval:
        return said
    unit = " %" if effect.scale is Scale.RATIO else ""
    return f"{said} ({ends[0]:.{places}f} to {ends[1]:.{places}f}{unit})"


def spoken(metric: str) -> str:
    """A metric's name in running text, without its unit."""
    return SPOKEN.get(metric, metric_words(metric))


def size(effect: Effect, end: float) -> float:
    """One end as people read it: percent of change, percentage points, or the metric's unit."""
    if effect.scale is Scale.RATIO:
        return 100 * (end - 1)
    return 100 * end if effect.metric in FRACTIONS else end


def unit_words(effect: Effect) -> str:
    """The unit of :func:`size`, with the space before it; empty for a pure number."""
    if effect.scale is Scale.RATIO:
        return " %"
    if effect.metric in FRACTIONS:
        return " percentage points"
    return f" {effect.unit}" if effect.unit else ""


def smallest_words(effect: Effect) -> str:
    """The smallest change that so many prints would have shown; empty where it is not known."""
    if effect.smallest_change is None:
        return ""
    if effect.scale is Scale.RATIO:
        return _number(100 * (1 - effect.smallest_change)) + " %"
    return _number(size(effect, effect.smallest_change)) + unit_words(effect)


def _one(effect: Effect, end: float) -> str:
    way = "lower" if end < effect.no_change else "higher"
    return f"{_number(abs(size(effect, end)))}{unit_words(effect)} {way}"


def _span(effect: Effect, low: float, high: float) -> str:
    """Both ends with their ways, the unit once: "2.2 lower to 0.4 mm higher"."""
    way = "lower" if low < effect.no_change else "higher"
    return f"{_number(abs(size(effect, low)))} {way} to {_one(effect, high)}"


def _number(of: float) -> str:
    return f"{of:.{_places(of)}f}"


def _places(width: float) -> int:
    """Decimals that show one digit of ``width``, two of one below 3 times a power of ten.

    None are shown from 3 up, three for a width of 0.
    """
    return min(max(0, -math.floor(math.log10(width / 3))), 6) if width > 0 else 3


def _bound_words(effect: Effect, *, why: bool) -> str:
    """Where only one end is known: no ripple was found after (low open) or before (high open)."""
    if effect.low is None:
        side, end = "after", effect.high
        not_found, prints = effect.not_found_after, effect.prints_after
    else:
        side, end = "before", effect.low
        not_found, prints = effect.not_found_before, effect.prints_before
    assert end is not None
    none = f"no ripple was found {side} in {not_found} of {prints} prints"
    if effect.outcome is Outcome.OPEN:
        said = "no change established"
        return f"{said} (at most {_one(effect, end)}; {none})" if why else said
    times = f"{_number(end)} times as high" if end >= MANY_TIMES else _one(effect, end)
    return f"at least {times} ({none})" if why else f"at least {times}"


def _why_nothing(effect: Effect) -> str:
    if effect.not_found_before and effect.not_found_after:
        where = "either side" if not effect.pairs else "one side or the other"
        return f"no ratio can be told, since no ripple was found on {where}"
    return "no pair of prints has this number on both sides"


def _basis_words(effect: Effect) -> str:
    if effect.basis is Basis.MEASUREMENT:
        return "; one print a side, so the interval knows the photos' uncertainty only"
    if effect.basis is Basis.NONE:
        return ""
    pairs = "1 group" if effect.pairs == 1 else f"{effect.pairs} pairs"
    if effect.prints_before == effect.prints_after == effect.pairs:
        return f"; from {pairs} of prints"
    return f"; from {pairs}, {effect.prints_before} prints before and {effect.prints_after} after"
