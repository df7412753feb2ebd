"""A browser, and the page served to it from a database with three runs and one more."""

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, sync_playwright

from scoring.measurement import Trace
from scoring.store.run_store import RunStore
from tests.page.conftest import (
    Photo,
    Settings,
    draw_picture,
    store_three_runs,
)
from tests.page.in_browser.handling import FLAGS, MARKED_RUN, MARKS_U_MM, ROOT


@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("no chromium on the path (Debian's package is chromium)")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=found, args=FLAGS)
        yield started
        started.close()


@pytest.fixture(scope="package")
def database(tmp_path_factory: pytest.TempPathFactory, settings: Settings, photo: Photo) -> Path:
    """The three runs and one whose picture has red marks just where its trace has towers."""
    path = tmp_path_factory.mktemp("page") / "runs.db"
    store_three_runs(path, settings, photo)
    u = np.round(np.arange(0, 100.01, 0.05), 2)
    towers = np.zeros(u.size)
    for place in MARKS_U_MM:
        towers[np.abs(u - place) <= 0.5] = 100.0  # 1 mm wide, as the marks are
    whole = photo(salt="marked")
    flat = tuple(np.zeros(u.size).tolist())
    trace = Trace("µm", tuple(u.tolist()), flat, tuple(towers.tolist()))
    shown = replace(whole.measurement, trace=trace)
    with RunStore.open(path) as store:
        marked = replace(whole, measurement=shown, face_jpeg=draw_picture(MARKS_U_MM))
        store.record_photo(settings(MARKED_RUN), marked)
    return path


@pytest.fixture(scope="package")
def address(database: Path) -> Iterator[str]:
    """Where ``streamlit run app.py`` serves those runs, on a port of its own."""
    with socket.socket() as free:
        free.bind(("localhost", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "streamlit", "run", str(ROOT / "app.py")]
    options = {
        "server.port": port,
        "server.address": "localhost",
        "server.headless": "true",
        "server.fileWatcherType": "none",
        "browser.gatherUsageStats": "false",
    }
    command += [f"--{name}={value}" for name, value in options.items()]
    log = database.with_suffix(".log").open("wb")
    environment = {**os.environ, "COUPON_DB": str(database), "PYTHONPATH": str(ROOT)}
    with log, subprocess.Popen(command, env=environment, stdout=log, stderr=log) as server:
        try:
            _wait_for(f"http://localhost:{port}/_stcore/health", server)
            yield f"http://localhost:{port}"
        finally:
            server.terminate()


def _wait_for(url: str, server: "subprocess.Popen[bytes]") -> None:
    for _ in range(240):
        assert server.poll() is None, "the page's server ended by itself"
        try:
            with urllib.request.urlopen(url, timeout=5):
                return
        except (urllib.error.URLError, ConnectionError):
            time.sleep(0.25)
    raise AssertionError("the page's server did not answer within a minute")
