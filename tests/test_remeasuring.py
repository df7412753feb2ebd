from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from scoring.adding import add_photos
from scoring.batch import PhotoTask
from scoring.errors import PhotoBlurredError
from scoring.remeasuring import remeasure, stale_photos
from scoring.runs.plan import RunPlan
from scoring.runs.settings import RunSettings
from scoring.store.run_store import RunStore
from tests.stand_in_measure import StandInMeasured, measure, photo_text


def run(name: str, **more: Any) -> RunSettings:
    least = {"machine": "Alder", "axis": "x", "outer_wall_speed_mm_s": 150, "accel_mm_s2": 5000}
    return RunSettings.model_validate(least | {"name": name} | more)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[RunStore]:
    """Two runs of a photo each; A's number is from an old method."""
    with RunStore.open(tmp_path / "runs.db") as opened:
        tasks = [
            PhotoTask("a.jpg", photo_text(method="0"), RunPlan(run("A"), {}, {})),
            PhotoTask("b.jpg", photo_text(), RunPlan(run("B"), {}, {})),
        ]
        list(add_photos(opened, tasks, measure=measure, workers=1))
        yield opened


def measure_now(source: Path | bytes, **how: Any) -> StandInMeasured:
    """The method of now: it does not find the old version's number in the photo."""
    assert isinstance(source, bytes)
    return measure(source.replace(b'"method": "0"', b'"peak_um": 44'), **how)


def test_old_numbers_are_brought_up_to_date(store: RunStore) -> None:
    stale = stale_photos(store)
    assert [r.photo.name for r in stale] == ["a.jpg"]
    (done,) = remeasure(store, stale, measure=measure_now, workers=1)
    assert done.new is not None
    assert done.old.measurement.metrics["ripple_peak_um"].value == 30
    assert store.measurements(run="A")[0].measurement.metrics["ripple_peak_um"].value == 44
    assert stale_photos(store) == ()


def test_corrected_settings_make_a_number_stale(store: RunStore) -> None:
    """The stand-in's frequency is a third of the speed."""
    store.record_run(run("B", outer_wall_speed_mm_s=120), update=True)
    stale = stale_photos(store, runs=["B"])
    (done,) = remeasure(store, stale, measure=measure, workers=1)
    assert done.new is not None
    assert done.new.modes[0].frequency_hz.value == 40
    assert stale_photos(store, runs=["B"]) == ()


def test_a_photo_that_fails_keeps_its_old_numbers(store: RunStore) -> None:
    def blurred(*_: Any, **__: Any) -> StandInMeasured:
        raise PhotoBlurredError("Edges are soft. Focus on the coupon.")

    before = store.measurements()
    every = stale_photos(store, everything=True)
    assert every == before
    results = list(remeasure(store, every, measure=blurred, workers=1))
    assert [r.failure.code for r in results if r.failure] == ["photo-blurred"] * 2
    assert store.measurements() == before
