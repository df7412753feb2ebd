"""How a printed surface returns light: matt and glossy parts, seen by this camera and this lamp."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

BEAD_SLOPES = np.array([-0.32, -0.16, 0.0, 0.16, 0.32])
"""Slopes along w of a printed bead, taken as even shares; common practice, no source."""

PAPER_ALBEDO = 0.85
"""White office paper's, from memory; only the gloss's size relative to it hangs on this."""


@dataclass(frozen=True)
class Sight:
    """Unit vectors in face axes (u, w, out) at N places: ``to_lamp`` and ``to_camera``, (N, 3).

    ``irradiance`` (N,) is the lamp's on a surface facing it, over the same on the bay's centre.
    """

    to_lamp: NDArray[np.float64]
    to_camera: NDArray[np.float64]
    irradiance: NDArray[np.float64]


def matt_light(
    sight: Sight, slope: NDArray[np.float64], *, roughness: float
) -> NDArray[np.float64]:
    """Matt radiance over that of a like surface that faces the lamp, averaged over a bead; (..., N).

    ``slope`` broadcasts against the N places. Lambert's cosine, zero in attached shadow, times
    the grazing factor of Burley 2012 (fitted there to measured materials): a smooth surface loses
    light under a low lamp, a rough one returns more. ``roughness`` is 0 to 1.
    """
    half = sight.to_lamp + sight.to_camera
    cos_half2 = 0.25 * np.sum(half**2, axis=1)
    grazing = 2 * roughness * cos_half2 - 0.5
    total = np.zeros(np.broadcast_shapes(slope.shape, sight.irradiance.shape))
    for bead in BEAD_SLOPES:
        facing = sight.to_lamp[:, 2] - slope * sight.to_lamp[:, 0] - bead * sight.to_lamp[:, 1]
        cosine = np.maximum(facing, 0.0) / np.sqrt(1 + slope**2 + bead**2)
        total += cosine * (1 + grazing * (1 - cosine) ** 5)
    return total / len(BEAD_SLOPES)


def gloss_light(
    sight: Sight, slope: NDArray[np.float64], *, roughness: float, strength: float
) -> NDArray[np.float64]:
    """Glossy radiance over the matt radiance of paper that faces the lamp; (..., N).

    Microfacets with the distribution and shadowing of Walter et al. 2007 (GGX), alpha the square
    of ``roughness`` (Burley 2012), and a normal reflectance of ``strength`` (0.04 for most
    plastics), averaged over a bead.
    """
    half = sight.to_lamp + sight.to_camera
    half = half / np.linalg.norm(half, axis=1, keepdims=True)
    a2 = roughness**4
    total = np.zeros(np.broadcast_shapes(slope.shape, sight.irradiance.shape))
    cos_half_lamp = np.sum(half * sight.to_lamp, axis=1)
    fresnel = strength + (1 - strength) * (1 - cos_half_lamp) ** 5
    for bead in BEAD_SLOPES:
        root = np.sqrt(1 + slope**2 + bead**2)

        def along(v: NDArray[np.float64]) -> NDArray[np.float64]:
            return np.asarray((v[:, 2] - slope * v[:, 0] - bead * v[:, 1]) / root)  # noqa: B023

        lamp = np.clip(along(sight.to_lamp), 1e-3, 1)
        camera = np.clip(along(sight.to_camera), 1e-3, 1)
        spread = a2 / (np.pi * ((along(half) ** 2) * (a2 - 1) + 1) ** 2)
        masked = np.ones_like(lamp)
        for c in (lamp, camera):
            masked = masked * 2 / (1 + np.sqrt(1 + a2 * (1 / c**2 - 1)))
        total += spread * masked / (4 * camera) * (along(sight.to_lamp) > 0)
    return np.asarray(total / len(BEAD_SLOPES) * fresnel * np.pi / PAPER_ALBEDO)
