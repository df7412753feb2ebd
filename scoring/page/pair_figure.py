"""Both sides' photo strips at equal contrast and their traces over each other, on one mm axis."""

import base64
from collections.abc import Sequence
from typing import Any

from scoring.measurement import Trace
from scoring.metrics import FaceName
from scoring.page.chart_frame import FRAME
from scoring.page.face_axis import along_u
from scoring.page.trace_layers import trace_title
from scoring.reporting.colours import AFTER, BEFORE
from scoring.reporting.strips import StripPair

GAP_PX, TRACE_PX, STRIP_PX = 22, 240, 64
NAMES = ("before", "after")
DASHES = ([1, 0], [5, 3])
COLOURS = (BEFORE, AFTER)
Spec = dict[str, Any]


def draw_pair(face: FaceName, strips: StripPair, traces: Sequence[Trace]) -> Spec:
    """The strips on top, before then after, and both measured traces beneath; u is shared.

    A strip that cannot be read is left empty. ``traces`` is before's and after's, of one unit.
    """
    low, high = strips.u_mm
    x_scale = {"domain": [low, high], "nice": False, "zero": False}

    def x(field: str) -> Spec:
        axis = {k: v for k, v in along_u(field)["axis"].items() if k != "values"}
        return {**along_u(field), "scale": x_scale, "axis": axis}

    layers = []
    for place, jpeg in enumerate((strips.before, strips.after)):
        top = place * (STRIP_PX + GAP_PX) + GAP_PX
        if jpeg is not None:
            layers.append(_strip(x, (low, high), jpeg, top))
        layers.append(_words(f"{NAMES[place]}", top - 7, COLOURS[place]))
    start = 2 * (STRIP_PX + GAP_PX) + GAP_PX
    layers.append(_traces(x, face, traces, start))
    return {
        **FRAME,
        "height": start + TRACE_PX,
        "layer": layers,
    }


def _strip(x: Any, ends_mm: tuple[float, float], jpeg: bytes, top_px: int) -> Spec:
    place = {
        "u0": ends_mm[0],
        "u1": ends_mm[1],
        "url": "data:image/jpeg;base64," + base64.b64encode(jpeg).decode("ascii"),
    }
    return {
        "data": {"values": [place]},
        "mark": {"type": "image", "aspect": False},
        "encoding": {
            "x": x("u0"),
            "x2": {"field": "u1"},
            "y": {"value": top_px},
            "y2": {"value": top_px + STRIP_PX},
            "url": {"field": "url", "type": "nominal"},
        },
    }


def _words(words: str, top_px: int, colour: str) -> Spec:
    return {
        "data": {"values": [{"words": words}]},
        "mark": {"type": "text", "align": "left", "fontSize": 12, "fontWeight": "bold"},
        "encoding": {
            "x": {"value": 0},
            "y": {"value": top_px},
            "text": {"field": "words", "type": "nominal"},
            "color": {"value": colour},
        },
    }


def _traces(x: Any, face: FaceName, traces: Sequence[Trace], top_px: int) -> Spec:
    share = face is FaceName.FLOW
    rows = [
        {"u": u, "value": value, "side": name}
        for name, trace in zip(NAMES, traces, strict=True)
        for u, value in zip(
            trace.u_mm, trace.fitted if share else trace.measured, strict=True
        )
    ]  # fmt: skip
    title = trace_title(face, traces[0]) + (", 2 mm mean" if share else "")

    def by_side(marks: Sequence[Any]) -> Spec:
        return {
            "field": "side",
            "type": "nominal",
            "title": None,
            "sort": list(NAMES),
            "scale": {"domain": list(NAMES), "range": list(marks)},
            "legend": {"orient": "bottom", "symbolType": "stroke", "symbolSize": 300},
        }

    number = ".1%" if share else ".2f"
    return {
        "data": {"values": rows},
        "mark": {"type": "line", "strokeWidth": 1.8, "clip": True},
        "encoding": {
            "x": x("u"),
            "y": {
                "field": "value",
                "type": "quantitative",
                "title": title,
                "scale": {"range": [{"expr": "height"}, top_px]},
                "axis": {"tickCount": 5} | ({"format": ".3~p"} if share else {}),
            },
            "color": by_side(COLOURS),
            "strokeDash": by_side(DASHES),
            "tooltip": [
                {"field": "side", "type": "nominal"},
                {"field": "u", "type": "quantitative", "format": ".2f", "title": "u, mm"},
                {"field": "value", "type": "quantitative", "format": number, "title": title},
            ],
        },
    }
