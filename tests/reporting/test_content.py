"""What stands in a report."""

import shlex

from scoring.comparing.acceptance import AcceptanceLimit
from scoring.comparing.compare import compare_sides
from scoring.making.advice import CAUTIONS
from scoring.reporting.blocks import Bullets, Document, Figure, Table, Text
from scoring.reporting.content import compose_report
from tests.comparing.conftest import make_photo
from tests.reporting.conftest import NOON, compared, composed, photos


def section(document: Document, title: str) -> list[object]:
    return [b for s in document.sections if s.title == title for b in s.blocks]


def words(blocks: list[object]) -> str:
    """All words of blocks, tables too."""
    said = []
    for block in blocks:
        if isinstance(block, Text):
            said.append(block.text)
        elif isinstance(block, Bullets):
            said += block.items
        elif isinstance(block, Table):
            said += [cell for row in (block.head, *block.rows) for cell in row]
    return " ".join(said)


def test_verdict_and_doubts_come_first() -> None:
    found = compared(nozzle_temp_c=230)
    first = composed(found).sections[0]
    said = words(list(first.blocks))
    assert said.index("Does the setup brace") < said.index(found.verdict)
    assert "nozzle temperature: not given before, 230 °C after" in said
    assert all(remark.sentence in said for remark in found.remarks)


def test_three_pairs_of_each_face_are_shown_with_photos_on_both_sides(document: Document) -> None:
    figures = [b for b in section(document, "Photos") if isinstance(b, Figure)]
    assert len(figures) == 6
    for figure, accel in zip(figures, (1000, 5000, 20000) * 2, strict=True):
        assert f"acceleration {accel} mm/s²" in figure.caption
    assert all(strip.jpeg for f in figures for strip in f.strips)
    assert "before: stock: run STOCK-0, STOCK-0-1.jpg" in figures[0].strips[0].label


def test_effects_limits_settings_and_versions_are_there(document: Document) -> None:
    effects = words(section(document, "Effects"))
    assert "% lower" in effects
    assert "no change established" in effects
    assert "10000" in words(section(document, "Limits"))
    settings = words(section(document, "Settings and their differences"))
    assert "machine Alder" in settings
    assert "BRACE-4" in settings
    trust = words(section(document, "How it was measured, and how far to trust it"))
    assert "No photo of a real print" in trust
    assert words(section(document, "Cautions")) == " ".join(CAUTIONS.split())


def test_a_limit_is_repeated_without_loss() -> None:
    limit = AcceptanceLimit("ripple_peak_um", 15.12345678)
    said = words(section(composed(compared(), limits=[limit]), "To repeat it"))
    assert "--limit ripple_peak_um=15.12345678 " in said


def test_limits_are_judged_on_the_machines_of_the_pairs_however_written() -> None:
    records = photos() + [
        make_photo(machine, peak=500, setup="brace", machine=machine, accel_mm_s2=500)
        for machine in ("alder", "Birch")
    ]
    found = compare_sides(records, factor="setup", before="stock", after="brace")
    said = words(section(composed(found), "Limits"))
    assert "never passes; at 500 mm/s²" in said
    assert "Birch" not in said


def test_every_photo_is_named_by_its_hash_and_the_command_repeats_it() -> None:
    records = photos()
    document = composed(
        compare_sides(records, factor="setup", before="stock", after="brace"),
        options=[("--machine", "Al der")],
        output="brace.pdf",
    )
    blocks = section(document, "To repeat it")
    said = words(blocks)
    assert all(record.photo.sha256 in said for record in records)
    (code,) = [b.text for b in blocks if isinstance(b, Text) and b.style == "code"]
    assert shlex.split(code) == [
        "coupon", "report", "--factor", "setup", "--before", "stock", "--after", "brace",
        "--machine", "Al der", "--limit", "ripple_peak_um=15", "--limit", "gap_fraction=0.01",
        "-o", "brace.pdf",
    ]  # fmt: skip


def test_a_comparison_that_pairs_on_nothing_has_whole_sentences() -> None:
    found = compare_sides(
        photos(), factor="setup", before="stock", after="brace", pair_on=["setup"]
    )
    document = composed(found)
    assert "Pairs share nothing" in words(section(document, "Effects"))
    figures = [b for b in section(document, "Photos") if isinstance(b, Figure)]
    assert figures[0].caption.startswith("Ring-down face. 10 photos")
    assert figures[0].said.endswith("over each other.")


def test_a_comparison_without_pairs_still_makes_a_report() -> None:
    records = [make_photo("S", peak=20), make_photo("B", peak=10, setup="brace", filament="red")]
    found = compare_sides(records, factor="setup", before="stock", after="brace")
    document = composed(found)
    assert "no effect to tell" in words(section(document, "Effects"))
    assert "No pair has a photo" in words(section(document, "Photos"))
    assert "filament" in words(list(document.sections[0].blocks))


def test_a_picture_that_cannot_be_read_is_said_not_fatal() -> None:
    found = compared()
    document = compose_report(found, lambda _: b"no picture", limits=[], made_at=NOON)
    figures = [b for b in section(document, "Photos") if isinstance(b, Figure)]
    assert figures
    assert all(strip.jpeg is None for f in figures for strip in f.strips)
    assert "No limit was set" in words(section(document, "Limits"))
