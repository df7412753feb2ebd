"""What every chart on the page begins with."""

from typing import Any

FRAME: dict[str, Any] = {
    "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
    "width": "container",
    "autosize": {"type": "fit-x", "contains": "padding"},
}
"""A Vega-Lite specification as wide as the place it stands in."""
