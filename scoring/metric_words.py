"""Metrics in plain words with their units, and their values as people read them."""

import difflib
from collections.abc import Collection, Mapping, Sequence

from scoring.errors import SettingsError
from scoring.estimate import Estimate
from scoring.estimate_words import format_estimates
from scoring.metrics import METRICS, MODE_METRICS, Metric

KNOWN: Mapping[str, Metric] = {metric.name: metric for metric in (*METRICS, *MODE_METRICS)}
FRACTIONS = ("gap_fraction", "steady_gap_fraction")
"""Metrics that are told in percent."""
COUNTS = ("gap_count",)
"""Metrics that are told in whole numbers."""
_SUFFIX = {"µm": "_um", "mm": "_mm", "Hz": "_hz", "s": "_s"}


def metric_words(name: str) -> str:
    """A metric's name in words, without its unit; also for a name this version does not know."""
    metric = KNOWN.get(name)
    bare = name.removesuffix(_SUFFIX.get(metric.unit, "")) if metric else name
    return bare.replace("_", " ").replace("rms", "RMS")


def metric_unit(name: str) -> str:
    """The unit that the number is stored in; empty for a pure number."""
    metric = KNOWN.get(name)
    return "" if metric is None or metric.unit == "1" else metric.unit


def shown_unit(name: str) -> str:
    """The unit of :func:`as_shown`; empty for a pure number."""
    return "%" if name in FRACTIONS else metric_unit(name)


def as_shown(name: str, estimate: Estimate) -> Estimate:
    """A metric's number as people read it: a fraction in percent, any other as it is."""
    if name not in FRACTIONS:
        return estimate
    return Estimate(100 * estimate.value, 100 * estimate.low, 100 * estimate.high)


def format_shown(name: str, column: Sequence[Estimate]) -> list[tuple[str, str]]:
    """Each one's value and interval in :func:`shown_unit`, as :func:`format_estimates` gives them;
    counts whole."""
    if name in COUNTS:
        return [(f"{e.value:.0f}", f"{e.low:.0f} to {e.high:.0f}") for e in column]
    return format_estimates([as_shown(name, e) for e in column])


def known_metrics(names: Sequence[str]) -> tuple[str, ...]:
    """``names``, each once. Raises :class:`SettingsError` for one that is no metric."""
    for name in names:
        if name not in KNOWN:
            raise SettingsError(f"{name!r} is no metric; {closest_metrics(name, KNOWN)}")
    return tuple(dict.fromkeys(names))


def closest_metrics(unknown: str, names: Collection[str]) -> str:
    """What to say of a metric's name that is none of ``names``: those it may mean, else all.

    It may mean every name that it is a part of (``ripple``); else those most like it, units aside.
    """
    written = unknown.strip().lower().replace(" ", "_").replace("-", "_")
    near = [name for name in names if written and written in name]
    if not near:
        likeness = {name: _likeness(written, name) for name in names}
        best = max(likeness.values(), default=0.0)
        near = [name for name in names if likeness[name] > max(best - 0.1, 0.6)]
    if not near:
        return f"there are {', '.join(names)}."
    *first, last = near
    return f"did you mean {', '.join(first) + ' or ' if first else ''}{last}?"


def _likeness(written: str, name: str) -> float:
    """From 0 to 1; the better of the name with its unit and without."""
    bare = name.removesuffix(_SUFFIX.get(KNOWN[name].unit, "")) if name in KNOWN else name
    return max(difflib.SequenceMatcher(None, written, one).ratio() for one in (name, bare))
