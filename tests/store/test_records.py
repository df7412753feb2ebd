import dataclasses
from collections.abc import Callable

import pytest

from scoring.measurement import METHOD_VERSION
from scoring.motion import Motion
from scoring.runs.settings import RunSettings
from scoring.store.records import MeasurementRecord, reasons_stale
from scoring.store.run_store import MeasuredPhoto, RunStore


@pytest.fixture
def record(
    store: RunStore,
    settings: Callable[..., RunSettings],
    photo: Callable[..., MeasuredPhoto],
) -> MeasurementRecord:
    store.record_photo(settings(layer_height_mm=0.2), photo())
    return store.measurements()[0]


@pytest.mark.parametrize("database", ["sqlite"], indirect=True)
class TestReasonsStale:
    def test_none_right_after_measuring(self, record: MeasurementRecord) -> None:
        assert reasons_stale(record) == ()

    def test_a_newer_method_or_geometry(self, record: MeasurementRecord) -> None:
        (why,) = reasons_stale(record, method_version=METHOD_VERSION + "x")
        assert "method" in why
        (why,) = reasons_stale(record, geometry_revision="other")
        assert "geometry" in why

    def test_settings_corrected_since(self, record: MeasurementRecord) -> None:
        moved = dataclasses.replace(record, motion=Motion(150, 4000), layer_height_mm=0.3)
        assert len(reasons_stale(moved)) == 2
