"""``coupon report``, and the demo's report."""

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from scoring.demo import COMPUTED, report_demo
from scoring.store.run_store import RunStore

Coupon = Callable[..., Result]


@pytest.fixture
def sides(here: Path, take: Callable[..., Path]) -> None:
    """Alder, stock and with a brace, at two accelerations, as ``runs.toml`` lists them."""
    lines = []
    for setup, ratio in (("stock", 1.0), ("brace", 0.4)):
        for accel in (5000, 10000):
            photo = take(f"{setup}-{accel}.jpg", peak_um=ratio * accel / 200)
            lines.append(
                f'[[run]]\nname = "{setup.upper()}-{accel}"\nmachine = "Alder"\nsetup = "{setup}"\n'
                f'axis = "x"\nouter_wall_speed_mm_s = 150\naccel_mm_s2 = {accel}\n'
                f"photos = ['{photo.name}']\n"
            )
    (here / "runs.toml").write_text("\n".join(lines))


@pytest.mark.parametrize("name", ["brace.html", "brace.pdf"])
def test_a_report_is_written(coupon: Coupon, sides: None, here: Path, name: str) -> None:
    coupon("add", "runs.toml", "--jobs", "1")
    said = coupon(
        "report", "--factor", "setup", "--before", "stock", "--after", "brace", "-o", name
    ).output  # fmt: skip
    assert "lowered the ripple peak" in said
    assert f"Report written to {name}" in said
    start = (here / name).read_bytes()[:15]
    assert start.startswith(b"<!DOCTYPE html>" if name.endswith("html") else b"%PDF-")


def test_wrong_reports(coupon: Coupon, sides: None, here: Path) -> None:
    coupon("add", "runs.toml", "--jobs", "1")
    wanted = ("report", "--before", "stock", "--after")
    assert ".html or .pdf" in coupon(*wanted, "brace", "-o", "x.doc", status=1).stderr
    assert "there is brace, stock" in coupon(*wanted, "braces", status=1).stderr
    missing = coupon(*wanted, "brace", "-o", "nowhere/x.html", status=1).stderr
    assert "cannot be written" in missing
    assert not list(here.glob("*.html"))


def test_the_demo_ends_with_a_report(coupon: Coupon, sides: None, here: Path) -> None:
    said = coupon("demo", "--photos", ".", "--jobs", "1").stdout
    last = said.strip().splitlines()[-1]
    assert last.endswith("coupon-demo-report.html")
    assert "lowered the ripple peak" in said
    report = (here / "coupon-demo-report.html").read_text("utf-8")
    assert "brace" in report
    assert COMPUTED not in report  # these are not the demo's own photos


def test_the_demo_s_own_report_says_that_its_photos_are_computed(
    coupon: Coupon, sides: None, here: Path
) -> None:
    coupon("add", "runs.toml", "--jobs", "1")
    with RunStore.open("coupon.db") as store:
        assert "lowered the ripple peak" in report_demo(store, here / "demo.html")
    assert COMPUTED in (here / "demo.html").read_text("utf-8")


def test_a_demo_without_a_brace_says_so(coupon: Coupon, two_runs: None, here: Path) -> None:
    said = coupon("demo", "--photos", ".", "--jobs", "1").stdout
    assert "No report was written. No measured print has setup 'brace'" in said
