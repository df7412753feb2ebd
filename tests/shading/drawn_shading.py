"""Card and face under a lamp of known place, by the inverse-square and cosine laws alone."""

from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE, CARD
from scoring.registration.rectify import Placement
from scoring.shading.account import Shading

CAMERA_MM = np.array([105.0, 74.0, 330.0])
PLACEMENT = Placement(0.4, -0.3, 0.02)
BAY_MM = np.array(CARD.bay_origin_mm) + np.array(CARD.bay_size_mm) / 2


def lamp_at(*, azimuth_deg: float, elevation_deg: float, flat_mm: float) -> NDArray[np.float64]:
    """A lamp (3,) in card axes, z up, seen from the bay's centre at the face's height."""
    a, e = np.deg2rad([azimuth_deg, elevation_deg])
    flat = BAY_MM + flat_mm * np.array([np.cos(a), np.sin(a)])
    return np.array([*flat, flat_mm * np.tan(e) + BLADE.thickness_mm])


def shading_under(
    lamp_mm: NDArray[np.float64],
    *,
    contrast: float = 0.1,
    roughness: float = 0.5,
    strength: float = 0.036,
    stray: float = 0.06,
    power: float = 1.0,
    vignette: float = 0.0,
    grazing: float = 0.0,
    bead: float = 1.0,
    shoulder: float = 0.0,
    returning: float = 0.0,
    paper_returning: float = 0.0,
    ink: float = 0.045,
    ink_gloss: float = 0.0,
    veil: float = 0.002,
) -> Shading:
    """A blue-grey filament under a lamp, exposed like a usual photo, with a lens's usual veil."""
    return Shading(
        lamp_mm=lamp_mm,
        stray=stray,
        contrast=contrast,
        strength=strength,
        roughness=roughness,
        albedo=np.array([0.2, 0.3, 0.45]),
        exposure=np.array([0.72, 0.7, 0.66]),
        power=power,
        vignette=vignette,
        grazing=grazing,
        bead=bead,
        shoulder=shoulder,
        returning=returning,
        paper_returning=paper_returning,
        ink=ink,
        ink_gloss=ink_gloss,
        veil=veil,
    )


def paper_irradiance(
    lamp_mm: NDArray[np.float64], at_mm: NDArray[np.float64]
) -> NDArray[np.float64]:
    """A point lamp's light on level paper at (..., 2), over that at the bay's centre: h / r^3."""

    def level(places: NDArray[np.float64]) -> NDArray[np.float64]:
        away = lamp_mm[:2] - places
        return np.asarray(lamp_mm[2] / (np.sum(away**2, axis=-1) + lamp_mm[2] ** 2) ** 1.5)

    return level(at_mm) / level(BAY_MM)


def shaded_beam(
    lamp_mm: NDArray[np.float64],
    at_mm: NDArray[np.float64],
    *,
    power: float,
    aim_mm: tuple[float, float] = (BAY_MM[0], BAY_MM[1]),
) -> NDArray[np.float64]:
    """What a lamp aimed at a card place sends to (N, 3), over that to the bay's centre.

    The power of the cosine from its axis; 1 is Lambert's law, for a matt disc.
    """

    def sent(places: NDArray[np.float64]) -> NDArray[np.float64]:
        way = places - lamp_mm
        axis = np.array([*aim_mm, 0.0]) - lamp_mm
        return np.asarray(
            (way @ axis / np.linalg.norm(way, axis=-1) / np.linalg.norm(axis)) ** power
        )

    return sent(at_mm) / sent(np.append(BAY_MM, 0.0))


def paper_returned(lamp_mm: NDArray[np.float64], at_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """max(0, cos phi) sin a tan b (Oren and Nayar 1994) at level places (N, 2)."""
    to_lamp, to_camera = (top[:2] - at_mm for top in (lamp_mm, CAMERA_MM))
    across = [np.linalg.norm(to_lamp, axis=1), np.linalg.norm(to_camera, axis=1)]
    angles = np.arctan2(across, [[lamp_mm[2]], [CAMERA_MM[2]]])
    cos_phi = (to_lamp * to_camera).sum(axis=1) / (across[0] * across[1])
    return np.asarray(np.maximum(cos_phi, 0) * np.sin(angles.max(0)) * np.tan(angles.min(0)))


def several(*shadings: Shading) -> Shading:
    """The accounts as one."""
    return Shading(*(np.stack([getattr(s, f.name) for s in shadings]) for f in fields(Shading)))
