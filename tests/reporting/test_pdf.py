"""The report as a PDF."""

import io

import pytest
from pypdf import PdfReader

from scoring.comparing.compare import compare_sides
from scoring.reporting.blocks import Document
from scoring.reporting.fonts import find_font, keep_known
from scoring.reporting.pdf import LOST, write_pdf
from tests.comparing.conftest import make_photo
from tests.reporting.conftest import compared, composed


def words(pdf: bytes) -> str:
    return " ".join(
        " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split()
    )


def test_it_has_pages_with_everything(document: Document) -> None:
    pdf = write_pdf(document)
    reader = PdfReader(io.BytesIO(pdf))
    assert len(reader.pages) >= 5
    # ISO 216 A4, in points.
    assert [float(x) for x in reader.pages[0].mediabox[2:]] == pytest.approx(
        [595.28, 841.89], abs=0.1
    )
    said = words(pdf)
    for section in document.sections:
        assert section.title in said
    assert f"page {len(reader.pages)}" in said
    assert LOST not in said
    assert reader.metadata is not None
    assert reader.metadata.title == document.title


def test_photos_are_pictures_and_charts_are_not(document: Document) -> None:
    reader = PdfReader(io.BytesIO(write_pdf(document)))
    pictures = [image for page in reader.pages for image in page.images]
    assert len(pictures) == 12
    assert {image.name.rsplit(".")[-1] for image in pictures} == {"jpg"}


def test_the_same_report_is_the_same_file(document: Document) -> None:
    assert write_pdf(document) == write_pdf(document)


def test_text_from_settings_is_data() -> None:
    evil = "<b>bold</b> & <font size=40>x</font> <nosuchtag>"
    said = words(write_pdf(composed(compared(setup=evil, notes=evil))))
    assert evil in said


def test_letters_beyond_the_plain_font_are_shown_or_said_to_be_lost() -> None:
    name = "Вяз"
    said = words(write_pdf(composed(compared(setup=name))))
    font, lacking = find_font([name])
    if lacking:
        assert LOST in said
        assert "???" in said
    else:
        assert font != "Helvetica"
        assert name in said
        assert LOST not in said


def test_a_letter_that_no_font_has_is_replaced() -> None:
    """U+E000 is for private use: no font of the list gives it a shape."""
    assert keep_known("a\ue000b\x07", frozenset("\ue000")) == "a?b "
    _, lacking = find_font(["\U0010fffd", "x"])
    assert "x" not in lacking


def test_long_tables_and_texts_flow_over_pages() -> None:
    """A note and a value of one's own longer than a page, with a word longer than a line."""
    note = "word " * 3000 + "x" * 400
    pdf = write_pdf(composed(compared(notes=note, extra={"story": note})))
    assert words(pdf).count("word") >= 6000


def test_a_hundred_accelerations_flow_over_pages() -> None:
    records = [
        make_photo(f"{setup}{accel}", peak=peak + accel / 1e5, setup=setup, accel_mm_s2=accel)
        for setup, peak in (("stock", 9), ("brace", 5))
        for accel in range(1000, 11000, 100)
    ]
    found = compare_sides(records, factor="setup", before="stock", after="brace")
    assert len(PdfReader(io.BytesIO(write_pdf(composed(found)))).pages) > 8
