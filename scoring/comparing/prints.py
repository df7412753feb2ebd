"""Photos gathered into prints: repeated photos are averaged, so that none counts as a print."""

from collections.abc import Iterable

from scoring.comparing.comparison import Print
from scoring.ranking.run_numbers import numbers_by_run
from scoring.store.records import MeasurementRecord


def gather_prints(records: Iterable[MeasurementRecord]) -> tuple[Print, ...]:
    """One :class:`Print` a run, in order of run name, its photos averaged as the ranking does."""
    records = tuple(records)
    by_run: dict[str, list[MeasurementRecord]] = {}
    for record in records:
        by_run.setdefault(record.settings.name, []).append(record)
    return tuple(
        Print(
            settings=numbers.settings,
            metrics=numbers.metrics,
            records=tuple(by_run[numbers.settings.name]),
            flags=numbers.flags,
            stale=numbers.stale,
        )
        for numbers in numbers_by_run(records)
    )
