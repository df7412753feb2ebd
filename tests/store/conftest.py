"""Databases to test on: an SQLite file always, a real PostgreSQL server where one is installed."""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from scoring.estimate import Estimate
from scoring.flags import Flag
from scoring.geometry import GEOMETRY_REVISION
from scoring.measurement import Measurement, Mode, Registration, Trace
from scoring.metrics import FaceName
from scoring.runs.settings import RunSettings
from scoring.store.run_store import MeasuredPhoto, RunStore

MakePhoto = Callable[..., MeasuredPhoto]
MakeSettings = Callable[..., RunSettings]


@pytest.fixture(scope="session")
def postgresql() -> Iterator[str]:
    """URL prefix of a server of our own on a socket, without network; skipped without one."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if not found:
        pytest.skip("no PostgreSQL server under /usr/lib/postgresql (install postgresql)")
    folder = Path(tempfile.mkdtemp(prefix="pg"))  # short: a socket's path has 107 bytes at most
    data, programs = folder / "data", found[-1].parent
    owner: list[str] = []
    if os.geteuid() == 0:  # the server refuses to run as root
        account = pwd.getpwnam("postgres")
        os.chown(folder, account.pw_uid, account.pw_gid)
        owner = ["setpriv", f"--reuid={account.pw_uid}", f"--regid={account.pw_gid}"]
        owner += ["--clear-groups"]

    def run(program: str, *arguments: str) -> None:
        subprocess.run(
            [*owner, str(programs / program), *arguments],
            check=True,
            cwd=folder,
            stdout=subprocess.DEVNULL,
            timeout=60,
        )

    run("initdb", "-D", str(data), "-U", "coupon", "-A", "trust", "-E", "UTF8", "--no-sync")
    options = f"-k {folder} -c listen_addresses='' -c fsync=off"
    run("pg_ctl", "-D", str(data), "-o", options, "-l", str(folder / "log"), "-w", "start")
    try:
        yield f"postgresql://coupon@/{{name}}?host={folder}"
    finally:
        run("pg_ctl", "-D", str(data), "-m", "immediate", "-w", "stop")
        shutil.rmtree(folder)


@pytest.fixture
def postgresql_url(postgresql: str, request: pytest.FixtureRequest) -> str:
    """A database of the test's own on the server."""
    psycopg = pytest.importorskip("psycopg", reason="psycopg is not installed (extra 'postgres')")
    name = f"t{abs(hash(request.node.nodeid))}"
    server = postgresql.format(name="postgres")
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    return postgresql.format(name=name)


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """An empty database's path or URL, once for each kind."""
    if request.param == "sqlite":
        return str(tmp_path / "runs.db")
    return str(request.getfixturevalue("postgresql_url"))


@pytest.fixture
def store(database: str) -> Iterator[RunStore]:
    with RunStore.open(database) as opened:
        yield opened


@pytest.fixture
def settings() -> MakeSettings:
    def make(name: str = "A-01", **more: Any) -> RunSettings:
        least = {
            "machine": "Alder",
            "axis": "x",
            "outer_wall_speed_mm_s": 150,
            "accel_mm_s2": 5000,
        }
        return RunSettings.model_validate(least | {"name": name} | more)

    return make


@pytest.fixture
def photo() -> MakePhoto:
    """A measured photo with numbers of its own, as the measurement would give it."""

    def make(content: bytes = b"photo", *, peak_um: float = 31.2, **more: Any) -> MeasuredPhoto:
        mode = Mode(
            Estimate(30, 29, 31), Estimate(47, 46.6, 47.5), Estimate(0.05, 0.04, 0.06),
            Estimate(3.2, 3.1, 3.3),
        )  # fmt: skip
        fields: dict[str, Any] = {
            "photo": "a.jpg",
            "face": FaceName.RINGDOWN,
            "run": "A-01",
            "axis": None,
            "registration": Registration(12, 0.021, 0.0331),
            "metrics": {
                "ripple_peak_um": Estimate(peak_um, peak_um - 1.3, peak_um + 1.4),
                "ripple_rms_um": Estimate(1 / 3, 0.1, 0.7),
            },
            "modes": (mode,),
            "flags": (Flag.SOFT_FOCUS, Flag.GLOSSY),
            "trace": Trace("µm", (4.0, 4.05), (1.5, -2.25), (1.0, -2.0)),
            "geometry_revision": GEOMETRY_REVISION,
        }
        measurement = Measurement(**fields | more)
        return MeasuredPhoto(measurement.photo, content, measurement, b"\xff\xd8" + content)

    return make
