"""The tables. Change them only together with a migration under ``migrations/versions``."""

import datetime
from typing import Any

from sqlalchemy import JSON, DateTime, Double, ForeignKey, LargeBinary, MetaData, String
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship


class Base(DeclarativeBase):
    """Names every constraint, so that later migrations can refer to it on any database."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_name)s",
            "uq": "uq_%(table_name)s_%(column_0_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {  # noqa: RUF012  read by the base class as it stands
        float: Double,
        dict[str, Any]: JSON,
        list[str]: JSON,
        datetime.datetime: DateTime(timezone=True),
    }


class RunRow(Base):
    """One print and its settings; the columns are named as the settings are."""

    __tablename__ = "runs"

    id: Mapped[int] = mapped_column(primary_key=True)
    added_at: Mapped[datetime.datetime]
    deleted_at: Mapped[datetime.datetime | None]
    name: Mapped[str] = mapped_column(String(64), unique=True)
    machine: Mapped[str]
    setup: Mapped[str]
    axis: Mapped[str] = mapped_column(String(1))
    outer_wall_speed_mm_s: Mapped[float]
    accel_mm_s2: Mapped[float]
    corner_speed_mm_s: Mapped[float]
    layer_height_mm: Mapped[float | None]
    line_width_mm: Mapped[float | None]
    nozzle_mm: Mapped[float | None]
    nozzle_temp_c: Mapped[float | None]
    bed_temp_c: Mapped[float | None]
    flow_ratio: Mapped[float | None]
    pressure_advance_s: Mapped[float | None]
    shaper_type: Mapped[str | None]
    shaper_hz: Mapped[float | None]
    extruder_ratio: Mapped[float | None]
    drive_gear_mm: Mapped[float | None]
    filament: Mapped[str | None]
    printed_on: Mapped[datetime.date | None]
    notes: Mapped[str | None]
    extra: Mapped[dict[str, Any]]

    photos: Mapped[list["PhotoRow"]] = relationship(back_populates="run")


class PhotoRow(Base):
    """A photo's bytes as they came, once for each content."""

    __tablename__ = "photos"

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(ForeignKey("runs.id"), index=True)
    added_at: Mapped[datetime.datetime]
    deleted_at: Mapped[datetime.datetime | None]
    sha256: Mapped[str] = mapped_column(String(64), unique=True)
    name: Mapped[str]
    size_bytes: Mapped[int]
    content: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)

    run: Mapped[RunRow] = relationship(back_populates="photos")
    measurement: Mapped["MeasurementRow"] = relationship(
        back_populates="photo", cascade="all, delete-orphan", single_parent=True
    )


class MeasurementRow(Base):
    """A photo's latest measurement, and what it was measured with."""

    __tablename__ = "measurements"

    id: Mapped[int] = mapped_column(primary_key=True)
    photo_id: Mapped[int] = mapped_column(ForeignKey("photos.id"), unique=True)
    measured_at: Mapped[datetime.datetime]
    method_version: Mapped[str]
    geometry_revision: Mapped[str]
    speed_mm_s: Mapped[float]
    accel_mm_s2: Mapped[float]
    corner_speed_mm_s: Mapped[float]
    layer_height_mm: Mapped[float | None]
    face: Mapped[str] = mapped_column(String(16))
    label_run: Mapped[str | None]
    label_axis: Mapped[str | None]
    markers: Mapped[int]
    residual_mm: Mapped[float]
    mm_per_px: Mapped[float]
    corners_px: Mapped[list[list[float]] | None] = mapped_column(JSON(none_as_null=True))
    flags: Mapped[list[str]]
    trace: Mapped[dict[str, Any]] = mapped_column(JSON)
    face_jpeg: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)

    photo: Mapped[PhotoRow] = relationship(back_populates="measurement")
    metrics: Mapped[list["MetricRow"]] = relationship(
        cascade="all, delete-orphan", order_by="MetricRow.name"
    )
    modes: Mapped[list["ModeRow"]] = relationship(
        cascade="all, delete-orphan", order_by="(ModeRow.mode, ModeRow.name)"
    )


class MetricRow(Base):
    """One metric of one measurement, with its 95 % interval."""

    __tablename__ = "metrics"

    measurement_id: Mapped[int] = mapped_column(ForeignKey("measurements.id"), primary_key=True)
    name: Mapped[str] = mapped_column(String(32), primary_key=True)
    value: Mapped[float]
    low: Mapped[float]
    high: Mapped[float]


class ModeRow(Base):
    """One quantity of one vibration mode, with its 95 % interval; ``mode`` counts from 0."""

    __tablename__ = "modes"

    measurement_id: Mapped[int] = mapped_column(ForeignKey("measurements.id"), primary_key=True)
    mode: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(32), primary_key=True)
    value: Mapped[float]
    low: Mapped[float]
    high: Mapped[float]
