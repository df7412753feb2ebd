"""The page Add photos in a real browser, with the package's own measurement."""

import io
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, FilePayload, expect

from scoring.flags import Flag
from scoring.store.run_store import RunStore
from tests.page.in_browser.handling import (
    LONG_MS,
    ROOT,
    WIDTHS_PX,
    add_by_hand,
    choose,
    opened,
    payload,
    settle,
)


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
