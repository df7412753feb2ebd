"""The ranking as intervals on one axis, as a Vega-Lite specification."""

from collections.abc import Sequence
from typing import Any

from scoring.metric_words import as_shown, format_shown
from scoring.page.chart_frame import FRAME
from scoring.page.colours import SERIES_COLOURS
from scoring.page.metric_words import better, metric_title, with_unit
from scoring.page.ranking_table import band_of, rank_words
from scoring.ranking.rank import RankedRun

ROW_PX = 26
MOST_ROWS = 40
RANK_COLOURS = SERIES_COLOURS[:2]


def draw_intervals(ranked: Sequence[RankedRun], by: str) -> dict[str, Any]:
    """A row each for rows that have a rank, in their order; colours change with the rank."""
    with_value = [(row, as_shown(by, row.value)) for row in ranked if row.value is not None]
    shown = format_shown(by, [row.value for row in ranked if row.value is not None])
    ranks, bands = rank_words(ranked), band_of(ranked)
    rows = [
        {
            "run": row.run.settings.name,
            "label": f"{rank}  {row.run.settings.name}",
            "rank": rank,
            "place": place,
            "value": value.value,
            "low": value.low,
            "high": value.high,
            "told": f"{with_unit(text[0], by)} ({text[1]})",
            "colour": RANK_COLOURS[band],
        }
        for place, ((row, value), text, rank, band) in enumerate(
            zip(with_value, shown, ranks, bands, strict=True)
        )
    ]
    x = {
        "type": "quantitative",
        "title": f"{metric_title(by)}, with 95 % interval",
        "scale": {"zero": better(by) == "lower"},
    }
    y = {
        "field": "label",
        "type": "nominal",
        "sort": {"field": "place"},
        "title": None,
        "axis": {"labelLimit": 190, "labelFlush": False, "grid": False},
    }
    told = [{"field": name, "type": "nominal"} for name in ("run", "rank")]
    told.append({"field": "told", "type": "nominal", "title": metric_title(by)})
    base = {"y": y, "color": {"field": "colour", "type": "nominal", "scale": None}, "tooltip": told}
    return {
        **FRAME,
        "data": {"values": rows},
        "height": ROW_PX * len(rows),
        "layer": [
            {
                "mark": {"type": "rule", "strokeWidth": 3, "strokeCap": "round"},
                "encoding": {**base, "x": {"field": "low", **x}, "x2": {"field": "high"}},
            },
            {
                "mark": {"type": "point", "filled": True, "size": 90, "opacity": 1},
                "encoding": {**base, "x": {"field": "value", **x}},
            },
        ],
    }
