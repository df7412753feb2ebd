"""Machine and setup by acceleration as a heat map, as a Vega-Lite specification."""

from typing import Any

from scoring.metric_words import as_shown, format_shown
from scoring.page.chart_frame import FRAME
from scoring.page.metric_words import better, metric_title, setting_title, with_unit
from scoring.ranking.grid import Grid

ROW_PX = 64
SCHEME = "cividis"
"""Made for readers with and without a colour vision deficiency (Nunez, Anderton and Renslow 2018);
dark to bright, so it holds in grey too."""


def draw_grid(grid: Grid, by: str) -> dict[str, Any]:
    """Brighter is better; each cell says its value and half its interval's length.

    A pair of machine and acceleration without a ranked run stays empty.
    """
    cells = list(grid.cells.items())
    shown = format_shown(by, [cell.value for _, cell in cells])
    values = [as_shown(by, cell.value).value for _, cell in cells]
    middle = (min(values) + max(values)) / 2 if values else 0.0
    bright_low = better(by) == "lower"
    rows = []
    for (((machine, setup), accel), cell), (value, interval) in zip(cells, shown, strict=True):
        number = as_shown(by, cell.value)
        decimals = len(value.partition(".")[2])
        bright = (number.value < middle) if bright_low else (number.value > middle)
        rows.append(
            {
                "machine": f"{machine}, {setup}",
                "accel": accel,
                "value": number.value,
                "text": value,
                "half": f"± {number.half_width:.{decimals}f}",
                "bright": bright,
                "told": f"{with_unit(value, by)} ({interval})",
                "runs": ", ".join(row.run.settings.name for row in cell.runs),
            }
        )
    bare = {"labelFlush": False, "grid": False, "domain": False, "ticks": False}
    y = {
        "field": "machine",
        "type": "nominal",
        "sort": [f"{machine}, {setup}" for machine, setup in grid.rows],
        "title": None,
        "axis": {"labelLimit": 120, **bare},
    }
    x = {
        "field": "accel",
        "type": "ordinal",
        "sort": list(grid.accels_mm_s2),
        "title": setting_title("accel_mm_s2"),
        "axis": {"labelAngle": 0, "format": "d", **bare},
    }
    told = [
        {"field": "machine", "type": "nominal", "title": "machine, setup"},
        {"field": "accel", "type": "quantitative", "title": setting_title("accel_mm_s2")},
        {"field": "told", "type": "nominal", "title": metric_title(by)},
        {"field": "runs", "type": "nominal", "title": "runs"},
    ]
    place = {"x": x, "y": y, "tooltip": told}

    def text(field: str, size_px: int, dy: int) -> dict[str, Any]:
        return {
            "mark": {"type": "text", "fontSize": size_px, "dy": dy},
            "encoding": {
                **place,
                "text": {"field": field, "type": "nominal"},
                "color": {
                    "condition": {"test": "datum.bright", "value": "black"},
                    "value": "white",
                },
            },
        }

    return {
        **FRAME,
        "data": {"values": rows},
        "height": ROW_PX * len(grid.rows),
        "layer": [
            {
                "mark": {"type": "rect", "cornerRadius": 3},
                "encoding": {
                    **place,
                    "color": {
                        "field": "value",
                        "type": "quantitative",
                        "title": metric_title(by),
                        "scale": {"scheme": SCHEME, "reverse": bright_low},
                        "legend": {"orient": "bottom", "gradientLength": 220},
                    },
                },
            },
            text("text", 14, -7),
            text("half", 10, 10),
        ],
    }
