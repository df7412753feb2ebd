import datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.errors import SettingsError
from scoring.runs.settings import (
    LIMITS,
    SETTING_NAMES,
    WORDS,
    RunSettings,
    closest_name,
    differences,
    format_setting,
    heading,
    lay_over,
)

LEAST: dict[str, Any] = {
    "name": "A-01",
    "machine": "Alder",
    "axis": "x",
    "outer_wall_speed_mm_s": 150,
    "accel_mm_s2": 5000,
}


def settings(**more: Any) -> RunSettings:
    return RunSettings.model_validate(LEAST | more)


def test_defaults_say_stock_and_not_known() -> None:
    run = settings()
    assert run.setup == "stock"
    assert run.filament is None
    assert run.motion.accel_mm_s2 == 5000


def test_units_are_converted_and_text_is_trimmed() -> None:
    run = settings(
        machine="  Birch ", axis=" X", outer_wall_speed_mm_s="9000 mm/min", printed_on="2026-03-02"
    )
    assert (run.machine, run.axis, run.outer_wall_speed_mm_s) == ("Birch", "x", 150.0)
    assert run.printed_on == datetime.date(2026, 3, 2)


@pytest.mark.parametrize("name", sorted(LIMITS))
def test_every_number_has_limits_on_both_sides(name: str) -> None:
    limits = LIMITS[name]
    with pytest.raises(SettingsError, match=f"{name}: .*must be"):
        settings(**{name: limits.least - 1})
    with pytest.raises(SettingsError, match=f"{name}: .*at most"):
        settings(**{name: limits.most * 1.01})


@pytest.mark.parametrize("name", ["outer_wall_speed_mm_s", "accel_mm_s2", "layer_height_mm"])
@pytest.mark.parametrize("value", [0, -5, "0 m", float("inf")])
def test_zero_negative_and_endless_are_refused(name: str, value: object) -> None:
    with pytest.raises(SettingsError, match=name):
        settings(**{name: value})


def test_a_corner_faster_than_the_cruise_is_refused() -> None:
    with pytest.raises(SettingsError, match="swapped"):
        settings(corner_speed_mm_s=200)


@pytest.mark.parametrize(
    ("unknown", "meant"),
    [
        ("acel_mm_s2", "accel_mm_s2"),
        ("accel", "accel_mm_s2"),
        ("nozzle_temp", "nozzle_temp_c"),
        ("Machine", "machine"),
    ],
)
def test_an_unknown_key_gets_the_closest_name(unknown: str, meant: str) -> None:
    with pytest.raises(SettingsError, match=f"{unknown}: no such setting; did you mean {meant}"):
        settings(**{unknown: 1})


def test_everything_wrong_is_told_at_once() -> None:
    with pytest.raises(SettingsError) as caught:
        RunSettings.model_validate({"name": "A", "axis": "z", "accel_mm_s2": 0, "colour": "red"})
    for name in ("machine", "axis", "accel_mm_s2", "outer_wall_speed_mm_s", "colour"):
        assert f"{name}: " in str(caught.value)


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("axis", "z", "axis: must be x or y, not 'z'."),
        ("printed_on", "02.03.2026", "printed_on: a date is written 2026-03-02, not '02.03.2026'."),
        ("filament", 5, "filament: must be a text, in quotation marks, not 5."),
    ],
)
def test_what_does_not_fit_is_told_in_plain_words(name: str, value: object, said: str) -> None:
    with pytest.raises(SettingsError) as caught:
        settings(**{name: value})
    assert str(caught.value) == said


@pytest.mark.parametrize("name", ["", " ", "x" * 65, "A\n1", "A\x1b[2J"])
def test_a_name_is_short_and_printable(name: str) -> None:
    with pytest.raises(SettingsError, match="name"):
        settings(name=name)


def test_extra_holds_numbers_texts_and_truths_only() -> None:
    assert settings(extra={"damper": True, "belt_hz": 92.5}).extra["belt_hz"] == 92.5
    for wrong in ([1, 2], None, float("nan"), float("inf")):
        with pytest.raises(SettingsError, match="extra: 'belt'"):
            settings(extra={"belt": wrong})


def test_differences_name_each_changed_setting() -> None:
    old = settings(extra={"belt_hz": 90, "damper": True})
    new = settings(accel_mm_s2=6000, extra={"belt_hz": 95, "damper": True})
    assert [str(d) for d in differences(old, new)] == [
        "accel_mm_s2 5000.0 -> 6000.0",
        "extra.belt_hz 90 -> 95",
    ]
    assert differences(old, old) == ()


def test_every_setting_can_be_shown() -> None:
    run = settings(nozzle_temp_c=215, flow_ratio=0.98)
    assert format_setting(run, "accel_mm_s2") == "5000 mm/s²"
    assert format_setting(run, "nozzle_temp_c") == "215 °C"
    assert format_setting(run, "flow_ratio") == "0.98"
    assert format_setting(run, "filament") == ""
    assert format_setting(run, "accel_mm_s2", unit=False) == "5000"
    assert heading("accel_mm_s2") == "acceleration\nmm/s²"
    assert heading("flow_ratio") == "flow\nratio"
    assert {*SETTING_NAMES} == {*WORDS, "name", "extra"}


@pytest.mark.parametrize("accel_mm_s2", [12345.67, 0.1 + 0.2, 1e-7, 123456.0])
def test_a_shown_number_read_again_is_the_same(accel_mm_s2: float) -> None:
    shown = format_setting(settings(accel_mm_s2=accel_mm_s2, corner_speed_mm_s=0), "accel_mm_s2")
    assert settings(accel_mm_s2=shown).accel_mm_s2 == pytest.approx(accel_mm_s2, rel=1e-11)
    bare = shown.removesuffix(" mm/s²")
    assert settings(accel_mm_s2=bare).accel_mm_s2 == accel_mm_s2


def test_what_new_settings_leave_out_stays() -> None:
    old = settings(
        corner_speed_mm_s=20, layer_height_mm=0.12, extra={"belt_hz": 92, "damper": True}
    )
    new = settings(accel_mm_s2=6000, layer_height_mm=None, extra={"belt_hz": 95})
    laid = lay_over(old, new)
    assert (laid.accel_mm_s2, laid.corner_speed_mm_s, laid.layer_height_mm) == (6000, 20, 0.12)
    assert laid.extra == {"belt_hz": 95, "damper": True}
    with pytest.raises(SettingsError, match="swapped"):
        lay_over(old, settings(outer_wall_speed_mm_s=10))


def test_no_near_name_gives_none() -> None:
    assert closest_name("zzz", SETTING_NAMES) is None


@given(
    speed=st.floats(1, 500),
    accel=st.floats(100, 30000),
    temp=st.one_of(st.none(), st.floats(150, 400)),
    extra=st.dictionaries(st.text(min_size=1, max_size=8), st.booleans() | st.floats(-1e9, 1e9)),
)
def test_settings_survive_json(
    speed: float, accel: float, temp: float | None, extra: dict[str, bool | float]
) -> None:
    run = settings(
        outer_wall_speed_mm_s=speed,
        accel_mm_s2=accel,
        corner_speed_mm_s=0.5,
        nozzle_temp_c=temp,
        extra=extra,
    )
    again = RunSettings.model_validate_json(run.model_dump_json())
    assert differences(run, again) == ()
