"""The page in a real browser: that it draws, and that picture and trace share their axis."""

import io
import json
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import quote

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from playwright.sync_api import Browser, FilePayload, Page, expect, sync_playwright

import scoring
from scoring.flags import Flag
from scoring.measurement import Trace
from scoring.page.trace_layers import FITTED_COLOUR
from scoring.store.run_store import RunStore
from tests.page.conftest import (
    Photo,
    Settings,
    draw_picture,
    store_three_runs,
    store_under_any_name,
)

ROOT = Path(scoring.__file__).parents[1]
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]
MARKS_U_MM = (10.0, 50.0, 90.0)
MARKED_RUN = "M-01"
WIDTHS_PX = (1400, 420)
LONG_MS = 60_000


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("no chromium on the path (Debian's package is chromium)")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=found, args=FLAGS)
        yield started
        started.close()


@pytest.fixture(scope="module")
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


@pytest.fixture(scope="module")
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


def opened(browser: Browser, url: str, width_px: int) -> Page:
    page = browser.new_page(viewport={"width": width_px, "height": 1600})
    page.goto(url)
    expect(page.get_by_test_id("stHeading").first).to_be_visible(timeout=LONG_MS)
    return page


def shot(page: Page, test_id: str = "stVegaLiteChart") -> NDArray[np.int64]:
    """What the first such element looks like, (M, N, 3)."""
    element = page.get_by_test_id(test_id).first
    expect(element.locator("svg, canvas").first).to_be_visible(timeout=LONG_MS)
    page.wait_for_timeout(1500)  # the chart fits itself to the width that the layout settles on
    with Image.open(io.BytesIO(element.screenshot())) as picture:
        return np.asarray(picture.convert("RGB"), dtype=np.int64)


def columns_of(pixels: NDArray[np.int64], rgb: Sequence[int], off: int = 60) -> NDArray[np.int64]:
    """The columns with a pixel of about this colour."""
    return np.flatnonzero((np.abs(pixels - np.array(rgb)).max(axis=2) < off).any(axis=0))


def centres(columns: NDArray[np.int64]) -> list[float]:
    """The middle of each stretch of neighbouring columns."""
    parts = np.split(columns, np.flatnonzero(np.diff(columns) > 3) + 1)
    return [float(part.mean()) for part in parts if part.size]


@pytest.mark.parametrize("width_px", WIDTHS_PX)
def test_picture_and_trace_share_the_axis_to_a_pixel(
    browser: Browser, address: str, width_px: int
) -> None:
    page = opened(browser, f"{address}/run?run={MARKED_RUN}", width_px)
    pixels = shot(page)
    page.close()
    red = (np.abs(pixels - np.array((255, 0, 0))).max(axis=2) < 60).any(axis=1)
    picture_end = int(np.flatnonzero(red)[-1])
    marks = centres(columns_of(pixels[: picture_end + 1], (255, 0, 0)))
    # Only the towers rise above the middle between picture and bottom of the trace.
    trace = pixels[picture_end + 40 :]
    fit = [int(FITTED_COLOUR[k : k + 2], 16) for k in (1, 3, 5)]
    rows = np.flatnonzero((np.abs(trace - np.array(fit)).max(axis=2) < 60).any(axis=1))
    upper = trace[: int(rows[0] + 0.3 * (rows[-1] - rows[0]))]
    towers = centres(columns_of(upper, fit, off=110))
    assert len(marks) == len(towers) == len(MARKS_U_MM)
    assert np.abs(np.array(marks) - np.array(towers)).max() <= 1.0
    # And both are to scale: equal steps of 40 mm.
    assert marks[2] - marks[1] == pytest.approx(marks[1] - marks[0], abs=1.5)


@pytest.mark.parametrize("width_px", WIDTHS_PX)
def test_every_page_draws_without_error_and_fits_the_width(
    browser: Browser, address: str, width_px: int
) -> None:
    faults: list[str] = []
    for path, count in (("", 3), ("run?run=A-02", 3), ("add", 0), ("print", 0), ("compare", 2)):
        page = opened(browser, f"{address}/{path}", width_px)
        page.on("pageerror", lambda error: faults.append(str(error)))
        for k in range(count):
            drawn = page.get_by_test_id("stVegaLiteChart").nth(k).locator("svg, canvas").first
            expect(drawn).to_be_visible(timeout=LONG_MS)
        page.wait_for_timeout(500)
        assert page.get_by_test_id("stException").count() == 0
        main = page.get_by_test_id("stMain")
        wide, room = main.evaluate("e => [e.scrollWidth, e.clientWidth]")
        assert wide <= room, f"{path} is {wide} px wide where there are {room}"
        page.close()
    assert not faults


def test_ticking_a_row_opens_its_run(browser: Browser, address: str) -> None:
    page = opened(browser, address, WIDTHS_PX[0])
    table = page.get_by_test_id("stDataFrame").last
    expect(table.locator("canvas").first).to_be_visible(timeout=LONG_MS)
    page.wait_for_timeout(500)
    table.click(position={"x": 16, "y": 52})  # the first row's box, under a head of 35 px
    expect(page.get_by_role("heading", name="One run")).to_be_visible(timeout=LONG_MS)
    expect(page.get_by_text("Ring-down face: ringdownA-02.jpg")).to_be_visible(timeout=LONG_MS)
    page.close()


def choose(page: Page, field: str, option: str) -> None:
    """Choose from a field's list."""
    page.get_by_role("combobox", name=field).click()
    page.get_by_role("option", name=option, exact=True).click()


def test_a_view_is_shared_by_its_address(browser: Browser, address: str) -> None:
    page = opened(browser, address, WIDTHS_PX[0])
    choose(page, "Rank by", "ripple peak, µm")
    choose(page, "Setup", "brace")
    page.wait_for_url(re.compile("setup=brace"), timeout=LONG_MS)
    shared = page.url
    page.close()
    page = opened(browser, shared, WIDTHS_PX[0])
    expect(page.get_by_role("combobox", name="Rank by")).to_have_value("ripple peak, µm")
    expect(page.get_by_role("combobox", name="Setup")).to_have_value("brace")
    expect(page.get_by_text("Largest |y| of the fitted ring-down")).to_be_visible(timeout=LONG_MS)
    page.close()


def settle(page: Page) -> None:
    """Wait until the server has answered to all that was entered."""
    page.wait_for_timeout(500)
    expect(page.get_by_test_id("stStatusWidget")).to_have_count(0, timeout=LONG_MS)


def payload(path: Path) -> FilePayload:
    """A photo's file, as a browser sends it."""
    return FilePayload(name=path.name, mimeType="image/jpeg", buffer=path.read_bytes())


def add_by_hand(page: Page, *photos: FilePayload, **written: str) -> None:
    """Choose photos, write into the fields whose labels begin so, and send."""
    page.locator("input[type=file]").first.set_input_files(list(photos))
    waiting = page.get_by_text(f"Waiting to be measured: {len(photos)}")
    expect(waiting).to_be_visible(timeout=LONG_MS)
    settle(page)
    for label, text in written.items():
        field = page.get_by_role("textbox", name=re.compile(f"^{label}"))
        field.fill(text)
        field.press("Tab")
    settle(page)
    page.get_by_role("button", name="Measure and keep").click()


def test_photos_are_added_by_upload_ranked_and_shown(
    browser: Browser, address: str, database: Path
) -> None:
    """A computed photo; its truth file says run REF-201, axis y, 150 mm/s, 2500 mm/s^2."""
    page = opened(browser, f"{address}/add", WIDTHS_PX[0])
    choose(page, "Fill in from a run", "no run: an empty form")
    machine = page.get_by_role("textbox", name=re.compile("^Machine"))
    expect(machine).to_have_value("", timeout=LONG_MS)
    expect(machine).to_have_count(1)
    picture = ROOT / "reference_images" / "ringdown" / "small-grey.jpg"
    text = FilePayload(name="notes.txt", mimeType="text/plain", buffer=b"no picture")
    add_by_hand(page, payload(picture), text, Machine="Birch", Outer="150", Acceleration="2500")
    # In a message; the line that told of the progress says the same for a moment.
    messages = page.get_by_test_id("stAlert")
    added = messages.get_by_text("small-grey.jpg: added to run REF-201, ring-down face.")
    expect(added).to_be_visible(timeout=LONG_MS)
    # The file that is no picture is refused beside it: why, and what to do.
    expect(page.get_by_text("notes.txt was not added.")).to_be_visible(timeout=LONG_MS)
    expect(page.get_by_text("What to do:")).to_be_visible()
    page.get_by_role("link", name="Open run REF-201").click()
    expect(page.get_by_text("Ring-down face: small-grey.jpg")).to_be_visible(timeout=LONG_MS)
    chart = page.get_by_test_id("stVegaLiteChart").first.locator("svg, canvas").first
    expect(chart).to_be_visible(timeout=LONG_MS)
    with page.expect_download(timeout=LONG_MS) as download:
        page.get_by_role("button", name=re.compile("^Original photo")).click()
    assert Path(download.value.path()).read_bytes() == picture.read_bytes()
    page.close()
    with RunStore.open(database) as store:
        stored = store.run("REF-201").settings
    assert (stored.machine, stored.axis, stored.accel_mm_s2) == ("Birch", "y", 2500.0)


def test_a_refused_photo_is_shown_with_why_and_what_to_do(
    browser: Browser, address: str, database: Path
) -> None:
    """A computed photo that is too far from the card to be measured (its truth file says so)."""
    page = opened(browser, f"{address}/add", WIDTHS_PX[0])
    picture = ROOT / "reference_images" / "ringdown" / "refuse-too-coarse.jpg"
    add_by_hand(
        page, payload(picture), Run="N-01", Machine="Birch", Outer="150", Acceleration="5000"
    )
    expect(page.get_by_text("was not added.")).to_be_visible(timeout=LONG_MS)
    settle(page)  # what was drawn before the refusal is still there for a moment
    expect(page.get_by_text("Go closer until the card fills the frame")).to_be_visible()
    expect(page.get_by_role("img", name="Preview of refuse-too-coarse.jpg")).to_be_visible()
    # The form is as it was.
    expect(page.get_by_role("textbox", name=re.compile("^Machine"))).to_have_value("Birch")
    page.get_by_role("link", name="How to lay, light and shoot").click()
    expect(page.get_by_role("heading", name="Things to print")).to_be_visible(timeout=LONG_MS)
    expect(page.get_by_role("img", name=re.compile("^From above: the flow face"))).to_be_visible()
    page.close()
    with RunStore.open(database) as store:
        assert "N-01" not in {record.settings.name for record in store.runs()}


def test_names_from_settings_and_files_stay_text(
    browser: Browser, address: str, database: Path, settings: Settings, photo: Photo
) -> None:
    name = "<img src=x onerror=alert(1)> **b** :smile: www.x.example"
    told = settings("HOSTILE", filament="[a](javascript:alert(1))")
    store_under_any_name(database, name, told, photo(salt=name))
    page = opened(browser, f"{address}/run?run={quote(name)}", WIDTHS_PX[0])
    heading = page.get_by_role("heading", name=re.compile("^Ring-down face"))
    expect(heading).to_be_visible(timeout=LONG_MS)
    shown = heading.inner_text().replace("\u2060", "")
    assert name in shown
    main = page.get_by_test_id("stMain")
    assert main.locator("img[src=x], a[href*=javascript], a[href*='x.example']").count() == 0
    page.close()
    with RunStore.open(database) as store:
        store.delete_run(name)


def without_card(path: Path, truth: dict[str, Any]) -> FilePayload:
    """A reference photo whose markers are painted over with the paper around them."""
    with Image.open(path) as photo:
        exif, pixels = photo.info["exif"], np.asarray(photo.convert("RGB")).copy()
    for marker in truth["picture"]["marker_centres"]:
        x, y, half = round(marker["x_px"]), round(marker["y_px"]), 170
        patch = pixels[max(0, y - half) : y + half, max(0, x - half) : x + half]
        patch[:] = np.median(patch.reshape(-1, 3), axis=0)
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=92, exif=exif)
    return FilePayload(name="no-card.jpg", mimeType="image/jpeg", buffer=out.getvalue())


def test_four_corners_place_a_photo_without_its_card(
    browser: Browser, address: str, database: Path
) -> None:
    """One corner is pointed at with the mouse, three are written by keyboard."""
    path = ROOT / "reference_images" / "ringdown" / "low-lamp-natural.jpg"
    truth = json.loads(path.with_suffix(".json").read_text())
    page = opened(browser, f"{address}/add", WIDTHS_PX[0])
    photo = without_card(path, truth)
    add_by_hand(page, photo, Run="C-01", Machine="Birch", Outer="150", Acceleration="5000")
    expect(page.get_by_text("no-card.jpg was not added.")).to_be_visible(timeout=LONG_MS)
    page.get_by_text("Place it by the face's four corners").click()
    chart = page.get_by_test_id("stVegaLiteChart").first.locator("svg, canvas").first
    expect(chart).to_be_visible(timeout=LONG_MS)
    page.wait_for_timeout(2000)
    known = {(c["u_mm"], c["w_mm"]): c for c in truth["picture"]["face_corners"]}
    foot, end, rim = known[0, 0], known[100.0, 0], known[0, 24.0]
    box = chart.bounding_box()
    assert box is not None
    a_px = box["width"] / Image.open(io.BytesIO(photo["buffer"])).width
    page.mouse.click(box["x"] + foot["x_px"] * a_px, box["y"] + foot["y_px"] * a_px)
    first = page.get_by_role("spinbutton", name="Corner 1: x, px")
    expect(first).not_to_have_value("", timeout=LONG_MS)
    assert float(first.input_value()) == pytest.approx(foot["x_px"], abs=25)
    # The cut corner is where its sides would meet: about opposite the foot's end.
    fourth = (end["x_px"] + rim["x_px"] - foot["x_px"], end["y_px"] + rim["y_px"] - foot["y_px"])
    written = ((end["x_px"], end["y_px"]), (rim["x_px"], rim["y_px"]), fourth)
    for place, corner in enumerate(written, start=2):
        for axis, value in zip("xy", corner, strict=True):
            field = page.get_by_role("spinbutton", name=f"Corner {place}: {axis}, px")
            field.fill(f"{value:.0f}")
            field.press("Tab")
    settle(page)
    use = page.get_by_role("button", name="Use these corners")
    expect(use).to_be_enabled(timeout=LONG_MS)
    use.click()
    expect(page.get_by_text("Waiting to be measured: 1")).to_be_visible(timeout=LONG_MS)
    settle(page)
    page.get_by_role("button", name="Measure and keep").click()
    expect(page.get_by_role("link", name="Open run C-01")).to_be_visible(timeout=LONG_MS)
    page.close()
    with RunStore.open(database) as store:
        (record,) = store.measurements(run="C-01")
    peak = record.measurement.metrics["ripple_peak_um"]
    assert Flag.CARD_MISSING in record.measurement.flags
    assert peak.low <= truth["ripple_peak_um"] <= peak.high


def test_sides_are_compared_and_the_report_downloaded(browser: Browser, address: str) -> None:
    page = opened(browser, f"{address}/compare", WIDTHS_PX[0])
    choose(page, "What was changed", "setup")
    expect(page.get_by_text("Know first")).to_be_visible(timeout=LONG_MS)
    for place in range(2):
        drawn = page.get_by_test_id("stVegaLiteChart").nth(place).locator("svg, canvas").first
        expect(drawn).to_be_visible(timeout=LONG_MS)
    for kind, begins in (("HTML", b"<!DOCTYPE html>"), ("PDF", b"%PDF-")):
        with page.expect_download(timeout=LONG_MS) as download:
            page.get_by_role("button", name=f"Report as {kind}").click()
        assert Path(download.value.path()).read_bytes().startswith(begins)
    page.close()
