from collections.abc import Callable
from pathlib import Path

from click.testing import Result

from scoring.store.run_store import RunStore

Coupon = Callable[..., Result]


def test_demo_ranks_and_says_how_to_open_the_page(
    coupon: Coupon, here: Path, two_runs: None
) -> None:
    result = coupon("demo", "--photos", ".", "--jobs", "1")
    assert "Ranked by score" in result.stdout
    assert "coupon page --db coupon-demo.db" in result.stdout
    again = coupon("demo", "--photos", ".", "--jobs", "1")
    assert again.stdout == result.stdout
    with RunStore.open("coupon-demo.db") as store:
        assert len(store.measurements()) == 4


def test_demo_with_a_photo_that_fails_ends_with_status_1(
    coupon: Coupon, two_runs: None, take: Callable[..., Path]
) -> None:
    take("b1.jpg", fails="card")
    result = coupon("demo", "--photos", ".", "--jobs", "1", status=1)
    assert "b1.jpg: No marker" in result.stderr
    assert "B-01: no photo of the ring-down face" in result.stdout


def test_demo_without_photos_is_told(coupon: Coupon, here: Path) -> None:
    assert "runs.toml: cannot be read" in coupon("demo", "--photos", ".", status=1).stderr
