import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from tests.reference_photos import photo_named

Coupon = Callable[..., Result]


@pytest.fixture
def photos(here: Path) -> Path:
    """Two check blades, an ordinary one and a flow face, in the working folder."""
    for folder, name, copy in (
        ("check", "check-grey", "a.jpg"),
        ("check", "check-white-too-low", "low.jpg"),
        ("ringdown", "no-ripple-natural", "plain.jpg"),
        ("flow", "few-gaps-grey", "flow.jpg"),
    ):
        shutil.copy(photo_named(folder, name).path, here / copy)
    return here


READING = r"Heights read [+−]?\d+ % \([+−]\d+ to [+−]\d+\)"


def objects(result: Result) -> list[dict[str, Any]]:
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_the_text_sets_measured_against_designed(coupon: Coupon, photos: Path) -> None:
    text = coupon("verify", "a.jpg").stdout
    assert text.startswith("a.jpg: check blade, label: run CHECK-500")
    rows = [line.split() for line in text.splitlines()]
    assert [row[0] for row in rows if row and row[0] in {"20", "50", "100", "0"}] == [
        "20", "50", "100", "0",
    ]  # fmt: skip
    assert "measured / printed" in text
    assert re.search(READING, text)
    assert "can be trusted to" in text
    assert "steep-ripple:" in text


def test_one_json_object_a_photo_and_one_for_all(coupon: Coupon, photos: Path) -> None:
    one, low, together = objects(coupon("verify", "a.jpg", "low.jpg", "--json"))
    assert one["verdict"]["outcome"] == "trusted"
    assert low["verdict"]["outcome"] == "reads-low"
    assert together["photos"] == ["a.jpg", "low.jpg"]
    assert set(together) == {"photos", "scale", "verdict"}
    assert (together["scale"], together["verdict"]["outcome"]) == (None, "disagree")
    assert len(objects(coupon("verify", "a.jpg", "--json"))) == 1


def test_what_cannot_be_checked_is_told_and_the_status_is_1(coupon: Coupon, photos: Path) -> None:
    said = objects(coupon("verify", "plain.jpg", "flow.jpg", "gone.jpg", "--json", status=1))
    assert [o["error"]["code"] for o in said] == [
        "no-designed-ripple", "wrong-face", "photo-unreadable",
    ]  # fmt: skip
    told = coupon("verify", "plain.jpg", status=1)
    assert "plain.jpg: not checked (no-designed-ripple)" in told.stdout
    assert "coupon make check-blade" in told.stdout
    assert told.stderr == "1 of 1 photos could not be checked.\n"


def test_photos_together_in_words(coupon: Coupon, photos: Path) -> None:
    text = coupon("verify", "a.jpg", "low.jpg").stdout
    assert "All 2 photos together:\n  The labels name different blades: a.jpg: run CHECK-5" in text
    assert "\n  Heights disagree by more than" in text
    other = (photos / "a.jpg").read_bytes() + b"\0"
    (photos / "b.jpg").write_bytes(other)
    text = coupon("verify", "a.jpg", "b.jpg").stdout
    assert re.search("All 2 photos together:\n  " + READING, text)


def test_one_photo_given_twice_counts_once(coupon: Coupon, photos: Path) -> None:
    shutil.copy(photos / "a.jpg", photos / "copy.jpg")
    text = coupon("verify", "a.jpg", "a.jpg", "copy.jpg").stdout
    assert "copy.jpg: the same photo as a.jpg, counted once" in text
    assert "together" not in text
    _, copy = objects(coupon("verify", "a.jpg", "copy.jpg", "--json"))
    assert copy == {"photo": "copy.jpg", "same_as": "a.jpg"}


def test_without_a_photo_it_is_wrong_usage(coupon: Coupon) -> None:
    coupon("verify", status=2)
