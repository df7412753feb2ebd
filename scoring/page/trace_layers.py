"""What was measured along u, as layers of a figure with a millimetre axis."""

from typing import Any

from scoring.measurement import Trace
from scoring.metrics import FaceName
from scoring.page.face_axis import along_u

Spec = dict[str, Any]

# Sky blue and vermilion differ for every kind of colour vision, on white and on black (Okabe and
# Ito, Color Universal Design, 2008). The measured line is wide, so that it shows under the fit.
MEASURED_COLOUR, FITTED_COLOUR = "#56B4E9", "#D55E00"
MEASURED_PX, FITTED_PX = 4.5, 1.6
RESIDUAL_COLOUR = "#CC79A7"


def trace_title(face: FaceName, trace: Trace) -> str:
    """What the trace's axis says, with the unit."""
    return "open share of the height, %" if face is FaceName.FLOW else f"height y, {trace.unit}"


def draw_trace(face: FaceName, trace: Trace, place: tuple[str, str]) -> Spec:
    """Measured and fitted, between the two expressions for pixels from the top in ``place``."""
    share = face is FaceName.FLOW
    fitted = "2 mm moving mean" if share else "fitted ring-down"
    titles = {"measured": "measured", "fitted": fitted}
    y = {
        "type": "quantitative",
        "title": trace_title(face, trace),
        "scale": {"range": [{"expr": place[1]}, {"expr": place[0]}]},
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
                "x": along_u("u"),
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
            "x": along_u("u"),
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


def draw_residual(trace: Trace, place: tuple[str, str]) -> Spec:
    """Measured less fitted, on a scale of its own; ``place`` as for :func:`draw_trace`."""
    rows = [
        {"u": u, "residual": measured - fitted}
        for u, measured, fitted in zip(trace.u_mm, trace.measured, trace.fitted, strict=True)
    ]
    words = f"residual, {trace.unit}"
    y = {
        "field": "residual",
        "type": "quantitative",
        "title": words,
        "scale": {"range": [{"expr": place[1]}, {"expr": place[0]}]},
        "axis": {"orient": "left", "tickCount": 3, "grid": True},
    }
    told = [
        {"field": "u", "type": "quantitative", "format": ".2f", "title": "u, mm"},
        {"field": "residual", "type": "quantitative", "format": ".2f", "title": words},
    ]
    return {
        "data": {"values": rows},
        "mark": {"type": "line", "strokeWidth": 1.2, "color": RESIDUAL_COLOUR},
        "encoding": {"x": along_u("u"), "y": y, "tooltip": told},
    }
