"""Numbers are read again whenever the database has changed, and only then."""

from pathlib import Path

import pytest

from scoring.metrics import FaceName
from scoring.page.opened_store import opened_store
from scoring.page.stored_numbers import database_stamp, stored_numbers, stored_records
from scoring.store.database import DATABASE_VARIABLE
from scoring.store.run_store import RunStore
from tests.page.conftest import Photo, Settings


def test_what_is_written_is_seen_at_once(database: Path, settings: Settings, photo: Photo) -> None:
    assert database_stamp() is None
    assert stored_numbers() == ()
    assert stored_records() == ()
    with RunStore.open(database) as store:
        store.record_photo(settings(), photo())
        assert [run.photos for run in stored_numbers()] == [1]
        store.record_photo(settings(), photo(FaceName.FLOW))
        assert [run.photos for run in stored_numbers()] == [2]
        store.record_run(settings(filament="slate"), update=True)
        assert stored_numbers()[0].settings.filament == "slate"
        assert len(stored_records()) == 2
        store.delete_run("A-01")
        assert stored_numbers() == ()
        store.restore_run("A-01")
        assert [run.photos for run in stored_numbers()] == [2]


@pytest.mark.usefixtures("three_runs")
def test_unchanged_numbers_are_not_read_twice() -> None:
    assert stored_numbers() is stored_numbers()
    assert stored_records() is stored_records()


def test_another_database_has_numbers_of_its_own(
    three_runs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert three_runs.exists()
    assert len(stored_numbers()) == 4
    monkeypatch.setenv(DATABASE_VARIABLE, str(tmp_path / "other.db"))
    assert stored_numbers() == ()


def test_a_database_by_file_uri_is_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for named, there in (("sqlite:///file:x.db?uri=true", True), ("gone.db", False)):
        monkeypatch.setenv(DATABASE_VARIABLE, named)
        with opened_store() as store:
            assert (store is not None) == there
