from typing import Any

from scoring.runs.settings import RunSettings
from scoring.runs.varying import Variation, find_variation


def run(**more: Any) -> RunSettings:
    least = {"machine": "Alder", "axis": "x", "outer_wall_speed_mm_s": 150, "accel_mm_s2": 5000}
    return RunSettings.model_validate({"name": "A-01"} | least | more)


def test_settings_that_differ_are_told_from_those_alike() -> None:
    found = find_variation([run(nozzle_mm=0.4), run(accel_mm_s2=9000, nozzle_mm=0.4)])
    assert found.differ == ("machine", "accel_mm_s2")
    assert "nozzle_mm" in found.alike
    assert "nozzle_temp_c" not in found.differ + found.alike


def test_a_setting_known_of_one_run_alone_differs() -> None:
    assert "nozzle_mm" in find_variation([run(), run(nozzle_mm=0.4)]).differ


def test_notes_and_dates_are_left_out() -> None:
    found = find_variation([run(notes="a", printed_on="2026-03-02"), run(notes="b")])
    assert not {"notes", "printed_on"} & {*found.differ, *found.alike}


def test_no_run_has_no_settings() -> None:
    assert find_variation([]) == Variation((), ())
