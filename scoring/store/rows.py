"""Between table rows and records."""

import dataclasses
import datetime
from collections.abc import Iterable
from typing import Any

from scoring.estimate import Estimate
from scoring.flags import Flag
from scoring.measurement import Measurement, Mode, Registration, Trace
from scoring.metrics import METRICS, MODE_METRICS, FaceName
from scoring.motion import Motion
from scoring.runs.settings import SETTING_NAMES, RunSettings
from scoring.store.records import MeasurementRecord, PhotoRecord, RunRecord
from scoring.store.schema import MeasurementRow, MetricRow, ModeRow, PhotoRow, RunRow

_METRIC_ORDER = {metric.name: place for place, metric in enumerate(METRICS)}
_KNOWN_FLAGS = {flag.value for flag in Flag}


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


def read_measurement(row: MeasurementRow) -> MeasurementRecord:
    """The measurement's record, without the face's picture."""
    ordered = sorted(row.metrics, key=lambda m: (_METRIC_ORDER.get(m.name, 999), m.name))
    modes: dict[int, dict[str, Estimate]] = {}
    for part in row.modes:
        modes.setdefault(part.mode, {})[part.name] = _estimate(part)
    measurement = Measurement(
        photo=row.photo.name,
        face=FaceName(row.face),
        run=row.label_run,
        axis=row.label_axis,
        registration=Registration(row.markers, row.residual_mm, row.mm_per_px),
        metrics={metric.name: _estimate(metric) for metric in ordered},
        modes=tuple(Mode(**modes[number]) for number in sorted(modes)),
        # A flag that this version no longer knows stays in the database but has no sentence.
        flags=tuple(Flag(name) for name in row.flags if name in _KNOWN_FLAGS),
        trace=_trace(row.trace),
        method_version=row.method_version,
        geometry_revision=row.geometry_revision,
    )
    return MeasurementRecord(
        photo=read_photo(row.photo),
        settings=read_settings(row.photo.run),
        measurement=measurement,
        motion=Motion(row.speed_mm_s, row.accel_mm_s2, row.corner_speed_mm_s),
        layer_height_mm=row.layer_height_mm,
        measured_at=in_utc(row.measured_at),
    )


def _estimate(row: MetricRow | ModeRow) -> Estimate:
    return Estimate(row.value, row.low, row.high)


def _trace(stored: dict[str, Any]) -> Trace:
    return Trace(
        unit=stored["unit"],
        u_mm=tuple(stored["u_mm"]),
        measured=tuple(stored["measured"]),
        fitted=tuple(stored["fitted"]),
    )
