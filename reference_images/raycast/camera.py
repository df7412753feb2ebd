"""The camera: a pinhole with a radial term, held above the card by hand."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reference_images.raycast.conditions import Handling
from reference_images.raycast.frames import Pose
from reference_images.standard import CARD, THICKNESS_MM

Array = NDArray[np.float64]
TRIES = 3000
LEAST_PX_PER_MM, DISTANCE_MM, MARGIN_PX = 16.0, (175.0, 345.0), 12
DIAGONAL_35MM = np.hypot(36, 24)
"""A 35 mm equivalent is over the diagonal (CIPA)."""


@dataclass(frozen=True)
class Camera:
    """A camera at ``place_mm`` (3,) of the card's frame; pixel centres lie at whole numbers.

    ``right``, ``down`` and ``forward`` (3,) are its axes, ``centre_px`` (2,) where its own axis
    meets the sensor. A direction r off the axis is seen at r (1 + k1 r^2), in focal lengths.
    """

    handling: Handling
    focal_px: float
    centre_px: Array
    place_mm: Array
    right: Array
    down: Array
    forward: Array
    distance_mm: float
    least_px_per_mm: float = 0.0

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height of the sensor."""
        return self.handling.width_px, self.handling.height_px

    def project(self, place_mm: ArrayLike) -> Array:
        """Pixels (..., 2) of the sensor for places (..., 3) on the card; x right, y down."""
        towards = np.asarray(place_mm, float) - self.place_mm
        depth = towards @ self.forward
        x, y = towards @ self.right / depth, towards @ self.down / depth
        bent = 1 + self.handling.k1 * (x * x + y * y)
        (x0, y0), focal = self.centre_px, self.focal_px
        return np.stack([x0 + focal * x * bent, y0 + focal * y * bent], -1)

    def find_scale(self, pose: Pose) -> float:
        """Pixels a millimetre at the face's coarsest of nine places, in its coarsest direction."""
        least = np.inf
        for u in (1, 50, 99):
            for w in (1, 12, 23):
                here = self.project(pose.to_card(u, w))
                along_u = self.project(pose.to_card(u + 0.5, w)) - here
                along_w = self.project(pose.to_card(u, w + 0.5)) - here
                steps = np.stack([along_u, along_w]) / 0.5
                least = min(least, np.linalg.svd(steps, compute_uv=False)[-1])
        return float(least)

    def find_extent(self) -> tuple[float, float, float, float]:
        """Least X and Y, largest X and Y of the table that the photo's edge shows, mm."""
        width, height = self.size_px
        seen = []
        for x in np.linspace(0, width, 9):
            for y in np.linspace(0, height, 9):
                if not (0 < x < width and 0 < y < height):
                    seen.append(self._meet_table(x, y))
        places = np.array(seen)
        (left, low), (right, high) = places.min(axis=0), places.max(axis=0)
        return float(left), float(low), float(right), float(high)

    def _meet_table(self, x_px: float, y_px: float) -> Array:
        """Card X and Y (2,) of what a pixel shows of the table's plane."""
        x = (x_px - self.centre_px[0]) / self.focal_px
        y = (y_px - self.centre_px[1]) / self.focal_px
        k1, bent = self.handling.k1, np.hypot(x, y)
        straight = bent
        for _ in range(8):
            off = straight * (1 + k1 * straight * straight) - bent
            straight -= off / (1 + 3 * k1 * straight * straight)
        ray = self.forward + x * straight / bent * self.right + y * straight / bent * self.down
        return np.asarray(self.place_mm[:2] + ray[:2] * self.place_mm[2] / -ray[2])


def hold_camera(rng: np.random.Generator, handling: Handling, pose: Pose) -> Camera:
    """A camera that has the whole card in view and sees the face finely enough.

    Where none turns up, tilt, roll, sensor and lens give way in that order; :class:`RuntimeError`
    where that does not help either.
    """
    width_mm, height_mm = CARD["size_mm"]
    corners = np.array([(x, y, 0) for x in (0, width_mm) for y in (0, -height_mm)], float)
    for tried in range(TRIES):
        handling = _give_way(handling, tried)
        width, height = handling.width_px, handling.height_px
        px_per_mm = rng.uniform(16.3, 19.5 if width > 4500 else 18.2)
        focal_px = handling.focal_35mm * np.hypot(width, height) / DIAGONAL_35MM
        distance = focal_px / px_per_mm + THICKNESS_MM
        if not DISTANCE_MM[0] <= distance <= DISTANCE_MM[1]:
            if tried > 600:
                handling = replace(handling, focal_35mm=28.0 if distance < DISTANCE_MM[0] else 42.0)
            continue
        aim = (width_mm / 2 + rng.normal(0, 3), -height_mm / 2 + rng.normal(0, 3))
        camera = aim_camera(handling, aim, distance, off_px=rng.uniform(-10, 10, 2))
        seen = camera.project(corners)
        inside = seen.max(axis=0) <= np.array([width, height]) - 1 - MARGIN_PX
        if seen.min() < MARGIN_PX or not inside.all():
            continue
        scale = camera.find_scale(pose)
        if scale >= LEAST_PX_PER_MM:
            return replace(camera, least_px_per_mm=scale)
    raise RuntimeError("no camera of these ranges turned up")


def aim_camera(
    handling: Handling, aim_mm: tuple[float, float], distance_mm: float, *, off_px: Array
) -> Camera:
    """The camera ``distance_mm`` before a point of the card, tilted and rolled as it is handled.

    Untilted it looks straight down, its right along the card's x. ``off_px`` (2,) is how far its
    axis is off the sensor's middle.
    """
    width, height = handling.width_px, handling.height_px
    direction = np.radians(handling.tilt_direction_deg)
    hinge = np.array([np.cos(direction), np.sin(direction), 0])
    tilt = find_rotation(hinge, np.radians(handling.tilt_deg))
    right, down = tilt @ np.array([1.0, 0, 0]), tilt @ np.array([0, -1.0, 0])
    forward = tilt @ np.array([0, 0, -1.0])
    roll = find_rotation(forward, np.radians(handling.roll_deg))
    return Camera(
        handling=handling,
        focal_px=float(handling.focal_35mm * np.hypot(width, height) / DIAGONAL_35MM),
        centre_px=np.array([(width - 1) / 2, (height - 1) / 2]) + off_px,
        place_mm=np.array([aim_mm[0], aim_mm[1], 0.0]) - forward * distance_mm,
        right=roll @ right,
        down=roll @ down,
        forward=forward,
        distance_mm=float(distance_mm),
    )


def shrink_camera(camera: Camera, px_per_mm: float) -> Camera:
    """The same view on fewer pixels: ``px_per_mm`` at the face's coarsest place."""
    share = px_per_mm / camera.least_px_per_mm
    width, height = (int(np.ceil(side * share)) for side in camera.size_px)
    return replace(
        camera,
        handling=replace(camera.handling, width_px=width, height_px=height),
        focal_px=camera.focal_px * share,
        centre_px=(camera.centre_px + 0.5) * share - 0.5,
        least_px_per_mm=px_per_mm,
    )


def find_rotation(axis: Array, angle_rad: float) -> Array:
    """The matrix (3, 3) that turns about a unit ``axis`` (3,), by Rodrigues' formula."""
    x, y, z = axis
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.asarray(
        np.eye(3) + np.sin(angle_rad) * cross + (1 - np.cos(angle_rad)) * cross @ cross
    )


def turn_points(points_px: Array, turns: int, size_px: tuple[int, int]) -> Array:
    """Pixels (..., 2) of a sensor of ``size_px`` after quarter turns anticlockwise."""
    x, y = points_px[..., 0], points_px[..., 1]
    width, height = size_px
    for _ in range(turns % 4):
        x, y = y, width - 1 - x
        width, height = height, width
    return np.stack([x, y], -1)


def _give_way(handling: Handling, tried: int) -> Handling:
    """How the camera is handled after so many tries."""
    if tried and tried % 300 == 0:
        handling = replace(handling, tilt_deg=handling.tilt_deg * 0.85)
    if tried == 900 and handling.height_px < 2800:
        handling = replace(handling, roll_deg=handling.roll_deg * 0.4)
    if tried == 1500:
        handling = replace(handling, width_px=4624, height_px=3472)
    if tried == 2000 and handling.focal_35mm < 28:
        handling = replace(handling, focal_35mm=28.0)
    return handling
