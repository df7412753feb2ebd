from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import pypdf
import pytest
from numpy.typing import NDArray

from scoring.errors import SettingsError
from scoring.geometry import CARD
from scoring.making.card import marker_modules, wedge_codes, write_card_pdf

Grey = NDArray[np.uint8]
Render = Callable[[Path, int, int], Grey]
Boxes = Sequence[tuple[float, float, float, float]]
# Landscape sheets in mm: ISO 216 A4; US Letter, 11 x 8.5 inches of 25.4 mm.
SHEETS_MM = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}


@dataclass(frozen=True, eq=False)
class Printed:
    """The card's file, and its sheet as rendered; places in mm from the card's top-left corner."""

    path: Path
    grey: Grey

    @property
    def sheet_mm(self) -> NDArray[np.float64]:
        return np.array(SHEETS_MM[self.path.stem])

    @property
    def px_per_mm(self) -> NDArray[np.float64]:
        """Across and down: the renderer stretches the page to whole pixels."""
        return np.array(self.grey.shape[::-1]) / self.sheet_mm

    def to_px(self, place_mm: Sequence[float] | NDArray[np.float64]) -> NDArray[np.float64]:
        origin = (self.sheet_mm - CARD.size_mm) / 2
        return np.asarray((origin + place_mm) * self.px_per_mm)

    def to_mm(self, place_px: NDArray[np.float64]) -> NDArray[np.float64]:
        return place_px / self.px_per_mm - (self.sheet_mm - CARD.size_mm) / 2

    def cut_out(self, origin_mm: Sequence[float], size_mm: Sequence[float]) -> Grey:
        """A copy of the part whose top-left corner is ``origin_mm``."""
        left, top = np.rint(self.to_px(origin_mm)).astype(int)
        right, bottom = np.rint(self.to_px(np.add(origin_mm, size_mm))).astype(int)
        return self.grey[top:bottom, left:right].copy()


@pytest.fixture(scope="module", params=["a4", "letter"])
def printed(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, render: Render
) -> Printed:
    path = tmp_path_factory.mktemp("card") / f"{request.param}.pdf"
    write_card_pdf(path, paper=request.param)
    return Printed(path, render(path, 0, 600))


def ink_middles_mm(strip: Grey, *, along: int, px_per_mm: float) -> NDArray[np.float64]:
    """Where the strokes that cross a strip have their middles, from the strip's start, in mm."""
    ink = 255.0 - strip.mean(axis=1 - along)
    starts = np.flatnonzero(np.diff(np.concatenate(([0], ink > 20)).astype(int)) == 1)
    middles = []
    for start in starts.tolist():
        window = np.arange(max(start - 2, 0), min(start + 8, ink.size))
        middles.append((window * ink[window]).sum() / ink[window].sum() + 0.5)
    return np.array(middles) / px_per_mm


def test_the_sheet_has_its_true_size(printed: Printed) -> None:
    page = pypdf.PdfReader(printed.path).pages[0]
    size_mm = np.array([float(page.mediabox.width), float(page.mediabox.height)]) / 72 * 25.4
    assert size_mm == pytest.approx(printed.sheet_mm, abs=0.01)


def test_it_is_vectors_on_one_page(printed: Printed) -> None:
    pages = pypdf.PdfReader(printed.path).pages
    assert len(pages) == 1
    assert len(pages[0].images) == 0


def test_opencv_finds_every_marker_in_its_place(printed: Printed) -> None:
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary, settings).detectMarkers(printed.grey)
    assert ids is not None
    found = {int(i): np.reshape(c, (4, 2)) for i, c in zip(np.ravel(ids), corners, strict=True)}
    assert sorted(found) == list(range(12))
    half = 7.0
    square = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    for marker_id, centre in enumerate(CARD.marker_centre_mm):
        # OpenCV counts from the middle of the first pixel; the corner order tells it is upright.
        places = printed.to_mm(found[marker_id].astype(np.float64) + 0.5)
        assert places == pytest.approx(centre + square, abs=0.06)
        assert places.mean(axis=0) == pytest.approx(np.array(centre), abs=0.03)


def test_marker_modules_are_the_dictionarys(printed: Printed) -> None:
    module = CARD.marker_side_mm / 6
    for marker_id, centre in enumerate(CARD.marker_centre_mm):
        dark = marker_modules(marker_id)
        assert dark.shape == (6, 6)
        for i, j in np.ndindex(6, 6):
            corner = np.array(centre) + (np.array([j, i]) - 3 + 0.1) * module
            inner = printed.cut_out(corner.tolist(), (0.8 * module, 0.8 * module))
            assert (inner == (0 if dark[i, j] else 255)).all()


def test_the_markers_margins_are_white(printed: Printed) -> None:
    around = CARD.marker_side_mm / 2 + CARD.marker_quiet_mm
    for x, y in CARD.marker_centre_mm:
        box = printed.cut_out((x - around, y - around), (2 * around, 2 * around))
        quiet = round(CARD.marker_quiet_mm * printed.px_per_mm[0]) - 2
        box[quiet:-quiet, quiet:-quiet] = 255
        assert (box == 255).all()


def test_the_ruler_is_a_hundred_millimetres(printed: Printed) -> None:
    x, y = CARD.ruler_origin_mm
    strip = printed.cut_out((x - 1.5, y - 1.6), (103, 1.0))
    across = printed.px_per_mm[0]
    start_mm = printed.to_mm(np.rint(printed.to_px((x - 1.5, y))))[0]
    ticks = start_mm + ink_middles_mm(strip, along=1, px_per_mm=across)
    assert len(ticks) == 101
    assert ticks == pytest.approx(x + np.arange(101), abs=0.03)
    assert ticks[-1] - ticks[0] == pytest.approx(100, abs=0.02)


@pytest.mark.parametrize(("above_mm", "every"), [(2.5, 5), (3.5, 10)])
def test_the_rulers_longer_ticks(printed: Printed, above_mm: float, every: int) -> None:
    x, y = CARD.ruler_origin_mm
    strip = printed.cut_out((x - 1.5, y - above_mm - 0.2), (103, 0.4))
    ticks = ink_middles_mm(strip, along=1, px_per_mm=printed.px_per_mm[0])
    assert ticks - 1.5 == pytest.approx(np.arange(0, 101, every), abs=0.05)


def test_the_wedge_is_as_stated(printed: Printed) -> None:
    assert wedge_codes() == (16, 48, 80, 112, 144, 176, 208, 240)
    (x, y), (w, h) = CARD.wedge_origin_mm, CARD.wedge_patch_mm
    for k, code in enumerate(wedge_codes()):
        patch = printed.cut_out((x + k * w + 0.3, y + 0.3), (w - 0.6, h - 0.6))
        assert np.abs(patch.astype(int) - code).max() <= 1


def without(printed: Printed, grey: Grey, origin_mm: Sequence[float], boxes: Boxes) -> Grey:
    """A part of the card, cut out at ``origin_mm``, with ``boxes`` wiped white."""
    for x, y, w, h in boxes:
        left, top = np.rint((np.array([x, y]) - origin_mm - 0.2) * printed.px_per_mm).astype(int)
        right, bottom = np.rint(
            (np.array([x + w, y + h]) - origin_mm + 0.2) * printed.px_per_mm
        ).astype(int)
        grey[max(top, 0) : bottom, max(left, 0) : right] = 255
    return grey


def test_the_bay_is_outlined_and_clear_around(printed: Printed) -> None:
    (x, y), (w, h) = CARD.bay_origin_mm, CARD.bay_size_mm
    bays = ((x, y, w, h), (*CARD.label_origin_mm, *CARD.label_size_mm))
    around = (x - 10, y - 10)
    clear = without(printed, printed.cut_out(around, (w + 20, h + 20)), around, bays)
    assert (clear == 255).all()
    for left, top, wide, high in bays:
        assert (printed.cut_out((left + 0.3, top + 0.3), (wide - 0.6, high - 0.6)) == 255).all()
        for start in ((left + 9, top - 0.5), (left + 9, top + high - 0.5)):
            edge = printed.cut_out(start, (1, 1))
            middle = ink_middles_mm(edge, along=0, px_per_mm=printed.px_per_mm[1])
            assert middle == pytest.approx([0.5], abs=0.05)
            assert 130 <= edge.min() <= 150


def test_all_else_on_the_card_is_bare_paper(printed: Printed) -> None:
    half = CARD.marker_side_mm / 2
    (ruler_x, ruler_y), (wedge_w, wedge_h) = CARD.ruler_origin_mm, CARD.wedge_patch_mm
    boxes = (
        *CARD.words_mm,
        *((x - half, y - half, 2 * half, 2 * half) for x, y in CARD.marker_centre_mm),
        (*CARD.bay_origin_mm, *CARD.bay_size_mm),
        (*CARD.label_origin_mm, *CARD.label_size_mm),
        (*CARD.wedge_origin_mm, wedge_w * CARD.wedge_patches, wedge_h),
        (ruler_x, ruler_y - 4, CARD.ruler_length_mm, 4),
    )
    card = without(printed, printed.cut_out((0, 0), CARD.size_mm), (0, 0), boxes)
    assert np.argwhere(card < 255).tolist() == []


def test_words_keep_clear_of_markers_and_bay() -> None:
    around = CARD.marker_side_mm / 2 + CARD.marker_quiet_mm
    (bay_x, bay_y), (bay_w, bay_h) = CARD.bay_origin_mm, CARD.bay_size_mm
    for x, y, w, h in CARD.words_mm:
        assert x >= 0
        assert y >= 0
        assert x + w <= CARD.size_mm[0]
        assert y + h <= CARD.size_mm[1]
        for cx, cy in CARD.marker_centre_mm:
            apart_x = cx + around <= x or x + w <= cx - around
            apart_y = cy + around <= y or y + h <= cy - around
            assert apart_x or apart_y
        beside = bay_x + bay_w + 10 <= x or x + w <= bay_x - 10
        beyond = bay_y + bay_h + 10 <= y or y + h <= bay_y - 10
        assert beside or beyond


def test_the_crop_marks_point_at_the_corners(printed: Printed) -> None:
    wide, high = CARD.size_mm
    above_or_below = [(x, y) for x in (0, wide) for y in (-5, high + 5)]
    beside = [(x, y) for x in (-5, wide + 5) for y in (0, high)]
    for along, places in ((1, above_or_below), (0, beside)):
        for x, y in places:
            mark = printed.cut_out((x - 1, y - 1), (2, 2))
            middle = ink_middles_mm(mark, along=along, px_per_mm=printed.px_per_mm[0])
            assert middle == pytest.approx([1.0], abs=0.05)


def test_the_words_say_what_to_do(printed: Printed) -> None:
    words = " ".join(pypdf.PdfReader(printed.path).pages[0].extract_text().split())
    for needed in (
        "Print at 100 %",
        "steel rule",
        "15 to 25 degrees",
        "30 to 40 degrees",
        "400 mm or more away",
        "face up, foot (plate side) toward this card's bottom edge",
        "cut corner at the top RIGHT",
        "cut corner at the top LEFT",
        "mains voltage",
        "run label",
        "lamp for ring-down face",
        "lamp for flow face",
        f"revision {CARD.revision}",
    ):
        assert needed in words


def test_the_same_card_is_the_same_file(tmp_path: Path) -> None:
    write_card_pdf(tmp_path / "a.pdf")
    write_card_pdf(tmp_path / "b.pdf")
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_another_paper_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="a4, letter"):
        write_card_pdf(tmp_path / "card.pdf", paper="a5")


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="cannot be written"):
        write_card_pdf(tmp_path / "absent" / "card.pdf")
