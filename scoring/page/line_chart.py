"""A metric over acceleration, a line for each machine and setup, as a Vega-Lite specification."""

from typing import Any

from scoring.metric_words import as_shown, format_shown
from scoring.page.chart_frame import FRAME
from scoring.page.colours import SERIES_COLOURS, SERIES_DASHES, SERIES_SHAPES
from scoring.page.metric_words import better, metric_title, setting_title, with_unit
from scoring.ranking.grid import Grid

HEIGHT_PX = 320


def draw_lines(grid: Grid, by: str) -> dict[str, Any]:
    """Points at each acceleration with their 95 % intervals, joined by a line for each grid row.

    Accelerations stand on a logarithmic axis. Colours, shapes and dashes repeat after six rows.
    """
    cells = sorted(grid.cells.items(), key=lambda item: item[0])
    shown = format_shown(by, [cell.value for _, cell in cells])
    names = [f"{machine}, {setup}" for machine, setup in grid.rows]
    rows = [
        {
            "line": f"{machine}, {setup}",
            "accel": accel,
            "value": shown_value.value,
            "low": shown_value.low,
            "high": shown_value.high,
            "told": f"{with_unit(value, by)} ({interval})",
            "runs": ", ".join(row.run.settings.name for row in cell.runs[:12])
            + (f" and {len(cell.runs) - 12} more" if len(cell.runs) > 12 else ""),
        }
        for (((machine, setup), accel), cell), (value, interval) in zip(cells, shown, strict=True)
        for shown_value in [as_shown(by, cell.value)]
    ]
    x = {
        "field": "accel",
        "type": "quantitative",
        "title": setting_title("accel_mm_s2"),
        "scale": {"type": "log", "nice": False, "padding": 14},
        "axis": {
            "values": list(grid.accels_mm_s2),
            "format": "d",
            "grid": False,
            "labelOverlap": True,
        },
    }
    y = {
        "type": "quantitative",
        "title": f"{metric_title(by)}, with 95 % interval",
        "scale": {"zero": better(by) == "lower"},
    }
    legend = {"orient": "bottom", "columns": 2, "symbolSize": 90, "labelLimit": 260}

    def told_apart(scale: tuple[Any, ...]) -> dict[str, Any]:
        marks = [scale[place % len(scale)] for place in range(len(names))]
        return {
            "field": "line",
            "type": "nominal",
            "title": "machine, setup",
            "sort": names,
            "scale": {"domain": names, "range": marks},
            "legend": legend,
        }

    told = [
        {"field": "line", "type": "nominal", "title": "machine, setup"},
        {"field": "accel", "type": "quantitative", "title": setting_title("accel_mm_s2")},
        {"field": "told", "type": "nominal", "title": metric_title(by)},
        {"field": "runs", "type": "nominal", "title": "runs"},
    ]
    colour, shape = told_apart(SERIES_COLOURS), told_apart(SERIES_SHAPES)
    dash = {**told_apart(SERIES_DASHES), "legend": None}
    return {
        **FRAME,
        "data": {"values": rows},
        "height": HEIGHT_PX,
        "encoding": {"x": x},
        "layer": [
            {
                "mark": {"type": "line", "strokeWidth": 1.5},
                "encoding": {"y": {"field": "value", **y}, "color": colour, "strokeDash": dash},
            },
            {
                "mark": {"type": "rule", "strokeWidth": 2.5},
                "encoding": {
                    "y": {"field": "low", **y},
                    "y2": {"field": "high"},
                    "color": colour,
                    "tooltip": told,
                },
            },
            {
                "mark": {"type": "point", "filled": True, "size": 80, "opacity": 1},
                "encoding": {
                    "y": {"field": "value", **y},
                    "color": colour,
                    "shape": shape,
                    "tooltip": told,
                },
            },
        ],
    }
