"""Rays through every pixel: many on the coupon, few elsewhere (numba)."""

from math import sqrt

import numpy as np
from numba import njit
from numpy.typing import NDArray

from reference_images.raycast.march import FAST, MISSED, Sight, meet_relief
from reference_images.raycast.reflectance import Vector
from reference_images.raycast.shade import shade_ground, shade_relief, shade_wall
from reference_images.raycast.views import (
    Array,
    EyeView,
    FilamentView,
    GroundView,
    LampView,
    Picture,
    PoseView,
    ReliefView,
    WallsView,
)


@njit(fastmath=FAST)
def draw_light(
    light: Picture,
    is_coupon: NDArray[np.uint8],
    seed: int,
    coupon_rays: int,
    other_rays: int,
    eye: EyeView,
    pose: PoseView,
    relief: ReliefView,
    lamp: LampView,
    filament: FilamentView,
    walls: WallsView,
    ground: GroundView,
    ambient: Array,
) -> None:
    """Write the linear light of every pixel, ``light`` (H, W, 3); white paper in unit light is 1.

    Where ``is_coupon`` (H, W) says that the coupon may be seen, a pixel gets ``coupon_rays``
    squared, elsewhere ``other_rays`` squared, each at random in its part of the pixel. ``ambient``
    (3,) is the room's light.
    """
    height, width = light.shape[0], light.shape[1]
    # Numba's own generator: it goes on from function to function.
    np.random.seed(seed)  # noqa: NPY002
    for row in range(height):
        for column in range(width):
            may_meet = is_coupon[row, column] > 0
            n = coupon_rays if may_meet else other_rays
            red, green, blue = 0.0, 0.0, 0.0
            for i in range(n):
                for j in range(n):
                    x = column - 0.5 + (j + np.random.random()) / n  # noqa: NPY002
                    y = row - 0.5 + (i + np.random.random()) / n  # noqa: NPY002
                    ray = point_ray(eye, x, y)
                    met, sent = False, (0.0, 0.0, 0.0)
                    if may_meet:
                        met, sent = shade_coupon(
                            ray, eye, pose, relief, lamp, filament, walls, ambient
                        )
                    if not met:
                        sent = shade_ground(eye, ray, ground)
                    red += sent[0]
                    green += sent[1]
                    blue += sent[2]
            share = 1.0 / (n * n)
            light[row, column, 0] = red * share
            light[row, column, 1] = green * share
            light[row, column, 2] = blue * share


@njit(fastmath=FAST)
def point_ray(eye: EyeView, x_px: float, y_px: float) -> Vector:
    """The direction, not of unit length, in which a pixel looks; the radial term undone."""
    x = (x_px - eye.x0_px) / eye.focal_px
    y = (y_px - eye.y0_px) / eye.focal_px
    bent = sqrt(x * x + y * y)
    straight = bent
    for _ in range(4):
        off = straight * (1 + eye.k1 * straight * straight) - bent
        straight -= off / (1 + 3 * eye.k1 * straight * straight)
    gain = straight / bent if bent > 1e-12 else 1.0
    x *= gain
    y *= gain
    return (
        eye.forward[0] + x * eye.right[0] + y * eye.down[0],
        eye.forward[1] + x * eye.right[1] + y * eye.down[1],
        eye.forward[2] + x * eye.right[2] + y * eye.down[2],
    )


@njit(fastmath=FAST)
def shade_coupon(
    ray: Vector,
    eye: EyeView,
    pose: PoseView,
    relief: ReliefView,
    lamp: LampView,
    filament: FilamentView,
    walls: WallsView,
    ambient: Array,
) -> tuple[bool, Vector]:
    """Whether a ray meets the coupon, and what light leaves there."""
    along_u = (ray[0] * pose.along_u[0] + ray[1] * pose.along_u[1]) / -ray[2]
    along_w = (ray[0] * pose.along_w[0] + ray[1] * pose.along_w[1]) / -ray[2]
    above = eye.in_coupon[2] - relief.top
    u = eye.in_coupon[0] + along_u * above
    w = eye.in_coupon[1] + along_w * above
    sight = Sight(u, w, along_u, along_w)
    met = meet_relief(relief, sight)
    if met.kind == MISSED:
        is_wall, sent = shade_wall(sight, relief, walls, pose, lamp, filament)
        return is_wall, sent
    return True, shade_relief(relief, met, eye, pose, lamp, filament, ambient)
