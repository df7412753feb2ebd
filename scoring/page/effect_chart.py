"""Effects with their intervals, at each acceleration and over all, as a Vega-Lite specification."""

from collections.abc import Sequence
from typing import Any

from scoring.comparing.comparison import Effect, Outcome, Scale
from scoring.comparing.effect_words import change_words, size, spoken, unit_words
from scoring.page.chart_frame import FRAME
from scoring.reporting.colours import BLUE, VERMILION

ROW_PX = 34
OVERALL = "all accelerations"
OUTCOMES = {
    Outcome.LOWER: ("established lower", BLUE, "circle"),
    Outcome.HIGHER: ("established higher", VERMILION, "square"),
    Outcome.OPEN: ("not established", "#888888", "diamond"),
}
"""In words, colour and shape, so that no one of them has to carry it alone."""


def effect_title(effect: Effect) -> str:
    """What the axis says, with the unit."""
    return f"change of the {spoken(effect.metric)},{unit_words(effect) or ' count'}"


def row_words(effect: Effect) -> str:
    """An acceleration, or that all are taken together."""
    return OVERALL if effect.accel_mm_s2 is None else f"{effect.accel_mm_s2:g} mm/s²"


def draw_effects(effects: Sequence[Effect]) -> dict[str, Any]:
    """One metric's ``effects``, a row each; of no value, a row that says so.

    Ratios stand as percent of change. An interval whose one end is not known reaches the axis'
    end. ``effects`` must not be empty.
    """
    ends = [
        size(effect, end)
        for effect in effects
        for end in (effect.low, effect.value, effect.high)
        if end is not None
    ]
    low, high = min([0.0, *ends]), max([0.0, *ends])
    margin = 0.06 * (high - low) or 1.0
    ratio = effects[0].scale is Scale.RATIO
    low, high = max(low - margin, -100.0) if ratio else low - margin, high + margin
    rows = []
    for effect in effects:
        words, hue, shape = OUTCOMES[effect.outcome]
        known = effect.value is not None
        rows.append(
            {
                "row": row_words(effect),
                "value": size(effect, effect.value) if effect.value is not None else None,
                "low": low if effect.low is None else size(effect, effect.low),
                "high": high if effect.high is None else size(effect, effect.high),
                "known": known,
                "told": change_words(effect),
                "outcome": words if known else "nothing can be said",
                "colour": hue,
                "shape": shape,
                "prints": f"{effect.prints_before} before, {effect.prints_after} after",
            }
        )
    x = {
        "type": "quantitative",
        "title": effect_title(effects[0]),
        "scale": {"domain": [low, high], "nice": False, "zero": False},
    }
    y = {
        "field": "row",
        "type": "nominal",
        "sort": [row_words(effect) for effect in effects],
        "title": None,
        "axis": {"labelLimit": 130, "grid": False},
    }
    colour = {"field": "colour", "type": "nominal", "scale": None}
    told = [
        {"field": "row", "type": "nominal", "title": "at"},
        {"field": "told", "type": "nominal", "title": "change"},
        {"field": "outcome", "type": "nominal", "title": "so"},
        {"field": "prints", "type": "nominal", "title": "prints"},
    ]
    return {
        **FRAME,
        "data": {"values": rows},
        "height": ROW_PX * len(rows) + 10,
        "layer": [
            {
                "data": {"values": [{"none": 0.0}]},
                "mark": {"type": "rule", "strokeDash": [4, 3], "color": "#888888"},
                "encoding": {"x": {"field": "none", **x}},
            },
            {
                "transform": [{"filter": "datum.known"}],
                "mark": {"type": "rule", "strokeWidth": 3, "strokeCap": "round"},
                "encoding": {
                    "y": y,
                    "x": {"field": "low", **x},
                    "x2": {"field": "high"},
                    "color": colour,
                    "tooltip": told,
                },
            },
            {
                "transform": [{"filter": "datum.known"}],
                "mark": {"type": "point", "filled": True, "size": 110, "opacity": 1},
                "encoding": {
                    "y": y,
                    "x": {"field": "value", **x},
                    "color": colour,
                    "shape": {"field": "shape", "type": "nominal", "scale": None},
                    "tooltip": told,
                },
            },
            {
                "transform": [{"filter": "!datum.known"}],
                "mark": {"type": "text", "align": "left", "dx": 6, "color": "#888888"},
                "encoding": {
                    "y": y,
                    "x": {"value": 0},
                    "text": {"field": "outcome", "type": "nominal"},
                },
            },
        ],
    }
