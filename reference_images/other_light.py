"""Filaments and lamps of other kinds than the reference photos', for the path tracer.

To cast doubt: the measurement was tuned on one reflection model under one small sphere. Real
plastic, and a desk lamp's panel or row of bulbs, need not be like that.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from reference_images.camera import bay_centre
from reference_images.scene import Material

Array = NDArray[np.float64]
Filament = Literal["principled", "rough skin", "smooth skin", "matt"]
LampKind = Literal["sphere", "panel", "panel aside", "two bulbs"]
FILAMENTS: tuple[Filament, ...] = ("rough skin", "matt", "smooth skin", "principled")
LAMPS: tuple[LampKind, ...] = ("panel", "panel aside", "two bulbs", "sphere")
ASIDE_DEG, BULBS_APART_MM = 20.0, 36.0


@dataclass(frozen=True)
class OtherLight:
    """Colour under a clear skin, or none; a square panel facing the bay or turned up from it, two
    bulbs side by side. Each gives the bay the same light as the sphere."""

    filament: Filament = "principled"
    lamp: LampKind = "sphere"

    @property
    def name(self) -> str:
        """Both, as part of a file's name: a photo's truth tells of the usual ones alone."""
        return f"{self.filament} {self.lamp}".replace(" ", "-")


def other_light_of(seed: int) -> OtherLight:
    """Each filament under each lamp in turn, over sixteen seeds of either set."""
    k = seed // 2
    return OtherLight(FILAMENTS[k % 4], LAMPS[(k + k // 4) % 4])


def describe_filament(material: Material, kind: Filament) -> dict[str, object]:
    """``material``'s reflection as the path tracer takes it."""
    colour = {"type": "rgb", "value": list(material.rgb)}
    if kind == "matt":
        return {"type": "diffuse", "reflectance": colour}
    if kind == "principled":
        return {
            "type": "principled",
            "base_color": colour,
            "roughness": material.roughness,
            "specular": material.specular,
        }
    rough = kind == "rough skin"
    return {
        "type": "roughplastic",
        "diffuse_reflectance": colour,
        "alpha": 0.25 if rough else 0.12,
        "int_ior": 1.5 if rough else 1.46,
        "nonlinear": rough,
    }


def place_bulbs(centre: Array, radius_mm: float, kind: LampKind) -> list[tuple[Array, float]]:
    """Centres and radii of the spheres that shine, together as large a disc as one sphere's."""
    if kind != "two bulbs":
        return [(centre, radius_mm)]
    side = np.cross(bay_centre() - centre, [0.0, 0.0, 1.0])
    side *= BULBS_APART_MM / 2 / np.linalg.norm(side)
    return [(centre - side, radius_mm / np.sqrt(2)), (centre + side, radius_mm / np.sqrt(2))]


def turn_panel(centre: Array, kind: LampKind) -> Array:
    """Where a panel looks: a place in the world (3,), the bay or ``ASIDE_DEG`` above it."""
    ahead = bay_centre() - centre
    if kind == "panel":
        return centre + ahead
    level = np.cross(ahead, [0.0, 0.0, 1.0])
    level /= np.linalg.norm(level)
    angle = np.radians(ASIDE_DEG)
    return np.asarray(centre + ahead * np.cos(angle) + np.cross(level, ahead) * np.sin(angle))
