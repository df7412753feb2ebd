"""The plane that card and table lie in: its grid, and the light on it."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from reference_images.raycast.camera import Camera
from reference_images.raycast.conditions import Conditions
from reference_images.raycast.frames import Pose
from reference_images.raycast.ground_rays import find_wall_shares, light_ground
from reference_images.raycast.lamp import Lamp
from reference_images.raycast.views import LampView, PoseView

Array = NDArray[np.float64]
Picture = NDArray[np.float32]
STEP_MM, COARSE_MM = 0.2, 1.0
LEAST_PLANE_MM = (-60.0, 55.0, 330.0, 258.0)
"""Left, top, width and height of the plane where the photo shows no more."""


@dataclass(frozen=True)
class Grid:
    """A grid over the plane, from its (left, top) in the card's frame, cells ``STEP_MM`` wide."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return int(self.height_mm / STEP_MM), int(self.width_mm / STEP_MM)


def lay_grid(camera: Camera) -> Grid:
    """A grid that holds all that the photo shows of the plane."""
    left, top, width, height = LEAST_PLANE_MM
    seen_left, seen_low, seen_right, seen_top = camera.find_extent()
    left, top = min(left, seen_left - 3), max(top, seen_top + 3)
    width, height = max(width, seen_right + 3 - left), max(height, top - seen_low + 3)
    return Grid(left, top, width, height)


def find_ground_light(
    scene: Conditions,
    grid: Grid,
    camera: Camera,
    pose: Pose,
    lamp: Lamp,
    *,
    views: tuple[PoseView, LampView],
    planes: Array,
    walls: Array,
    sent: Array,
    ambient: Array,
) -> Picture:
    """What white paper returns, (M, N, 3): lamp, room, and what the walls send (5, 3)."""
    rows, columns = grid.shape
    coarse = (int(np.ceil(rows * STEP_MM)), int(np.ceil(columns * STEP_MM)), len(walls))
    shares = np.zeros(coarse, np.float32)
    pose_view, lamp_view = views
    find_wall_shares(shares, grid.left_mm, grid.top_mm, COARSE_MM, pose_view, walls)
    fill_under(shares, grid, COARSE_MM, pose, planes)
    light = np.zeros((rows, columns, 3), np.float32)
    light_ground(
        *(light, grid.left_mm, grid.top_mm, STEP_MM, lamp_view, lamp.spread_points(), pose_view),
        *(planes, ambient, np.array(scene.light.ambient_slope), sent),
        *(_enlarge(shares, rows, columns), camera.place_mm, scene.paper.roughness),
    )
    fill_under(light, grid, STEP_MM, pose, planes)
    return light


def fill_under(values: Picture, grid: Grid, step_mm: float, pose: Pose, planes: Array) -> None:
    """Give cells under the coupon the value of the nearest open one, in place (M, N, C).

    So none of the dark there bleeds out at the line where the coupon touches the card.
    """
    rows, columns = values.shape[:2]
    x, y = np.meshgrid(
        grid.left_mm + (np.arange(columns) + 0.5) * step_mm,
        grid.top_mm - (np.arange(rows) + 0.5) * step_mm,
    )
    right, up = x - pose.origin_mm[0], y - pose.origin_mm[1]
    u = right * pose.along_u[0] + up * pose.along_u[1]
    w = right * pose.along_w[0] + up * pose.along_w[1]
    inside = np.ones(u.shape, bool)
    for plane in planes[:5]:
        inside &= plane[0] * u + plane[1] * w <= plane[3] + 0.03
    j, i = np.nonzero(inside.any(0))[0], np.nonzero(inside.any(1))[0]
    part = np.s_[i[0] - 3 : i[-1] + 4, j[0] - 3 : j[-1] + 4]
    _, (near_i, near_j) = distance_transform_edt(inside[part], return_indices=True)
    values[part] = values[part][near_i, near_j]


def _enlarge(coarse: Picture, rows: int, columns: int) -> Picture:
    """The coarse grid's layers on the fine one, (rows, columns, K), bilinear."""
    share = STEP_MM / COARSE_MM
    scale = np.array([[share, 0, (share - 1) / 2], [0, share, (share - 1) / 2]])
    fine = [
        cv2.warpAffine(
            np.ascontiguousarray(coarse[..., k]),
            scale,
            (columns, rows),
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_REPLICATE,
        )
        for k in range(coarse.shape[-1])
    ]
    return np.stack(fine, -1).astype(np.float32)
