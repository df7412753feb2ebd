"""The report's drawings: values over acceleration, effects with intervals, traces."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reportlab.graphics.shapes import Circle, Drawing, PolyLine, Rect
from reportlab.pdfbase.pdfmetrics import stringWidth

from scoring.comparing.comparison import Effect, Outcome, Scale
from scoring.comparing.effect_words import change_words, size, spoken, unit_words
from scoring.estimate import Estimate
from scoring.measurement import Trace
from scoring.reporting.axes import (
    FAINT,
    FONT_PT,
    INK,
    Axis,
    colour,
    draw_axes,
    round_ticks,
    rule,
    write,
)
from scoring.reporting.blocks import PLOT_LEFT, PLOT_RIGHT, WIDTH
from scoring.reporting.colours import AFTER, BEFORE

SIDES = (BEFORE, AFTER)
LEGEND_PT = 190.0
"""A longer name is cut in the legend; it stands whole above the strips."""


@dataclass(frozen=True)
class Point:
    """One print's number at an acceleration."""

    accel_mm_s2: float
    value: Estimate


def draw_values(
    sides: Sequence[Sequence[Point]],
    *,
    names: Sequence[str],
    title: str,
    limit: float | None,
    font: str,
) -> Drawing:
    """Both sides' numbers over acceleration with their 95 % intervals; a limit as dashes."""
    drawing = Drawing(WIDTH, 190)
    every = [point for side in sides for point in side]
    accels = [p.accel_mm_s2 for p in every]
    highest = max([p.value.high for p in every] + [limit or 0.0])
    lowest = min([p.value.low for p in every] + [0.0])
    spread = max(accels) > min(accels)
    x = Axis(
        0.85 * min(accels), 1.18 * max(accels) if spread else 1.2 * max(accels), PLOT_LEFT,
        PLOT_RIGHT, log=True, marks=tuple(set(accels)) if len(set(accels)) <= 8 else (),
    )  # fmt: skip
    y = Axis(lowest, 1.06 * highest if highest > 0 else 1.0, 34, 158)
    draw_axes(drawing, x, y, font=font, x_title="acceleration, mm/s²", y_title=title)
    if limit is not None:
        rule(drawing, (x.start, y.at(limit), x.end, y.at(limit)), dash=(4, 3), width=0.9)
        write(drawing, x.start + 4, y.at(limit) + 3, f"limit {limit:g}", font=font)
    for number, side in enumerate(sides):
        shift = (number - 0.5) * 5
        middle = sorted(side, key=lambda p: p.accel_mm_s2)
        _join(drawing, [(x.at(p.accel_mm_s2) + shift, y.at(p.value.value)) for p in middle], number)
        for point in middle:
            place = x.at(point.accel_mm_s2) + shift
            _bar(drawing, (place, y.at(point.value.low), place, y.at(point.value.high)), number)
            _mark(drawing, place, y.at(point.value.value), number)
    _legend(drawing, names, font=font, top=178)
    return drawing


FACTOR = 3.0
"""Where a ratio passes this, ratios are drawn as such on a logarithmic axis, else as percent."""


def draw_effects(effects: Sequence[Effect], *, font: str) -> Drawing:
    """One row an effect on one scale: its value and 95 % interval, against no change.

    An open end is drawn to the axis's end with an arrow.
    """
    told = [e for e in effects if e.value is not None]
    row = 15.0
    top = 32 + row * len(told)
    drawing = Drawing(WIDTH, top + 14)
    x, title = _effect_axis(told)
    for value in x.ticks():
        rule(drawing, (x.at(value), 28, x.at(value), top), code=FAINT, width=0.3)
        write(drawing, x.at(value), 17, f"{value:g}", font=font, anchor="middle")
    middle = x.at(1.0 if x.log else 0.0)
    rule(drawing, (middle, 28, middle, top), width=0.9)
    write(drawing, 240, 5, title, font=font, anchor="middle")
    for number, effect in enumerate(told):
        y = top - row * (number + 0.5)
        name = spoken(effect.metric) if effect.accel_mm_s2 is None else _at(effect.accel_mm_s2)
        write(drawing, 142, y - 3, name, font=font, anchor="end")
        _draw_effect(drawing, effect, x, y)
        write(drawing, 338, y - 3, change_words(effect, interval=False), font=font)
    return drawing


def _effect_axis(told: Sequence[Effect]) -> tuple[Axis, str]:
    """An axis that holds every end and no change, and what it shows."""
    raw = [end for e in told for end in (e.low, e.value, e.high) if end is not None]
    ratio = told[0].scale is Scale.RATIO
    if ratio and max(raw) > FACTOR:
        low, high = min([*raw, 1.0]) / 1.15, max([*raw, 1.0]) * 1.15
        return Axis(low, high, 150, 330, log=True), "after / before"
    ends = [size(e, end) for e in told for end in (e.low, e.value, e.high) if end is not None]
    low, high = min([*ends, 0.0]), max([*ends, 0.0])
    room = 0.05 * (high - low) or 1.0
    low, high = low - room, high + room
    marks = round_ticks(low, high, about=5)
    return Axis(low, high, 150, 330, marks=marks), f"change, {unit_words(told[0]).strip() or '1'}"


def _at(accel_mm_s2: float) -> str:
    return f"at {accel_mm_s2:g} mm/s²"


def _draw_effect(drawing: Drawing, effect: Effect, x: Axis, y: float) -> None:
    assert effect.value is not None
    code = INK if effect.outcome is Outcome.OPEN else AFTER

    def place(end: float) -> float:
        return x.at(end if x.log else size(effect, end))

    left = x.start if effect.low is None else place(effect.low)
    right = x.end if effect.high is None else place(effect.high)
    rule(drawing, (left, y, right, y), code=code, width=1.4)
    for tip, end, way in ((left, effect.low, 1), (right, effect.high, -1)):
        if end is None:
            rule(drawing, (tip, y, tip + 4 * way, y + 3), code=code, width=1.0)
            rule(drawing, (tip, y, tip + 4 * way, y - 3), code=code, width=1.0)
        else:
            rule(drawing, (tip, y - 3, tip, y + 3), code=code, width=1.0)
    filled = colour(code) if effect.outcome is not Outcome.OPEN else colour("#FFFFFF")
    drawing.add(
        Circle(place(effect.value), y, 3, fillColor=filled, strokeColor=colour(code), strokeWidth=1)
    )


def draw_traces(
    traces: Sequence[Trace | None],
    u_mm: tuple[float, float],
    *,
    names: Sequence[str],
    title: str,
    font: str,
) -> Drawing:
    """Both sides' fitted traces over each other, the measured ones faint behind, on one mm axis."""
    drawing = Drawing(WIDTH, 118)
    there = [t for t in traces if t is not None]
    fitted = [v for t in there for v in _within(t, t.fitted, u_mm)]
    low, high = min([*fitted, 0.0]), max([*fitted, 0.0])
    room = 0.12 * (high - low) or 0.05
    x = Axis(*u_mm, PLOT_LEFT, PLOT_RIGHT)
    y = Axis(low - room if low < 0 else 0.0, high + room, 30, 90)
    draw_axes(drawing, x, y, font=font, x_title="u along the face, mm", y_title=title)
    for number, trace in enumerate(traces):
        if trace is not None:
            _line(drawing, trace, trace.measured, (x, y), number=number, faint=True)
    for number, trace in enumerate(traces):
        if trace is not None:
            _line(drawing, trace, trace.fitted, (x, y), number=number, faint=False)
    _legend(drawing, names, font=font, top=107)
    return drawing


def _within(trace: Trace, values: Iterable[float], u_mm: tuple[float, float]) -> list[float]:
    return [v for u, v in zip(trace.u_mm, values, strict=True) if u_mm[0] <= u <= u_mm[1]]


def _line(
    drawing: Drawing,
    trace: Trace,
    values: Sequence[float],
    axes: tuple[Axis, Axis],
    *,
    number: int,
    faint: bool,
) -> None:
    x, y = axes
    points = [
        place
        for u, v in zip(trace.u_mm, values, strict=True)
        if x.low <= u <= x.high
        for place in (round(x.at(u), 2), round(y.at(v), 2))
    ]
    if len(points) < 4:
        return
    shade = colour(SIDES[number])
    line = PolyLine(points, strokeColor=shade, strokeWidth=0.5 if faint else 1.3)
    if faint:
        line.strokeOpacity = 0.4
    elif number == 0:
        line.strokeDashArray = (5, 2)
    drawing.add(line)


def _join(drawing: Drawing, points: Sequence[tuple[float, float]], number: int) -> None:
    if len(points) > 1:
        shade = colour(SIDES[number])
        line = PolyLine([c for point in points for c in point], strokeColor=shade, strokeWidth=0.9)
        if number == 0:
            line.strokeDashArray = (5, 2)
        drawing.add(line)


def _bar(drawing: Drawing, ends: tuple[float, float, float, float], number: int) -> None:
    rule(drawing, ends, code=SIDES[number], width=1.1)
    for y in (ends[1], ends[3]):
        rule(drawing, (ends[0] - 3, y, ends[0] + 3, y), code=SIDES[number], width=1.0)


def _mark(drawing: Drawing, x: float, y: float, number: int) -> None:
    """Before a square, after a circle: apart in grey too."""
    shade = colour(SIDES[number])
    if number:
        drawing.add(Circle(x, y, 3.2, fillColor=shade, strokeColor=shade))
    else:
        square = Rect(x - 2.8, y - 2.8, 5.6, 5.6)
        square.fillColor = square.strokeColor = shade
        drawing.add(square)


def _legend(drawing: Drawing, names: Sequence[str], *, font: str, top: float) -> None:
    x = PLOT_RIGHT
    for number in (1, 0):
        label = names[number]
        while stringWidth(label, font, FONT_PT) > LEGEND_PT:
            label = f"{label.removesuffix('...')[:-1]}..."
        x -= stringWidth(label, font, FONT_PT)
        write(drawing, x, top - 3, label, font=font, code=SIDES[number])
        _mark(drawing, x - 9, top, number)
        x -= 26


def same_scale(effects: Iterable[Effect]) -> tuple[tuple[Effect, ...], ...]:
    """The effects in groups that one axis can show: percent together, else a group a unit."""
    groups: dict[str, list[Effect]] = {}
    for effect in effects:
        if effect.value is not None:
            key = "%" if effect.scale is Scale.RATIO else unit_words(effect)
            groups.setdefault(key, []).append(effect)
    return tuple(tuple(group) for group in groups.values())
