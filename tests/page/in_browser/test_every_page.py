"""Every page in a real browser: that it draws, and that the ranking leads on."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.page.in_browser.handling import LONG_MS, WIDTHS_PX, choose, opened


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


def test_sides_are_compared_and_the_report_downloaded(
    browser: Browser, address: str, tmp_path: Path
) -> None:
    page = _compare_setups(browser, address)
    for place in range(2):
        drawn = page.get_by_test_id("stVegaLiteChart").nth(place).locator("svg, canvas").first
        expect(drawn).to_be_visible(timeout=LONG_MS)
    for kind, begins in (("HTML", b"<!DOCTYPE html>"), ("PDF", b"%PDF-")):
        assert _download(page, kind, tmp_path).read_bytes().startswith(begins)
    page.close()


def test_the_report_fits_a_phone_and_its_letters_can_be_read(
    browser: Browser, address: str, tmp_path: Path
) -> None:
    """Letters in its charts stay as high as those of small print."""
    page = _compare_setups(browser, address)
    report = _download(page, "HTML", tmp_path)
    page.close()
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(report.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    hint = page.locator(".scroll").first.evaluate("e => getComputedStyle(e, '::before').content")
    assert "scroll sideways" in hint
    letters = page.locator("figure svg text").all()
    assert letters
    for text in letters:
        assert text.evaluate("e => e.getBoundingClientRect().height") >= 11
    page.close()


def _compare_setups(browser: Browser, address: str) -> Page:
    page = opened(browser, f"{address}/compare", WIDTHS_PX[0])
    choose(page, "What was changed", "setup")
    expect(page.get_by_text("Know first")).to_be_visible(timeout=LONG_MS)
    return page


def _download(page: Page, kind: str, folder: Path) -> Path:
    with page.expect_download(timeout=LONG_MS) as download:
        page.get_by_role("button", name=f"Report as {kind}").click()
    report = folder / f"report.{kind.lower()}"
    download.value.save_as(report)
    return report
