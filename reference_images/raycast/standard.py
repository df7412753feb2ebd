"""The standard card and coupon, read as data from the geometry files. Lengths in mm."""

import tomllib
from pathlib import Path
from typing import Any

GEOMETRY = Path(__file__).resolve().parents[2] / "scoring" / "geometry"


def read_standard(name: str) -> dict[str, Any]:
    """The content of ``NAME.toml``."""
    return tomllib.loads((GEOMETRY / f"{name}.toml").read_text("utf-8"))


CARD = read_standard("card")
BLADE = read_standard("blade")
LENGTH_MM: float = BLADE["length_mm"]
HEIGHT_MM: float = BLADE["height_mm"]
THICKNESS_MM: float = BLADE["thickness_mm"]
CHAMFER_MM: float = BLADE["chamfer"]["leg_mm"]
BAND_W_MM: tuple[float, float] = tuple(BLADE["measured_band_w_mm"])
RIPPLE_ZONE_U_MM: tuple[float, float] = tuple(BLADE["faces"]["ringdown"]["zone_u_mm"])
STEADY_ZONE_U_MM: tuple[float, float] = tuple(BLADE["faces"]["flow"]["steady_zone_u_mm"])
RECOVERY_ZONE_U_MM: tuple[float, float] = tuple(BLADE["faces"]["flow"]["recovery_zone_u_mm"])
