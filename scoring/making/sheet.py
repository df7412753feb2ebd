"""A sheet of paper to draw on in millimetres, x right and y down, as a vector PDF."""

import io
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from scoring.errors import SettingsError
from scoring.whole_file import write_file

PAPERS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height, upright: ISO 216 A4; US Letter, 8.5 x 11 inches."""

Anchor = Literal["left", "middle", "right"]


class Sheet:
    """Draws at true size; nothing is scaled. Grey is 0 (black) to 1 (white).

    Places are in mm from the origin, which is the sheet's top-left corner until
    :meth:`put_origin` moves it. Raises :class:`SettingsError` for an unknown paper.
    """

    def __init__(self, paper: str, *, landscape: bool, title: str) -> None:
        if paper not in PAPERS_MM:
            raise SettingsError(
                f"The paper is {paper!r}; it must be one of {', '.join(sorted(PAPERS_MM))}."
            )
        wide, high = PAPERS_MM[paper]
        self.width_mm, self.height_mm = (high, wide) if landscape else (wide, high)
        self._origin_mm = (0.0, 0.0)
        self._file = io.BytesIO()
        # "invariant" leaves the date out, so that the same card is the same file.
        self._canvas = Canvas(
            self._file, pagesize=(self.width_mm * mm, self.height_mm * mm), invariant=True
        )
        self._canvas.setTitle(title)

    def put_origin(self, x_mm: float, y_mm: float) -> None:
        """Count all later places from (x, y) on the sheet."""
        self._origin_mm = (x_mm, y_mm)

    def _points(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        left, top = self._origin_mm
        return (left + x_mm) * mm, (self.height_mm - top - y_mm) * mm

    def draw_line(
        self,
        start_mm: tuple[float, float],
        end_mm: tuple[float, float],
        *,
        width_mm: float = 0.1,
        grey: float = 0.0,
    ) -> None:
        """A line whose middle runs from ``start_mm`` to ``end_mm``, cut square at the ends."""
        self._canvas.setStrokeGray(grey)
        self._canvas.setLineWidth(width_mm * mm)
        self._canvas.line(*self._points(*start_mm), *self._points(*end_mm))

    def draw_outline(
        self,
        corners_mm: tuple[tuple[float, float], ...],
        *,
        width_mm: float = 0.1,
        grey: float = 0.0,
        fill: float | None = None,
    ) -> None:
        """A closed outline through ``corners_mm``, filled with the grey ``fill`` if given."""
        path = self._canvas.beginPath()
        path.moveTo(*self._points(*corners_mm[0]))
        for corner in corners_mm[1:]:
            path.lineTo(*self._points(*corner))
        path.close()
        self._canvas.setStrokeGray(grey)
        self._canvas.setLineWidth(width_mm * mm)
        if fill is not None:
            self._canvas.setFillGray(fill)
        self._canvas.drawPath(path, stroke=int(width_mm > 0), fill=int(fill is not None))

    def draw_modules(
        self, x_mm: float, y_mm: float, side_mm: float, dark: NDArray[np.bool_]
    ) -> None:
        """The dark ones of (N, N) square modules, ``side_mm`` in all, top-left at (x, y).

        They make one path, so no hairline shows between neighbours.
        """
        module = side_mm / dark.shape[0]
        path = self._canvas.beginPath()
        for i, row in enumerate(dark):
            edges = np.flatnonzero(np.diff(np.concatenate(([False], row, [False])).astype(int)))
            for start, end in edges.reshape(-1, 2):
                x, y = self._points(x_mm + start * module, y_mm + (i + 1) * module)
                path.rect(x, y, (end - start) * module * mm, module * mm)
        self._canvas.setFillGray(0)
        self._canvas.drawPath(path, stroke=0, fill=1)

    def write_words(
        self,
        x_mm: float,
        y_mm: float,
        text: str,
        *,
        size_mm: float,
        grey: float = 0.0,
        bold: bool = False,
        anchor: Anchor = "left",
        turn_deg: float = 0.0,
        max_width_mm: float | None = None,
    ) -> None:
        """One line of words with its baseline at y, turned counter-clockwise about (x, y).

        Letters shrink so that the line is no longer than ``max_width_mm``.
        """
        font = "Helvetica-Bold" if bold else "Helvetica"
        if max_width_mm is not None:
            size_mm = min(size_mm, max_width_mm / stringWidth(text, font, 1.0))
        canvas = self._canvas
        canvas.saveState()
        canvas.translate(*self._points(x_mm, y_mm))
        canvas.rotate(turn_deg)
        canvas.setFillGray(grey)
        canvas.setFont(font, size_mm * mm)
        draw = {
            "left": canvas.drawString,
            "middle": canvas.drawCentredString,
            "right": canvas.drawRightString,
        }
        draw[anchor](0, 0, text)
        canvas.restoreState()

    def start_page(self) -> None:
        """End the page and begin an empty one of the same size."""
        self._canvas.showPage()

    def save(self, path: Path) -> None:
        """Write the PDF. Raises :class:`SettingsError` where ``path`` cannot be written."""
        self._canvas.save()
        write_file(path, self._file.getvalue())
