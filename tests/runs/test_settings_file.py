from pathlib import Path

import pytest

from scoring.errors import SettingsError
from scoring.runs.settings_file import (
    number_if_one,
    settings_from_csv,
    settings_from_file,
    settings_from_toml,
)

TOML = """
[[run]]
name = "A-01"
machine = "Alder"
axis = "x"
outer_wall_speed_mm_s = "9000 mm/min"
accel_mm_s2 = 5000
printed_on = 2026-03-02
photos = ["a.jpg", "sub/b.jpg"]
[run.extra]
belt_hz = 92

[[run]]
name = "B-01"
machine = "Birch"
axis = "y"
outer_wall_speed_mm_s = 150
accel_mm_s2 = "5 m/s^2"
"""
CSV = """photo,name,machine,axis,outer_wall_speed_mm_s,accel_mm_s2,filament,extra.belt_hz
a.jpg,A-01,Alder,x,150,5 m/s^2,,92
b.jpg,A-01,Alder,x,9000 mm/min,5000,,92
,B-01,Birch,y,150,5000,PLA grey,
"""


def write(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_toml_gives_runs_and_photos_beside_the_file(tmp_path: Path) -> None:
    first, second = settings_from_toml(write(tmp_path, "runs.toml", TOML))
    assert first.settings.outer_wall_speed_mm_s == 150
    assert first.settings.extra == {"belt_hz": 92}
    assert first.photos == (tmp_path / "a.jpg", tmp_path / "sub/b.jpg")
    assert (second.settings.accel_mm_s2, second.photos) == (5000, ())


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_csv_gives_the_same_runs(tmp_path: Path, delimiter: str) -> None:
    text = "\ufeff" + CSV.replace(",", delimiter)  # as spreadsheets save it, with a byte-order mark
    first, second = settings_from_csv(write(tmp_path, "runs.csv", text))
    assert first.photos == (tmp_path / "a.jpg", tmp_path / "b.jpg")
    assert (first.settings.accel_mm_s2, first.settings.extra) == (5000, {"belt_hz": 92})
    assert first.settings.filament is None
    assert (second.settings.filament, second.photos) == ("PLA grey", ())


@pytest.mark.parametrize("break_", ["\n", "\u2028", "\x0b"])
def test_a_note_may_hold_any_kind_of_line_break(tmp_path: Path, break_: str) -> None:
    note = f"first line{break_}second line"
    text = CSV.replace("filament", "notes").replace("PLA grey", f'"{note}"')
    _, second = settings_from_csv(write(tmp_path, "runs.csv", text))
    assert second.settings.notes == note


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (TOML.replace("accel_mm_s2 = 5000", "acel_mm_s2 = 5"), r"run 1 \(A-01\).*accel_mm_s2"),
        (TOML.replace('"5 m/s^2"', '"5 furlongz"'), r"run 2 \(B-01\): accel_mm_s2: .*furlongz"),
        (TOML.replace('"B-01"', '"A-01"'), "A-01 stands there twice"),
        (TOML.replace('"sub/b.jpg"', "3"), r"run 1 \(A-01\): photos"),
        (TOML.replace("accel_mm_s2 = 5000", "accel_mm_s2 = 0"), "must be above 0"),
        (TOML + "[[ron]]\n", "ron: unknown"),
        ("[run]\nname = 'A'\n", "double brackets"),
        ("", "no run in it"),
        ("[[run", "not valid TOML"),
    ],
)
def test_a_wrong_toml_names_file_run_and_key(tmp_path: Path, text: str, said: str) -> None:
    path = write(tmp_path, "runs.toml", text)
    with pytest.raises(SettingsError, match=said) as caught:
        settings_from_toml(path)
    assert str(path) in str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (CSV.replace("5 m/s^2", "-5"), "row 2: accel_mm_s2"),
        (CSV.replace("9000 mm/min", "90"), "row 3: outer_wall_speed_mm_s: run A-01 has 150.0 in"),
        (CSV.replace("b.jpg", "a.jpg"), "a.jpg is listed for A-01 and for A-01"),
        (CSV.replace("filament", "colour"), "row 4: colour: no such setting"),
        (CSV.replace("B-01,Birch", ",Birch"), "row 4: name: missing"),
        (CSV.replace(",PLA grey,", ",PLA, grey,,"), "row 4: more cells"),
        ("photo,name\n", "no run in it"),
    ],
)
def test_a_wrong_csv_names_file_row_and_column(tmp_path: Path, text: str, said: str) -> None:
    path = write(tmp_path, "runs.csv", text)
    with pytest.raises(SettingsError, match=said) as caught:
        settings_from_csv(path)
    assert str(path) in str(caught.value)


def test_named_values_are_numbers_where_they_can_be() -> None:
    assert [number_if_one(t) for t in ("92", "-1e3", "glass", "nan")] == [92, -1000, "glass", "nan"]


def test_an_unknown_suffix_and_an_absent_file_are_told(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match=r"\.toml or \.csv"):
        settings_from_file(tmp_path / "runs.xlsx")
    with pytest.raises(SettingsError, match="cannot be read"):
        settings_from_file(tmp_path / "runs.toml")
    latin = tmp_path / "runs.csv"
    latin.write_bytes("photo,näme\n".encode("latin-1"))
    with pytest.raises(SettingsError, match="UTF-8"):
        settings_from_file(latin)
