"""A database of its own for each test, and runs with pictures to fill it."""

import contextlib
import io
import sqlite3
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from streamlit.testing.v1 import AppTest

from scoring.estimate import Estimate
from scoring.flags import Flag
from scoring.geometry import GEOMETRY_REVISION
from scoring.measurement import Measurement, Mode, Registration, Trace
from scoring.metrics import FaceName
from scoring.page import photo_adding
from scoring.runs.settings import RunSettings
from scoring.store.database import DATABASE_VARIABLE
from scoring.store.run_store import MeasuredPhoto, RunStore
from tests.page.drawn_page import APP
from tests.stand_in_measure import measure

PX_PER_MM = 20
Settings = Callable[..., RunSettings]
Photo = Callable[..., MeasuredPhoto]


def draw_picture(
    marks_u_mm: Sequence[float] = (), rgb: tuple[int, int, int] = (255, 0, 0)
) -> bytes:
    """A face's picture as it is stored, -2 to 102 mm by -2 to 26 mm, with upright marks.

    The centre of column j lies at u = -2 mm + j / 20 mm (scoring/registration/face.py); each mark
    is 1 mm wide.
    """
    pixels = np.full((28 * PX_PER_MM + 1, 104 * PX_PER_MM + 1, 3), 190, np.uint8)
    for u in marks_u_mm:
        middle = round((u + 2) * PX_PER_MM)
        pixels[:, middle - 10 : middle + 11] = rgb
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=95, subsampling=0)
    return out.getvalue()


@pytest.fixture
def database(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the page looks for its runs; nothing is there yet."""
    path = tmp_path / "runs.db"
    monkeypatch.setenv(DATABASE_VARIABLE, str(path))
    monkeypatch.chdir(tmp_path)
    return path


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch) -> AppTest:
    """The app, its measurement stood in for; not yet run."""
    monkeypatch.setattr(photo_adding, "load_measure", lambda: measure)
    return AppTest.from_file(str(APP), default_timeout=60)


@pytest.fixture(scope="session")
def settings() -> Settings:
    """Settings of a run; what is not given is Alder's at 5000 mm/s^2."""

    def make(name: str = "A-01", **more: Any) -> RunSettings:
        least = {
            "machine": "Alder",
            "axis": "x",
            "outer_wall_speed_mm_s": 150,
            "accel_mm_s2": 5000,
            "filament": "PLA grey",
        }
        return RunSettings.model_validate(least | {"name": name} | more)

    return make


def about(value: float, share: float = 0.05) -> Estimate:
    """The value and a share of it either way."""
    return Estimate(value, value * (1 - share), value * (1 + share))


@pytest.fixture(scope="session")
def photo() -> Photo:
    """A measured photo with a picture, of either face."""

    def make(
        face: FaceName = FaceName.RINGDOWN, *, salt: str = "", value: float = 30.0, **more: Any
    ) -> MeasuredPhoto:
        u = tuple(float(x) for x in np.arange(4, 64, 0.5))
        common: dict[str, Any] = {
            "photo": f"{face}{salt}.jpg",
            "face": face,
            "run": None,
            "axis": None,
            "registration": Registration(12, 0.021, 0.0331),
            "geometry_revision": GEOMETRY_REVISION,
        }
        if face is FaceName.RINGDOWN:
            wave = tuple(value * np.exp(-x / 20) * np.cos(x) for x in u)
            common |= {
                "metrics": {"ripple_peak_um": about(value), "ripple_rms_um": about(value / 3)},
                "modes": (Mode(about(value), about(47.2, 0.01), about(0.05), about(3.2)),),
                "flags": (Flag.GLOSSY,),
                "trace": Trace("µm", u, wave, wave),
            }
        else:
            share = tuple(value / 1000 for _ in u)
            common |= {
                "metrics": {"gap_fraction": about(value / 1000), "recovery_mm": about(value / 5)},
                "modes": (),
                "flags": (),
                "trace": Trace("open fraction", u, share, share),
            }
        measurement = Measurement(**common | more)
        content = f"{face} {salt} {value}".encode()
        return MeasuredPhoto(measurement.photo, content, measurement, draw_picture())

    return make


def store_under_any_name(
    database: Path, name: str, settings: RunSettings, photo: MeasuredPhoto
) -> None:
    """A run whose name no label can carry, as earlier versions took it."""
    with RunStore.open(database) as store:
        store.record_photo(settings, photo)
    with contextlib.closing(sqlite3.connect(database)) as raw, raw:
        raw.execute("UPDATE runs SET name = ? WHERE name = ?", (name, settings.name))


def store_three_runs(database: Path, settings: Settings, photo: Photo) -> None:
    """Alder stock and brace, and Birch with a flow face alone."""
    with RunStore.open(database) as store:
        for name, value, more in (
            ("A-01", 40.0, {}),
            ("A-02", 20.0, {"setup": "brace", "accel_mm_s2": 10000, "notes": "brace fitted"}),
            ("A-03", 20.5, {"setup": "brace"}),
        ):
            run = settings(name, **more)
            store.record_photo(run, photo(salt=name, value=value))
            store.record_photo(run, photo(FaceName.FLOW, salt=name, value=value))
        birch = settings("B-01", machine="Birch", filament="sand", extra={"belt_hz": 92})
        store.record_photo(birch, photo(FaceName.FLOW, salt="B-01", value=60.0))


@pytest.fixture
def three_runs(database: Path, settings: Settings, photo: Photo) -> Path:
    """Those runs in the page's database."""
    store_three_runs(database, settings, photo)
    return database
