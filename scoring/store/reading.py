"""Reading many measurements: plain columns, no row objects, so that thousands stay quick."""

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import Row, Select, select
from sqlalchemy.orm import Session

from scoring.estimate import Estimate
from scoring.flags import Flag
from scoring.measurement import Measurement, Mode, Registration, Trace
from scoring.metrics import METRICS, FaceName
from scoring.motion import Motion
from scoring.runs.settings import SETTING_NAMES, RunSettings
from scoring.store.records import MeasurementRecord, PhotoRecord
from scoring.store.rows import in_utc
from scoring.store.schema import MeasurementRow, MetricRow, ModeRow, PhotoRow, RunRow

NO_TRACE = Trace("", (), (), ())
"""In the place of a trace that was not asked for."""

_METRIC_ORDER = {metric.name: place for place, metric in enumerate(METRICS)}
_KNOWN_FLAGS = {flag.value for flag in Flag}
_M = MeasurementRow
_COLUMNS = (
    _M.id, _M.measured_at, _M.method_version, _M.geometry_revision, _M.speed_mm_s, _M.accel_mm_s2,
    _M.corner_speed_mm_s, _M.layer_height_mm, _M.face, _M.label_run, _M.label_axis, _M.markers,
    _M.residual_mm, _M.mm_per_px, _M.corners_px, _M.flags, PhotoRow.run_id, PhotoRow.sha256,
    PhotoRow.name, PhotoRow.size_bytes, PhotoRow.added_at,
)  # fmt: skip


def read_measurements(
    session: Session, *, run: str | None, traces: bool
) -> list[MeasurementRecord]:
    """Every photo's numbers, or those of one ``run``, in order of adding; deleted ones left out.

    Without ``traces`` each record has :data:`NO_TRACE`: reading them takes most of the time.
    """

    def of_run(query: Select[Any]) -> Select[Any]:
        """``query``, which has the photos' table in it already, without what is not wanted."""
        query = query.join(RunRow, PhotoRow.run_id == RunRow.id)
        query = query.where(PhotoRow.deleted_at.is_(None), RunRow.deleted_at.is_(None))
        return query if run is None else query.where(RunRow.name == run)

    def of_photo(*columns: Any) -> Select[Any]:
        joined = select(*columns).join(PhotoRow, _M.photo_id == PhotoRow.id)
        return of_run(joined)

    settings: dict[int, RunSettings] = {}
    wanted = select(RunRow.id, *(getattr(RunRow, name) for name in SETTING_NAMES))
    for number, *values in session.execute(
        wanted if run is None else wanted.where(RunRow.name == run)
    ):
        settings[number] = RunSettings.model_validate(dict(zip(SETTING_NAMES, values, strict=True)))
    metrics: dict[int, dict[str, Estimate]] = {}
    columns: tuple[Any, ...] = (MetricRow.name, MetricRow.value, MetricRow.low, MetricRow.high)
    found = of_photo(_M.id, *columns).join(MetricRow, MetricRow.measurement_id == _M.id)
    for number, name, value, low, high in session.execute(found):
        metrics.setdefault(number, {})[name] = Estimate(value, low, high)
    modes: dict[int, dict[int, dict[str, Estimate]]] = {}
    columns = (ModeRow.mode, ModeRow.name, ModeRow.value, ModeRow.low, ModeRow.high)
    found = of_photo(_M.id, *columns).join(ModeRow, ModeRow.measurement_id == _M.id)
    for number, mode, name, value, low, high in session.execute(found):
        part = modes.setdefault(number, {}).setdefault(mode, {})
        part[name] = Estimate(value, low, high)
    drawn: Mapping[int, Any] = {}
    if traces:
        drawn = {number: trace for number, trace in session.execute(of_photo(_M.id, _M.trace))}
    return [
        _record(
            row,
            settings[row.run_id],
            metrics.get(row.id, {}),
            modes.get(row.id, {}),
            drawn.get(row.id),
        )
        for row in session.execute(of_photo(*_COLUMNS).order_by(PhotoRow.id))
    ]


def _record(
    row: Row[Any],
    settings: RunSettings,
    metrics: Mapping[str, Estimate],
    modes: Mapping[int, Mapping[str, Estimate]],
    trace: Mapping[str, Any] | None,
) -> MeasurementRecord:
    measurement = Measurement(
        photo=row.name,
        face=FaceName(row.face),
        run=row.label_run,
        axis=row.label_axis,
        registration=Registration(
            row.markers,
            row.residual_mm,
            row.mm_per_px,
            None if row.corners_px is None else tuple((x, y) for x, y in row.corners_px),
        ),
        metrics={name: metrics[name] for name in _in_order(metrics)},
        modes=tuple(Mode(**modes[number]) for number in sorted(modes)),
        # A flag that this version no longer knows stays in the database but has no sentence.
        flags=tuple(Flag(name) for name in row.flags if name in _KNOWN_FLAGS),
        trace=NO_TRACE if trace is None else _trace(trace),
        method_version=row.method_version,
        geometry_revision=row.geometry_revision,
    )
    return MeasurementRecord(
        photo=PhotoRecord(
            row.sha256, row.name, settings.name, row.size_bytes, in_utc(row.added_at)
        ),
        settings=settings,
        measurement=measurement,
        motion=Motion(row.speed_mm_s, row.accel_mm_s2, row.corner_speed_mm_s),
        layer_height_mm=row.layer_height_mm,
        measured_at=in_utc(row.measured_at),
    )  # fmt: skip


def _in_order(names: Iterable[str]) -> list[str]:
    return sorted(names, key=lambda name: (_METRIC_ORDER.get(name, len(_METRIC_ORDER)), name))


def _trace(stored: Mapping[str, Any]) -> Trace:
    return Trace(
        unit=stored["unit"],
        u_mm=tuple(stored["u_mm"]),
        measured=tuple(stored["measured"]),
        fitted=tuple(stored["fitted"]),
    )
