"""Deleting hides; nothing that was recorded is lost."""

from collections.abc import Callable

import pytest
import sqlalchemy as sa

from scoring.errors import RunNotFoundError, StoreError
from scoring.runs.settings import RunSettings
from scoring.store import database as opening
from scoring.store.recording import PhotoChange
from scoring.store.run_store import MeasuredPhoto, RunStore

MakePhoto = Callable[..., MeasuredPhoto]
MakeSettings = Callable[..., RunSettings]


@pytest.fixture
def two_runs(store: RunStore, settings: MakeSettings, photo: MakePhoto) -> RunStore:
    """A-01 with two photos, A-02 with one."""
    store.record_photo(settings(), photo(b"one"))
    store.record_photo(settings(), photo(b"two"))
    store.record_photo(settings("A-02"), photo(b"three"))
    return store


def hash_of(store: RunStore, run: str, place: int = 0) -> str:
    return store.measurements(run=run)[place].photo.sha256


def counts(store: RunStore) -> dict[str, int]:
    return {record.settings.name: record.photos for record in store.runs()}


def test_a_deleted_run_is_hidden_and_comes_back_as_it_was(two_runs: RunStore) -> None:
    before = two_runs.measurements()
    sha256 = hash_of(two_runs, "A-01")
    two_runs.delete_run("A-01")
    assert counts(two_runs) == {"A-02": 1}
    assert [r.settings.name for r in two_runs.measurements()] == ["A-02"]
    assert two_runs.measurements(run="A-01") == ()
    assert two_runs.find_photo(sha256) is None
    with pytest.raises(RunNotFoundError):
        two_runs.run("A-01")
    (gone,) = two_runs.deleted()
    assert (gone.run, gone.photo, gone.photos) == ("A-01", None, 2)
    two_runs.restore_run("A-01")
    assert two_runs.measurements() == before
    assert two_runs.photo_bytes(sha256) == b"one"
    assert two_runs.deleted() == ()


def test_a_store_is_empty_without_a_run_that_is_not_deleted(
    store: RunStore, settings: MakeSettings
) -> None:
    assert store.is_empty()
    store.record_run(settings("A-01"))
    assert not store.is_empty()
    store.delete_run("A-01")
    assert store.is_empty()


def test_a_deleted_photo_is_hidden_and_comes_back(two_runs: RunStore) -> None:
    before = two_runs.measurements()
    sha256 = hash_of(two_runs, "A-01", 1)
    two_runs.delete_photo(sha256)
    assert counts(two_runs) == {"A-01": 1, "A-02": 1}
    (gone,) = two_runs.deleted()
    assert (gone.run, gone.sha256, gone.photo) == ("A-01", sha256, "a.jpg")
    two_runs.restore_photo(sha256)
    assert two_runs.measurements() == before


def test_a_photo_deleted_before_its_run_stays_deleted_when_the_run_comes_back(
    two_runs: RunStore,
) -> None:
    sha256 = hash_of(two_runs, "A-01")
    two_runs.delete_photo(sha256)
    two_runs.delete_run("A-01")
    assert [gone.photos for gone in two_runs.deleted()] == [1, 1]
    two_runs.restore_run("A-01")
    assert counts(two_runs)["A-01"] == 1
    assert [gone.sha256 for gone in two_runs.deleted()] == [sha256]


def test_a_photo_brings_its_deleted_run_back(two_runs: RunStore) -> None:
    sha256 = hash_of(two_runs, "A-01")
    two_runs.delete_run("A-01")
    two_runs.restore_photo(sha256)
    assert counts(two_runs) == {"A-01": 1, "A-02": 1}
    (other,) = two_runs.deleted()
    assert other.photo is not None
    two_runs.restore_photo(str(other.sha256))
    assert counts(two_runs)["A-01"] == 2


def test_recording_a_deleted_photo_brings_it_back_under_any_run(
    two_runs: RunStore, settings: MakeSettings, photo: MakePhoto
) -> None:
    two_runs.delete_run("A-01")
    again = photo(b"one", peak_um=50)
    assert two_runs.record_photo(settings("A-03"), again) is PhotoChange.BROUGHT_BACK
    (record,) = two_runs.measurements(run="A-03")
    assert record.measurement.metrics["ripple_peak_um"].value == 50
    assert two_runs.record_photo(settings("A-03"), again) is PhotoChange.ALREADY_THERE
    assert [gone.photos for gone in two_runs.deleted()] == [1]


def test_recording_a_deleted_run_again_brings_it_back_but_not_its_photos(
    two_runs: RunStore, settings: MakeSettings
) -> None:
    two_runs.delete_run("A-01")
    with pytest.raises(StoreError, match="deleted, but kept, with other settings: accel_mm_s2"):
        two_runs.record_run(settings(accel_mm_s2=9000))
    assert counts(two_runs) == {"A-02": 1}
    two_runs.record_run(settings())
    assert counts(two_runs) == {"A-01": 0, "A-02": 1}
    assert len(two_runs.deleted()) == 2


def test_what_is_not_there_cannot_be_deleted_or_brought_back(two_runs: RunStore) -> None:
    sha256 = hash_of(two_runs, "A-01")
    with pytest.raises(RunNotFoundError, match="no run 'C-1'"):
        two_runs.delete_run("C-1")
    with pytest.raises(RunNotFoundError, match="no deleted run 'A-01'"):
        two_runs.restore_run("A-01")
    with pytest.raises(StoreError, match="is stored"):
        two_runs.delete_photo("0" * 64)
    with pytest.raises(StoreError, match="is deleted"):
        two_runs.restore_photo(sha256)
    two_runs.delete_run("A-01")
    with pytest.raises(RunNotFoundError):
        two_runs.delete_run("A-01")
    assert counts(two_runs) == {"A-02": 1}


def test_a_database_of_before_deletion_opens_with_all_it_has(
    database: str,
    settings: MakeSettings,
    photo: MakePhoto,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """The first migration alone, filled by plain SQL, then brought up to date."""
    versions = tmp_path_factory.mktemp("first")
    first = opening._VERSIONS / "v0001_first_tables.py"
    (versions / first.name).write_text(first.read_text())
    url = opening.locate_database(database)
    opening.migrate(url, versions=versions)
    engine = sa.create_engine(url)
    with engine.begin() as connection:
        connection.execute(
            sa.text(
                "INSERT INTO runs (id, added_at, name, machine, setup, axis, outer_wall_speed_mm_s,"
                " accel_mm_s2, corner_speed_mm_s, extra) VALUES (1, '2026-03-02 10:00:00', 'A-01',"
                " 'Alder', 'stock', 'x', 150, 5000, 5, '{}')"
            )
        )
    engine.dispose()
    with RunStore.open(database) as store:
        assert counts(store) == {"A-01": 0}
        assert store.record_photo(settings("A-02"), photo()) is PhotoChange.ADDED
