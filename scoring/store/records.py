"""What the store gives back: frozen records that know nothing of the database."""

import datetime
from dataclasses import dataclass

from scoring.geometry import GEOMETRY_REVISION
from scoring.measurement import METHOD_VERSION, Measurement
from scoring.metrics import FaceName
from scoring.motion import Motion
from scoring.runs.settings import RunSettings


@dataclass(frozen=True)
class RunRecord:
    """A run as stored: its settings, when it was added, and the photos it has."""

    settings: RunSettings
    added_at: datetime.datetime
    photos: int
    faces: tuple[FaceName, ...]


@dataclass(frozen=True)
class PhotoRecord:
    """A stored photo; ``sha256`` of its bytes identifies it whatever it is called."""

    sha256: str
    name: str
    run: str
    size_bytes: int
    added_at: datetime.datetime


@dataclass(frozen=True)
class DeletedRecord:
    """A deleted run (``sha256`` and ``photo`` are ``None``) or a photo deleted by itself.

    ``photos`` counts those that would come back with it.
    """

    run: str
    sha256: str | None
    photo: str | None
    photos: int
    deleted_at: datetime.datetime


@dataclass(frozen=True)
class MeasurementRecord:
    """A photo's numbers and what they were measured with.

    ``settings`` are the run's settings now; ``motion`` and ``layer_height_mm`` those of the
    measurement. They differ once the run's settings were corrected.
    """

    photo: PhotoRecord
    settings: RunSettings
    measurement: Measurement
    motion: Motion
    layer_height_mm: float | None
    measured_at: datetime.datetime


def reasons_stale(
    record: MeasurementRecord,
    *,
    method_version: str = METHOD_VERSION,
    geometry_revision: str = GEOMETRY_REVISION,
) -> tuple[str, ...]:
    """Why a stored number is out of date, in words; empty where it is up to date."""
    measured = record.measurement
    reasons = []
    if measured.method_version != method_version:
        reasons.append(f"measured by method {measured.method_version}, now {method_version}")
    if measured.geometry_revision != geometry_revision:
        reasons.append(f"geometry was {measured.geometry_revision}, now {geometry_revision}")
    if record.motion != record.settings.motion:
        reasons.append("the run's speed or acceleration was changed since")
    if record.layer_height_mm != record.settings.layer_height_mm:
        reasons.append("the run's layer height was changed since")
    return tuple(reasons)
