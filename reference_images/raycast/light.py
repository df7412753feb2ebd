"""The linear light of one photo: scene, lamp, relief, ground and rays put together."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from reference_images.raycast.camera import Camera
from reference_images.raycast.card_art import TEXELS_PER_MM, draw_card
from reference_images.raycast.conditions import LAMBERT_BLINN, Conditions
from reference_images.raycast.frames import Pose
from reference_images.raycast.ground import STEP_MM, find_ground_light, lay_grid
from reference_images.raycast.lamp import Lamp, place_lamp
from reference_images.raycast.prism import find_outline, find_planes, find_walls, light_walls
from reference_images.raycast.rays import draw_light
from reference_images.raycast.relief import STEP_U_MM, Relief
from reference_images.raycast.shade import CELLS_PER_SHADE, find_in_coupon
from reference_images.raycast.table import draw_table
from reference_images.raycast.views import (
    EyeView,
    FilamentView,
    GroundView,
    LampView,
    PoseView,
    ReliefView,
    WallsView,
)
from reference_images.standard import CARD, CHAMFER_MM, LENGTH_MM, THICKNESS_MM

Array = NDArray[np.float64]
Picture = NDArray[np.float32]
RAYS, FEW_RAYS = {"ringdown": (4, 2), "flow": (6, 2)}, (3, 1)
"""Along each side of a pixel, on the coupon and elsewhere; and for a try."""

SHADE_SD = 0.012
LAMP_WIDENS = 0.25
"""Share of the lamp's angular radius by which gloss is as much wider."""


@dataclass(frozen=True)
class Light:
    """Linear light (H, W, 3), the card's reflectance, and the lamp."""

    light: Picture
    card: Picture
    lamp: Lamp


def light_scene(
    rng: np.random.Generator,
    scene: Conditions,
    camera: Camera,
    pose: Pose,
    relief: Relief,
    *,
    rays: tuple[int, int],
) -> Light:
    """Draw what is left to be drawn, in this order, and follow the rays (``RAYS``)."""
    lamp = place_lamp(rng, scene.light, scene.face, pose)
    ambient = np.array(scene.light.ambient_rgb) * scene.light.ambient_share
    rgb = np.array(scene.filament.rgb)
    planes, walls = find_planes(scene.face), find_walls(scene.face)
    wall_light = light_walls(walls, pose, lamp, ambient, rgb=rgb, paper=scene.paper.white)
    pose_view = PoseView(pose.origin_mm, pose.along_u, pose.along_w, float(THICKNESS_MM))
    lamp_view = _view_lamp(lamp, pose_view)
    grid = lay_grid(camera)
    ground_light = find_ground_light(
        *(scene, grid, camera, pose, lamp),
        views=(pose_view, lamp_view),
        planes=planes,
        walls=walls,
        sent=wall_light.sent,
        ambient=ambient,
    )
    card = draw_card(rng, scene.paper, f"coupon:{scene.run}:{scene.axis}:{scene.face}")
    table = draw_table(rng, scene.laid, grid)
    made = scene.made
    is_ringdown = scene.face == "ringdown"
    width, height = camera.size_px
    light = np.zeros((height, width, 3), np.float32)
    draw_light(
        *(light, mark_coupon(scene.face, camera, pose), scene.seed),
        *(*rays, _view_eye(camera, pose_view), pose_view),
        *(_view_relief(relief, scene.filament.subsurface_mm), lamp_view),
        _view_filament(rng, scene, relief),
        WallsView(
            planes=planes,
            indirect=wall_light.indirect,
            layer=made.layer_mm,
            bead_slope=2 * made.bead_um * 1e-3 / made.layer_mm * 1.5,
            first_u=0.0 if is_ringdown else CHAMFER_MM,
            last_u=LENGTH_MM - (CHAMFER_MM if is_ringdown else 0.0),
        ),
        GroundView(
            card=card,
            texels_per_mm=float(TEXELS_PER_MM),
            card_rgb=np.array(scene.paper.rgb),
            card_size=np.array(CARD["size_mm"], float),
            table=table,
            light=ground_light,
            left=grid.left_mm,
            top=grid.top_mm,
            step=STEP_MM,
        ),
        ambient,
    )
    return Light(light, card, lamp)


def mark_coupon(face: str, camera: Camera, pose: Pose) -> NDArray[np.uint8]:
    """Pixels (H, W) that may show the coupon are 1: the hull of its outline, top and bottom."""
    u, w = find_outline(face).T
    hull = np.concatenate([camera.project(pose.to_card(u, w, y)) for y in (0.4, -THICKNESS_MM)])
    width, height = camera.size_px
    mask = np.zeros((height, width), np.uint8)
    cv2.fillConvexPoly(mask, cv2.convexHull(np.round(hull).astype(np.int32)), (1,))
    return np.asarray(cv2.dilate(mask, np.ones((13, 13), np.uint8)), np.uint8)


def _view_eye(camera: Camera, pose: PoseView) -> EyeView:
    return EyeView(
        place=camera.place_mm,
        right=camera.right,
        down=camera.down,
        forward=camera.forward,
        in_coupon=np.array(find_in_coupon(pose, camera.place_mm)),
        x0_px=float(camera.centre_px[0]),
        y0_px=float(camera.centre_px[1]),
        focal_px=camera.focal_px,
        k1=camera.handling.k1,
    )


def _view_lamp(lamp: Lamp, pose: PoseView) -> LampView:
    return LampView(
        place=lamp.place_mm,
        axis=lamp.axis,
        beam=lamp.beam_exponent,
        intensity=lamp.intensity,
        rgb=lamp.rgb,
        radius=lamp.radius_mm,
        in_coupon=np.array(find_in_coupon(pose, lamp.place_mm)),
    )


def _view_relief(relief: Relief, subsurface_mm: float) -> ReliefView:
    heights = relief.heights_mm
    smooth = np.zeros((1, 1), np.float32)
    if subsurface_mm > 0:
        sigma = (subsurface_mm / relief.step_w_mm, subsurface_mm / STEP_U_MM)
        smooth = gaussian_filter(heights, sigma)
    return ReliefView(
        heights=heights,
        smooth=smooth,
        codes=relief.codes,
        open_um=relief.open_um,
        groove=relief.groove_mm,
        step_u=STEP_U_MM,
        step_w=relief.step_w_mm,
        top=max(0.0, float(heights[::7].max())) + 0.01,
    )


def _view_filament(rng: np.random.Generator, scene: Conditions, relief: Relief) -> FilamentView:
    """Colour and finish; the colour varies a little over the face, and gloss is the lamp's, too."""
    filament = scene.filament
    rows, columns = relief.heights_mm.shape
    noise = rng.standard_normal((rows // CELLS_PER_SHADE + 1, columns // CELLS_PER_SHADE + 1))
    clouds = gaussian_filter(noise.astype(np.float32), (2, 6))
    is_glossy = filament.law >= LAMBERT_BLINN
    lamp_rad = scene.light.size_mm / 2 / scene.light.distance_mm
    widened = np.sqrt(filament.roughness**2 + LAMP_WIDENS * lamp_rad)
    return FilamentView(
        rgb=np.array(filament.rgb),
        law=filament.law,
        finish=np.array([widened if is_glossy else filament.roughness, filament.gloss]),
        ambient_gloss=0.02 if is_glossy else 0.0,
        shades=1 + SHADE_SD * clouds / clouds.std(),
    )
