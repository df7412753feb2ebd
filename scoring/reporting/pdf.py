"""The report as a PDF of true pages, its charts as vectors."""

import io
from collections.abc import Iterable, Iterator
from itertools import zip_longest
from typing import Any
from xml.sax.saxutils import escape

from reportlab.graphics import renderPDF
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    KeepTogether,
    ListFlowable,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
)
from reportlab.platypus import Table as Grid

from scoring.reporting.blocks import (
    PLOT_LEFT,
    PLOT_RIGHT,
    WIDTH,
    Block,
    Bullets,
    Chart,
    Document,
    Figure,
    Strip,
    Table,
    Text,
)
from scoring.reporting.colours import BLUE
from scoring.reporting.fonts import PLAIN, find_font, keep_known

MARGIN = (A4[0] - WIDTH) / 2
LABEL_PT, STRIP_GAP_PT = 9.0, 3.0
TABLE_START_PT = 170.0
"""A table begins only where that much of the page is left."""
LOST = "Some letters could not be shown in this PDF and stand as ?; the HTML report has them."


def write_pdf(document: Document) -> bytes:
    """The file's bytes. Every text is data: it is escaped, and letters no font has are replaced."""
    font, lacking = find_font(_texts(document))
    writer = _Writer(font, lacking)
    file = io.BytesIO()
    title = keep_known(document.title, lacking)
    pages = SimpleDocTemplate(
        file,
        pagesize=A4,
        leftMargin=MARGIN - 6,
        rightMargin=MARGIN - 6,
        topMargin=16 * mm,
        bottomMargin=18 * mm,
        title=title,
        invariant=1,
    )

    def foot(canvas: Canvas, _: Any) -> None:
        canvas.saveState()
        canvas.setFont(font, 8)
        canvas.setFillGray(0.35)
        canvas.drawString(MARGIN, 10 * mm, title if len(title) < 90 else f"{title[:90]}...")
        canvas.drawRightString(A4[0] - MARGIN, 10 * mm, f"page {canvas.getPageNumber()}")
        canvas.restoreState()

    pages.build(list(writer.flow(document)), onFirstPage=foot, onLaterPages=foot)
    return file.getvalue()


def _is_introduced(block: Block | None) -> bool:
    """Whether the words before it stay on its page."""
    if isinstance(block, Text):
        return block.style == "code"
    return isinstance(block, Figure | Bullets | Table)


class _Writer:
    """Turns blocks into what the page layout flows."""

    def __init__(self, font: str, lacking: frozenset[str]) -> None:
        self.font, self.lacking = font, lacking
        bold = "Helvetica-Bold" if font == PLAIN else font
        base = ParagraphStyle("plain", fontName=font, fontSize=9.5, leading=13, spaceAfter=4)
        grey, blue = HexColor("#555555"), HexColor(BLUE)
        self.styles = {
            "plain": base,
            "note": ParagraphStyle("note", base, fontSize=8, leading=10.5, textColor=grey),
            "warning": ParagraphStyle("warning", base, fontName=bold),
            "verdict": ParagraphStyle(
                "verdict", base, fontName=bold, fontSize=12, leading=16, spaceBefore=6,
                spaceAfter=10, textColor=blue,
            ),
            "code": ParagraphStyle(
                "code", base, fontName=font if font != PLAIN else "Courier", fontSize=8,
                leading=10.5, backColor=HexColor("#F3F3F3"), borderPadding=4, spaceBefore=4,
                spaceAfter=8,
            ),
            "title": ParagraphStyle("title", base, fontName=bold, fontSize=18, leading=22),
            "head": ParagraphStyle(
                "head", base, fontName=bold, fontSize=13, leading=16, spaceBefore=12, spaceAfter=5,
            ),
        }  # fmt: skip

    def flow(self, document: Document) -> Iterator[Flowable]:
        yield self.words(document.title, "title")
        yield self.words(document.made, "note")
        for section in document.sections:
            ahead: list[Flowable] = [self.words(section.title, "head")]
            for block, following in zip_longest(section.blocks, section.blocks[1:]):
                ahead += self.block(block)
                if isinstance(block, Text) and _is_introduced(following):
                    continue
                if isinstance(block, Table):
                    yield CondPageBreak(TABLE_START_PT)
                    yield from ahead
                else:
                    yield KeepTogether(ahead)
                ahead = []
        if self.lacking:
            yield self.words(LOST, "note")

    def words(self, text: str, style: str) -> Paragraph:
        return Paragraph(escape(keep_known(text, self.lacking)), self.styles[style])

    def block(self, block: Block) -> Iterator[Flowable]:
        match block:
            case Text():
                yield self.words(block.text, block.style)
            case Bullets():
                items = [self.words(item, block.style) for item in block.items]
                yield ListFlowable(items, bulletType="bullet", bulletFontSize=9, leftIndent=12)
                yield Spacer(0, 3)
            case Table():
                yield self.table(block)
                yield Spacer(0, 6)
            case Chart():
                drawn = _Picture((), block.draw(self.font), self.font)
                yield from (drawn, self.words(block.caption, "note"), Spacer(0, 8))
            case Figure():
                strips = [
                    Strip(keep_known(s.label, self.lacking), s.jpeg, s.aspect) for s in block.strips
                ]
                drawn = _Picture(strips, block.draw(self.font), self.font)
                yield from (drawn, self.words(block.caption, "note"), Spacer(0, 8))

    def table(self, block: Table) -> Grid:
        size = 7.0 if block.small else 8.5
        cell = ParagraphStyle(
            "cell", self.styles["plain"], fontSize=size, leading=1.25 * size, spaceAfter=0,
            splitLongWords=1,
        )  # fmt: skip
        head = ParagraphStyle("column", cell, fontName=self.styles["warning"].fontName)

        def put(texts: Iterable[str], style: ParagraphStyle) -> list[Paragraph]:
            return [Paragraph(escape(keep_known(text, self.lacking)), style) for text in texts]

        return Grid(
            [put(block.head, head), *(put(row, cell) for row in block.rows)],
            colWidths=[share * WIDTH for share in block.widths],
            repeatRows=1,
            splitInRow=1,  # a text may be longer than a page
            style=[
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LINEBELOW", (0, 0), (-1, 0), 1, HexColor("#888888")),
                ("LINEBELOW", (0, 1), (-1, -1), 0.4, HexColor("#DDDDDD")),
                ("TOPPADDING", (0, 0), (-1, -1), 2),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
                ("LEFTPADDING", (0, 0), (-1, -1), 3),
                ("RIGHTPADDING", (0, 0), (-1, -1), 3),
            ],
        )


class _Picture(Flowable):
    """Strips of photos, embedded as the JPEG that they are, above a vector drawing."""

    def __init__(self, strips: Iterable[Strip], drawing: Any, font: str) -> None:
        super().__init__()
        self.strips, self.drawing, self.font = tuple(strips), drawing, font
        self.width = WIDTH
        self.height = drawing.height + sum(self._high(strip) for strip in self.strips)

    def _high(self, strip: Strip) -> float:
        picture = strip.aspect * (PLOT_RIGHT - PLOT_LEFT) if strip.jpeg else 0.0
        return picture + LABEL_PT + STRIP_GAP_PT

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        y = self.height
        for strip in self.strips:
            canvas.setFont(self.font, 7)
            canvas.setFillGray(0.33)
            label = strip.label if strip.jpeg else f"{strip.label} (its picture cannot be read)"
            canvas.drawString(PLOT_LEFT, y - 7, label[:120])
            if strip.jpeg:
                high = strip.aspect * (PLOT_RIGHT - PLOT_LEFT)
                canvas.drawImage(
                    ImageReader(io.BytesIO(strip.jpeg)), PLOT_LEFT, y - LABEL_PT - high,
                    PLOT_RIGHT - PLOT_LEFT, high,
                )  # fmt: skip
            y -= self._high(strip)
        renderPDF.draw(self.drawing, canvas, 0, 0)


def _texts(document: Document) -> Iterator[str]:
    """Every text of the document."""
    yield document.title
    yield document.made
    for section in document.sections:
        yield section.title
        for block in section.blocks:
            match block:
                case Text():
                    yield block.text
                case Bullets():
                    yield from block.items
                case Table():
                    yield from block.head
                    for row in block.rows:
                        yield from row
                case Chart():
                    yield block.caption
                case Figure():
                    yield block.caption
                    yield from (strip.label for strip in block.strips)
