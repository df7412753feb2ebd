import dataclasses
import datetime
import hashlib
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
import sqlalchemy as sa

from scoring.errors import RunNotFoundError, SettingsError, StoreError
from scoring.measurement import Measurement, Registration
from scoring.metrics import FaceName
from scoring.motion import Motion
from scoring.runs.filter import RunFilter
from scoring.runs.settings import RunSettings
from scoring.store.recording import PhotoChange
from scoring.store.run_store import MeasuredPhoto, RunStore

MakePhoto = Callable[..., MeasuredPhoto]
MakeSettings = Callable[..., RunSettings]


def count_rows(store: RunStore) -> dict[str, int]:
    tables = ("runs", "photos", "measurements", "metrics", "modes")
    with store._engine.connect() as connection:
        return {t: connection.scalar(sa.text(f"SELECT count(*) FROM {t}")) or 0 for t in tables}


def test_gives_back_what_was_recorded(
    store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    run = settings(
        filament="PLA grey",
        printed_on=datetime.date(2026, 3, 2),
        flow_ratio=0.1 + 0.2,
        notes="Fräse läuft, belt at 92 Hz",
        extra={"belt_hz": 92.5, "damper": True, "plate": "glass"},
    )
    shot = photo()
    assert store.record_photo(run, shot) is PhotoChange.ADDED
    (record,) = store.measurements()
    assert record.settings == run
    assert record.measurement == shot.measurement
    assert record.motion == run.motion
    assert record.photo.sha256 == hashlib.sha256(b"photo").hexdigest()
    assert record.photo.size_bytes == 5
    assert store.photo_bytes(record.photo.sha256) == b"photo"
    assert store.face_jpeg(record.photo.sha256) == shot.face_jpeg
    now = datetime.datetime.now(datetime.UTC)
    assert abs((now - record.measured_at).total_seconds()) < 600


def test_a_new_run_s_name_must_fit_on_a_label(
    store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    with pytest.raises(SettingsError, match="'brace test'"):
        store.record_photo(settings("brace test"), photo())
    with pytest.raises(SettingsError, match="'a-01'"):
        store.record_run(settings("a-01"))
    assert count_rows(store)["runs"] == 0


def test_a_name_that_an_earlier_version_took_is_read_and_takes_more(
    store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    store.record_photo(settings(), photo())
    with store._engine.begin() as connection:
        connection.execute(sa.text("UPDATE runs SET name = 'brace test'"))
    old = settings("brace test")
    assert store.run("brace test").settings == old
    assert store.record_photo(old, photo(b"another")) is PhotoChange.ADDED
    store.record_run(settings("brace test", accel_mm_s2=6000), update=True)
    (record,) = store.runs()
    assert (record.photos, record.settings.accel_mm_s2) == (2, 6000)


def test_adding_twice_is_harmless(
    store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    store.record_photo(settings(), photo())
    before = count_rows(store)
    again = dataclasses.replace(photo(peak_um=99), name="copy.jpg")
    assert store.record_photo(settings(), again) is PhotoChange.ALREADY_THERE
    assert count_rows(store) == before
    assert store.measurements()[0].measurement.metrics["ripple_peak_um"].value == 31.2


def test_a_photo_of_another_run_is_refused_and_can_be_moved(
    store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    store.record_photo(settings(), photo())
    other = settings("A-02", accel_mm_s2=9000)
    with pytest.raises(StoreError, match=r"already in run A-01 .*have it taken over"):
        store.record_photo(other, photo())
    assert [r.settings.name for r in store.runs()] == ["A-01"]
    assert store.record_photo(other, photo(peak_um=40), move=True) is PhotoChange.MOVED
    (record,) = store.measurements()
    assert (record.settings.name, record.motion.accel_mm_s2) == ("A-02", 9000)
    assert record.measurement.metrics["ripple_peak_um"].value == 40
    assert count_rows(store)["measurements"] == 1


def test_other_settings_under_the_same_name_are_refused_and_told(
    store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    store.record_photo(settings(filament="PLA"), photo())
    changed = settings(accel_mm_s2=6000, nozzle_mm=0.4)
    with pytest.raises(StoreError, match=r"accel_mm_s2 5000.0 -> 6000.0; nozzle_mm None -> 0.4"):
        store.record_photo(changed, photo(b"second"))
    assert count_rows(store)["photos"] == 1
    store.record_run(changed, update=True)
    stored = store.run("A-01").settings
    assert (stored.accel_mm_s2, stored.nozzle_mm, stored.filament) == (6000, 0.4, "PLA")


def test_settings_of_a_run_without_photos_may_still_change(
    store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    store.record_run(settings(accel_mm_s2=500))
    store.record_run(settings(accel_mm_s2=5000))
    assert store.run("A-01").settings.accel_mm_s2 == 5000
    store.record_photo(settings(accel_mm_s2=6000), photo())
    assert store.run("A-01").settings.accel_mm_s2 == 6000
    with pytest.raises(StoreError, match=r"accel_mm_s2 6000.0 -> 500.0"):
        store.record_run(settings(accel_mm_s2=500))


def test_settings_left_out_do_not_contradict(store: RunStore, settings: MakeSettings) -> None:
    store.record_run(settings(setup="brace", corner_speed_mm_s=8, filament="PLA"))
    before = store.run("A-01").settings
    store.record_run(settings())
    assert store.run("A-01").settings == before


@contextmanager
def full_disk_at(store: RunStore, table: str) -> Iterator[None]:
    """The database fails as it would on a full disk once ``table`` is written to."""

    def fail(_c: Any, _cursor: Any, statement: str, parameters: Any, *_: Any) -> None:
        if statement.startswith(f"INSERT INTO {table}"):
            raise sa.exc.OperationalError(statement, parameters, Exception("disk is full"))

    sa.event.listen(store._engine, "before_cursor_execute", fail)
    yield
    sa.event.remove(store._engine, "before_cursor_execute", fail)


@pytest.mark.parametrize("table", ["photos", "measurements", "metrics", "modes"])
def test_a_photo_and_its_numbers_are_recorded_together_or_not_at_all(
    store: RunStore, settings: MakeSettings, photo: MakePhoto, table: str
) -> None:
    with full_disk_at(store, table), pytest.raises(StoreError, match="disk is full"):
        store.record_photo(settings(), photo())
    assert set(count_rows(store).values()) == {0}
    assert store.record_photo(settings(), photo()) is PhotoChange.ADDED


def test_a_failed_replacement_keeps_the_old_numbers(
    store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    store.record_photo(settings(), photo())
    (before,) = store.measurements()
    new = photo(peak_um=50)
    with full_disk_at(store, "modes"), pytest.raises(StoreError, match="disk is full"):
        store.replace_measurement(
            new.sha256, new.measurement, b"", motion=Motion(150, 5000), layer_height_mm=None
        )
    assert store.measurements() == (before,)


def test_a_replacement_takes_the_old_numbers_place(
    store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    store.record_photo(settings(), photo())
    new: Measurement = photo(peak_um=50, modes=(), method_version="2").measurement
    sha256 = photo().sha256
    store.replace_measurement(
        sha256, new, b"new face", motion=Motion(150, 5000), layer_height_mm=0.2
    )
    (record,) = store.measurements()
    assert record.measurement == new
    assert store.face_jpeg(sha256) == b"new face"
    assert count_rows(store) == {
        "runs": 1, "photos": 1, "measurements": 1, "metrics": 2, "modes": 0,
    }  # fmt: skip


def test_runs_know_their_photos_and_faces_and_numbers_can_be_filtered(
    store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    store.record_photo(settings("B-01", machine="Birch"), photo(b"1"))
    store.record_photo(settings(), photo(b"2"))
    store.record_photo(settings(), photo(b"3", face=FaceName.FLOW))
    store.record_run(settings("A-02"))
    assert [(r.settings.name, r.photos) for r in store.runs()] == [
        ("A-01", 2),
        ("A-02", 0),
        ("B-01", 1),
    ]
    assert store.run("A-01").faces == (FaceName.RINGDOWN, FaceName.FLOW)
    assert [store.run(r.settings.name) for r in store.runs()] == list(store.runs())
    birch = RunFilter(machine="birch")
    assert [r.photo.run for r in store.measurements(birch)] == ["B-01"]
    assert len(store.measurements(run="A-01")) == 2


def test_an_unknown_run_and_photo_are_told(store: RunStore, settings: MakeSettings) -> None:
    store.record_run(settings("B7-012"))
    with pytest.raises(RunNotFoundError, match="Did you mean B7-012"):
        store.run("B7-12")
    assert store.find_photo("0" * 64) is None
    with pytest.raises(StoreError, match="0000"):
        store.photo_bytes("0" * 64)


def test_two_writers_take_turns(
    database: str, store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    """Both add the same photos at once: each is there once, nobody fails."""
    start = threading.Barrier(2)
    done: list[PhotoChange] = []
    failed: list[Exception] = []

    def add() -> None:
        with RunStore.open(database) as own:
            start.wait()
            try:
                for number in range(12):
                    shot = photo(f"photo {number}".encode())
                    done.append(own.record_photo(settings(f"A-{number // 3}"), shot))
            except Exception as error:
                failed.append(error)

    threads = [threading.Thread(target=add) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    assert sorted(done) == sorted([PhotoChange.ADDED, PhotoChange.ALREADY_THERE] * 12)
    assert count_rows(store)["photos"] == 12


def test_traces_are_read_only_where_they_are_asked_for(
    store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    store.record_photo(settings(), photo())
    (whole,), (bare,) = store.measurements(), store.measurements(traces=False)
    assert len(whole.measurement.trace.u_mm) == 2
    assert bare.measurement.trace.u_mm == ()
    empty = dataclasses.replace(whole.measurement, trace=bare.measurement.trace)
    assert dataclasses.replace(whole, measurement=empty) == bare


def test_a_photo_s_pointed_at_corners_are_kept(
    store: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    corners = ((1.5, 2.0), (100.25, 2.0), (100.0, 26.0), (1.0, 26.0))
    placed = Registration(0, 0.1, 0.05, corners)
    store.record_photo(settings(), photo(registration=placed))
    store.record_photo(settings(), photo(b"by the card"))
    first, second = store.measurements()
    assert first.measurement.registration == placed
    assert second.measurement.registration.corners_px is None
