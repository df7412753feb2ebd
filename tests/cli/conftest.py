"""Calling ``coupon`` in a folder of its own, with a stand-in for the measurement."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from scoring.cli.main import main
from tests.stand_in_measure import measure, photo_text

RUNS_TOML = """
[[run]]
name = "A-01"
machine = "Alder"
axis = "x"
outer_wall_speed_mm_s = 150
accel_mm_s2 = 5000
filament = "PLA grey"
photos = ["a1.jpg", "a2.jpg"]

[[run]]
name = "B-01"
machine = "Birch"
axis = "x"
outer_wall_speed_mm_s = 150
accel_mm_s2 = "5 m/s^2"
extruder_ratio = 10
photos = ["b1.jpg", "b2.jpg"]
[run.extra]
belt_hz = 92
"""


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty working folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("COUPON_DB", raising=False)
    return tmp_path


@pytest.fixture
def coupon(here: Path) -> Callable[..., Result]:
    """``coupon("rank", "--json")`` calls the command; ``status`` is what it must end with."""

    def call(*arguments: str, status: int = 0) -> Result:
        result = CliRunner().invoke(main, arguments, obj=measure)
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        assert result.exit_code == status, result.output
        return result

    return call


@pytest.fixture
def take(here: Path) -> Callable[..., Path]:
    """``take("a.jpg", peak_um=30)`` puts a photo into the folder."""

    def put(name: str, **says: Any) -> Path:
        path = here / name
        path.write_bytes(photo_text(name=name, **says))
        return path

    return put


@pytest.fixture
def two_runs(here: Path, take: Callable[..., Path], coupon: Callable[..., Result]) -> None:
    """Alder, with ghosting, and Birch, with gaps, in ``coupon.db``; photos of both faces."""
    take("a1.jpg", peak_um=40.0)
    take("a2.jpg", face="flow", gaps=0.01)
    take("b1.jpg", peak_um=10.0)
    take("b2.jpg", face="flow", gaps=0.09)
    (here / "runs.toml").write_text(RUNS_TOML)
    coupon("add", "runs.toml", "--jobs", "1")
