"""A run's numbers: what all its photos say together."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from scoring.estimate import Estimate
from scoring.flags import Flag
from scoring.measurement import Mode
from scoring.metrics import METRICS, MODE_METRICS, FaceName
from scoring.ranking.combine import combine
from scoring.runs.settings import RunSettings
from scoring.store.records import MeasurementRecord, reasons_stale

SAME_MODE_WITHIN = 0.1
"""Modes of two photos of one print count as the same if their frequencies differ by less."""


@dataclass(frozen=True)
class RunNumbers:
    """One run's metrics, each combined over the run's photos of its face.

    ``metrics`` has those of ``scoring.metrics.METRICS``, and those of ``MODE_METRICS`` for the
    strongest mode, by name. ``stale`` says that a photo's number is out of date.
    """

    settings: RunSettings
    faces: tuple[FaceName, ...]
    photos: int
    metrics: Mapping[str, Estimate]
    flags: tuple[Flag, ...]
    stale: bool


def numbers_by_run(records: Iterable[MeasurementRecord]) -> tuple[RunNumbers, ...]:
    """Gather measurements run by run, in order of run name."""
    by_run: dict[str, list[MeasurementRecord]] = {}
    for record in records:
        by_run.setdefault(record.settings.name, []).append(record)
    return tuple(_numbers(by_run[name]) for name in sorted(by_run))


def _numbers(records: Sequence[MeasurementRecord]) -> RunNumbers:
    measurements = [r.measurement for r in records]
    metrics: dict[str, Estimate] = {}
    for metric in METRICS:
        found = [m.metrics[metric.name] for m in measurements if metric.name in m.metrics]
        if found:
            metrics[metric.name] = combine(found)
    modes = same_modes([m.modes for m in measurements])
    for metric in MODE_METRICS if modes else ():
        metrics[metric.name] = combine([getattr(mode, metric.name) for mode in modes])
    flags = {flag for m in measurements for flag in m.flags}
    faces = {m.face for m in measurements}
    return RunNumbers(
        settings=records[0].settings,
        faces=tuple(face for face in FaceName if face in faces),
        photos=len(records),
        metrics=metrics,
        flags=tuple(flag for flag in Flag if flag in flags),
        stale=any(reasons_stale(r) for r in records),
    )


def same_modes(photos: Sequence[Sequence[Mode]]) -> tuple[Mode, ...]:
    """The strongest mode of all, and its like in every other photo that shows it.

    ``photos`` has each photo's modes; a photo without a mode of about that frequency gives none.
    Empty where no photo shows a mode.
    """
    every = [mode for modes in photos for mode in modes]
    if not every:
        return ()
    strongest = max(every, key=lambda mode: mode.envelope_um.value)
    frequency = strongest.frequency_hz.value

    def off(mode: Mode) -> float:
        return abs(mode.frequency_hz.value - frequency)

    nearest = [min(modes, key=off) for modes in photos if modes]
    return tuple(mode for mode in nearest if off(mode) < SAME_MODE_WITHIN * frequency)
