import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from scoring.cli.main import main
from scoring.errors import CardNotFoundError
from scoring.store.run_store import RunStore
from tests.cli.conftest import RUNS_TOML
from tests.stand_in_measure import StandInMeasured, measure, photo_text

Coupon = Callable[..., Result]
Take = Callable[..., Path]
OPTIONS = (
    "--run",
    "A-01",
    "--machine",
    "Alder",
    "--axis",
    "x",
    "--speed",
    "150",
    "--accel",
    "5000",
)


def stored(**which: Any) -> Any:
    with RunStore.open("coupon.db") as store:
        return store.measurements(**which)


def test_settings_from_options(coupon: Coupon, take: Take) -> None:
    take("a.jpg")
    text = coupon("add", "a.jpg", *OPTIONS, "--nozzle", "400 um", "--extra", "belt_hz=92").stdout
    assert "photos: 1 added, 0 already there, 0 failed." in text
    (record,) = stored()
    assert record.settings.nozzle_mm == 0.4
    assert record.settings.extra == {"belt_hz": 92}
    assert record.photo.name == "a.jpg"


def test_settings_from_a_file_and_the_same_again_is_harmless(
    coupon: Coupon, two_runs: None
) -> None:
    text = coupon("add", "runs.toml", "--jobs", "1").stdout
    assert "2 runs in the settings file; photos: 0 added, 4 already there, 0 failed." in text
    assert [r.settings.name for r in stored()] == ["A-01", "A-01", "B-01", "B-01"]


def test_a_name_that_no_label_carries_stops_before_anything_is_recorded(
    coupon: Coupon, take: Take, here: Path
) -> None:
    for name in ("a1.jpg", "a2.jpg", "b1.jpg", "b2.jpg"):
        take(name)
    (here / "runs.toml").write_text(RUNS_TOML.replace("B-01", "birch 1"))
    said = coupon("add", "runs.toml", status=1).stderr
    assert "'BIRCH 1'" in said
    assert "for example BIRCH-1" in said
    assert "Nothing is stored" in coupon("runs", status=1).stderr
    said = coupon("add", "a1.jpg", *OPTIONS, "--run", "a 1", status=1).stderr
    assert "a1.jpg: not added (bad-settings)" in said
    assert "for example A-1" in said


def test_settings_from_the_label_s_run(coupon: Coupon, take: Take, two_runs: None) -> None:
    take("new.jpg", run="B-01", axis="x")
    coupon("add", "new.jpg")
    assert [r.photo.name for r in stored(run="B-01")] == ["b1.jpg", "b2.jpg", "new.jpg"]


def test_run_and_axis_from_the_label_settings_from_options(coupon: Coupon, take: Take) -> None:
    take("new.jpg", run="B7-012", axis="y")
    coupon("add", "new.jpg", "--machine", "Birch", "--speed", "150", "--accel", "5 m/s^2")
    (record,) = stored()
    assert (record.settings.name, record.settings.axis) == ("B7-012", "y")


def test_a_failed_photo_is_told_and_nothing_of_it_is_kept(coupon: Coupon, take: Take) -> None:
    take("a.jpg", fails="card")
    take("b.jpg")
    result = coupon("add", "a.jpg", "b.jpg", *OPTIONS, "--jobs", "1", status=1)
    assert "a.jpg: not added (card-not-found)" in result.stderr
    assert "1 added, 0 already there, 1 failed" in result.stdout
    assert [r.photo.name for r in stored()] == ["b.jpg"]


def test_json_gives_a_line_a_photo(coupon: Coupon, take: Take) -> None:
    take("a.jpg")
    take("b.jpg", fails="card")
    result = coupon("add", "a.jpg", "b.jpg", *OPTIONS, "--json", "--jobs", "1", status=1)
    first, second = map(json.loads, result.stdout.splitlines())
    assert (first["run"], first["change"]) == ("A-01", "added")
    assert "ripple_peak_um" in first["measurement"]["metrics"]
    assert second["error"]["code"] == "card-not-found"


def test_a_name_that_is_no_utf_8_is_kept_escaped(coupon: Coupon, take: Take) -> None:
    odd = os.fsdecode(b"x\xff.jpg")
    take("a.jpg")
    (Path.cwd() / odd).write_bytes(photo_text(peak_um=31.0))
    take("b.jpg", peak_um=32.0)
    gone = os.fsdecode(b"gone\xff.jpg")
    result = coupon("add", "a.jpg", odd, gone, "b.jpg", *OPTIONS, "--json", "--jobs", "1", status=1)
    names = [json.loads(line)["photo"] for line in result.stdout.splitlines()]
    assert names == ["a.jpg", r"x\udcff.jpg", r"gone\udcff.jpg", "b.jpg"]
    assert [r.photo.name for r in stored()] == ["a.jpg", r"x\udcff.jpg", "b.jpg"]


def test_ctrl_c_says_what_is_kept(coupon: Coupon, take: Take) -> None:
    take("a.jpg")
    take("stop.jpg")
    words = ("add", "a.jpg", "stop.jpg", *OPTIONS, "--jobs", "1")
    result = CliRunner().invoke(main, words, obj=stop_at_the_second)
    assert result.exit_code == 130
    assert result.stderr == ("\nStopped: 1 photo is kept; run the same command again to go on.\n")
    assert [r.photo.name for r in stored()] == ["a.jpg"]
    assert "1 added, 1 already there" in coupon(*words).stdout


def stop_at_the_second(source: Path | bytes, *, name: str, **asked: Any) -> StandInMeasured:
    if name == "stop.jpg":
        raise KeyboardInterrupt
    return measure(source, name=name, **asked)


def test_changed_settings_are_refused_then_updated_and_measured_again(
    coupon: Coupon, take: Take
) -> None:
    take("a.jpg")
    coupon("add", "a.jpg", *OPTIONS)
    changed = ("add", "a.jpg", "--run", "A-01", "--speed", "120")
    refused = coupon(*changed, status=1)
    assert "outer_wall_speed_mm_s 150.0 -> 120.0" in refused.stderr
    assert "--update" in refused.stderr
    assert stored()[0].settings.outer_wall_speed_mm_s == 150
    updated = coupon(*changed, "--update").stdout
    assert "0 added, 1 already there, 1 measured again, 0 failed" in updated
    (record,) = stored()
    assert record.motion.speed_mm_s == 120
    assert record.measurement.modes[0].frequency_hz.value == 40


def test_a_photo_that_keeps_its_old_numbers_after_an_update_fails_the_command(
    coupon: Coupon, take: Take
) -> None:
    take("a.jpg")
    coupon("add", "a.jpg", *OPTIONS)
    changed = ("add", "a.jpg", "--run", "A-01", "--speed", "120", "--update")
    result = CliRunner().invoke(main, changed, obj=find_no_card)
    assert result.exit_code == 1
    assert "a.jpg of run A-01: keeps its old numbers (card-not-found)" in result.stderr
    assert "1 already there, 1 failed" in result.stdout
    as_json = CliRunner().invoke(main, (*changed, "--json"), obj=find_no_card)
    assert as_json.exit_code == 1
    _, again = map(json.loads, as_json.stdout.splitlines())
    assert (again["run"], again["error"]["code"]) == ("A-01", "card-not-found")


def find_no_card(*_: Any, **__: Any) -> StandInMeasured:
    raise CardNotFoundError("No marker of the card was found.")


def test_a_photo_that_comes_back_is_counted(coupon: Coupon, two_runs: None) -> None:
    coupon("delete", "A-01", "--photo", "a1.jpg")
    text = coupon("add", "a1.jpg", "--run", "A-01").stdout
    assert "0 added, 0 already there, 1 brought back, 0 failed" in text


def test_a_listed_run_that_contradicts_the_store_stops_its_photos_alone(
    coupon: Coupon, here: Path, take: Take, two_runs: None
) -> None:
    take("a1.jpg", peak_um=41.0)
    take("b1.jpg", peak_um=11.0)
    (here / "runs.toml").write_text(RUNS_TOML.replace("PLA grey", "PETG"))
    refused = coupon("add", "runs.toml", "--jobs", "1", status=1)
    assert refused.stderr.count("Run A-01 is already there with other settings") == 2
    assert "1 added, 1 already there, 2 failed" in refused.stdout
    assert stored()[0].settings.filament == "PLA grey"
    assert len(stored(run="B-01")) == 3


def test_a_run_none_of_whose_photos_is_measured_is_not_recorded(
    coupon: Coupon, here: Path, take: Take
) -> None:
    take("a1.jpg", fails="card")
    take("b1.jpg")
    take("b2.jpg", face="flow")
    (here / "runs.toml").write_text(RUNS_TOML)
    coupon("add", "runs.toml", "--jobs", "1", status=1)
    with RunStore.open("coupon.db") as store:
        assert [(r.settings.name, r.photos) for r in store.runs()] == [("B-01", 2)]


def test_a_run_without_photos_that_contradicts_the_store_stops_nothing_else(
    coupon: Coupon, here: Path, take: Take, two_runs: None
) -> None:
    text = RUNS_TOML.replace("PLA grey", "PETG").replace('photos = ["a1.jpg", "a2.jpg"]', "")
    (here / "runs.toml").write_text(text.replace("b2.jpg", "b3.jpg"))
    take("b3.jpg", peak_um=12.0)
    refused = coupon("add", "runs.toml", "--jobs", "1", status=1)
    assert "Run A-01: not recorded (store-error)\n  Run A-01 is already there" in refused.stderr
    assert "1 added, 1 already there, 0 failed" in refused.stdout
    first, *_ = coupon("add", "runs.toml", "--json", "--jobs", "1", status=1).stdout.splitlines()
    assert json.loads(first)["run"] == "A-01"
    assert json.loads(first)["error"]["code"] == "store-error"


def test_a_file_leaves_alone_what_is_stored_and_it_leaves_out(
    coupon: Coupon, here: Path, take: Take
) -> None:
    take("a.jpg")
    filament = ("--filament", "PLA grey")
    coupon("add", "a.jpg", *OPTIONS, *filament, "--corner-speed", "20", "--layer-height", "0.12")
    take("a1.jpg", peak_um=12.0)
    take("a2.jpg", face="flow")
    (here / "runs.toml").write_text(RUNS_TOML.split('[[run]]\nname = "B')[0])
    coupon("add", "runs.toml", "--jobs", "1")
    assert {(r.motion.corner_speed_mm_s, r.layer_height_mm) for r in stored()} == {(20, 0.12)}
    assert "Every number is up to date" in coupon("remeasure").stdout


def test_a_deleted_run_added_again_keeps_the_settings_left_out(coupon: Coupon, take: Take) -> None:
    take("a.jpg")
    coupon("add", "a.jpg", *OPTIONS, "--corner-speed", "20", "--layer-height", "0.12")
    coupon("delete", "A-01")
    coupon("add", "a.jpg", *OPTIONS)
    (record,) = stored()
    assert (record.motion.corner_speed_mm_s, record.layer_height_mm) == (20, 0.12)
    assert "Every number is up to date" in coupon("remeasure").stdout


def test_a_photo_of_another_run_is_refused_then_moved(coupon: Coupon, two_runs: None) -> None:
    refused = coupon("add", "a1.jpg", "--run", "B-01", status=1)
    assert "already in run A-01" in refused.stderr
    assert "1 moved" in coupon("add", "a1.jpg", "--run", "B-01", "--move").stdout
    assert [r.photo.name for r in stored(run="A-01")] == ["a2.jpg"]


def test_a_wrong_label_stops_unless_told_to_ignore_it(coupon: Coupon, take: Take) -> None:
    take("a.jpg", run="B-99", axis="x")
    refused = coupon("add", "a.jpg", *OPTIONS, status=1)
    assert "the label says run B-99 but the settings say A-01" in refused.stderr
    coupon("add", "a.jpg", *OPTIONS, "--ignore-label")
    assert stored()[0].settings.name == "A-01"


def test_a_run_may_be_recorded_before_its_photos(coupon: Coupon, here: Path, take: Take) -> None:
    text = RUNS_TOML.replace('photos = ["a1.jpg", "a2.jpg"]', "")
    (here / "runs.toml").write_text(text.replace('photos = ["b1.jpg", "b2.jpg"]', ""))
    result = coupon("add", "runs.toml")
    assert "2 runs in the settings file" in result.stdout
    assert "No photo is listed: a TOML file names a run's photos as photos = [" in result.stderr
    (here / "one.csv").write_text(
        "name,machine,axis,outer_wall_speed_mm_s,accel_mm_s2\nC-01,Cedar,x,150,5000\n"
    )
    assert "1 run in the settings file; photos: 0 added" in coupon("add", "one.csv").stdout
    take("later.jpg", run="A-01", axis="x")
    coupon("add", "later.jpg")
    assert stored()[0].settings.filament == "PLA grey"


@pytest.mark.parametrize(
    ("arguments", "status", "said"),
    [
        (("runs.toml", "--run", "X"), 2, "lists its own"),
        (("a1.jpg", *OPTIONS, "--extra", "belt"), 1, "NAME=VALUE"),
        (("gone.toml",), 1, "gone.toml: cannot be read"),
        (("a1.jpg", *OPTIONS[2:], "--run", "N", "--accel", "0"), 1, "not a possible acceleration"),
    ],
)
def test_what_cannot_be_added_is_told(
    coupon: Coupon, two_runs: None, arguments: tuple[str, ...], status: int, said: str
) -> None:
    result = coupon("add", *arguments, status=status)
    assert said in result.stderr


def test_the_database_is_named_by_option_or_environment(
    coupon: Coupon, take: Take, here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    take("a.jpg")
    coupon("add", "a.jpg", *OPTIONS, "--db", "one.db")
    monkeypatch.setenv("COUPON_DB", "sqlite:///two.db")
    coupon("add", "a.jpg", *OPTIONS)
    assert sorted(p.name for p in here.glob("*.db")) == ["one.db", "two.db"]
