"""How a printed surface returns light: matt and glossy parts, seen by this camera and this lamp."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

BEAD_SLOPES = 0.6 * np.linspace(-6 / 7, 6 / 7, 7)
"""Slopes along w of a printed bead, the middles of even shares of -0.6 to 0.6: those of a parabola
whose valleys lie 0.03 mm deep at layers of 0.2 mm; common practice, no source. On flatter beads the
gain grows more from the facets to the corner, as the lamp's gloss then spreads less."""

PAPER_ALBEDO = 0.85
"""White office paper's, from memory; only the gloss's size relative to it hangs on this."""

SEEN_SURROUND = 0.9
"""Share of the surround that a printed face sees: valleys between beads hide the rest of it from
themselves (a furrow of the bead's slopes hides about a tenth)."""

LEAST_MATT, LEAST_COSINE = 0.05, 0.05
"""No step of a fit makes a lit surface darker than that, or divides by less."""


@dataclass(frozen=True)
class Sight:
    """Unit vectors (..., N, 3) in face axes (u, w, out) at N places: ``to_lamp``, ``to_camera``.

    ``irradiance`` (..., N) is the lamp's on a surface facing it, over the same on the bay's centre.
    """

    to_lamp: NDArray[np.float64]
    to_camera: NDArray[np.float64]
    irradiance: NDArray[np.float64]

    @cached_property
    def between(self) -> NDArray[np.float64]:
        """Cosine of the angle between lamp and camera, (..., N)."""
        return np.asarray(np.einsum("...k,...k->...", self.to_lamp, self.to_camera))


def matt_light(
    sight: Sight,
    slope: NDArray[np.float64],
    *,
    roughness: float | NDArray[np.float64],
    grazing: float | NDArray[np.float64] = 0.0,
    bead: float | NDArray[np.float64] = 1.0,
    returning: float | NDArray[np.float64] = 0.0,
) -> NDArray[np.float64]:
    """Matt radiance over that of a like surface facing the lamp, across a bead; (..., beads, N).

    ``slope`` broadcasts against the N places. Lambert's cosine, zero in attached shadow, times
    the grazing factor of Burley 2012 (fitted there to measured materials): a smooth surface loses
    light under a low lamp, a rough one returns more. ``grazing`` is how far that factor's share
    departs from Burley's: a clear skin over the colour lets less of a low lamp's light in and makes
    it -1; ``returning`` how strongly :func:`return_light` adds to it; ``bead`` how many times as
    steep as ``BEAD_SLOPES`` the beads are. These three and ``roughness``, 0 to 1, broadcast as
    well.
    """
    share = roughness * (1 + sight.between) - 0.5 + grazing
    cosine = np.maximum(_along(sight.to_lamp, slope, bead), 0.0)
    low = 1 - cosine
    fifth = low * (low * low) ** 2
    seen = np.maximum(_along(sight.to_camera, slope, bead), 0.0)
    returned = return_light(sight.between[..., None, :], cosine, seen)
    law = (1 + share[..., None, :] * fifth) * (1 + np.asarray(returning)[..., None] * returned)
    return np.asarray(cosine * np.maximum(law, LEAST_MATT))


def return_light(
    between: NDArray[np.float64], lamp: NDArray[np.float64], camera: NDArray[np.float64]
) -> NDArray[np.float64]:
    """What a rough matt surface adds where the camera stands on the lamp's side; all (...).

    ``between`` is the cosine between lamp and camera, ``lamp`` and ``camera`` those from the normal
    to each: sin a tan b cos phi of Oren and Nayar 1994, a and b the larger and the smaller angle,
    phi between the two as seen from above. 0 where the camera stands on the other side.
    """
    highest = np.maximum(np.maximum(lamp, camera), LEAST_COSINE)
    return np.asarray(np.maximum(between - lamp * camera, 0.0) / highest)


def gloss_light(
    sight: Sight,
    slope: NDArray[np.float64],
    *,
    roughness: float | NDArray[np.float64],
    strength: float | NDArray[np.float64],
    bead: float | NDArray[np.float64] = 1.0,
) -> NDArray[np.float64]:
    """Glossy radiance over the matt radiance of paper that faces the lamp; (..., beads, N).

    Microfacets with the distribution and shadowing of Walter et al. 2007 (GGX), alpha the square
    of ``roughness`` (Burley 2012), and Fresnel's reflectance of a dielectric, ``strength`` where
    light falls straight on (0.04 for most plastics).
    """
    # The half vector is the two directions' sum; it stands midway, at the angle of incidence.
    incidence = np.sqrt((1 + sight.between) / 2)
    half = (sight.to_lamp + sight.to_camera) / (2 * incidence[..., None])
    a2 = np.asarray(roughness**4)[..., None]
    reflected = fresnel(incidence, strength)
    facing = _along(sight.to_lamp, slope, bead)
    lamp, camera = np.clip(facing, 1e-3, 1), np.clip(_along(sight.to_camera, slope, bead), 1e-3, 1)
    spread = a2 / (np.pi * (_along(half, slope, bead) ** 2 * (a2 - 1) + 1) ** 2)
    masked = 4 / (
        (1 + np.sqrt(1 + a2 * (1 / lamp**2 - 1))) * (1 + np.sqrt(1 + a2 * (1 / camera**2 - 1)))
    )
    radiance = spread * masked / (4 * camera) * (facing > 0)
    return np.asarray(radiance * (reflected * np.pi / PAPER_ALBEDO)[..., None, :])


def fresnel(
    cosine: NDArray[np.float64], straight: float | NDArray[np.float64]
) -> NDArray[np.float64]:
    """Reflectance of a dielectric, unpolarised, at the incidence of ``cosine`` (..., N).

    ``straight`` is the same where light falls straight on. Fresnel's own equations: Schlick's
    quick polynomial is a sixth too low at 45 degrees, for a lamp and a camera 90 degrees apart, and
    7 % at the 35 degrees of a lamp 20 degrees up.
    """
    index = (1 + np.sqrt(straight)) / (1 - np.sqrt(straight))
    inside = np.sqrt(1 - (1 - cosine**2) / index**2)
    across = (cosine - index * inside) / (cosine + index * inside)
    along = (inside - index * cosine) / (inside + index * cosine)
    return np.asarray((across**2 + along**2) / 2)


def _along(
    direction: NDArray[np.float64],
    slope: NDArray[np.float64],
    bead: float | NDArray[np.float64],
) -> NDArray[np.float64]:
    """Cosine between ``direction`` (..., N, 3) and the normals by slope, (..., beads, N)."""
    # Places last: numpy adds up along a short last axis slowly.
    u, w, out = np.moveaxis(direction[..., None, :, :], -1, 0)
    slope, across = slope[..., None, :], np.asarray(bead)[..., None, None] * BEAD_SLOPES[:, None]
    return np.asarray((out - slope * u - across * w) / np.sqrt(1 + slope**2 + across**2))
