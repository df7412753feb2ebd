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
from scoring.page.chart_frame import FRAME
from scoring.page.face_axis import HIGH_U_MM, LOW_U_MM, TICKS_U_MM, along_u
from scoring.page.trace_layers import draw_residual, draw_trace
from scoring.picture import REFERENCE_RGB, ZONE_RGB
from scoring.registration.place import MARGIN_MM

Spec = dict[str, Any]

HEIGHT_PX, RESIDUAL_PX, RESIDUAL_GAP_PX = 580, 90, 34
"""The whole without a residual, and what one adds beneath."""
STRIP_PX, STRIP_BAR_PX = 48, 18
"""Between picture and trace: room for the zones' names."""

DETAIL_RGB = (128, 128, 128)


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
            "The stored picture of the face cannot be read. Save the original photo by its button "
            "below, delete the photo here, and add it again: that makes the picture anew."
        ) from error
    half_u = (HIGH_U_MM - LOW_U_MM) / (columns - 1) / 2
    half_w = (BLADE.height_mm + 2 * MARGIN_MM) / (rows - 1) / 2
    return PictureSpan(
        LOW_U_MM - half_u,
        HIGH_U_MM + half_u,
        -MARGIN_MM - half_w,
        BLADE.height_mm + MARGIN_MM + half_w,
    )


def draw_face_figure(face: FaceName, trace: Trace, face_jpeg: bytes) -> Spec:
    """The figure as a Vega-Lite specification, as wide as its container.

    Picture, trace and, for the ring-down, residual share the x scale, u from -2 to 102 mm. Raises
    as :func:`picture_span` does.
    """
    span = picture_span(face_jpeg)
    residual = face is FaceName.RINGDOWN
    added_px = RESIDUAL_PX + RESIDUAL_GAP_PX if residual else 0
    # True to scale whatever the width: w takes as many pixels a millimetre as u does.
    high = f"(width * {(span.top_w_mm - span.bottom_w_mm) / (HIGH_U_MM - LOW_U_MM):.9f})"
    return {
        **FRAME,
        "height": HEIGHT_PX + added_px,
        "resolve": {"scale": {"y": "independent"}, "axis": {"y": "independent"}},
        "layer": [
            _picture(span, face_jpeg, high),
            *_zones(zones_of(face), high),
            draw_trace(face, trace, (f"{high} + {STRIP_PX}", f"height - {added_px}")),
            *([draw_residual(trace, (f"height - {RESIDUAL_PX}", "height"))] if residual else []),
        ],
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
            "x": along_u("u0"),
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
                "x": along_u("u0"),
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
            "x": along_u("middle"),
            "y": {"value": {"expr": f"{high} + {bar_top + STRIP_BAR_PX / 2}"}},
            "text": {"field": "words", "type": "nominal"},
            "color": {"value": "white"},
        },
    }
    ticks: Spec = {
        "data": {"values": [{"u": u} for u in TICKS_U_MM]},
        "mark": {"type": "rule", "color": "#888888", "opacity": 0.25},
        "encoding": {
            "x": along_u("u"),
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
