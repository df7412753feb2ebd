"""What a report is made of, the same for HTML and PDF."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from reportlab.graphics.shapes import Drawing

Style = Literal["plain", "verdict", "warning", "note", "code"]

MakeDrawing = Callable[[str], Drawing]
"""Draws, :data:`WIDTH` points wide, with the font of the given name."""

WIDTH = 482.0
"""Every drawing's width, in points: 170 mm."""
PLOT_LEFT, PLOT_RIGHT = 52.0, 474.0
"""Where every plot's axis begins and ends in that width; strips of photos share it."""


@dataclass(frozen=True)
class Text:
    """A paragraph. ``text`` is data: nothing in it is markup."""

    text: str
    style: Style = "plain"


@dataclass(frozen=True)
class Bullets:
    """A list of sentences, each data as in :class:`Text`."""

    items: tuple[str, ...]
    style: Style = "plain"


@dataclass(frozen=True)
class Table:
    """Rows under a head; ``widths`` are shares of the page's width, of columns in order."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    small: bool = False


@dataclass(frozen=True)
class Chart:
    """A vector drawing. ``said`` tells in words what it shows, for who cannot see it."""

    draw: MakeDrawing
    caption: str
    said: str


@dataclass(frozen=True)
class Strip:
    """A photo's strip as JPEG that spans the plot's width, with the words above it."""

    label: str
    jpeg: bytes | None
    aspect: float


@dataclass(frozen=True)
class Figure:
    """Strips of photos above a drawing that shares their millimetre axis."""

    strips: tuple[Strip, ...]
    draw: MakeDrawing
    caption: str
    said: str


Block = Text | Bullets | Table | Chart | Figure


@dataclass(frozen=True)
class Section:
    """A heading and what stands under it."""

    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Document:
    """A whole report; ``made`` says when and by what."""

    title: str
    made: str
    sections: tuple[Section, ...]
