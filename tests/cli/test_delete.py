"""``coupon delete`` and ``coupon restore``."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from scoring.store.run_store import RunStore

Coupon = Callable[..., Result]
pytestmark = pytest.mark.usefixtures("two_runs")


def photos() -> dict[str, int]:
    with RunStore.open("coupon.db") as store:
        return {record.settings.name: record.photos for record in store.runs()}


def test_a_run_is_deleted_with_its_photos_and_comes_back(coupon: Coupon) -> None:
    said = coupon("delete", "A-01").stdout
    assert said == ("Run A-01 (2 photos) is deleted. To undo it: coupon restore A-01\n")
    assert photos() == {"B-01": 2}
    ranked = [json.loads(line)["run"] for line in coupon("rank", "--json").stdout.splitlines()]
    assert ranked == ["B-01"]
    assert "A-01  all 2" in coupon("restore").stdout
    assert coupon("restore", "A-01").stdout == "Run A-01 (2 photos) is back.\n"
    assert photos() == {"A-01": 2, "B-01": 2}
    assert coupon("restore").stdout == "Nothing is deleted.\n"


def test_what_is_said_to_undo_it_undoes_it(coupon: Coupon) -> None:
    for words in (("A-01", "B-01"), ("A-01", "--photo", "a1.jpg", "--photo", "a2.jpg")):
        said = coupon("delete", *words, "--db", "coupon.db").stdout
        for line in said.splitlines():
            coupon(*line.partition(" coupon ")[2].split())
        assert photos() == {"A-01": 2, "B-01": 2}


def test_a_photo_is_named_by_its_name_or_hash(coupon: Coupon) -> None:
    coupon("delete", "A-01", "--photo", "a1.jpg")
    assert photos() == {"A-01": 1, "B-01": 2}
    assert "a1.jpg (" in coupon("restore").stdout
    assert "a1.jpg of run A-01 is back" in coupon("restore", "A-01", "--photo", "a1.jpg").stdout
    with RunStore.open("coupon.db") as store:
        sha256 = store.measurements(run="A-01")[1].photo.sha256
    assert "Photo a2.jpg of" in coupon("delete", "A-01", "--photo", sha256[:10].upper()).stdout
    coupon("restore", "A-01", "--photo", sha256)
    assert photos() == {"A-01": 2, "B-01": 2}


def test_a_name_that_two_photos_have_asks_for_the_hash(
    coupon: Coupon, take: Callable[..., Path], here: Path
) -> None:
    (here / "more").mkdir()
    coupon("add", str(take("more/a1.jpg", peak_um=3)), "--run", "A-01")
    said = coupon("delete", "A-01", "--photo", "a1.jpg", status=1).stderr
    assert "Run A-01 has more than one photo 'a1.jpg'; name it by its hash: a1.jpg (" in said
    assert photos()["A-01"] == 3


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (("delete", "A-1"), 1, "There is no run 'A-1'. Did you mean A-01?"),
        (("delete", "B-01", "X"), 1, "There is no run 'X'"),
        (("delete", "A-01", "--photo", "b1.jpg"), 1, "has no photo 'b1.jpg'; there is a1.jpg ("),
        (("delete", "A-01", "--photo", "a1.jpg", "--photo", "no"), 1, "has no photo 'no'"),
        (("delete", "A-01", "B-01", "--photo", "a1.jpg"), 2, "the one RUN"),
        (("delete",), 2, "Missing argument"),
        (("restore", "A-01"), 1, "No run 'A-01' is deleted; there is none to bring back."),
        (("restore", "A-01", "--photo", "a1.jpg"), 1, "Deleted of run A-01 is no photo 'a1.jpg'"),
        (("restore", "--photo", "a1.jpg"), 2, "the one RUN"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_is_deleted(
    coupon: Coupon, words: tuple[str, ...], status: int, said: str
) -> None:
    assert said in coupon(*words, status=status).stderr
    assert photos() == {"A-01": 2, "B-01": 2}


def test_a_store_whose_runs_are_all_deleted_says_so(coupon: Coupon) -> None:
    coupon("delete", "A-01", "B-01")
    for command in ("runs", "rank", "limits"):
        assert "All that was stored is deleted; coupon restore" in coupon(command, status=1).stderr
