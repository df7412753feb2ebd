"""The lamp: where it stands, how bright it is, and points of its disc to cast shadows by."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reference_images.raycast.conditions import Light
from reference_images.raycast.frames import Pose
from reference_images.raycast.lamp_rays import find_lamp_power
from reference_images.standard import HEIGHT_MM, LENGTH_MM

Array = NDArray[np.float64]
RIM_POINTS, INNER_POINTS = 12, 44
GOLDEN_ANGLE_RAD = 2.39996


@dataclass(frozen=True)
class Lamp:
    """A disc at ``place_mm`` (3,) facing along ``axis`` (3,).

    With the room's light it lights the face's middle as much as unit light from straight above.
    """

    place_mm: Array
    axis: Array
    beam_exponent: float
    intensity: float
    rgb: Array
    radius_mm: float

    def find_light(self, place_mm: Array) -> float:
        """Light at ``place_mm`` (3,) on a surface that faces the lamp."""
        power = find_lamp_power(place_mm, self.place_mm, self.axis, self.beam_exponent)
        return float(self.intensity * power)

    def spread_points(self) -> Array:
        """Points of the disc (56, 3), mm: first its rim, then its inside by golden angle."""
        across = np.cross(self.axis, [0, 0, 1.0])
        across /= np.linalg.norm(across)
        up = np.cross(self.axis, across)
        turns = np.arange(RIM_POINTS) * np.pi / 6
        disc = [(np.cos(a), np.sin(a)) for a in turns]
        for i in range(INNER_POINTS):
            out, turn = np.sqrt((i + 0.5) / INNER_POINTS), i * GOLDEN_ANGLE_RAD
            disc.append((out * np.cos(turn), out * np.sin(turn)))
        plan = np.array(disc)
        plan[:RIM_POINTS] *= 0.985
        return np.asarray(
            self.place_mm + self.radius_mm * (plan[:, :1] * across + plan[:, 1:] * up)
        )


def place_lamp(rng: np.random.Generator, light: Light, face: str, pose: Pose) -> Lamp:
    """The lamp at the card's left, or its top for the flow face; aimed at the face, but roughly."""
    middle = pose.to_card(LENGTH_MM / 2, HEIGHT_MM / 2)
    elevation, aside = np.radians(light.elevation_deg), np.radians(light.off_axis_deg)
    side = (np.pi if face == "ringdown" else np.pi / 2) + aside
    level = np.cos(elevation)
    towards = np.array([np.cos(side) * level, np.sin(side) * level, np.sin(elevation)])
    place = middle + light.distance_mm * towards
    axis = (middle - place) / light.distance_mm
    axis = axis + rng.normal(0, 0.04, 3)
    axis /= np.linalg.norm(axis)
    power = find_lamp_power(middle, place, axis, light.beam_exponent)
    return Lamp(
        place_mm=place,
        axis=axis,
        beam_exponent=light.beam_exponent,
        intensity=float((1 - light.ambient_share) / (power * np.sin(elevation))),
        rgb=np.array(light.lamp_rgb),
        radius_mm=light.size_mm / 2,
    )
