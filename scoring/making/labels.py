"""A sheet of run labels to cut out and lay in the card's label bay."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import segno

from scoring.errors import SettingsError
from scoring.geometry import CARD
from scoring.label import AXES, Label, label_text, parse_label
from scoring.making.sheet import Sheet
from scoring.metrics import FACE_WORDS, FaceName

# The code with its quiet zone of 4 modules (ISO/IEC 18004); words fill the rest of the label.
CODE_MM = 16.0
QUIET_MODULES = 4
WORDS_MM = 1.8
SIDE_MM = 0.8
MARGIN_MM = 12.0
CUT_GREY = 0.6


def write_labels_pdf(
    path: Path,
    runs: Sequence[str],
    *,
    axes: Sequence[str] = AXES,
    faces: Sequence[str] = tuple(FaceName),
    paper: str = "a4",
) -> None:
    """Write one label for each run, axis and face to ``path``, with lines to cut along.

    A label is as large as the card's label bay: a QR code that says ``coupon:RUN:AXIS:FACE`` and
    the same in words. A run named twice gets its labels once; as many pages as it takes. Raises
    :class:`SettingsError` for a run, axis, face or paper that cannot be, for no run at all, and
    where ``path`` cannot be written.
    """
    labels = [
        parse_label(label_text(run, axis, face))
        for run in dict.fromkeys(runs)
        for axis in dict.fromkeys(axes)
        for face in dict.fromkeys(faces)
    ]
    if not labels:
        raise SettingsError("No label was asked for. Name at least one run, axis and face.")
    sheet = Sheet(paper, landscape=False, title="Run labels")
    wide, high = CARD.label_size_mm
    columns = int((sheet.width_mm - 2 * MARGIN_MM) // wide)
    # The labels of a run stay on one row where they can.
    kinds = len(labels) // len(dict.fromkeys(runs))
    columns = columns // kinds * kinds or columns
    rows = int((sheet.height_mm - 2 * MARGIN_MM) // high)
    for first in range(0, len(labels), columns * rows):
        if first:
            sheet.start_page()
        _draw_page(sheet, labels[first : first + columns * rows], columns)
    sheet.save(path)


def _draw_page(sheet: Sheet, labels: Sequence[Label], columns: int) -> None:
    wide, high = CARD.label_size_mm
    left = (sheet.width_mm - columns * wide) / 2
    sheet.put_origin(0, 0)
    sheet.write_words(
        left,
        MARGIN_MM - 4,
        "Print at 100 %. Cut along the lines; lay a label in the card's square before each photo.",
        size_mm=2.5,
    )
    sheet.put_origin(left, MARGIN_MM)
    for k, label in enumerate(labels):
        _draw_label(sheet, label, k % columns * wide, k // columns * high)
    used_rows, used_columns = -(-len(labels) // columns), min(columns, len(labels))
    reach = 3.0
    for i in range(used_rows + 1):
        y = i * high
        sheet.draw_line((-reach, y), (used_columns * wide + reach, y), grey=CUT_GREY)
    for j in range(used_columns + 1):
        x = j * wide
        sheet.draw_line((x, -reach), (x, used_rows * high + reach), grey=CUT_GREY)


def _draw_label(sheet: Sheet, label: Label, x_mm: float, y_mm: float) -> None:
    code = segno.make(label_text(label.run, label.axis, label.face), error="m", micro=False)
    dark = np.array(list(code.matrix_iter(border=QUIET_MODULES))) > 0
    wide, _ = CARD.label_size_mm
    sheet.draw_modules(x_mm + (wide - CODE_MM) / 2, y_mm, CODE_MM, dark)
    words = (label.run, f"{label.axis.upper()} blade, {FACE_WORDS[label.face]}")
    for k, line in enumerate(words):
        sheet.write_words(
            x_mm + wide / 2,
            y_mm + CODE_MM + 1.2 + 2.0 * k,
            line,
            size_mm=WORDS_MM,
            bold=k == 0,
            anchor="middle",
            max_width_mm=wide - 2 * SIDE_MM,
        )
