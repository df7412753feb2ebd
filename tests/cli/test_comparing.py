"""compare, limits and repeatability from the command line."""

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

Coupon = Callable[..., Result]


@pytest.fixture
def ladder(here: Path, take: Callable[..., Path], coupon: Coupon) -> None:
    """Alder at three accelerations, stock and with a brace; the brace's ripple is 0.4 times it."""
    lines = []
    for setup, ratio in (("stock", 1.0), ("=brace", 0.4)):
        for accel in (1000, 5000, 10000):
            name = f"{setup.strip('=').upper()}-{accel}"
            photo = take(f"{name}.jpg", peak_um=ratio * accel / 200)
            lines.append(
                f'[[run]]\nname = "{name}"\nmachine = "Alder"\nsetup = "{setup}"\naxis = "x"\n'
                f"outer_wall_speed_mm_s = 150\naccel_mm_s2 = {accel}\nphotos = ['{photo.name}']\n"
            )
    (here / "ladder.toml").write_text("\n".join(lines))
    coupon("add", "ladder.toml", "--jobs", "1")


SIDES = ("compare", "--before", "stock", "--after", "=brace")


@pytest.mark.usefixtures("ladder")
def test_compare_says_what_it_found(coupon: Coupon) -> None:
    out = " ".join(coupon(*SIDES).output.split())
    assert out.startswith("Setup: =brace against stock. Nothing else that is given differs")
    assert "The setup =brace lowered the ripple peak by 60" in out
    assert "from 3 pairs of prints" in out
    assert out.index("Know first:") < out.index("The setup =brace lowered")


@pytest.mark.usefixtures("ladder")
def test_compare_as_json_has_doubts_first(coupon: Coupon) -> None:
    found = json.loads(coupon(*SIDES, "--json").output)
    assert list(found)[:3] == ["confounders", "remarks", "verdict"]
    peak = next(e for e in found["overall"] if e["metric"] == "ripple_peak_um")
    assert peak["value"] == pytest.approx(0.4)
    assert peak["outcome"] == "lower"
    assert len(found["pairs"]) == 3


@pytest.mark.usefixtures("ladder")
def test_compare_as_csv_is_defused(coupon: Coupon, here: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(coupon(*SIDES, "--csv").output)))
    assert {row["after"] for row in rows} == {"'=brace"}
    coupon(*SIDES, "--metric", "ripple_peak_um", "--csv", "effects.csv")
    with (here / "effects.csv").open(encoding="utf-8-sig", newline="") as file:
        assert len(list(csv.DictReader(file))) == 1 + 3


@pytest.mark.usefixtures("ladder")
def test_compare_lists_the_sides_there_are(coupon: Coupon) -> None:
    for arguments in (["compare"], ["compare", "--before", "stock", "--after", "braces"]):
        error = coupon(*arguments, status=1).stderr
        assert "=brace" in error
        assert "stock" in error
    assert "did you mean setup" in coupon("compare", "--factor", "setpu", status=1).stderr


@pytest.mark.usefixtures("ladder")
def test_compare_pairs_on_what_is_asked(coupon: Coupon) -> None:
    found = json.loads(coupon(*SIDES, "--pair-on", "machine, axis", "--json").output)
    assert found["paired_on"] == ["machine", "axis"]
    assert found["overall"][0]["pairs"] == 1
    assert [c["name"] for c in found["confounders"]] == []
    out = " ".join(coupon(*SIDES, "--pair-on", "setup").output.split())
    assert "Pairs share nothing: all prints of one side stand against all" in out


@pytest.mark.usefixtures("ladder")
def test_limits_of_one_s_own(coupon: Coupon) -> None:
    out = coupon("limits", "--limit", "ripple_peak_um=15").output
    assert "Ripple peak at most 15 µm: passes up to 1000 mm/s²" in " ".join(out.split())
    lines = coupon("limits", "--limit", "ripple_peak_um=15 um", "--json").output.splitlines()
    found = {(o := json.loads(line))["group"]["setup"]: o for line in lines}
    assert found["stock"]["highest_mm_s2"] == 1000
    assert found["=brace"]["highest_mm_s2"] == 5000
    rows = list(csv.DictReader(io.StringIO(coupon("limits", "--csv").output)))
    assert {row["reach"] for row in rows} == {"found", "not measured"}
    assert "better lower" in coupon("limits", "--limit", "speed=3", status=1).stderr


@pytest.mark.usefixtures("two_runs")
def test_repeatability_asks_for_repeats(coupon: Coupon) -> None:
    out = coupon("repeatability").output
    assert "nothing was repeated" in " ".join(out.split())
    found = json.loads(coupon("repeatability", "--metric", "gap_fraction", "--json").output)
    assert found["photo"]["sd"] is None
    rows = list(csv.DictReader(io.StringIO(coupon("repeatability", "--csv").output)))
    assert rows[0]["metric"] == "ripple_peak_um"


@pytest.mark.usefixtures("two_runs")
def test_a_mistyped_metric_is_told_with_those_it_may_mean(coupon: Coupon, here: Path) -> None:
    (here / "who.csv").write_text("photo,person\na1.jpg,A\n")
    for words in (
        ("repeatability",),
        ("repeatability", "--persons", "who.csv"),
        ("compare", "--factor", "machine", "--before", "Alder", "--after", "Birch"),
    ):
        result = coupon(*words, "--metric", "ripple", status=1)
        assert "did you mean ripple_peak_um, ripple_rms_um or" in result.stderr


def test_repeatability_with_repeats(coupon: Coupon, take: Callable[..., Path], here: Path) -> None:
    who = ["photo,person"]
    for run in ("R1", "R2", "R3"):
        for shot in range(4):
            peak = 30 + 5 * int(run[1]) + 0.3 * shot
            photo = take(f"{run}-{shot}.jpg", peak_um=peak)
            who.append(f"{photo.name},{'AB'[shot % 2]}")
            coupon(
                "add", str(photo), "--run", run, "--machine", "Alder", "--axis", "x", "--speed",
                "150", "--accel", "5000", "--jobs", "1",
            )  # fmt: skip
    out = " ".join(coupon("repeatability", "--metric", "ripple_peak_um").output.split())
    assert "Print more coupons" in out
    (here / "who.csv").write_text("\n".join(who))
    study = ("repeatability", "--metric", "ripple_peak_um", "--persons", "who.csv")
    assert "distinct categories" in coupon(*study).output
    assert json.loads(coupon(*study, "--json").output)["metric"] == "ripple_peak_um"
    assert "ss_person" in coupon(*study, "--csv").output


@pytest.mark.usefixtures("two_runs")
def test_export_defuses_formulas(coupon: Coupon, take: Callable[..., Path], here: Path) -> None:
    photo = take("=x.jpg")
    coupon(
        "add", str(photo), "--run", "C-01", "--machine", "+Cedar", "--axis", "x", "--speed", "150",
        "--accel", "5000", "--notes", "-2+3", "--extra", "feet=@soft", "--jobs", "1",
    )  # fmt: skip
    coupon("export", "all.csv")
    with (here / "all.csv").open(encoding="utf-8-sig", newline="") as file:
        row = next(r for r in csv.DictReader(file) if r["run"] == "C-01")
    assert row["machine"] == "'+Cedar"
    assert row["notes"] == "'-2+3"
    assert row["photo"] == "'=x.jpg"
    assert row["extra.feet"] == "'@soft"
    assert row["accel_mm_s2"] == "5000.0"
