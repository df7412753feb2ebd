"""The report as one HTML file."""

import re

from lxml import html  # type: ignore[import-untyped]

from scoring.comparing.compare import compare_sides
from scoring.reporting.blocks import Document
from scoring.reporting.html import write_html
from tests.comparing.conftest import make_photo
from tests.reporting.conftest import compared, composed

EVIL = "<script>alert(1)</script> & </title><b>'\""


def test_it_is_one_file_that_asks_for_nothing(document: Document) -> None:
    text = write_html(document).decode()
    page = html.fromstring(text)
    for element in page.iter():
        for name in ("src", "href", "data", "action", "{http://www.w3.org/1999/xlink}href"):
            assert element.get(name, "data:").startswith("data:")
    assert not page.xpath("//script | //link | //iframe | //object")
    assert not re.search(r"url\(|@import", text)
    assert text.startswith("<!DOCTYPE html>")


def test_everything_is_in_it(document: Document) -> None:
    page = html.fromstring(write_html(document).decode())
    said = " ".join(page.text_content().split())
    for section in document.sections:
        assert section.title in said
    assert len(page.xpath("//img")) == 12
    assert all(image.get("alt") for image in page.xpath("//img"))
    drawings = page.xpath("//*[local-name()='svg']")
    assert len(drawings) >= 6 + 4
    assert all(d.xpath("./*[local-name()='title']")[0].text for d in drawings)


def test_no_two_elements_share_a_name(document: Document) -> None:
    """Like-named clips of several drawings in one page would cut each other."""
    page = html.fromstring(write_html(document).decode())
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))


def test_text_from_settings_is_data() -> None:
    found = compared(setup=EVIL, filament="sand", notes=EVIL, extra={EVIL: EVIL})
    text = write_html(composed(found)).decode()
    page = html.fromstring(text)
    assert not page.xpath("//script | //b")
    assert EVIL in page.xpath("//title")[0].text
    assert EVIL in page.text_content()
    assert "before: stock" in text
    # In the drawings too, where the name stands in the legend, cut to length.
    legends = [t.text for t in page.xpath("//*[local-name()='text']") if t.text]
    assert any(label.startswith("after: <script>") for label in legends)


def test_text_from_file_names_is_data() -> None:
    records = [
        make_photo("S", peak=20, shot=EVIL), make_photo("B", peak=10, setup="brace", shot=EVIL)
    ]  # fmt: skip
    found = compare_sides(records, factor="setup", before="stock", after="brace")
    page = html.fromstring(write_html(composed(found)).decode())
    assert not page.xpath("//script | //b")
    assert f"S-{EVIL}.jpg" in page.text_content()
