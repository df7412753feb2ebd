"""Stored photos made by hand, with the numbers that a test gives them."""

import datetime
import hashlib
from collections.abc import Callable, Mapping
from typing import Any

import pytest

from scoring.estimate import Estimate
from scoring.flags import Flag
from scoring.geometry import GEOMETRY_REVISION
from scoring.measurement import METHOD_VERSION, Measurement, Mode, Registration, Trace
from scoring.metrics import FaceName
from scoring.runs.settings import RunSettings
from scoring.store.records import MeasurementRecord, PhotoRecord

MakePhoto = Callable[..., MeasurementRecord]
LONG_AGO = datetime.datetime(2026, 3, 2, tzinfo=datetime.UTC)


@pytest.fixture
def photo() -> MakePhoto:
    """``photo("A-01", peak=30, setup="brace")``: a stored photo of a run.

    ``peak`` (with ``within``, the interval's half-width as a part of it) makes it a ring-down
    photo, ``gaps`` a flow photo, a number or an estimate; ``numbers`` are further metrics and
    other keywords settings.
    """
    return make_photo


def make_photo(
    name: str,
    *,
    peak: float | Estimate | None = None,
    gaps: float | Estimate | None = None,
    numbers: Mapping[str, Estimate] | None = None,
    within: float = 0.05,
    hertz: float = 50.0,
    method: str = METHOD_VERSION,
    geometry: str = GEOMETRY_REVISION,
    flags: tuple[Flag, ...] = (),
    shot: str = "1",
    **more: Any,
) -> MeasurementRecord:
    """What the fixture ``photo`` calls."""
    least: dict[str, Any] = {
        "machine": "Alder",
        "axis": "x",
        "outer_wall_speed_mm_s": 150,
        "accel_mm_s2": 5000,
        "filament": "sand",
    }
    settings = RunSettings.model_validate(least | {"name": name} | more)

    def about(value: float | Estimate) -> Estimate:
        if isinstance(value, Estimate):
            return value
        return Estimate(value, value - within * abs(value), value + within * abs(value))

    metrics: dict[str, Estimate] = dict(numbers or {})
    modes: tuple[Mode, ...] = ()
    if peak is not None:
        ripple = about(peak)
        metrics["ripple_peak_um"] = ripple
        if ripple.value > 0:
            modes = (Mode(ripple, about(hertz), about(0.05), about(3.0)),)
    if gaps is not None:
        metrics["gap_fraction"] = about(gaps)
    file = f"{name}-{shot}.jpg"
    measured = Measurement(
        photo=file,
        face=FaceName.FLOW if peak is None else FaceName.RINGDOWN,
        run=name,
        axis="x",
        registration=Registration(12, 0.01, 0.05),
        metrics=metrics,
        modes=modes,
        flags=flags,
        trace=Trace("µm", (4.0, 5.0), (1.0, -1.0), (0.9, -0.9)),
        method_version=method,
        geometry_revision=geometry,
    )
    kept = PhotoRecord(hashlib.sha256(file.encode()).hexdigest(), file, name, 1000, LONG_AGO)
    return MeasurementRecord(
        kept, settings, measured, settings.motion, settings.layer_height_mm, LONG_AGO
    )
