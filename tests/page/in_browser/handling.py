"""Opening a page in a browser, and what people do on it."""

import re
from pathlib import Path

from playwright.sync_api import Browser, FilePayload, Page, expect

import scoring

ROOT = Path(scoring.__file__).parents[1]
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]
MARKS_U_MM = (10.0, 50.0, 90.0)
MARKED_RUN = "M-01"
WIDTHS_PX = (1400, 420)
LONG_MS = 60_000


def opened(browser: Browser, url: str, width_px: int) -> Page:
    page = browser.new_page(viewport={"width": width_px, "height": 1600})
    page.goto(url)
    expect(page.get_by_test_id("stHeading").first).to_be_visible(timeout=LONG_MS)
    return page


def settle(page: Page) -> None:
    """Wait until the server has answered to all that was entered."""
    page.wait_for_timeout(500)
    expect(page.get_by_test_id("stStatusWidget")).to_have_count(0, timeout=LONG_MS)


def choose(page: Page, field: str, option: str) -> None:
    """Choose from a field's list."""
    page.get_by_role("combobox", name=field).click()
    page.get_by_role("option", name=option, exact=True).click()


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
