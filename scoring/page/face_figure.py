"""The rectified face and, beneath it, what was measured along it: one figure, one mm axis.

The figure is a Vega-Lite specification: one view whose x scale both parts share, the picture in
the view's upper part and the trace in its lower part by the ranges of their two y scales.
"""

import base64
import io
from dataclasses import dataclass
from typing import Any

from PIL import Image

from scoring.errors import PhotoUnreadableError
from scoring.geometry import BLADE
from scoring.measurement import Trace
from scoring.metrics import FaceName
from scoring.picture import REFERENCE_RGB, ZONE_RGB
from scoring.registration.place import MARGIN_MM

Spec = dict[str, Any]

HEIGHT_PX = 580
STRIP_PX, STRIP_BAR_PX = 48, 18
"""Between picture and trace: room for the zones' names."""

# Sky blue and vermilion differ for every kind of colour vision, on white and on black (Okabe and
# Ito, Color Universal Design, 2008). The measured line is wide, so that it shows under the fit.
MEASURED_COLOUR, FITTED_COLOUR = "#56B4E9", "#D55E00"
MEASURED_PX, FITTED_PX = 4.5, 1.6
DETAIL_RGB = (128, 128, 128)
TICKS_U_MM = list(range(0, 101, 10))
LOW_U_MM, HIGH_U_MM = -MARGIN_MM, BLADE.length_mm + MARGIN_MM


@dataclass(frozen=True)
class Zone:
    """A stretch of the face that a metric is taken from, or compared with."""

    words: str
    u_mm: tuple[float, float]
    rgb: tuple[int, int, int]

    @property
    def colour(self) -> str:
        """The colour in hexadecimal."""
        return "#{:02X}{:02X}{:02X}".format(*self.rgb)


def zones_of(face: FaceName) -> tuple[Zone, ...]:
    """The zones of ``face``, coloured as in the rectified picture."""
    if face is FaceName.RINGDOWN:
        facets = (BLADE.facets[0].u_mm[0], BLADE.facets[-1].u_mm[1])
        return (
            Zone("ripple zone", BLADE.ringdown_zone_u_mm, ZONE_RGB),
            Zone("known slopes", facets, REFERENCE_RGB),
        )
    return (
        Zone("steady zone", BLADE.steady_zone_u_mm, REFERENCE_RGB),
        Zone("grooves", BLADE.detail_zone_u_mm, DETAIL_RGB),
        Zone("recovery zone", BLADE.recovery_zone_u_mm, ZONE_RGB),
    )


@dataclass(frozen=True)
class PictureSpan:
    """The face coordinates of a rectified picture's outer edges, mm."""

    left_u_mm: float
    right_u_mm: float
    bottom_w_mm: float
    top_w_mm: float


def picture_span(face_jpeg: bytes) -> PictureSpan:
    """Where the edges of a stored face's picture lie.

    The outermost pixels' *centres* lie ``MARGIN_MM`` beyond the coupon, so the edges lie half a
    pixel further out. Raises :class:`PhotoUnreadableError` for what is no picture.
    """
    try:
        with Image.open(io.BytesIO(face_jpeg)) as picture:
            columns, rows = picture.size
    except OSError as error:
        raise PhotoUnreadableError(
            "The stored picture of the face cannot be read; coupon remeasure --all makes it again."
        ) from error
    half_u = (HIGH_U_MM - LOW_U_MM) / (columns - 1) / 2
    half_w = (BLADE.height_mm + 2 * MARGIN_MM) / (rows - 1) / 2
    return PictureSpan(
        LOW_U_MM - half_u,
        HIGH_U_MM + half_u,
        -MARGIN_MM - half_w,
        BLADE.height_mm + MARGIN_MM + half_w,
    )


def trace_title(face: FaceName, trace: Trace) -> str:
    """What the trace's axis says, with the unit."""
    return "open share of the height, %" if face is FaceName.FLOW else f"height y, {trace.unit}"


def draw_face_figure(face: FaceName, trace: Trace, face_jpeg: bytes) -> Spec:
    """The figure as a Vega-Lite specification, as wide as its container.

    Picture and trace share the x scale, u from -2 to 102 mm. Raises as :func:`picture_span` does.
    """
    span = picture_span(face_jpeg)
    # True to scale whatever the width: w takes as many pixels a millimetre as u does.
    high = f"(width * {(span.top_w_mm - span.bottom_w_mm) / (HIGH_U_MM - LOW_U_MM):.9f})"
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "width": "container",
        "height": HEIGHT_PX,
        "autosize": {"type": "fit-x", "contains": "padding"},
        "resolve": {"scale": {"y": "independent"}, "axis": {"y": "independent"}},
        "layer": [
            _picture(span, face_jpeg, high),
            *_zones(zones_of(face), high),
            _trace(face, trace, high),
        ],
    }


def _x(field: str) -> Spec:
    return {
        "field": field,
        "type": "quantitative",
        "title": "distance from the corner u, mm",
        "scale": {"domain": [LOW_U_MM, HIGH_U_MM], "nice": False, "zero": False},
        "axis": {"values": TICKS_U_MM, "labelFlush": False, "format": "d", "grid": False},
    }


def _picture(span: PictureSpan, face_jpeg: bytes, high: str) -> Spec:
    place = {
        "u0": span.left_u_mm,
        "u1": span.right_u_mm,
        "w0": span.bottom_w_mm,
        "w1": span.top_w_mm,
        "url": "data:image/jpeg;base64," + base64.b64encode(face_jpeg).decode("ascii"),
    }
    scale = {
        "domain": [span.bottom_w_mm, span.top_w_mm],
        "range": [{"expr": high}, 0],
        "nice": False,
        "zero": False,
    }
    axis = {"values": [0, 12, 24], "grid": False, "orient": "left"}
    return {
        "data": {"values": [place]},
        "mark": {"type": "image", "aspect": False},
        "encoding": {
            "x": _x("u0"),
            "x2": {"field": "u1"},
            "y": {"field": "w0", "type": "quantitative", "title": "w, mm", "scale": scale,
                  "axis": axis},
            "y2": {"field": "w1"},
            "url": {"field": "url", "type": "nominal"},
        },
    }  # fmt: skip


def _zones(zones: tuple[Zone, ...], high: str) -> list[Spec]:
    """The zones' names between picture and trace, and a tint of each behind the trace."""
    rows = [
        {"u0": z.u_mm[0], "u1": z.u_mm[1], "words": z.words, "colour": z.colour,
         "middle": sum(z.u_mm) / 2}
        for z in zones
    ]  # fmt: skip
    data = {"values": rows}
    colour = {"field": "colour", "type": "nominal", "scale": None}
    bar_top = 10

    def band(top: str, bottom: str, opacity: float) -> Spec:
        return {
            "data": data,
            "mark": {"type": "rect", "opacity": opacity},
            "encoding": {
                "x": _x("u0"),
                "x2": {"field": "u1"},
                "y": {"value": {"expr": top}},
                "y2": {"value": {"expr": bottom}},
                "color": colour,
            },
        }

    names: Spec = {
        "data": data,
        "mark": {"type": "text", "fontSize": 11, "baseline": "middle", "color": "white"},
        "encoding": {
            "x": _x("middle"),
            "y": {"value": {"expr": f"{high} + {bar_top + STRIP_BAR_PX / 2}"}},
            "text": {"field": "words", "type": "nominal"},
            "color": {"value": "white"},
        },
    }
    ticks: Spec = {
        "data": {"values": [{"u": u} for u in TICKS_U_MM]},
        "mark": {"type": "rule", "color": "#888888", "opacity": 0.25},
        "encoding": {
            "x": _x("u"),
            "y": {"value": {"expr": f"{high} + {STRIP_PX}"}},
            "y2": {"value": {"expr": "height"}},
        },
    }
    return [
        band(f"{high} + {bar_top}", f"{high} + {bar_top + STRIP_BAR_PX}", 1.0),
        names,
        band(f"{high} + {STRIP_PX}", "height", 0.08),
        ticks,
    ]


def _trace(face: FaceName, trace: Trace, high: str) -> Spec:
    share = face is FaceName.FLOW
    fitted = "2 mm moving mean" if share else "fitted ring-down"
    titles = {"measured": "measured", "fitted": fitted}
    y = {
        "type": "quantitative",
        "title": trace_title(face, trace),
        "scale": {"range": [{"expr": "height"}, {"expr": f"{high} + {STRIP_PX}"}]},
        "axis": {"orient": "left", "tickCount": 5, "grid": True}
        | ({"format": ".3~p"} if share else {}),
    }
    colours = {"domain": list(titles.values()), "range": [MEASURED_COLOUR, FITTED_COLOUR]}
    legend = {"orient": "bottom", "direction": "horizontal", "symbolType": "stroke"}

    def line(field: str, width_px: float) -> Spec:
        return {
            "transform": [{"calculate": f"'{titles[field]}'", "as": "line"}],
            "mark": {"type": "line", "strokeWidth": width_px, "strokeJoin": "round"},
            "encoding": {
                "x": _x("u"),
                "y": {"field": field, **y},
                "color": {"field": "line", "type": "nominal", "title": None, "scale": colours,
                          "legend": legend},
            },
        }  # fmt: skip

    def told(field: str, words: str) -> Spec:
        title = words if share else f"{words}, {trace.unit}"
        number = ".1%" if share else ".2f"
        return {"field": field, "type": "quantitative", "format": number, "title": title}

    pointer: Spec = {
        "mark": {"type": "rule", "color": "#888888"},
        "params": [
            {
                "name": "pointer",
                "select": {
                    "type": "point",
                    "fields": ["u"],
                    "nearest": True,
                    "on": "pointermove",
                    "clear": "pointerout",
                },
            }
        ],
        "encoding": {
            "x": _x("u"),
            "opacity": {"condition": {"param": "pointer", "empty": False, "value": 1}, "value": 0},
            "tooltip": [
                {"field": "u", "type": "quantitative", "format": ".2f", "title": "u, mm"},
                told("measured", "measured"),
                told("fitted", fitted),
            ],
        },
    }
    rows = [
        {"u": u, "measured": measured, "fitted": fitted_here}
        for u, measured, fitted_here in zip(trace.u_mm, trace.measured, trace.fitted, strict=True)
    ]
    return {
        "data": {"values": rows},
        "layer": [line("measured", MEASURED_PX), line("fitted", FITTED_PX), pointer],
    }
