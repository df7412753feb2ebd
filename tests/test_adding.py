import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from scoring.adding import AddedPhoto, add_photos
from scoring.batch import PhotoTask
from scoring.runs.plan import RunPlan
from scoring.runs.settings import RunSettings
from scoring.store.recording import PhotoChange
from scoring.store.run_store import RunStore
from tests.stand_in_measure import StandInMeasured, measure, photo_text


def run(name: str = "A-01", **more: Any) -> RunSettings:
    least = {"machine": "Alder", "axis": "x", "outer_wall_speed_mm_s": 150, "accel_mm_s2": 5000}
    return RunSettings.model_validate(least | {"name": name} | more)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[RunStore]:
    with RunStore.open(tmp_path / "runs.db") as opened:
        yield opened


def listed(settings: RunSettings, name: str = "a.jpg", **says: Any) -> PhotoTask:
    return PhotoTask(name, photo_text(**says), RunPlan(settings, {}, {}))


def add(store: RunStore, *tasks: PhotoTask, **options: Any) -> Sequence[AddedPhoto]:
    return list(add_photos(store, tasks, measure=measure, workers=1, **options))


def test_each_photo_is_recorded_or_told_and_the_others_go_on(
    store: RunStore, tmp_path: Path
) -> None:
    results = add(
        store,
        listed(run(), salt=1),
        listed(run(), "b.jpg", fails="card"),
        PhotoTask("absent.jpg", tmp_path / "absent.jpg", RunPlan(run(), {}, {})),
        listed(run(), "c.jpg", salt=2, face="flow"),
    )
    assert [r.change for r in results] == [PhotoChange.ADDED, None, None, PhotoChange.ADDED]
    assert [r.failure.code for r in results if r.failure] == ["card-not-found", "photo-unreadable"]
    assert store.run("A-01").photos == 2


def test_a_stored_photo_is_not_measured_again(store: RunStore) -> None:
    add(store, listed(run()))

    def never(*_: Any, **__: Any) -> StandInMeasured:
        raise AssertionError("measured again")

    again = list(add_photos(store, [listed(run())], measure=never, workers=1))
    assert [r.change for r in again] == [PhotoChange.ALREADY_THERE]
    assert again[0].run == "A-01"


def test_a_photo_of_another_run_is_refused_or_moved(store: RunStore) -> None:
    add(store, listed(run()))
    other = listed(run("A-02", accel_mm_s2=9000))
    (refused,) = add(store, other)
    assert refused.failure is not None
    assert "already in run A-01" in refused.failure.message
    (moved,) = add(store, other, move=True)
    assert moved.change is PhotoChange.MOVED
    assert [r.photo.run for r in store.measurements()] == ["A-02"]


def test_other_settings_are_refused_or_updated_even_for_a_stored_photo(store: RunStore) -> None:
    add(store, listed(run()))
    changed = listed(run(accel_mm_s2=6000))
    (refused,) = add(store, changed)
    assert refused.failure is not None
    assert "accel_mm_s2 5000.0 -> 6000.0" in refused.failure.message
    add(store, changed, update=True)
    assert store.run("A-01").settings.accel_mm_s2 == 6000


def test_a_label_leads_to_a_run_that_the_store_knows(store: RunStore) -> None:
    store.record_run(run("B7-012"))
    plan = RunPlan(None, {"B7-012": run("B7-012")}, {})
    (added,) = add(store, PhotoTask("a.jpg", photo_text(run="B7-012", axis="x"), plan))
    assert added.run == "B7-012"
    (again,) = add(store, PhotoTask("copy.jpg", photo_text(run="B7-012", axis="x"), plan))
    assert (again.change, again.run) == (PhotoChange.ALREADY_THERE, "B7-012")
    faster = RunPlan(None, {"B7-012": run("B7-012")}, {"accel_mm_s2": "9 m/s^2"})
    (refused,) = add(store, PhotoTask("a.jpg", photo_text(run="B7-012", axis="x"), faster))
    assert refused.failure is not None
    assert "accel_mm_s2 5000.0 -> 9000.0" in refused.failure.message


def test_wrong_settings_are_told_even_for_a_stored_photo(store: RunStore) -> None:
    add(store, listed(run()))
    plan = RunPlan(run(), {}, {"accel_mm_s2": 0})
    (refused,) = add(store, PhotoTask("a.jpg", photo_text(), plan))
    assert refused.failure is not None
    assert refused.failure.code == "bad-settings"


def test_an_interruption_keeps_what_was_recorded(store: RunStore) -> None:
    tasks = [listed(run(), f"{n}.jpg", salt=n) for n in range(4)]
    results = add_photos(store, tasks, measure=measure, workers=1)
    next(results)
    next(results)
    del results
    assert store.run("A-01").photos == 2


def test_two_workers_record_the_same_as_one(store: RunStore) -> None:
    tasks = [listed(run(f"A-{n % 3}"), f"{n}.jpg", salt=n, peak_um=10.0 + n) for n in range(7)]
    results = list(add_photos(store, tasks, measure=measure, workers=2))
    assert [r.name for r in results] == [t.name for t in tasks]
    stored = {r.photo.name: r.measurement.metrics["ripple_peak_um"].value
              for r in store.measurements()}  # fmt: skip
    assert stored == {f"{n}.jpg": 10.0 + n for n in range(7)}
    first = store.measurements()[0].photo
    assert json.loads(store.photo_bytes(first.sha256))["salt"] == 0
