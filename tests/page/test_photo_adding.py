from pathlib import Path
from typing import Any

import pytest

from scoring.adding import AddedPhoto
from scoring.errors import CardNotFoundError, SettingsError
from scoring.page.photo_adding import Permissions, Told, add_uploads, describe_added, still_waiting
from scoring.page.waiting_photos import Upload
from scoring.remeasuring import remeasure, stale_photos
from scoring.store.recording import PhotoChange
from scoring.store.run_store import RunStore
from tests.page.conftest import Settings
from tests.stand_in_measure import StandInMeasured, measure, photo_text

GIVEN = {"machine": "Birch", "outer_wall_speed_mm_s": "150", "accel_mm_s2": "5 m/s^2"}


def upload(name: str = "a.jpg", **says: Any) -> Upload:
    return Upload(name, photo_text(**says))


def add(
    database: Path, *uploads: Upload, given: dict[str, Any] | None = None, **may: bool
) -> list[AddedPhoto]:
    with RunStore.open(database) as store:
        told = Told(GIVEN if given is None else given)
        return list(add_uploads(store, uploads, told, Permissions(**may), measure=measure))


def count_photos(database: Path) -> dict[str, int]:
    with RunStore.open(database) as store:
        return {record.settings.name: record.photos for record in store.runs()}


def test_the_label_gives_run_and_axis(database: Path) -> None:
    (result,) = add(database, upload(run="B7-012", axis="y"))
    assert describe_added(result) == "a.jpg: added to run B7-012, ring-down face."
    with RunStore.open(database) as store:
        stored = store.run("B7-012").settings
    assert (stored.machine, stored.axis, stored.accel_mm_s2) == ("Birch", "y", 5000.0)


def test_adding_twice_changes_nothing(database: Path) -> None:
    add(database, upload(run="B7-012", axis="y"))
    (again,) = add(database, upload("renamed.jpg", run="B7-012", axis="y"))
    assert again.change is PhotoChange.ALREADY_THERE
    assert "already there, in run B7-012" in describe_added(again)
    assert count_photos(database) == {"B7-012": 1}


def test_a_failure_records_nothing_and_stops_no_other(database: Path) -> None:
    results = add(
        database,
        upload("bad.jpg", run="B7-001", axis="x", fails="card"),
        upload("good.jpg", run="B7-002", axis="x"),
        Upload("text.jpg", b"no picture"),
    )
    assert count_photos(database) == {"B7-002": 1}
    assert "bad.jpg: not added. No marker of the card" in describe_added(results[0])
    assert [r.failure.code if r.failure else None for r in results] == [
        "card-not-found", None, "photo-unreadable",
    ]  # fmt: skip


def test_a_stored_run_needs_no_settings(database: Path) -> None:
    add(database, upload(run="B7-012", axis="x"))
    (more,) = add(database, upload("b.jpg", run="B7-012", axis="x", face="flow"), given={})
    assert more.run == "B7-012"
    (named,) = add(database, upload("c.jpg", face="flow", gaps=0.1), given={"name": "B7-012"})
    assert named.run == "B7-012"
    assert count_photos(database) == {"B7-012": 3}


def test_corrected_settings_bring_the_run_s_numbers_along(database: Path) -> None:
    add(database, upload(run="B7-012", axis="x"))
    faster = {**GIVEN, "outer_wall_speed_mm_s": "300"}
    (refused,) = add(database, upload("b.jpg", run="B7-012", axis="x", salt=1), given=faster)
    assert refused.failure is not None
    assert "tick “Correct the stored run's settings" in describe_added(refused)
    add(database, upload("b.jpg", run="B7-012", axis="x", salt=1), given=faster, update=True)
    with RunStore.open(database) as store:
        # The stand-in's frequency is a third of the speed.
        hertz = {r.measurement.modes[0].frequency_hz.value for r in store.measurements()}
    assert hertz == {100.0}


def test_a_photo_measured_again_is_told_and_one_that_cannot_be_keeps_its_numbers(
    database: Path,
) -> None:
    add(database, upload("a.jpg", run="B7-012", axis="x"))
    second = upload("b.jpg", run="B7-012", axis="x", salt=1)
    faster = {**GIVEN, "outer_wall_speed_mm_s": "300"}
    _, again = add(database, second, given=faster, update=True)
    assert describe_added(again).startswith("a.jpg of run B7-012: measured again")

    def only_c(source: Path | bytes, *, name: str, **asked: Any) -> StandInMeasured:
        if name != "c.jpg":
            raise CardNotFoundError("No marker of the card was found.")
        return measure(source, name=name, **asked)

    with RunStore.open(database) as store:
        third = upload("c.jpg", run="B7-012", axis="x", salt=2)
        told, may = Told({**GIVEN, "outer_wall_speed_mm_s": "200"}), Permissions(update=True)
        results = list(add_uploads(store, [third], told, may, measure=only_c))
    assert [r.failure is None for r in results] == [True, False, False]
    assert "a.jpg: kept its old numbers. No marker" in describe_added(results[1])
    assert still_waiting([third], results) == ()


def test_a_settings_file_gives_each_photo_its_run_by_name(
    database: Path, settings: Settings
) -> None:
    listed = {"one.jpg": settings("A-01", setup="brace"), "two.jpg": settings("A-02")}
    uploads = [
        upload("TWO.jpg", salt=2),
        upload("one.jpg", salt=1),
        upload("other.jpg", salt=3, run="A-02", axis="x"),
    ]
    with RunStore.open(database) as store:
        results = list(
            add_uploads(store, uploads, Told({}, listed), Permissions(), measure=measure)
        )
        assert [result.run for result in results] == ["A-02", "A-01", "A-02"]
        assert store.run("A-01").settings.setup == "brace"


def test_a_listed_name_that_no_label_carries_stops_before_anything_is_measured(
    database: Path, settings: Settings
) -> None:
    told = Told({}, {"one.jpg": settings("A-01"), "two.jpg": settings("brace 2")})
    with RunStore.open(database) as store:
        with pytest.raises(SettingsError, match="for example BRACE-2"):
            add_uploads(store, [upload("one.jpg")], told, Permissions(), measure=measure)
        assert not store.runs()


def test_only_what_was_not_added_goes_on_waiting(database: Path) -> None:
    uploads = [upload("bad.jpg", run="B-1", axis="x", fails="card"), upload(run="B-2", axis="x")]
    results = add(database, *uploads)
    (left,) = still_waiting(uploads, results)
    assert left.name == "bad.jpg"
    assert left.failure is not None
    assert left.failure.code == "card-not-found"


def test_corners_pointed_at_are_measured_by_now_and_whenever_again(database: Path) -> None:
    """The stand-in finds no card unless corners are given."""
    corners = ((0.0, 0.0), (100.0, 0.0), (100.0, 24.0), (0.0, 24.0))
    refused = upload("a.jpg", run="B-1", axis="x", fails="card", method="0")
    placed = Upload(refused.name, refused.content, corners_px=corners)
    (result,) = add(database, placed, given={**GIVEN, "name": "B-1", "axis": "x"})
    assert result.run == "B-1"
    with RunStore.open(database) as store:
        (again,) = remeasure(store, stale_photos(store), measure=measure, workers=1)
        assert again.failure is None
        assert again.new is not None
        assert again.new.registration.corners_px == corners
