"""Metrics in plain words with their units, and their values as people read them."""

from collections.abc import Mapping

from scoring.metrics import METRICS, MODE_METRICS, Metric

KNOWN: Mapping[str, Metric] = {metric.name: metric for metric in (*METRICS, *MODE_METRICS)}
_SUFFIX = {"µm": "_um", "mm": "_mm", "Hz": "_hz", "s": "_s"}


def metric_words(name: str) -> str:
    """A metric's name in words, without its unit; also for a name this version does not know."""
    metric = KNOWN.get(name)
    bare = name.removesuffix(_SUFFIX.get(metric.unit, "")) if metric else name
    return bare.replace("_", " ").replace("rms", "RMS")


def metric_unit(name: str) -> str:
    """The unit as written after a number; empty for a pure number."""
    metric = KNOWN.get(name)
    return "" if metric is None or metric.unit == "1" else metric.unit
