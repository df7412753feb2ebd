"""Light leaving a surface under a small lamp and an even surround, point by point.

The same reflection model as the path tracer's principled one (Burley, "Physically based shading at
Disney", 2012): a diffuse lobe with retro-reflection and one GGX lobe with dielectric Fresnel.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reference_images.camera import place_lamp
from reference_images.scene import Lamp, Material

Array = NDArray[np.float32]
# Valleys between layers hide a part of the surround; the path tracer says about this much.
SEEN_SURROUND = 0.88


@dataclass(frozen=True)
class LampLight:
    """The lamp as a point: place (3,), and what it gives a surface squarely at 1 mm."""

    place: NDArray[np.float64]
    strength: float
    tint: Array


def light_lamp(lamp: Lamp) -> LampLight:
    """A lamp that, with the surround, gives the bay's centre an irradiance of pi."""
    share = (1 - lamp.ambient_share) / np.sin(np.radians(lamp.elevation_deg))
    strength = float(np.pi * share * lamp.distance_mm**2)
    return LampLight(place_lamp(lamp), strength, np.array(lamp.tint, dtype=np.float32))


def _fresnel(cosine: Array, eta: float) -> Array:
    """Unpolarised reflectance of a dielectric at the cosine of incidence."""
    inside = np.sqrt(np.maximum(1 - (1 - cosine**2) / eta**2, 0))
    across = (cosine - eta * inside) / (cosine + eta * inside)
    along = (inside - eta * cosine) / (inside + eta * cosine)
    return np.asarray((across**2 + along**2) / 2, dtype=np.float32)


def _smith(cosine: Array, alpha2: float) -> Array:
    tan2 = np.maximum(1 / np.maximum(cosine, 1e-4) ** 2 - 1, 0)
    return np.asarray(2 / (1 + np.sqrt(1 + alpha2 * tan2)), dtype=np.float32)


def shade_plastic(
    material: Material, to_lamp: Array, to_eye: Array, normal: Array, radius_share: float
) -> tuple[Array, Array]:
    """Reflection times cosine, as (diffuse without colour, specular), both of shape (...,).

    Directions (..., 3) are unit vectors. ``radius_share`` is lamp radius over distance; it widens
    the gloss. Points that face away give 0.
    """
    half = to_lamp + to_eye
    half /= np.linalg.norm(half, axis=-1, keepdims=True)
    lamp = np.einsum("...i,...i", to_lamp, normal)
    eye = np.maximum(np.einsum("...i,...i", to_eye, normal), 1e-3)
    lit = lamp > 0
    lamp = np.maximum(lamp, 1e-4)
    between = np.einsum("...i,...i", to_lamp, half)
    top = np.clip(np.einsum("...i,...i", half, normal), 0, 1)
    weight_i, weight_o = (1 - lamp) ** 5, (1 - eye) ** 5
    retro = 2 * material.roughness * between**2
    diffuse = (1 - weight_i / 2) * (1 - weight_o / 2)
    diffuse = diffuse + retro * (weight_i + weight_o + weight_i * weight_o * (retro - 1))
    alpha2 = max(material.roughness**2, 1e-3) ** 2 + (radius_share / 2) ** 2
    eta = 2 / (1 - np.sqrt(0.08 * material.specular)) - 1
    peak = alpha2 / (np.pi * (top**2 * (alpha2 - 1) + 1) ** 2)
    gloss = _fresnel(between, eta) * peak * _smith(lamp, alpha2) * _smith(eye, alpha2) / (4 * eye)
    return (
        np.asarray(np.where(lit, diffuse * lamp / np.pi, 0), dtype=np.float32),
        np.asarray(np.where(lit, gloss, 0), dtype=np.float32),
    )


def shade_points(
    material: Material,
    lamp: Lamp,
    eye: NDArray[np.float64],
    points: Array,
    normals: Array,
    *,
    stain: Array | None = None,
) -> tuple[Array, Array]:
    """Light (..., 3) from plastic at ``points`` towards ``eye``: the lamp's share, the surround's.

    ``stain`` (...,) is the colour there over the clean one.
    Nothing stands in the way; what a point's own surroundings hide is the caller's to apply.
    """
    light = light_lamp(lamp)
    way = (light.place - points).astype(np.float32)
    distance = np.linalg.norm(way, axis=-1, keepdims=True)
    back = (eye - points).astype(np.float32)
    back /= np.linalg.norm(back, axis=-1, keepdims=True)
    share = lamp.radius_mm / lamp.distance_mm
    diffuse, gloss = shade_plastic(material, way / distance, back, normals, share)
    colour = np.array(material.rgb, dtype=np.float32)
    if stain is not None:
        colour = stain[..., None] * colour
    falloff = light.strength / distance**2
    lit = falloff * (diffuse[..., None] * colour + gloss[..., None]) * light.tint
    eta = 2 / (1 - np.sqrt(0.08 * material.specular)) - 1
    mirror = ((eta - 1) / (eta + 1)) ** 2
    surround = SEEN_SURROUND * lamp.ambient_share * (colour + mirror)
    around = np.broadcast_to(surround, lit.shape)
    return np.asarray(lit, dtype=np.float32), np.asarray(around, dtype=np.float32)
