"""The coupon without its relief: a prism of five walls, and what light they get and send on.

Walls are numbered: 0 at u = 0, 1 at the far end, 2 the foot, 3 the rim, 4 the cut corner. The print
has no top, so that the rim is mostly an open mouth.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reference_images.raycast.frames import Pose
from reference_images.raycast.lamp import Lamp
from reference_images.standard import CHAMFER_MM, HEIGHT_MM, LENGTH_MM, THICKNESS_MM

Array = NDArray[np.float64]
MOUTH = 3
MOUTH_SHARE = 0.35
"""Share of a solid wall's light that the mouth sends to the paper."""


@dataclass(frozen=True)
class WallLight:
    """Light on the walls but the lamp's own (7, 3), and what they send to the paper (5, 3)."""

    indirect: Array
    sent: Array


def find_outline(face: str) -> Array:
    """Corners (5, 2) of the face in u and w, its cut corner on the right or the left."""
    far, top, cut = LENGTH_MM, HEIGHT_MM, CHAMFER_MM
    corners = [(0.0, 0.0), (far, 0.0), (far, top - cut), (far - cut, top), (0.0, top)]
    if face != "ringdown":
        corners = [(far - u, w) for u, w in corners][::-1]
    return np.array(corners)


def find_planes(face: str) -> Array:
    """The walls', the face's and the back's planes (7, 4): outward normal in u, w, y, and distance.

    Outside is where normal . place exceeds the distance.
    """
    half = 1 / np.sqrt(2)
    cut = (half, half, 0, (LENGTH_MM + HEIGHT_MM - CHAMFER_MM) * half)
    if face != "ringdown":
        cut = (-half, half, 0, (HEIGHT_MM - CHAMFER_MM) * half)
    ends = [(-1, 0, 0, 0), (1, 0, 0, LENGTH_MM), (0, -1, 0, 0), (0, 1, 0, HEIGHT_MM), cut]
    return np.array([*ends, (0, 0, 1, 0), (0, 0, -1, THICKNESS_MM)], float)


def find_walls(face: str) -> Array:
    """The walls (5, 6) in plan: u and w of both ends, and the outward normal in u and w."""
    far, top, cut = LENGTH_MM, HEIGHT_MM, CHAMFER_MM
    if face == "ringdown":
        ends = [(0, 0, 0, top), (far, 0, far, top - cut), (0, 0, far, 0), (0, top, far - cut, top)]
        ends.append((far, top - cut, far - cut, top))
    else:
        ends = [(0, 0, 0, top - cut), (far, 0, far, top), (0, 0, far, 0), (cut, top, far, top)]
        ends.append((0, top - cut, cut, top))
    return np.concatenate([np.array(ends, float), find_planes(face)[:5, :2]], axis=1)


def light_walls(
    walls: Array, pose: Pose, lamp: Lamp, ambient: Array, *, rgb: Array, paper: float
) -> WallLight:
    """Light on each wall's middle: half the room's, and half of what the paper before it returns.

    ``ambient`` (3,) is the room's light, ``rgb`` (3,) the filament's and ``paper`` the card's
    reflectance. Paper is taken 12 mm off the wall, in the lamp's light only before walls that face
    it.
    """
    indirect, sent = np.zeros((7, 3)), np.zeros((5, 3))
    lamp_rgb = lamp.rgb
    for k, (u0, w0, u1, w1, across_u, across_w) in enumerate(walls):
        middle = pose.to_card((u0 + u1) / 2, (w0 + w1) / 2, -THICKNESS_MM / 2)
        normal = np.append(across_u * pose.along_u + across_w * pose.along_w, 0)
        to_lamp = lamp.place_mm - middle
        slant = normal @ to_lamp
        direct = lamp.find_light(middle) * max(0.0, float(slant / np.linalg.norm(to_lamp)))
        foot = middle + 12 * normal
        foot[2] = 0
        up = lamp.place_mm - foot
        on_paper = lamp.find_light(foot) * up[2] / np.linalg.norm(up) if slant > 0 else 0.0
        indirect[k] = 0.5 * ambient + 0.5 * paper * (on_paper * lamp_rgb + 0.6 * ambient)
        sent[k] = rgb * (direct * lamp_rgb + indirect[k])
    sent[MOUTH] *= MOUTH_SHARE
    return WallLight(indirect, sent)
