from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
import pypdf
import pytest
import segno
from numpy.typing import NDArray

from scoring.errors import SettingsError
from scoring.geometry import CARD
from scoring.label import Label, label_text
from scoring.making.labels import CODE_MM, write_labels_pdf
from scoring.metrics import FaceName
from scoring.photo.label import read_label

Grey = NDArray[np.uint8]
Render = Callable[[Path, int, int], Grey]
DOTS_PER_INCH = 400
A4_MM = (210.0, 297.0)


def cells(sheet: Grey) -> list[Grey]:
    """The labels, cut along the grey lines as a person would, in reading order."""
    sheet = sheet[round(10 / 25.4 * DOTS_PER_INCH) :]  # below the line of words at the top
    cuts = []
    for axis in (0, 1):
        # A cut line is the only thing that is grey over most of the sheet's used length.
        grey = ((sheet > 100) & (sheet < 250)).sum(axis=1 - axis)
        at = np.flatnonzero(grey > 0.5 * grey.max())
        cuts.append([int(group[0]) for group in np.split(at, np.flatnonzero(np.diff(at) > 5) + 1)])
    rows, cols = cuts
    return [
        sheet[top + 3 : bottom - 1, left + 3 : right - 1]
        for top, bottom in pairwise(rows)
        for left, right in pairwise(cols)
    ]


def read(cell: Grey) -> str:
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(np.ascontiguousarray(cell))
    return text


def test_every_label_of_two_runs_in_order(tmp_path: Path, render: Render) -> None:
    path = tmp_path / "labels.pdf"
    write_labels_pdf(path, ["B7-012", "A" * 32])
    found = [read(cell) for cell in cells(render(path, 0, DOTS_PER_INCH))]
    assert found == [
        f"coupon:{run}:{axis}:{face}"
        for run in ("B7-012", "A" * 32)
        for axis in "xy"
        for face in ("ringdown", "flow")
    ]


def test_a_label_is_as_large_as_the_cards_square(tmp_path: Path, render: Render) -> None:
    path = tmp_path / "labels.pdf"
    write_labels_pdf(path, ["B7-012"])
    sheet = render(path, 0, DOTS_PER_INCH)
    px_per_mm = sheet.shape[1] / A4_MM[0]
    for cell in cells(sheet):
        # Four pixels of the cut lines are off.
        assert (np.array(cell.shape) + 4) / px_per_mm == pytest.approx(CARD.label_size_mm, abs=0.1)


def test_the_photo_reader_reads_it_at_twelve_pixels_a_millimetre(
    tmp_path: Path, render: Render
) -> None:
    path = tmp_path / "labels.pdf"
    write_labels_pdf(path, ["Z" * 32], axes=["y"], faces=["flow"])
    (cell,) = cells(render(path, 0, DOTS_PER_INCH))
    small = cv2.resize(cell, (240, 240), interpolation=cv2.INTER_AREA)
    assert read_label(np.asarray(small, np.uint8)) == Label("Z" * 32, "y", FaceName.FLOW)


@pytest.mark.parametrize("run", ["0", "B7-012", "A" * 32])
def test_symbols_follow_the_standard(tmp_path: Path, render: Render, run: str) -> None:
    # ISO/IEC 18004: a symbol of version V has 17 + 4 V modules a side and a quiet zone of 4.
    text = label_text(run, "x", "ringdown")
    code = segno.make(text, error="m", micro=False)
    modules = 17 + 4 * int(code.version)
    assert code.symbol_size(border=0) == (modules, modules)
    path = tmp_path / "labels.pdf"
    write_labels_pdf(path, [run], axes=["x"], faces=["ringdown"])
    (cell,) = cells(render(path, 0, DOTS_PER_INCH))
    px_per_mm = DOTS_PER_INCH / 25.4
    top = cell[: round(CODE_MM * px_per_mm) - 6]
    dark_rows, dark_cols = (
        np.flatnonzero((top < 128).any(axis=1)),
        np.flatnonzero((top < 128).any(axis=0)),
    )
    module = CODE_MM / (modules + 8)
    side = modules * module
    assert np.ptp(dark_rows) / px_per_mm == pytest.approx(side, abs=0.15)
    assert np.ptp(dark_cols) / px_per_mm == pytest.approx(side, abs=0.15)
    # The cell starts 3 px in from the cut line.
    assert (dark_rows[0] + 3) / px_per_mm == pytest.approx(4 * module, abs=0.15)
    assert dark_cols[0] / px_per_mm > 4 * module


def test_the_words_are_there(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    write_labels_pdf(path, ["B7-012"])
    words = pypdf.PdfReader(path).pages[0].extract_text()
    assert words.count("B7-012") == 4
    for kind in ("X blade, ring-down", "X blade, flow", "Y blade, ring-down", "Y blade, flow"):
        assert words.count(kind) == 1


def test_many_runs_take_many_pages(tmp_path: Path, render: Render) -> None:
    path = tmp_path / "labels.pdf"
    runs = [f"R{k}" for k in range(30)]
    write_labels_pdf(path, runs, paper="letter")
    pages = pypdf.PdfReader(path).pages
    found = [
        label.run
        for page in range(len(pages))
        for cell in cells(render(path, page, DOTS_PER_INCH))
        if (label := read_label(np.ascontiguousarray(cell)))
    ]
    assert len(pages) == 2
    assert found == [run for run in runs for _ in range(4)]


def test_a_run_named_twice_is_printed_once(tmp_path: Path) -> None:
    write_labels_pdf(tmp_path / "a.pdf", ["B7", "B8", "B7"])
    write_labels_pdf(tmp_path / "b.pdf", ["B7", "B8"])
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_nothing_to_print_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="at least one run"):
        write_labels_pdf(tmp_path / "a.pdf", [])
    with pytest.raises(SettingsError, match="at least one run"):
        write_labels_pdf(tmp_path / "a.pdf", ["B7"], axes=[])


@pytest.mark.parametrize(
    ("runs", "options"),
    [
        (["b7"], {}),
        (["B7"], {"axes": ["z"]}),
        (["B7"], {"faces": ["top"]}),
        (["B7"], {"paper": ""}),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_written(
    tmp_path: Path, runs: list[str], options: dict[str, list[str]]
) -> None:
    with pytest.raises(SettingsError):
        write_labels_pdf(tmp_path / "a.pdf", runs, **options)  # type: ignore[arg-type]
    assert list(tmp_path.iterdir()) == []
