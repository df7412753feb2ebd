"""Bringing stored photos up to date with the method, the geometry and corrected settings."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from scoring.batch import Failure, MeasureFunction, PhotoTask, measure_all
from scoring.errors import ScoringError
from scoring.measurement import Measurement
from scoring.runs.plan import FixedMotion
from scoring.store.records import MeasurementRecord, reasons_stale
from scoring.store.run_store import RunStore


@dataclass(frozen=True)
class Remeasured:
    """One photo's old numbers and its new ones, or why the old ones were kept."""

    old: MeasurementRecord
    new: Measurement | None
    failure: Failure | None


def stale_photos(
    store: RunStore, *, runs: Iterable[str] | None = None, everything: bool = False
) -> tuple[MeasurementRecord, ...]:
    """The photos whose numbers are out of date, or every photo; of ``runs`` alone if given."""
    names = None if runs is None else set(runs)
    return tuple(
        record
        for record in store.measurements()
        if (names is None or record.settings.name in names)
        and (everything or reasons_stale(record))
    )


def remeasure(
    store: RunStore,
    photos: Iterable[MeasurementRecord],
    *,
    measure: MeasureFunction,
    workers: int | None = None,
) -> Iterator[Remeasured]:
    """Measure stored photos again with their run's settings now, a result each in their order.

    New numbers take the old ones' place photo by photo; a photo that cannot be measured any more
    keeps its old ones.
    """
    photos = tuple(photos)
    tasks = (
        PhotoTask(
            record.photo.name,
            store.photo_bytes(record.photo.sha256),
            FixedMotion(record.settings.motion, record.settings.layer_height_mm),
            record.measurement.face,
            record.measurement.registration.corners_px,
        )
        for record in photos
    )
    results = measure_all(tasks, measure=measure, workers=workers)
    for record, result in zip(photos, results, strict=True):
        if result.measured is None:
            yield Remeasured(record, None, result.failure)
            continue
        new = result.measured.measurement
        try:
            store.replace_measurement(
                record.photo.sha256,
                new,
                result.measured.face_jpeg,
                motion=record.settings.motion,
                layer_height_mm=record.settings.layer_height_mm,
            )
        except ScoringError as error:
            yield Remeasured(record, None, Failure.of(error))
            continue
        yield Remeasured(record, new, None)
