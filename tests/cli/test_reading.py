"""``runs``, ``show``, ``rank``, ``export`` and ``remeasure`` on a store of two runs."""

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from click.testing import Result

from scoring.measurement import METHOD_VERSION
from scoring.store.run_store import RunStore
from tests.cli.conftest import RUNS_TOML

Coupon = Callable[..., Result]


def lines(result: Result) -> list[dict[str, Any]]:
    return [json.loads(line) for line in result.stdout.splitlines()]


pytestmark = pytest.mark.usefixtures("two_runs")


def test_runs_lists_and_filters(coupon: Coupon) -> None:
    text = coupon("runs").stdout
    alder, _ = text.splitlines()[-2:]
    assert alder.split()[:6] == ["A-01", "Alder", "stock", "x", "150", "5000"]
    (birch,) = lines(coupon("runs", "--machine", "birch", "--json"))
    assert birch["settings"]["extra"] == {"belt_hz": 92}
    assert (birch["photos"], birch["faces"]) == (2, ["ringdown", "flow"])


def test_an_unknown_machine_is_told_with_the_nearest(coupon: Coupon) -> None:
    for command in ("runs", "rank"):
        result = coupon(command, "--machine", "Aldr", status=1)
        assert "there is Alder, Birch. Did you mean Alder?" in result.stderr


def test_show_has_settings_photos_and_numbers(coupon: Coupon) -> None:
    text = coupon("show", "B-01").stdout
    for part in ("Run B-01", "5000 mm/s²", "belt_hz", "b1.jpg: ring-down face", "gap_fraction"):
        assert part in text
    (said,) = lines(coupon("show", "B-01", "--json"))
    assert [p["measurement"]["photo"] for p in said["photos"]] == ["b1.jpg", "b2.jpg"]
    assert "Did you mean A-01" in coupon("show", "A-1", status=1).stderr


def test_show_combines_several_photos_of_a_face(coupon: Coupon, take: Callable[..., Path]) -> None:
    take("more.jpg", run="A-01", axis="x", peak_um=42.0)
    coupon("add", "more.jpg")
    assert "All 3 photos together" in coupon("show", "A-01").stdout


def test_rank_puts_the_best_first_with_settings_beside(coupon: Coupon) -> None:
    text = coupon("rank", "--by", "ripple_peak_um").stdout
    *head, _, first, second = text.split("\n\n")[1].splitlines()
    assert head[0].split()[:3] == ["rank", "run", "machine"]
    assert "µm" in head[1]
    assert first.split()[:3] == ["1", "B-01", "Birch"]
    assert second.split()[:3] == ["2", "A-01", "Alder"]
    assert "acceleration 5000 mm/s²" in text.splitlines()[1]
    (best, _) = lines(coupon("rank", "--by", "gap_fraction", "--json"))
    assert (best["rank"], best["run"], best["by"]) == (1, "A-01", "gap_fraction")
    assert best["settings"]["machine"] == "Alder"
    assert best["value"]["value"] == pytest.approx(0.01)


def test_rank_by_score_of_one_face_or_with_other_weights(coupon: Coupon, here: Path) -> None:
    assert [r["run"] for r in lines(coupon("rank", "--face", "ringdown", "--json"))] == [
        "B-01",
        "A-01",
    ]
    weights = here / "weights.toml"
    weights.write_text("[metrics.gap_fraction]\nweight = 1\nreference = 0.01\n")
    best = lines(coupon("rank", "--weights", "weights.toml", "--json"))[0]
    assert (best["run"], best["value"]["value"]) == ("A-01", pytest.approx(50))
    assert "did you mean gap_fraction" in coupon("rank", "--by", "gap_fracton", status=1).stderr


def test_a_run_may_be_named_in_small_letters(coupon: Coupon, here: Path) -> None:
    assert coupon("show", "a-01").stdout == coupon("show", "A-01").stdout
    small = RUNS_TOML.replace("A-01", "a-01").replace("B-01", "b-01")
    (here / "runs.toml").write_text(small)
    assert "4 already there" in coupon("add", "runs.toml", "--jobs", "1").stdout
    coupon("delete", "a-01", "--photo", "a1.jpg")
    coupon("restore", "a-01", "--photo", "a1.jpg")
    coupon("delete", "a-01")
    assert "Run A-01 (2 photos) is back" in coupon("restore", "a-01").stdout


def test_a_run_without_a_face_is_listed_apart(coupon: Coupon, take: Callable[..., Path]) -> None:
    take("c.jpg")
    coupon(
        "add", "c.jpg", "--run", "C-01", "--machine", "Cedar", "--axis", "y",
        "--speed", "150", "--accel", "5000",
    )  # fmt: skip
    assert "Not ranked:\n  C-01: no photo of the flow face" in coupon("rank").stdout
    assert "C-01" not in coupon("rank", "--axis", "x").stdout


def test_export_writes_the_same_numbers_as_csv_and_parquet(coupon: Coupon, here: Path) -> None:
    assert "4 photos written to all.csv" in coupon("export", "all.csv").stdout
    coupon("export", "all.parquet", "--machine", "Birch")
    with io.StringIO((here / "all.csv").read_text("utf-8-sig")) as text:
        rows = list(csv.DictReader(text))
    assert [r["photo"] for r in rows] == ["a1.jpg", "a2.jpg", "b1.jpg", "b2.jpg"]
    assert float(rows[0]["ripple_peak_um"]) == 40
    assert rows[0]["gap_fraction"] == ""
    table = pd.read_parquet(here / "all.parquet")
    assert list(table["photo"]) == ["b1.jpg", "b2.jpg"]
    assert table["mode1_frequency_hz"].iloc[0] == 50
    assert table["extra.belt_hz"].iloc[0] == 92
    assert "as .csv or .parquet" in coupon("export", "all.xlsx", status=1).stderr
    for words in (("export", "no/all.csv"), ("limits", "--csv", "no/all.csv")):
        assert "no/all.csv cannot be written" in coupon(*words, status=1).stderr
    assert not list(here.glob("*.part"))


def make_stale() -> None:
    with RunStore.open("coupon.db") as store:
        for record in store.measurements(run="A-01"):
            old = {**record.measurement.__dict__, "method_version": "0"}
            store.replace_measurement(
                record.photo.sha256,
                type(record.measurement)(**old),
                b"",
                motion=record.motion,
                layer_height_mm=None,
            )


def test_remeasure_brings_old_numbers_up_to_date(coupon: Coupon) -> None:
    assert coupon("remeasure").stdout == "Every number is up to date.\n"
    make_stale()
    assert "A-01*" in coupon("rank", "--by", "ripple_peak_um").stdout
    assert "out of date: measured by method 0" in coupon("show", "A-01").stdout
    assert "2 measured again, 0 kept" in coupon("remeasure", "--jobs", "1").stdout
    with RunStore.open("coupon.db") as store:
        assert {r.measurement.method_version for r in store.measurements()} == {METHOD_VERSION}
    again = lines(coupon("remeasure", "B-01", "--all", "--json", "--jobs", "1"))
    assert [(o["photo"], o["run"]) for o in again] == [("b1.jpg", "B-01"), ("b2.jpg", "B-01")]
    assert "no run 'X'" in coupon("remeasure", "X", status=1).stderr
