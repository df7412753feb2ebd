"""Between table rows and records."""

import dataclasses
import datetime
from collections.abc import Iterable

from scoring.measurement import Measurement
from scoring.metrics import MODE_METRICS, FaceName
from scoring.motion import Motion
from scoring.runs.settings import SETTING_NAMES, RunSettings
from scoring.store.records import PhotoRecord, RunRecord
from scoring.store.schema import MeasurementRow, MetricRow, ModeRow, PhotoRow, RunRow


def utc_now() -> datetime.datetime:
    """The present moment, in UTC."""
    return datetime.datetime.now(datetime.UTC)


def in_utc(moment: datetime.datetime) -> datetime.datetime:
    """A stored moment in UTC; SQLite forgets the time zone, all moments are stored in UTC."""
    if moment.tzinfo is None:
        return moment.replace(tzinfo=datetime.UTC)
    return moment.astimezone(datetime.UTC)


def write_settings(row: RunRow, settings: RunSettings) -> None:
    """Set the row's columns to ``settings``."""
    for name in SETTING_NAMES:
        value = getattr(settings, name)
        setattr(row, name, dict(value) if name == "extra" else value)


def read_settings(row: RunRow) -> RunSettings:
    """The settings that the row holds."""
    return RunSettings.model_validate({name: getattr(row, name) for name in SETTING_NAMES})


def read_run(row: RunRow, faces: Iterable[str]) -> RunRecord:
    """The run's record; ``faces`` has the face of each of its photos."""
    faces = list(faces)
    ordered = tuple(face for face in FaceName if face.value in faces)
    return RunRecord(read_settings(row), in_utc(row.added_at), len(faces), ordered)


def read_photo(row: PhotoRow) -> PhotoRecord:
    """The photo's record, without its bytes."""
    return PhotoRecord(row.sha256, row.name, row.run.name, row.size_bytes, in_utc(row.added_at))


def make_measurement_row(
    measurement: Measurement, face_jpeg: bytes, motion: Motion, layer_height_mm: float | None
) -> MeasurementRow:
    """The measurement with all its numbers, as rows that are not yet in a session."""
    registration = measurement.registration
    return MeasurementRow(
        measured_at=utc_now(),
        method_version=measurement.method_version,
        geometry_revision=measurement.geometry_revision,
        speed_mm_s=motion.speed_mm_s,
        accel_mm_s2=motion.accel_mm_s2,
        corner_speed_mm_s=motion.corner_speed_mm_s,
        layer_height_mm=layer_height_mm,
        face=measurement.face.value,
        label_run=measurement.run,
        label_axis=measurement.axis,
        markers=registration.markers,
        residual_mm=registration.residual_mm,
        mm_per_px=registration.mm_per_px,
        corners_px=None if registration.corners_px is None else list(registration.corners_px),
        flags=[flag.value for flag in measurement.flags],
        trace=dataclasses.asdict(measurement.trace),
        face_jpeg=face_jpeg,
        metrics=[
            MetricRow(name=name, value=e.value, low=e.low, high=e.high)
            for name, e in measurement.metrics.items()
        ],
        modes=[
            ModeRow(mode=number, name=metric.name, value=e.value, low=e.low, high=e.high)
            for number, mode in enumerate(measurement.modes)
            for metric in MODE_METRICS
            for e in [getattr(mode, metric.name)]
        ],
    )
