"""A photo to point at, as a Vega-Lite specification: a click gives the nearest of many places."""

import base64
from collections.abc import Sequence
from typing import Any

from scoring.page.chart_frame import FRAME

WIDTH_PX, HEIGHT_PX = 720, 560
PLACES_ACROSS = 180
PICK = "pick"
MARK_COLOUR = "#D55E00"


def draw_corners(
    jpeg: bytes, width: int, height: int, corners: Sequence[tuple[float, float] | None]
) -> dict[str, Any]:
    """The photo of ``width`` by ``height`` pixels, true to scale, with ``corners`` numbered.

    A corner that is ``None`` is not drawn and keeps its number.

    The selection ``pick`` has x and y of the place clicked on, in the photo's pixels.
    """
    step = width / PLACES_ACROSS
    down = int(height / step)
    x_scale = {"domain": [0, width], "nice": False, "zero": False}
    y_scale = {
        "domain": [0, height],
        "range": [0, {"expr": f"width * {height / width:.9f}"}],
        "nice": False,
        "zero": False,
    }

    def at(x: str, y: str) -> dict[str, Any]:
        bare = {"type": "quantitative", "axis": None}
        return {
            "x": {"field": x, "scale": x_scale, **bare},
            "y": {"field": y, "scale": y_scale, **bare},
        }

    whole = {
        "x0": 0,
        "y0": 0,
        "x1": width,
        "y1": height,
        "url": "data:image/jpeg;base64," + base64.b64encode(jpeg).decode("ascii"),
    }
    marks = [
        {"x": corner[0], "y": corner[1], "number": str(k)}
        for k, corner in enumerate(corners, start=1)
        if corner is not None
    ]
    return {
        **FRAME,
        "height": HEIGHT_PX,
        "layer": [
            {
                "data": {"values": [whole]},
                "mark": {"type": "image", "aspect": False},
                "encoding": {
                    **at("x0", "y0"),
                    "x2": {"field": "x1"},
                    "y2": {"field": "y1"},
                    "url": {"field": "url", "type": "nominal"},
                },
            },
            {
                "data": {"sequence": {"start": 0, "stop": PLACES_ACROSS * down, "as": "i"}},
                "transform": [
                    {"calculate": f"(datum.i % {PLACES_ACROSS} + 0.5) * {step:.6f}", "as": "x"},
                    {"calculate": f"(floor(datum.i / {PLACES_ACROSS}) + 0.5) * {step:.6f}",
                     "as": "y"},
                ],
                "params": [
                    {
                        "name": PICK,
                        "select": {
                            "type": "point",
                            "fields": ["x", "y"],
                            "nearest": True,
                            "on": "click",
                            "toggle": False,
                        },
                    }
                ],
                "mark": {"type": "point", "opacity": 0, "size": 4},
                "encoding": at("x", "y"),
            },
            {
                "data": {"values": marks},
                "mark": {"type": "point", "shape": "cross", "size": 240, "color": MARK_COLOUR,
                         "strokeWidth": 2, "filled": False},
                "encoding": at("x", "y"),
            },
            {
                "data": {"values": marks},
                "mark": {"type": "text", "dx": 14, "dy": -12, "fontSize": 16, "fontWeight": "bold",
                         "color": MARK_COLOUR},
                "encoding": {**at("x", "y"), "text": {"field": "number", "type": "nominal"}},
            },
        ],
    }  # fmt: skip
