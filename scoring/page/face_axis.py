"""The millimetre axis that everything drawn along the face shares."""

from typing import Any

from scoring.geometry import BLADE
from scoring.registration.place import MARGIN_MM

TICKS_U_MM = list(range(0, 101, 10))
LOW_U_MM, HIGH_U_MM = -MARGIN_MM, BLADE.length_mm + MARGIN_MM


def along_u(field: str) -> dict[str, Any]:
    """The x channel of ``field``, u in mm from 2 mm before the coupon to 2 mm beyond it."""
    return {
        "field": field,
        "type": "quantitative",
        "title": "distance from the corner u, mm",
        "scale": {"domain": [LOW_U_MM, HIGH_U_MM], "nice": False, "zero": False},
        "axis": {"values": TICKS_U_MM, "labelFlush": False, "format": "d", "grid": False},
    }
