"""Where the camera stands, and where a point in the world falls in the picture."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reference_images.scene import Camera, Lamp, Scene
from reference_images.standard import CARD, THICKNESS_MM

Array = NDArray[np.float64]


@dataclass(frozen=True)
class View:
    """A camera in the world: place (3,), rows right, down, forward (3, 3), focal length in px."""

    place: Array
    axes: Array
    focal_px: float
    centre_px: tuple[float, float]
    k1: float


def place_camera(camera: Camera) -> View:
    """Stand over the aimed point of the card, tilted and turned as asked."""
    aim = np.array([camera.aim_mm[0], -camera.aim_mm[1], 0.0])
    distance = camera.focal_px / camera.face_px_per_mm + THICKNESS_MM
    tilt, towards = np.radians(camera.tilt_deg), np.radians(camera.tilt_towards_deg)
    back = np.array([np.sin(tilt) * np.cos(towards), np.sin(tilt) * np.sin(towards), np.cos(tilt)])
    forward = -back
    turn = np.radians(camera.turn_deg)
    right = np.array([np.cos(turn), np.sin(turn), 0.0])
    right = right - forward * (right @ forward)
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    centre = (camera.width_px / 2 - 0.5, camera.height_px / 2 - 0.5)
    return View(
        aim + distance * back,
        np.stack([right, down, forward]),
        camera.focal_px,
        centre,
        camera.k1,
    )


def project_px(view: View, world: Array) -> Array:
    """Where world points (..., 3) fall, (..., 2): x right, y down, pixel centres whole numbers."""
    local = (world - view.place) @ view.axes.T
    flat = local[..., :2] / local[..., 2:]
    r2 = np.sum(flat**2, axis=-1, keepdims=True)
    return np.asarray(flat * (1 + view.k1 * r2) * view.focal_px + np.array(view.centre_px))


def undistort(view: View, pixels: Array) -> Array:
    """Directions (..., 2), x/z and y/z before the lens term, of picture coordinates (..., 2)."""
    bent = (pixels - np.array(view.centre_px)) / view.focal_px
    radius = np.linalg.norm(bent, axis=-1, keepdims=True)
    # The term is radial: undo it along one fine line of radii, by fixed-point steps.
    line = np.linspace(0, float(radius.max()) + 1e-9, 4000)
    flat = line.copy()
    for _ in range(40):
        flat = line / (1 + view.k1 * flat**2)
    ratio = np.divide(flat, line, out=np.ones_like(line), where=line > 0)
    return np.asarray(bent * np.interp(radius, line, ratio))


def bay_centre() -> Array:
    """World place of the middle of the measured face when the coupon lies true."""
    (x, y), (w, h) = CARD["bay"]["origin_mm"], CARD["bay"]["size_mm"]
    return np.array([x + w / 2, -(y + h / 2), THICKNESS_MM])


def place_lamp(lamp: Lamp) -> Array:
    """World place of the lamp's centre. Azimuth 180: the card's -x side; 90: its -y side."""
    azimuth, elevation = np.radians(lamp.azimuth_deg), np.radians(lamp.elevation_deg)
    towards = [
        np.cos(elevation) * np.cos(azimuth),
        np.cos(elevation) * np.sin(azimuth),
        np.sin(elevation),
    ]
    return np.asarray(bay_centre() + lamp.distance_mm * np.array(towards))


def margin_px(scene: Scene) -> int:
    """How far beyond the picture's edge the lens reaches, in px of the undistorted picture."""
    camera = scene.camera
    view = place_camera(camera)
    x = np.array([-0.5, camera.width_px - 0.5])
    y = np.array([-0.5, camera.height_px - 0.5])
    corners = np.array([[a, b] for a in x for b in y])
    straight = undistort(view, corners) * view.focal_px
    bent = corners - np.array(view.centre_px)
    return max(0, int(np.ceil(np.max(np.abs(straight) - np.abs(bent))))) + 4
