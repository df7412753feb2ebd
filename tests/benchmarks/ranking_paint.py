"""Seconds from opening the address to the ranking's first paint, with a thousand runs stored.

Chromium opens the page on a store of invented runs (``thousand_runs.py``). The first opening warms
server and browser and is not counted. Painted means: table, grid and lines are on the screen.
"""

import os
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np
from playwright.sync_api import BrowserContext, Playwright, sync_playwright

from tests.benchmarks.thousand_runs import RUNS, fill_store

ROOT = Path(__file__).parents[2]
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]
OPENINGS = 7
FEW = 16
BOUND_S = 2.0
TABLE_PAINTED = '[data-testid="stDataFrame"] canvas'
CHARTS_PAINTED = '[data-testid="stVegaLiteChart"] :is(svg, canvas)'


@contextmanager
def served(database: Path) -> Iterator[str]:
    """The page's address, while it is served on a port of its own."""
    with socket.socket() as free:
        free.bind(("localhost", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "streamlit", "run", str(ROOT / "app.py")]
    command += [f"--server.port={port}", "--server.address=localhost", "--server.headless=true"]
    command += ["--server.fileWatcherType=none", "--browser.gatherUsageStats=false"]
    environment = {**os.environ, "COUPON_DB": str(database), "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(
        command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    ) as server:
        try:
            for _ in range(240):
                try:
                    with urllib.request.urlopen(
                        f"http://localhost:{port}/_stcore/health", timeout=5
                    ):
                        break
                except (urllib.error.URLError, ConnectionError):
                    time.sleep(0.25)
            yield f"http://localhost:{port}"
        finally:
            server.terminate()


def time_paint(browser: BrowserContext, address: str) -> float:
    """Seconds from asking for the address until table and both charts are drawn."""
    page = browser.new_page()
    began = time.perf_counter()
    page.goto(address, wait_until="commit")
    page.locator(TABLE_PAINTED).first.wait_for(timeout=60_000)
    for place in range(2):
        page.locator(CHARTS_PAINTED).nth(place).wait_for(timeout=60_000)
    seconds = time.perf_counter() - began
    page.close()
    return seconds


def time_openings(playwright: Playwright, database: Path) -> list[float]:
    """Seconds of several openings on one store, without a first one that warms everything."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        raise SystemExit("no chromium on the path (Debian's package is chromium)")
    with served(database) as address:
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        context = browser.new_context(viewport={"width": 1280, "height": 1800})
        time_paint(context, address)
        seconds = [time_paint(context, address) for _ in range(OPENINGS)]
        browser.close()
    return seconds


def main() -> None:
    """Open the ranking on two stores; the small one says what the browser itself takes."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        seconds = {}
        for runs in (FEW, RUNS):
            database = Path(folder) / f"{runs}.db"
            fill_store(database, np.random.default_rng(7), runs=runs)
            seconds[runs] = time_openings(playwright, database)
    few, many = (statistics.median(seconds[runs]) for runs in (FEW, RUNS))
    print(
        f"first paint of the ranking, median of {OPENINGS}: {few:.2f} s with {FEW} runs, "
        f"{many:.2f} s with {RUNS} ({many / few:.2f} times as long); to be under {BOUND_S:.0f} s"
    )


if __name__ == "__main__":
    main()
