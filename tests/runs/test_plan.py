from dataclasses import dataclass
from typing import Any

import pytest

from scoring.errors import SettingsError
from scoring.motion import Motion
from scoring.runs.plan import (
    Chosen,
    FixedMotion,
    RunPlan,
    WrittenMotion,
    given_settings,
    plan_photos,
)
from scoring.runs.settings import RunSettings


@dataclass(frozen=True)
class Label:
    run: str
    axis: str | None


def run(name: str = "A-01", **more: Any) -> RunSettings:
    return RunSettings.model_validate(
        {"machine": "Alder", "axis": "x", "outer_wall_speed_mm_s": 150, "accel_mm_s2": 5000}
        | {"name": name}
        | more
    )


def test_a_fixed_motion_ignores_the_label() -> None:
    motion = Motion(150, 5000)
    assert FixedMotion(motion, 0.2).choose(Label("B", "y")).motion == motion


def test_a_written_motion_is_read_with_its_units() -> None:
    given = {"outer_wall_speed_mm_s": "9000 mm/min", "accel_mm_s2": "5 m/s^2"}
    assert WrittenMotion(given).choose(None) == Chosen(Motion(150, 5000), None, None)
    more = given | {"corner_speed_mm_s": "8", "layer_height_mm": "300 um"}
    assert WrittenMotion(more).choose(None) == Chosen(Motion(150, 5000, 8), 0.3, None)
    with pytest.raises(SettingsError, match="not a possible acceleration"):
        WrittenMotion(given | {"accel_mm_s2": "-5"}).choose(None)


def test_the_label_chooses_among_known_runs() -> None:
    plan = RunPlan(None, {"A-01": run(), "A-02": run("A-02", accel_mm_s2=9000)}, {})
    assert plan.choose(Label("A-02", "x")).motion.accel_mm_s2 == 9000


def test_a_label_in_capitals_finds_a_run_in_small_letters() -> None:
    settings = RunPlan(None, {"a-01": run("a-01")}, {}).choose(Label("A-01", "x")).settings
    assert settings == run("a-01")


def test_a_name_in_small_letters_is_the_stored_run_s_or_made_capitals() -> None:
    given = {"name": "a-01", "machine": "Birch", "axis": "x"}
    given |= {"outer_wall_speed_mm_s": "100", "accel_mm_s2": "3000"}
    for known, name in (({"A-01": run()}, "A-01"), ({"a-01": run("a-01")}, "a-01"), ({}, "A-01")):
        settings = RunPlan(None, known, given).choose(None).settings
        assert settings is not None
        assert settings.name == name
    (plan,) = plan_photos(
        [run()], runs=[run()], stored={"a-01": run("a-01", nozzle_mm=1)}, given={}
    )
    settings = plan.choose(None).settings
    assert settings is not None
    assert (settings.name, settings.nozzle_mm) == ("a-01", 1)


def test_a_new_run_s_name_must_fit_on_a_label_before_anything_is_measured() -> None:
    given = {"name": "brace test", "machine": "Birch", "axis": "x"}
    given |= {"outer_wall_speed_mm_s": "100", "accel_mm_s2": "3000"}
    with pytest.raises(SettingsError, match=r"'BRACE TEST'.*for example BRACE-TEST"):
        RunPlan(None, {}, given).choose(None)
    known = {"brace test": run("brace test")}
    settings = RunPlan(None, known, given).choose(None).settings
    assert settings is not None
    assert (settings.name, settings.machine) == ("brace test", "Birch")


def test_the_file_s_run_needs_no_label_and_options_win_over_it() -> None:
    chosen = RunPlan(run(layer_height_mm=0.2), {}, {"accel_mm_s2": "9 m/s^2"}).choose(None)
    assert chosen.motion.accel_mm_s2 == 9000
    assert chosen.layer_height_mm == 0.2


def test_what_the_file_leaves_out_of_a_known_run_stays_as_it_is() -> None:
    known = {"A-01": run(corner_speed_mm_s=20, layer_height_mm=0.12, extra={"belt_hz": 92})}
    listed = run(accel_mm_s2=9000, filament=None, extra={"damper": True})
    chosen = RunPlan(listed, known, {"nozzle_mm": "0.4"}).choose(None)
    assert (chosen.motion, chosen.layer_height_mm) == (Motion(150, 9000, 20), 0.12)
    assert chosen.settings is not None
    assert chosen.settings.nozzle_mm == 0.4
    assert chosen.settings.extra == {"belt_hz": 92, "damper": True}


def test_the_file_lies_over_the_store_for_its_own_photos_and_for_labelled_ones() -> None:
    stored = {"A-01": run(corner_speed_mm_s=20), "A-02": run("A-02", corner_speed_mm_s=8)}
    in_file = [run(accel_mm_s2=9000), run("A-03")]
    plans = plan_photos([in_file[0], None], runs=in_file, stored=stored, given={})
    own, labelled = plans[0].choose(None), plans[1].choose(Label("A-01", "x"))
    assert own.motion == labelled.motion == Motion(150, 9000, 20)
    assert plans[1].choose(Label("A-02", "x")).motion == Motion(150, 5000, 8)
    assert plans[1].choose(Label("A-03", "x")).settings == run("A-03")


def test_a_file_s_run_that_does_not_go_with_the_stored_one_stops_its_photos_alone() -> None:
    stored = {"A-01": run(corner_speed_mm_s=20)}
    in_file = [run(outer_wall_speed_mm_s=10), run("A-02")]
    bad, good = plan_photos(in_file, runs=in_file, stored=stored, given={})
    with pytest.raises(SettingsError, match="swapped"):
        bad.choose(None)
    assert good.choose(None).settings == run("A-02")


def test_a_file_s_new_run_must_have_a_name_that_a_label_carries() -> None:
    in_file = [run("brace 2")]
    with pytest.raises(SettingsError, match="for example BRACE-2"):
        plan_photos([None], runs=in_file, stored={}, given={})
    assert plan_photos([None], runs=in_file, stored={"brace 2": run("brace 2")}, given={})


def test_options_with_the_label_s_run_and_axis_make_a_run() -> None:
    given = {"machine": "Birch", "outer_wall_speed_mm_s": 100, "accel_mm_s2": 3000}
    settings = RunPlan(None, {}, given).choose(Label("B-07", "y")).settings
    assert settings is not None
    assert (settings.name, settings.axis, settings.machine) == ("B-07", "y", "Birch")


def test_a_setting_left_to_its_default_stays_so_when_an_option_changes_another() -> None:
    listed = run(extra={"belt_hz": 92})
    given = {"filament": "PLA", "extra": {"damper": True}}
    settings = RunPlan(listed, {}, given).choose(None).settings
    assert settings == run(filament="PLA", extra={"belt_hz": 92, "damper": True})


@pytest.mark.parametrize(
    ("label", "said"),
    [(Label("A-02", "x"), "label says run A-02"), (Label("A-01", "y"), "label says axis y")],
)
def test_a_label_that_contradicts_stops_unless_ignored(label: Label, said: str) -> None:
    with pytest.raises(SettingsError, match=said):
        RunPlan(run(), {}, {}).choose(label)
    assert RunPlan(run(), {}, {}, ignore_label=True).choose(label).settings == run()


def test_nothing_known_says_what_to_give() -> None:
    with pytest.raises(SettingsError, match="no label was read"):
        RunPlan(None, {"A-01": run()}, {}).choose(None)
    with pytest.raises(SettingsError, match=r"nothing is known of run 'A-1' \(did you mean A-01"):
        RunPlan(None, {"A-01": run()}, {}).choose(Label("A-1", "x"))
    with pytest.raises(SettingsError, match="axis: missing"):
        RunPlan(
            None,
            {},
            {"name": "C", "machine": "Alder", "outer_wall_speed_mm_s": 1, "accel_mm_s2": 1},
        ).choose(None)


def test_given_settings_are_those_that_were_given() -> None:
    options: dict[str, Any] = {"machine": "Alder", "filament": None, "extra": {}, "as_json": True}
    assert given_settings(options) == {"machine": "Alder"}
