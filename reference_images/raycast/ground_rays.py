"""Light on the card's plane: lamp past the coupon, room, and what walls send (numba)."""

from math import sqrt

import numpy as np
from numba import njit
from numpy.typing import NDArray

from reference_images.raycast.lamp_rays import find_lamp_power
from reference_images.raycast.prism_rays import is_inside, meet_prism
from reference_images.raycast.reflectance import reflect_oren_nayar
from reference_images.raycast.views import LampView, PoseView

Array = NDArray[np.float64]
Picture = NDArray[np.float32]
RIM_POINTS = 12


@njit
def light_ground(
    light: Picture,
    left: float,
    top: float,
    step: float,
    lamp: LampView,
    disc: Array,
    pose: PoseView,
    planes: Array,
    ambient: Array,
    ambient_slope: Array,
    sent: Array,
    shares: Picture,
    eye: Array,
    roughness: float,
) -> None:
    """Write what white paper returns towards the camera, ``light`` (M, N, 3), unit light giving 1.

    ``disc`` (D, 3) are points of the lamp, its rim's first; ``shares`` (M, N, 5) the parts of the
    sky that walls take, which send ``sent`` (5, 3); ``eye`` (3,) the camera; ``roughness`` that of
    the paper, 0 for Lambert's.
    """
    rows, columns = light.shape[0], light.shape[1]
    place, below = np.zeros(3), np.zeros(3)
    for row in range(rows):
        for column in range(columns):
            x = left + (column + 0.5) * step
            y = top - (row + 0.5) * step
            place[0] = x
            place[1] = y
            a = x - pose.origin[0]
            b = y - pose.origin[1]
            below[0] = a * pose.along_u[0] + b * pose.along_u[1]
            below[1] = a * pose.along_w[0] + b * pose.along_w[1]
            below[2] = -pose.thickness + 1e-4
            lx = lamp.place[0] - x
            ly = lamp.place[1] - y
            lz = lamp.place[2]
            r = sqrt(lx * lx + ly * ly + lz * lz)
            direct = lamp.intensity * find_lamp_power(place, lamp.place, lamp.axis, lamp.beam)
            direct = direct * lz / r
            direct *= 1 - find_shadow(below, x, y, disc, pose, planes)
            if roughness > 0:
                direct *= find_paper_gain(roughness, lx, ly, lz, eye[0] - x, eye[1] - y, eye[2])
            level = 1 + ambient_slope[0] * (x - 105) / 100 + ambient_slope[1] * (y + 74) / 100
            sky = 1.0
            for k in range(shares.shape[2]):
                sky -= shares[row, column, k]
            for c in range(3):
                bounced = 0.0
                for k in range(shares.shape[2]):
                    bounced += shares[row, column, k] * sent[k, c]
                light[row, column, c] = direct * lamp.rgb[c]
                light[row, column, c] += ambient[c] * level * sky + bounced


@njit
def find_shadow(
    below: Array, x: float, y: float, disc: Array, pose: PoseView, planes: Array
) -> float:
    """Share of the lamp's disc hidden by the coupon from the paper at card (x, y).

    ``below`` (3,) is the same place in the coupon's frame. Where the rim's points agree, there is
    no penumbra; far off there is no shadow.
    """
    near = below[0] > -60 and below[0] < 160 and below[1] > -60 and below[1] < 84
    if not near:
        return 0.0
    ray = np.zeros(3)
    hidden = 0
    points = disc.shape[0]
    for s in range(points):
        wx = disc[s, 0] - x
        wy = disc[s, 1] - y
        ray[0] = wx * pose.along_u[0] + wy * pose.along_u[1]
        ray[1] = wx * pose.along_w[0] + wy * pose.along_w[1]
        ray[2] = disc[s, 2]
        face, _ = meet_prism(below, ray, 1.0, planes)
        if face >= 0 or is_inside(below, planes):
            hidden += 1
        if s == RIM_POINTS - 1 and hidden in (0, RIM_POINTS):
            return 1.0 if hidden > 0 else 0.0
    return float(hidden / points)


@njit
def find_paper_gain(
    roughness: float, lx: float, ly: float, lz: float, vx: float, vy: float, vz: float
) -> float:
    """What rough paper returns over what Lambert's does; l leads to the lamp, v to the camera."""
    r = sqrt(lx * lx + ly * ly + lz * lz)
    v = sqrt(vx * vx + vy * vy + vz * vz)
    cosine = lz / r
    to_sight = max(vz / v, 0.02)
    across = lx / r * (vx / v) + ly / r * (vy / v) + lz / r * (vz / v) - cosine * to_sight
    return float(reflect_oren_nayar(roughness, cosine, to_sight, across) / cosine)


@njit
def find_wall_shares(
    shares: Picture, left: float, top: float, step: float, pose: PoseView, walls: Array
) -> None:
    """Write the share of the sky that each wall takes, (M, N, 5), on a coarse grid of the plane.

    A wall's form factor is summed over some 3 mm by 2 mm of it; a little is added to the squared
    distance, for places right at its foot.
    """
    rows, columns = shares.shape[0], shares.shape[1]
    high = pose.thickness
    for row in range(rows):
        for column in range(columns):
            x = left + (column + 0.5) * step - pose.origin[0]
            y = top - (row + 0.5) * step - pose.origin[1]
            u = x * pose.along_u[0] + y * pose.along_u[1]
            w = x * pose.along_w[0] + y * pose.along_w[1]
            if u < -80 or u > 180 or w < -80 or w > 104:
                continue
            for k in range(walls.shape[0]):
                u0, w0, u1, w1 = walls[k, 0], walls[k, 1], walls[k, 2], walls[k, 3]
                across_u, across_w = walls[k, 4], walls[k, 5]
                if (u - u0) * across_u + (w - w0) * across_w <= 0.05:
                    continue
                length = sqrt((u1 - u0) ** 2 + (w1 - w0) ** 2)
                count = max(6, int(length / 3))
                share = 0.0
                for i in range(count):
                    a = (i + 0.5) / count
                    bu = u0 + a * (u1 - u0) - u
                    bw = w0 + a * (w1 - w0) - w
                    facing = -(bu * across_u + bw * across_w)
                    for j in range(6):
                        z = (j + 0.5) / 6 * high
                        r2 = bu * bu + bw * bw + z * z + 0.3
                        share += z * facing / (np.pi * r2 * r2) * (length / count) * (high / 6)
                shares[row, column, k] = min(share, 0.5)
