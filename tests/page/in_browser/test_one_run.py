"""The page One run in a real browser: picture and trace share their axis, text stays text."""

import io
import re
from collections.abc import Sequence
from pathlib import Path
from urllib.parse import quote

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from scoring.page.trace_layers import FITTED_COLOUR
from scoring.store.run_store import RunStore
from tests.page.conftest import (
    Photo,
    Settings,
    store_under_any_name,
)
from tests.page.in_browser.handling import (
    LONG_MS,
    MARKED_RUN,
    MARKS_U_MM,
    WIDTHS_PX,
    opened,
)


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


def test_what_numbers_mean_can_be_read_on_a_phone(browser: Browser, address: str) -> None:
    page = opened(browser, f"{address}/run?run=A-02", 390)
    table = page.get_by_test_id("stTable").first.locator("table")
    expect(table).to_be_visible(timeout=LONG_MS)
    wide, room = table.evaluate("e => [e.scrollWidth, e.parentElement.clientWidth]")
    page.close()
    assert wide <= room


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
