"""How filament and rough paper return light: four laws, for one light and one sight (numba).

There is a diffuse and a gloss factor. Both are the reflectance distribution times pi and times the
cosine of the light, so that 1 is what white matt paper facing the lamp returns; the diffuse one is
still to be multiplied by the surface's colour. Vectors are unit, (3,) as tuples.
"""

from math import pi, sqrt

import numpy as np
from numba import njit
from numpy.typing import NDArray

from reference_images.raycast.conditions import LAMBERT, LAMBERT_BLINN, OREN_NAYAR

Vector = tuple[float, float, float]
Factors = tuple[float, float]
INDEX = 1.47
"""Refractive index of filament."""


@njit
def reflect(
    law: int,
    finish: NDArray[np.float64],
    normal: Vector,
    light: Vector,
    sight: Vector,
    cosine: float,
) -> Factors:
    """Diffuse and gloss factor by ``law`` (``conditions.LAWS``).

    ``finish`` (2,) is roughness and strength of gloss; ``cosine`` that of the light for the diffuse
    part, whose normal may be smoothed by light that travels under the surface.
    """
    to_light = dot(normal, light)
    to_sight = max(dot(normal, sight), 0.02)
    if to_light <= 0 and cosine <= 0:
        return 0.0, 0.0
    to_light = max(to_light, 0.0)
    cosine = max(cosine, 0.0)
    if law == LAMBERT:
        return cosine, 0.0
    if law == OREN_NAYAR:
        across = dot(light, sight) - to_light * to_sight
        return reflect_oren_nayar(finish[0], cosine, to_sight, across), 0.0
    half = (light[0] + sight[0], light[1] + sight[1], light[2] + sight[2])
    length = sqrt(dot(half, half))
    to_half = max(dot(normal, half) / length, 0.0)
    light_half = max(dot(light, half) / length, 0.0)
    fresnel = find_fresnel(min(light_half, 1.0))
    if law == LAMBERT_BLINN:
        gloss = spread_blinn(finish[0], to_half)
        over = 4 * max(light_half, 0.05) * max(to_light, to_sight, 0.05)
        return cosine * (1 - 0.04), finish[1] * (fresnel * gloss / over * to_light * pi)
    gloss = reflect_ggx(finish[0], to_half, to_light, to_sight, fresnel)
    into, out = find_fresnel(max(cosine, 0.02)), find_fresnel(to_sight)
    # Light enters and leaves through the surface; a tenth more for what comes back from inside.
    return cosine * (1 - into) * (1 - out) * 1.10, finish[1] * gloss


@njit
def dot(a: Vector, b: Vector) -> float:
    """The scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@njit
def find_fresnel(cosine: float) -> float:
    """Unpolarised reflectance of a dielectric at this angle of incidence (Fresnel's equations)."""
    sine2 = (1 - cosine * cosine) / (INDEX * INDEX)
    inside = sqrt(1 - sine2)
    a = (cosine - INDEX * inside) / (cosine + INDEX * inside)
    b = (inside - INDEX * cosine) / (inside + INDEX * cosine)
    return 0.5 * (a * a + b * b)


@njit
def reflect_oren_nayar(sigma: float, cosine: float, to_sight: float, across: float) -> float:
    """Diffuse factor of rough matt matter (Oren and Nayar 1994, the short form).

    ``sigma`` is the RMS slope angle of its facets in radians, ``across`` the product of light and
    sight in the surface's plane, sin(light) sin(sight) cos(azimuth between them).
    """
    s2 = sigma * sigma
    a = 1 - 0.5 * s2 / (s2 + 0.33)
    b = 0.45 * s2 / (s2 + 0.09)
    sine_light = sqrt(max(0.0, 1 - cosine * cosine))
    sine_sight = sqrt(max(0.0, 1 - to_sight * to_sight))
    azimuth = 0.0
    if sine_light * sine_sight > 1e-6:
        azimuth = max(0.0, min(1.0, across / (sine_light * sine_sight)))
    if cosine > to_sight:
        sine, tangent = sine_sight, sine_light / max(cosine, 0.05)
    else:
        sine, tangent = sine_light, sine_sight / to_sight
    return cosine * (a + b * azimuth * sine * tangent)


@njit
def spread_blinn(roughness: float, to_half: float) -> float:
    """Blinn's (1977) spread of facets about the normal, 1/sr.

    Its exponent is the one as wide as GGX's spread at the same roughness.
    """
    exponent = 2 / (roughness**4) - 2
    return float((exponent + 2) / (2 * pi) * to_half**exponent)


@njit
def reflect_ggx(
    roughness: float, to_half: float, to_light: float, to_sight: float, fresnel: float
) -> float:
    """Gloss factor of a rough dielectric (GGX with Smith's shadowing, Walter et al. 2007).

    Its width alpha is the roughness squared.
    """
    a2 = roughness**4
    q = to_half * to_half * (a2 - 1) + 1
    spread = a2 / (pi * q * q)
    at_light = to_light + sqrt(a2 + (1 - a2) * to_light * to_light)
    at_sight = to_sight + sqrt(a2 + (1 - a2) * to_sight * to_sight)
    return spread * fresnel / (at_light * at_sight) * to_light * pi
