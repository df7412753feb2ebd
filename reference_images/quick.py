"""A fast renderer of the same scenes: direct light, shadows, no light passed on between surfaces.

Seconds instead of a minute: for breadth. README says how far it agrees with the path tracer.
"""

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from reference_images.camera import View, margin_px, place_camera, project_px
from reference_images.card_layer import Box, lit_card
from reference_images.mesh import face_to_world, surface_normals, turn_to_world
from reference_images.photograph import finish_photo
from reference_images.relief_shadow import hidden_from_lamp
from reference_images.scene import Scene, Stain
from reference_images.shade import shade_points
from reference_images.stain import paint_stain
from reference_images.standard import HEIGHT_MM, THICKNESS_MM
from reference_images.surface import Surface, build_surface, design_height_mm, end_u_mm
from reference_images.truth import outline_uw_mm

Array = NDArray[np.float64]
Picture = NDArray[np.float32]
FINE_X, FINE_Y = 2, 5  # samples a pixel, on the coupon; layers mostly run along x
SLOT_LIGHT = 0.05  # light left in an open slot, share of the face's


@dataclass(frozen=True)
class Patch:
    """A part of the picture (top-left corner, size) and its finer samples."""

    left: int
    top: int
    width: int
    height: int

    def fine_px(self) -> tuple[Array, Array]:
        """Picture coordinates of the fine samples, (W F,) and (H F,)."""
        x = (np.arange(self.width * FINE_X) + 0.5) / FINE_X - 0.5
        y = (np.arange(self.height * FINE_Y) + 0.5) / FINE_Y - 0.5
        return self.left + x, self.top + y


def _outline_world(scene: Scene, y_mm: float) -> Array:
    uw = np.array(outline_uw_mm(scene), dtype=np.float64)
    return face_to_world(scene, uw[:, 0], uw[:, 1], np.full(len(uw), y_mm))


def _shade_face(scene: Scene, surface: Surface, view: View) -> Picture:
    """Light from every vertex of the face towards the camera, (K R, N, 3)."""
    k, r, n = surface.y_mm.shape
    normal = surface_normals(surface)
    u = np.broadcast_to(surface.u_mm, (k, r, n))
    world = face_to_world(scene, u, surface.w_mm, surface.y_mm).astype(np.float32)
    lit, around = shade_points(
        scene.material,
        scene.lamp,
        view.place,
        world,
        turn_to_world(scene, normal).astype(np.float32),
        stain=None if scene.stain == Stain() else paint_stain(scene, surface).astype(np.float32),
    )
    lit *= ~hidden_from_lamp(scene, surface)[..., None]
    return (lit + around).reshape(k * r, n, 3)


def _sample_face(
    scene: Scene, surface: Surface, light: Picture, u: Array, w: Array
) -> tuple[Picture, Picture]:
    """Light (..., 3) at face points, and whether each lies on the face, (...,) 0 or 1."""
    k, r, n = surface.y_mm.shape
    pitch = HEIGHT_MM / k
    layer = np.clip((w / pitch).astype(np.int64), 0, k - 1)
    column = np.clip(u / (surface.u_mm[1] - surface.u_mm[0]), 0, n - 1)
    low, high = np.zeros_like(w), np.zeros_like(w)
    if surface.slots_mm.any():
        near = np.round(column).astype(np.int64)
        low, high = surface.slots_mm[layer, near] / 2, surface.slots_mm[layer + 1, near] / 2
    share = (w - layer * pitch - low) / (pitch - low - high)
    row = layer * r + np.clip(share, 0, 1) * (r - 1)
    picture = cv2.remap(
        light,
        column.astype(np.float32),
        row.astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    picture[(share < 0) | (share > 1)] *= SLOT_LIGHT
    first, last = end_u_mm(scene, w)
    inside = (w >= 0) & (w <= HEIGHT_MM) & (u >= first) & (u <= last)
    return np.asarray(picture, dtype=np.float32), inside.astype(np.float32)


def _face_points(
    scene: Scene, surface: Surface, view: View, flat_x: Array, flat_y: Array
) -> tuple[Array, Array]:
    """Face coordinates (u, w) seen along the rays, relief followed twice."""
    right, down, forward = view.axes
    ray = flat_x[None, :, None] * right + flat_y[:, None, None] * down + forward  # (H, W, 3)
    reach = (THICKNESS_MM - view.place[2]) / ray[..., 2]
    origin = face_to_world(scene, np.zeros(()), np.zeros(()), np.zeros(()))
    turn = np.radians(scene.pose.turn_deg)
    spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    at = view.place[:2] + reach[..., None] * ray[..., :2] - origin[:2]
    plane = at @ spin.T
    lean = (ray[..., :2] / ray[..., 2:]) @ spin.T
    height = design_height_mm(scene, surface.u_mm)
    u, w = plane[..., 0], plane[..., 1]
    for _ in range(2):
        y = np.interp(u, surface.u_mm, np.maximum(height, -0.1))
        u, w = plane[..., 0] + y * lean[..., 0], plane[..., 1] + y * lean[..., 1]
    return u, w


def _paint_walls(
    scene: Scene, view: View, patch: Patch, *, picture: Picture, cover: Picture
) -> None:
    """Fill the side walls that the camera sees, each with one tone."""
    top, foot = _outline_world(scene, 0.0), _outline_world(scene, -THICKNESS_MM)
    straight = View(view.place, view.axes, view.focal_px, view.centre_px, 0.0)
    for a, b in zip(range(5), (1, 2, 3, 4, 0), strict=True):
        along = top[b] - top[a]
        normal = np.array([along[1], -along[0], 0.0]) / np.hypot(along[0], along[1])
        middle = (top[a] + top[b] + foot[a] + foot[b]) / 4
        if (view.place - middle) @ normal <= 0:
            continue
        lit, around = shade_points(
            scene.material,
            scene.lamp,
            view.place,
            middle[None].astype(np.float32),
            normal[None].astype(np.float32),
        )
        quad = project_px(straight, np.stack([top[a], top[b], foot[b], foot[a]]))
        quad += margin_px(scene)
        corner = np.array([patch.left, patch.top]) - 0.5
        fine = np.round(((quad - corner) * np.array([FINE_X, FINE_Y]) - 0.5) * 16).astype(np.int32)
        tone = [float(t) for t in (lit + around / 2)[0]]
        cv2.fillConvexPoly(picture, fine, tone, shift=4)
        cv2.fillConvexPoly(cover, fine, 1.0, shift=4)


def trace_quickly(scene: Scene, surface: Surface) -> Picture:
    """The same picture as the path tracer's: linear light (H + 2 m, W + 2 m, 3), lens not applied.

    Left out: light passed on between surfaces, soft edges of shadows on the relief, the shadows of
    the pieces that hide markers.
    """
    view, margin = place_camera(scene.camera), margin_px(scene)
    top, foot = _outline_world(scene, 0.0), _outline_world(scene, -THICKNESS_MM)
    picture = lit_card(scene, view, margin, Box(foot[:, :2], THICKNESS_MM))
    straight = View(view.place, view.axes, view.focal_px, view.centre_px, 0.0)
    seen = project_px(straight, np.concatenate([top, foot])) + margin
    left, upper = (int(v) for v in np.floor(seen.min(axis=0)) - 3)
    right, lower = (int(v) for v in np.ceil(seen.max(axis=0)) + 4)
    left, upper = max(left, 0), max(upper, 0)
    right, lower = min(right, picture.shape[1]), min(lower, picture.shape[0])
    patch = Patch(left, upper, right - left, lower - upper)

    x, y = patch.fine_px()
    flat_x = (x - margin - view.centre_px[0]) / view.focal_px
    flat_y = (y - margin - view.centre_px[1]) / view.focal_px
    fine = np.zeros((y.size, x.size, 3), dtype=np.float32)
    cover = np.zeros((y.size, x.size), dtype=np.float32)
    _paint_walls(scene, view, patch, picture=fine, cover=cover)
    u, w = _face_points(scene, surface, view, flat_x, flat_y)
    light, inside = _sample_face(scene, surface, _shade_face(scene, surface, view), u, w)
    fine = np.where(inside[..., None] > 0, light, fine)
    cover = np.maximum(cover, inside)

    shape = (patch.height, FINE_Y, patch.width, FINE_X)
    share = cover.reshape(shape).mean(axis=(1, 3))[..., None]
    coupon = (fine * cover[..., None]).reshape(*shape, 3).mean(axis=(1, 3))
    window = picture[upper:lower, left:right]
    window *= 1 - share
    window += coupon
    return picture


def shoot_quickly(scene: Scene, folder: Path) -> Path:
    """The photo and its truth, ``FOLDER/NAME.jpg`` and ``NAME.json``, by the fast renderer."""
    surface = build_surface(scene)
    return finish_photo(scene, trace_quickly(scene, surface), folder, "quick", surface=surface)
