import json
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from scoring.cli.measured_text import describe_measurement
from scoring.motion import Motion
from tests.stand_in_measure import measure, photo_text

Coupon = Callable[..., Result]
Take = Callable[..., Path]
PAIR = Path(__file__).parents[2] / "reference_images" / "pair"
MOTION = ("--speed", "150", "--accel", "5000", "--corner-speed", "5")


def objects(result: Result) -> list[dict[str, Any]]:
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_one_json_object_a_line_a_photo_each(coupon: Coupon, take: Take) -> None:
    take("a.jpg", run="B7-012", axis="x")
    take("b.jpg", face="flow")
    first, second = objects(coupon("measure", "a.jpg", "b.jpg", *MOTION, "--json"))
    assert list(first) == [
        "photo", "face", "run", "axis", "registration", "metrics", "modes", "flags",
    ]  # fmt: skip
    assert (first["photo"], first["run"], first["axis"]) == ("a.jpg", "B7-012", "x")
    assert set(first["metrics"]["ripple_peak_um"]) == {"value", "low", "high"}
    assert set(first["modes"][0]) == {
        "envelope_um", "frequency_hz", "damping_ratio", "wavelength_mm",
    }  # fmt: skip
    assert (second["face"], second["run"], second["axis"]) == ("flow", None, None)
    assert second["flags"] == ["label-unread"]


def test_a_bad_photo_is_told_the_others_are_measured_and_the_status_is_1(
    coupon: Coupon, take: Take
) -> None:
    take("a.jpg", fails="card")
    take("b.jpg")
    said = objects(coupon("measure", "a.jpg", "gone.jpg", "b.jpg", *MOTION, "--json", status=1))
    assert said[0]["photo"] == "a.jpg"
    assert said[0]["error"]["code"] == "card-not-found"
    assert "Photograph the whole card" in said[0]["error"]["message"]
    assert said[1]["error"]["code"] == "photo-unreadable"
    assert said[2]["face"] == "ringdown"


def test_a_photo_that_may_not_be_read_stops_no_other(
    coupon: Coupon, take: Take, monkeypatch: pytest.MonkeyPatch
) -> None:
    hidden, shown = take("hidden.jpg"), take("shown.jpg")
    allowed = os.access
    monkeypatch.setattr(
        os, "access", lambda path, mode: path != str(hidden) and allowed(path, mode)
    )
    real = Path.read_bytes

    def read(path: Path) -> bytes:
        if path == hidden:
            raise PermissionError(13, "Permission denied")
        return real(path)

    monkeypatch.setattr(Path, "read_bytes", read)
    words = ("measure", str(hidden), str(shown), *MOTION, "--json", "--jobs", "1")
    said = objects(coupon(*words, status=1))
    assert said[0]["error"]["code"] == "photo-unreadable"
    assert said[1]["face"] == "ringdown"


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("--speed", "0", "outer-wall speed"),
        ("--speed", "-5", "outer-wall speed"),
        ("--accel", "nan", "no number"),
        ("--accel", "5 furlongz", "not a known unit"),
        ("--corner-speed", "200", "swapped"),
        ("--layer-height", "0", "layer height"),
    ],
)
def test_absurd_settings_are_a_typed_error(
    coupon: Coupon, take: Take, option: str, value: str, said: str
) -> None:
    take("a.jpg")
    (error,) = objects(coupon("measure", "a.jpg", *MOTION, option, value, "--json", status=1))
    assert error["error"]["code"] == "bad-settings"
    assert said in error["error"]["message"]


def test_units_may_be_written(coupon: Coupon, take: Take) -> None:
    take("a.jpg")
    written = ("--speed", "9000 mm/min", "--accel", "5 m/s^2")
    assert (
        coupon("measure", "a.jpg", *written, "--json").stdout
        == coupon("measure", "a.jpg", *MOTION, "--json").stdout
    )


def test_the_text_names_metrics_intervals_and_units(coupon: Coupon, take: Take) -> None:
    take("a.jpg", peak_um=30.0)
    text = coupon("measure", "a.jpg", *MOTION).stdout
    assert "a.jpg: ring-down face, no label read" in text
    (row,) = [line for line in text.splitlines() if "ripple_peak_um" in line]
    assert row.split() == ["ripple_peak_um", "30.0", "28.5", "to", "31.5", "µm"]
    assert "mode 1 frequency_hz" in text
    assert "label-unread: No label was read" in text


def test_a_failure_in_text_goes_with_its_advice(coupon: Coupon, take: Take) -> None:
    take("a.jpg", fails="card")
    result = coupon("measure", "a.jpg", *MOTION, status=1)
    assert "a.jpg: not measured (card-not-found)\n  No marker" in result.stdout
    assert result.stderr == "1 of 1 photos could not be measured.\n"


def test_faces_are_written_and_never_over_each_other(
    coupon: Coupon, take: Take, here: Path
) -> None:
    (here / "more").mkdir()
    take("a.jpg")
    take("more/a.jpg")
    take("bad.jpg", fails="card")
    coupon("measure", "a.jpg", "more/a.jpg", "bad.jpg", *MOTION, "--crop", "faces", status=1)
    assert {p.name: p.read_bytes() for p in (here / "faces").iterdir()} == {
        "a.jpg": b"face of a.jpg",
        "a-2.jpg": b"face of more/a.jpg",
    }


def test_the_face_asked_for_must_be_the_one_shown(coupon: Coupon, take: Take) -> None:
    take("a.jpg")
    result = coupon("measure", "a.jpg", *MOTION, "--face", "flow", "--json", status=1)
    assert objects(result)[0]["error"]["code"] == "wrong-face"


def test_without_speed_or_acceleration_it_says_what_to_give(coupon: Coupon, take: Take) -> None:
    take("a.jpg")
    assert "'--accel'" in coupon("measure", "a.jpg", "--speed", "150", status=2).stderr


def test_a_settings_file_gives_photos_and_motion(coupon: Coupon, two_runs: None) -> None:
    said = objects(coupon("measure", "runs.toml", "--json", "--jobs", "1"))
    assert [Path(o["photo"]).name for o in said] == ["a1.jpg", "a2.jpg", "b1.jpg", "b2.jpg"]
    faster = objects(coupon("measure", "runs.toml", "--speed", "180", "--json", "--jobs", "1"))
    assert faster[0]["modes"][0]["frequency_hz"]["value"] == 60


def test_two_workers_keep_the_order(coupon: Coupon, take: Take) -> None:
    names = [f"{n}.jpg" for n in range(6)]
    for n, name in enumerate(names):
        take(name, peak_um=n + 1.0)
    said = objects(coupon("measure", *names, *MOTION, "--json", "--jobs", "2"))
    assert [o["photo"] for o in said] == names
    assert [o["metrics"]["ripple_peak_um"]["value"] for o in said] == [1, 2, 3, 4, 5, 6]


@pytest.mark.parametrize("place", [0, 1, 2, 8])
def test_a_pair_gives_one_object_with_both_names(coupon: Coupon, place: int) -> None:
    """--pair may stand anywhere: it takes no option for a photo."""
    left, right = (str(PAIR / f"stained-grey-{side}.jpg") for side in ("left", "right"))
    words = [left, right, *MOTION]
    words.insert(place, "--pair")
    (said,) = objects(coupon("measure", *words, "--json"))
    assert list(said)[:3] == ["photo", "pair", "face"]
    assert (said["photo"], said["pair"]) == (left, right)
    assert "stain" in said["flags"]


def test_a_bad_pair_is_told(coupon: Coupon, take: Take) -> None:
    take("a.jpg")
    take("b.jpg")
    photos = ("gone.jpg", "a.jpg", "b.jpg", "away.jpg")
    bad, other = objects(coupon("measure", *photos, "--pair", *MOTION, "--json", status=1))
    assert (bad["photo"], bad["pair"]) == ("gone.jpg", "a.jpg")
    assert (other["photo"], other["pair"]) == ("b.jpg", "away.jpg")
    assert bad["error"]["code"] == "photo-unreadable"
    result = coupon("measure", *photos[:2], "--pair", *MOTION, status=1)
    assert "gone.jpg and a.jpg: not measured (photo-unreadable)" in result.stdout
    assert result.stderr.endswith("1 of 1 pairs could not be measured.\n")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (MOTION, "Missing argument 'PHOTO...'"),
        (("--pair", *MOTION), "Missing argument 'PHOTO...'"),
        (("--pair", "a.jpg", "b.jpg", *MOTION, "--face", "flow"), "contradicts --pair"),
        (("--pair", "a.jpg", "b.jpg", "--speed", "150"), "'--accel'"),
        (("--pair", "a.jpg", *MOTION), "two by two"),
        (("a.jpg", "b.jpg", "c.jpg", "--pair", *MOTION), "3 were given"),
        (("runs.toml", "b.jpg", "--pair", *MOTION), "runs.toml is a settings file"),
    ],
)
def test_what_is_missing_for_a_pair_is_said(
    coupon: Coupon, arguments: tuple[str, ...], said: str
) -> None:
    result = coupon("measure", *arguments, status=2)
    assert said in " ".join(result.stderr.split())


def test_the_text_says_what_a_photo_was_placed_by() -> None:
    corners = ((0.0, 0.0), (100.0, 0.0), (100.0, 24.0), (0.0, 24.0))
    by_card = measure(photo_text(), name="a.jpg", motion=Motion(150, 5000)).measurement
    registration = replace(by_card.registration, markers=0, corners_px=corners)
    by_corners = replace(by_card, registration=registration)
    assert "placed by 12 markers to 0.021 mm" in describe_measurement("a.jpg", by_card)
    assert "placed by four corners to 0.021 mm" in describe_measurement("a.jpg", by_corners)
