"""From repeats of photo and of print: which of them spreads the numbers the most."""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from scoring.comparing.comparison import Print, Scale
from scoring.comparing.likeness import group_alike
from scoring.comparing.prints import gather_prints
from scoring.comparing.samples import Array, on_scale, scale_of, usable
from scoring.comparing.spread import Component, Plan, Repeatability
from scoring.comparing.spread_words import advise
from scoring.comparing.variance import (
    GaugeFigures,
    NestedParts,
    VariancePart,
    judge_gauge,
    split_nested,
)
from scoring.estimate import Z95, Estimate
from scoring.measurement import Measurement
from scoring.metric_words import known_metrics, metric_unit
from scoring.metrics import METRICS, MODE_METRICS
from scoring.store.records import MeasurementRecord

TOLD = (*(m.name for m in METRICS if m.better == "lower"), "envelope_um", "frequency_hz")
PLANS = ((1, 1), (1, 2), (1, 4), (2, 1), (2, 2), (4, 1))
"""Prints, and photos of each, that are set side by side."""


def find_repeatability(
    records: Iterable[MeasurementRecord], metrics: Sequence[str] | None = None
) -> tuple[Repeatability, ...]:
    """The spread of each of ``metrics`` (:data:`TOLD` if none are named) from photo to photo of a
    print, from print to print of like settings, and between settings.

    Metrics that no photo has are left out. Prints are alike if all settings are but name, day,
    notes and further values. A ripple that was not found has no logarithm: that photo is left out
    and counted. Components without repeats have ``sd`` ``None``. Raises :class:`SettingsError` for
    an unknown metric.
    """
    groups = [prints for _, prints in group_alike(gather_prints(records))]
    found = (_one_metric(groups, name) for name in known_metrics(metrics or TOLD))
    return tuple(one for one in found if one.photos or one.left_out)


def photo_value(measured: Measurement, metric: str) -> Estimate | None:
    """One photo's own number; of a vibration, the strongest one's. ``None`` where it has none."""
    if metric in {m.name for m in MODE_METRICS}:
        if not measured.modes:
            return None
        strongest = max(measured.modes, key=lambda mode: mode.envelope_um.value)
        value: Estimate = getattr(strongest, metric)
        return value
    return measured.metrics.get(metric)


def _one_metric(groups: Sequence[Sequence[Print]], metric: str) -> Repeatability:
    scale = scale_of(metric)
    cells: list[list[Array]] = []
    left_out = 0
    for prints in groups:
        row = []
        for one in prints:
            values = [photo_value(r.measurement, metric) for r in one.records]
            there = [v for v in values if v is not None]
            kept = [
                v for v in there if usable(v, scale) and (scale is not Scale.RATIO or v.value > 0)
            ]
            left_out += len(there) - len(kept)
            if kept:
                row.append(np.array([on_scale(v, scale)[0] for v in kept]))
        if row:
            cells.append(row)
    every = [cell for row in cells for cell in row]
    nested = split_nested(cells) if cells else _NOTHING
    gauge = split_nested([every]) if cells else _NOTHING
    variances = [p.variance for p in (nested.within, nested.between, nested.groups)]
    total = math.fsum(v for v in variances if v is not None)
    parts = [
        _component(name, part, total)
        for name, part in zip(
            ("photo to photo", "print to print", "settings to settings"),
            (nested.within, nested.between, nested.groups),
            strict=True,
        )
    ]
    figures = _gauge(gauge)
    plans = _plans(nested, scale)
    typical = sum(c.size for c in every) / len(every) if every else 0.0
    return Repeatability(
        metric=metric,
        unit=metric_unit(metric),
        scale=scale,
        settings_groups=len(cells),
        prints=len(every),
        photos=sum(c.size for c in every),
        left_out=left_out,
        photo=parts[0],
        print_=parts[1],
        settings=parts[2],
        study_variation=figures.study_variation if figures else None,
        contribution=figures.contribution if figures else None,
        categories=figures.categories if figures else None,
        plans=plans,
        advice=advise(metric, parts[0], parts[1], photos_each=typical),
    )


_NONE = VariancePart(None, None, None, None, 0)
_NOTHING = NestedParts(_NONE, _NONE, _NONE)


def _component(name: str, part: VariancePart, total: float) -> Component:
    sd, low, high = (
        None if v is None else math.sqrt(v) for v in (part.variance, part.low, part.high)
    )
    share = part.variance / total if part.variance is not None and total > 0 else None
    return Component(name, sd, low, high, part.df, share)


def _gauge(parts: NestedParts) -> GaugeFigures | None:
    """The gauge's figures, prints as parts, photos as gauge; ``None`` where they cannot be told."""
    gauge, part = parts.within.variance, parts.between.variance
    if gauge is None or part is None or gauge + part == 0:
        return None
    return judge_gauge(gauge, part)


def _plans(parts: NestedParts, scale: Scale) -> tuple[Plan, ...]:
    photo, print_ = parts.within.variance, parts.between.variance
    if photo is None or print_ is None:
        return ()
    halves = [(n, k, Z95 * math.sqrt(print_ / n + photo / (n * k))) for n, k in PLANS]
    return tuple(
        Plan(n, k, math.exp(half) if scale is Scale.RATIO else half) for n, k, half in halves
    )
