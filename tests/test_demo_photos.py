"""The demo's own photos through the real measurement, against the truth they were made from."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from scoring.cli.main import main
from scoring.demo import SETTINGS_FILE, find_demo_photos
from scoring.runs.settings_file import settings_from_toml


def call(*arguments: str) -> list[dict[str, object]]:
    result = CliRunner().invoke(main, [*arguments, "--json"], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_the_brace_is_seen_to_reduce_ghosting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two photos, their runs named by the labels in them: ``add runs.toml``, ``add``, ``rank``,
    ``compare``.

    The truth beside each photo is what the path tracer was given; within 8 % or 0.8 µm, and the
    ratio of both in its interval.
    """
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("COUPON_DB", raising=False)
    folder = find_demo_photos()
    runs = {
        run.settings.setup: run
        for run in settings_from_toml(folder / SETTINGS_FILE)
        if run.settings.machine == "Alder" and run.settings.accel_mm_s2 == 20000
    }
    photos = {setup: run.photos[0] for setup, run in runs.items()}
    text = (folder / SETTINGS_FILE).read_text("utf-8")
    without_photos = [line for line in text.splitlines() if not line.startswith("photos")]
    (tmp_path / SETTINGS_FILE).write_text("\n".join(without_photos), "utf-8")
    assert call("add", SETTINGS_FILE) == []
    added = call("add", *map(str, photos.values()), "--jobs", "1")
    assert [a["run"] for a in added] == [run.settings.name for run in runs.values()]

    ranked = call("rank", "--by", "ripple_peak_um")
    assert [(r["rank"], r["run"]) for r in ranked] == [
        (1, runs["brace"].settings.name),
        (2, runs["stock"].settings.name),
    ]
    assert [r["out_of_date"] for r in ranked] == [False, False]
    truths = {
        setup: json.loads(photo.with_suffix(".json").read_text())["ripple_peak_um"]
        for setup, photo in photos.items()
    }
    for setup, row in zip(("brace", "stock"), ranked, strict=True):
        truth = truths[setup]
        value = row["value"]
        assert isinstance(value, dict)
        assert value["value"] == pytest.approx(truth, rel=0.08, abs=0.8)

    sides = ("--before", "stock", "--after", "brace")
    (found,) = call("compare", *sides, "--metric", "ripple_peak_um")
    overall = found["overall"]
    assert isinstance(overall, list)
    assert overall[0]["low"] <= truths["brace"] / truths["stock"] <= overall[0]["high"]
    assert "brace lowered the ripple peak" in str(found["verdict"])
