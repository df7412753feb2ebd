"""The photo card as a vector PDF at true size."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import CARD
from scoring.making.sheet import Anchor, Sheet
from scoring.photo.opencv import cv2

OUTLINE_GREY, OUTLINE_WIDTH_MM = 0.55, 0.25
WORDS_GREY, WORDS_MM, LINE_MM = 0.25, 2.0, 2.6
CROP_GAP_MM, CROP_LENGTH_MM = 2.0, 6.0

HOW_TO_LAY = "Measured face up, foot (plate side) toward this card's"
FACES = {
    "RING-DOWN FACE": (
        HOW_TO_LAY,
        "bottom edge: cut corner at the top RIGHT.",
        "Lamp to the left, on the label's side, 400 mm or",
        "more away, 15 to 25 degrees up.",
    ),
    "FLOW FACE": (
        HOW_TO_LAY,
        "bottom edge: cut corner at the top LEFT.",
        "Lamp beyond the top edge, 400 mm or more away,",
        "30 to 40 degrees up.",
    ),
}
HEAD = (
    f"Photo card for print coupons, revision {CARD.revision}. Lay the run's label in its square. "
    "Lamp: hot, and on mains voltage. Keep lead and paper clear, do not look into it."
)
CHECK = "Print at 100 %. Check this ruler against a steel rule."
MARGIN_WORDS = (
    "Print at 100 % (actual size), never fitted to the page, on matt white paper. "
    "Check the ruler against a steel rule: 100 mm.",
    "Cut from mark to mark. Keep the card flat: glue it to stiff board.",
)


def wedge_codes() -> tuple[int, ...]:
    """The wedge's patches as 8-bit sRGB code values, dark to light, in equal steps of 32.

    16, 48, 80, ... 240, so the nominal reflectance of each by IEC 61966-2-1 is 0.005, 0.030, 0.080,
    0.162, 0.279, 0.434, 0.631 and 0.871 of the paper's. A printer keeps their order, not their
    values: nothing may be calibrated on them that was not measured on the printed card.
    """
    return tuple(round(v) for v in np.linspace(16, 240, CARD.wedge_patches))


def marker_modules(marker_id: int) -> NDArray[np.bool_]:
    """Which modules of a marker are dark, (6, 6) for a 4 x 4 code: its border is a module wide."""
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, CARD.marker_dictionary))
    side = dictionary.markerSize + 2
    image = np.asarray(cv2.aruco.generateImageMarker(dictionary, marker_id, side))
    return np.asarray(image == 0)


def write_card_pdf(path: Path, *, paper: str = "a4") -> None:
    """Write the card to ``path``, in the middle of a landscape sheet, with crop marks.

    ``paper`` is ``"a4"`` or ``"letter"``. Every length is that of the geometry file. Markers and
    patches are filled areas, lines and words are vectors: no pixels. Words stand only in the
    boxes that the geometry names, clear of the markers' margins and of the bay. Raises
    :class:`SettingsError` for another paper, or where ``path`` cannot be written.
    """
    sheet = Sheet(paper, landscape=True, title=f"Photo card, revision {CARD.revision}")
    wide, high = CARD.size_mm
    left, top = (sheet.width_mm - wide) / 2, (sheet.height_mm - high) / 2
    for k, words in enumerate(MARGIN_WORDS):
        sheet.write_words(sheet.width_mm / 2, top - 18 + 4 * k, words, size_mm=3, anchor="middle")
    sheet.put_origin(left, top)
    _draw_crop_marks(sheet)
    for marker_id, (x, y) in enumerate(CARD.marker_centre_mm):
        half = CARD.marker_side_mm / 2
        sheet.draw_modules(x - half, y - half, CARD.marker_side_mm, marker_modules(marker_id))
    _draw_bays(sheet)
    _draw_wedge(sheet)
    _draw_ruler(sheet)
    _write_words(sheet)
    sheet.save(path)


def _box(
    origin_mm: tuple[float, float], size_mm: tuple[float, float]
) -> tuple[tuple[float, float], ...]:
    (x, y), (w, h) = origin_mm, size_mm
    return ((x, y), (x + w, y), (x + w, y + h), (x, y + h))


def _draw_crop_marks(sheet: Sheet) -> None:
    """Two strokes off each corner, in line with the edges and clear of the card."""
    wide, high = CARD.size_mm
    near, far = CROP_GAP_MM, CROP_GAP_MM + CROP_LENGTH_MM
    for x, outward_x in ((0.0, -1), (wide, 1)):
        for y, outward_y in ((0.0, -1), (high, 1)):
            sheet.draw_line((x + outward_x * near, y), (x + outward_x * far, y))
            sheet.draw_line((x, y + outward_y * near), (x, y + outward_y * far))


def _draw_bays(sheet: Sheet) -> None:
    for corners in (
        _box(CARD.bay_origin_mm, CARD.bay_size_mm),
        _box(CARD.label_origin_mm, CARD.label_size_mm),
    ):
        sheet.draw_outline(corners, width_mm=OUTLINE_WIDTH_MM, grey=OUTLINE_GREY)


def _draw_wedge(sheet: Sheet) -> None:
    (x, y), (w, h) = CARD.wedge_origin_mm, CARD.wedge_patch_mm
    for k, code in enumerate(wedge_codes()):
        sheet.draw_outline(_box((x + k * w, y), (w, h)), width_mm=0, fill=code / 255)


def _draw_ruler(sheet: Sheet) -> None:
    """A tick each millimetre, whose middle is the place; longer each 5 and 10, with numbers."""
    x, y = CARD.ruler_origin_mm
    length = round(CARD.ruler_length_mm)
    for k in range(length + 1):
        tall = 4.0 if k % 10 == 0 else 3.0 if k % 5 == 0 else 2.0
        sheet.draw_line((x + k, y - tall), (x + k, y))
    sheet.draw_line((x - 0.05, y), (x + length + 0.05, y))
    for k in range(0, length + 1, 10):
        sheet.write_words(x + k, y + 2.6, str(k), size_mm=WORDS_MM, anchor="middle")


def _write_words(sheet: Sheet) -> None:
    head, flow_lamp, ring_lamp, label, ring, flow, check = CARD.words_mm
    x, y, w, _ = head
    _write(sheet, x, y + 2.2, (HEAD,), w)
    x, y, w, h = label
    _write(sheet, x, y + h - 0.5, ("run label",), w)
    for (x, y, w, _), (name, lines), cut_right in zip(
        (ring, flow), FACES.items(), (True, False), strict=True
    ):
        sheet.write_words(x, y + 3.0, name, size_mm=WORDS_MM, grey=WORDS_GREY, bold=True)
        _draw_coupon(sheet, x + w - 14.0, y + 0.6, cut_right=cut_right)
        _write(sheet, x, y + 6.1, lines, w)
    x, y, w, h = check
    sheet.write_words(
        CARD.ruler_origin_mm[0] + CARD.ruler_length_mm / 2,
        y + h - 0.8,
        f"millimetres. {CHECK}",
        size_mm=WORDS_MM,
        grey=WORDS_GREY,
        anchor="middle",
    )
    x, y, w, h = ring_lamp
    middle = y + h / 2
    _draw_arrow(sheet, (x, middle), (x + w - 0.5, middle))
    beside: tuple[tuple[float, str, Anchor], ...] = (
        (middle + 1.5, "lamp for", "right"),
        (middle - 1.5, "ring-down face", "left"),
    )
    for at, words, anchor in beside:
        sheet.write_words(
            x + w / 2 + 0.7,
            at,
            words,
            size_mm=WORDS_MM,
            grey=WORDS_GREY,
            turn_deg=90,
            anchor=anchor,
        )
    x, y, w, h = flow_lamp
    middle = x + w / 2
    _draw_arrow(sheet, (middle, y + 1.0), (middle, y + h - 0.5))
    sheet.write_words(
        middle - 1.5, y + 5, "lamp for", size_mm=WORDS_MM, grey=WORDS_GREY, anchor="right"
    )
    sheet.write_words(middle + 1.5, y + 5, "flow face", size_mm=WORDS_MM, grey=WORDS_GREY)


def _write(sheet: Sheet, x: float, y: float, lines: Sequence[str], width_mm: float) -> None:
    for k, line in enumerate(lines):
        sheet.write_words(
            x, y + k * LINE_MM, line, size_mm=WORDS_MM, grey=WORDS_GREY, max_width_mm=width_mm
        )


def _draw_coupon(sheet: Sheet, x: float, y: float, *, cut_right: bool) -> None:
    """A small sign of the coupon as it lies: an outline with one corner cut."""
    w, h, cut = 14.0, 3.4, 1.4
    top = ((x, y), (x + w - cut, y), (x + w, y + cut))
    if not cut_right:
        top = ((x, y + cut), (x + cut, y), (x + w, y))
    sheet.draw_outline((*top, (x + w, y + h), (x, y + h)), width_mm=0.2, grey=WORDS_GREY)


def _draw_arrow(sheet: Sheet, start: tuple[float, float], end: tuple[float, float]) -> None:
    """A stroke with a head at ``end``, along x or y."""
    (x0, y0), (x1, y1) = start, end
    sheet.draw_line(start, end, width_mm=0.3, grey=WORDS_GREY)
    length = abs(x1 - x0) + abs(y1 - y0)
    along = ((x1 - x0) / length, (y1 - y0) / length)
    back = (x1 - 1.6 * along[0], y1 - 1.6 * along[1])
    side = (0.8 * along[1], 0.8 * along[0])
    sheet.draw_outline(
        (end, (back[0] + side[0], back[1] + side[1]), (back[0] - side[0], back[1] - side[1])),
        width_mm=0,
        fill=WORDS_GREY,
    )
