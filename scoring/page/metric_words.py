"""Metrics in plain words with their units, as the page shows them."""

from scoring.metric_words import KNOWN, metric_unit, metric_words, shown_unit
from scoring.ranking.rank import SCORE
from scoring.runs.settings import LIMITS, WORDS

__all__ = ["KNOWN", "metric_unit", "metric_words"]

HOW_TO_READ = {
    "higher": "Higher is better.",
    "lower": "Lower is better.",
    "none": "Neither high nor low is better.",
}


def metric_title(name: str) -> str:
    """Words and unit, for a column's head or an axis."""
    unit = "of 100" if name == SCORE else shown_unit(name)
    return f"{metric_words(name)}, {unit}" if unit else metric_words(name)


def better(name: str) -> str:
    """``higher``, ``lower`` or ``none``."""
    return "higher" if name == SCORE else KNOWN[name].better


def explain_metric(name: str) -> str:
    """What the number says and which way is better."""
    if name == SCORE:
        said = "100 / (1 + sum of weight × metric / reference): 100 is a flawless print."
    else:
        said = KNOWN[name].sentence
    return f"{said} {HOW_TO_READ[better(name)]}"


def setting_title(name: str) -> str:
    """A setting in words with its unit, for a field, a column's head or an axis."""
    unit = LIMITS[name].unit if name in LIMITS else "1"
    words = WORDS.get(name, name)
    return words if unit == "1" else f"{words}, {unit}"


def with_unit(value: str, name: str) -> str:
    """A formatted value and its metric's unit, for running text."""
    unit = shown_unit(name)
    return f"{value} {unit}" if unit else value
