"""Axes for drawings: round ticks, and where a value stands."""

import math
from dataclasses import dataclass
from typing import Literal

from reportlab.graphics.shapes import Drawing, Line, String
from reportlab.lib.colors import Color, HexColor

INK, FAINT = "#222222", "#BBBBBB"
FONT_PT = 8.0
Anchor = Literal["start", "middle", "end"]


def colour(code: str) -> Color:
    """A colour from its hexadecimal code."""
    return HexColor(code)


def round_ticks(low: float, high: float, *, about: int = 6) -> tuple[float, ...]:
    """Multiples of 1, 2 or 5 times a power of ten within [low, high], some ``about`` of them."""
    if not high > low:
        return (low,)
    raw = (high - low) / about
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(s * power for s in (1, 2, 5, 10) if s * power >= raw * (1 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(k * step for k in range(first, last + 1))


def log_ticks(low: float, high: float) -> tuple[float, ...]:
    """1, 2 and 5 times powers of ten within [low, high], or the two ends where there are none."""
    powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    ticks = [m * 10.0**p for p in powers for m in (1, 2, 5)]
    inside = tuple(t for t in ticks if low * (1 - 1e-9) <= t <= high * (1 + 1e-9))
    return inside or (low, high)


@dataclass(frozen=True)
class Axis:
    """Where values from ``low`` to ``high`` stand between ``start`` and ``end``, in points."""

    low: float
    high: float
    start: float
    end: float
    log: bool = False
    marks: tuple[float, ...] = ()

    def at(self, value: float) -> float:
        """The place of ``value``, held within the axis."""
        low, high = self.low, self.high
        value = min(max(value, low), high)
        if self.log:
            low, high, value = math.log(low), math.log(high), math.log(value)
        share = (value - low) / (high - low) if high > low else 0.5
        return self.start + share * (self.end - self.start)

    def ticks(self) -> tuple[float, ...]:
        """The axis's own ``marks``, or else round values within it."""
        if self.marks:
            return self.marks
        return log_ticks(self.low, self.high) if self.log else round_ticks(self.low, self.high)


def write(
    drawing: Drawing,
    x: float,
    y: float,
    text: str,
    *,
    font: str,
    anchor: Anchor = "start",
    code: str = INK,
    size: float = FONT_PT,
) -> None:
    """Words with their baseline at (x, y)."""
    drawing.add(
        String(
            x, y, text, fontName=font, fontSize=size, fillColor=colour(code), textAnchor=anchor
        )
    )  # fmt: skip


def rule(
    drawing: Drawing,
    ends: tuple[float, float, float, float],
    *,
    code: str = INK,
    width: float = 0.6,
    dash: tuple[float, float] | None = None,
) -> None:
    """A straight line, (x1, y1, x2, y2)."""
    line = Line(*ends, strokeColor=colour(code), strokeWidth=width)
    if dash:
        line.strokeDashArray = dash
    drawing.add(line)


def draw_axes(drawing: Drawing, x: Axis, y: Axis, *, font: str, x_title: str, y_title: str) -> None:
    """Ruled axes left and below with ticks, faint lines across, and titles with units."""
    for value in y.ticks():
        place = y.at(value)
        rule(drawing, (x.start, place, x.end, place), code=FAINT, width=0.3)
        write(drawing, x.start - 4, place - 3, f"{value:g}", font=font, anchor="end")
    for value in x.ticks():
        place = x.at(value)
        rule(drawing, (place, y.start - 3, place, y.start))
        write(drawing, place, y.start - 12, f"{value:g}", font=font, anchor="middle")
    rule(drawing, (x.start, y.start, x.end, y.start))
    rule(drawing, (x.start, y.start, x.start, y.end))
    write(drawing, (x.start + x.end) / 2, y.start - 23, x_title, font=font, anchor="middle")
    write(drawing, x.start - 40, y.end + 6, y_title, font=font)
