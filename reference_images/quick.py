"""A fast renderer of the same scenes: direct light, shadows, next to no light passed on.

Seconds instead of a minute: for breadth. README says how far it agrees with the path tracer.
"""

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from reference_images.camera import View, margin_px, place_camera, place_lamp, project_px
from reference_images.card_layer import Box, lit_card
from reference_images.mesh import face_to_world, surface_normals, turn_to_world
from reference_images.photograph import finish_photo
from reference_images.relief_shadow import (
    ROW_MM,
    FineRows,
    fine_rows_mm,
    place_fine_rows,
    refine,
    see_lamp,
)
from reference_images.scene import Scene, Stain
from reference_images.shade import shade_points
from reference_images.slot_light import find_lit_wall
from reference_images.stain import paint_stain
from reference_images.standard import HEIGHT_MM, THICKNESS_MM
from reference_images.surface import Surface, build_surface, design_height_mm, end_u_mm
from reference_images.truth import outline_uw_mm

Array = NDArray[np.float64]
Picture = NDArray[np.float32]
SAMPLE_X_MM, SAMPLE_Y_MM = 0.03, 0.012  # on the coupon; layers mostly run along x
CHUNKS = 12  # of fine rows, to spare memory
SLOT_LIGHT = 0.04  # light left in an open slot, share of the face's times its reflectance


@dataclass(frozen=True)
class Patch:
    """A part of the picture (top-left corner, size) and its finer samples."""

    left: int
    top: int
    width: int
    height: int
    fine_x: int
    fine_y: int

    def fine_px(self) -> tuple[Array, Array]:
        """Picture coordinates of the fine samples, (W fine_x,) and (H fine_y,)."""
        x = (np.arange(self.width * self.fine_x) + 0.5) / self.fine_x - 0.5
        y = (np.arange(self.height * self.fine_y) + 0.5) / self.fine_y - 0.5
        return self.left + x, self.top + y


def _outline_world(scene: Scene, y_mm: float) -> Array:
    uw = np.array(outline_uw_mm(scene), dtype=np.float64)
    return face_to_world(scene, uw[:, 0], uw[:, 1], np.full(len(uw), y_mm))


def _shade_face(scene: Scene, surface: Surface, view: View) -> Picture:
    """Light towards the camera from fine rows and columns of the face, (M, N, 3).

    Normals, not light, are carried from vertices to fine rows: a gloss is narrower than those.
    """
    fine = place_fine_rows(surface)
    shape = fine.row.shape
    seen = see_lamp(scene, surface, fine)
    vertex = surface_normals(surface)
    normal = np.stack([refine(surface, vertex[..., i], fine) for i in range(3)], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    u = np.broadcast_to(surface.u_mm, shape)
    height = refine(surface, surface.y_mm, fine)
    colour = np.array(scene.material.rgb, np.float32)
    stain = None
    if scene.stain != Stain():
        stain = refine(surface, paint_stain(scene, surface), fine)
    light = np.empty((*shape, 3), np.float32)
    for part in np.array_split(np.arange(shape[0]), CHUNKS):
        w = np.broadcast_to(fine_rows_mm()[part, None], u[part].shape)
        lit, around = shade_points(
            scene.material,
            scene.lamp,
            view.place,
            face_to_world(scene, u[part], w, height[part].astype(np.float64)).astype(np.float32),
            turn_to_world(scene, normal[part].astype(np.float64)).astype(np.float32),
            stain=None if stain is None else stain[part],
        )
        lit *= seen[part, :, None]
        light[part] = lit + around
        if scene.face == "flow":
            # A flank turned from the lamp sees the lit flank of the bead across the valley.
            tilt = np.arctan2(np.maximum(-normal[part, :, 1], 0), normal[part, :, 2])
            facing = (1 - np.cos(2 * tilt)) / 2
            light[part] += facing[..., None] * colour * lit.mean(axis=(0, 1))
    _open_slots(scene, view, surface, fine, light)
    return light


def _open_slots(scene: Scene, view: View, surface: Surface, fine: FineRows, light: Picture) -> None:
    """Lay the slots' light over the face's, ``light`` (M, N, 3)."""
    row, column = np.nonzero(fine.slot)
    if not row.size:
        return
    world = face_to_world(
        scene, surface.u_mm[column], fine_rows_mm()[row], np.zeros(row.size)
    ).astype(np.float32)
    across = turn_to_world(scene, np.array([0.0, 1.0, 0.0]))
    sight, to_lamp = world - view.place, place_lamp(scene.lamp) - world
    # How far a line of sight moves towards the lower lip for each mm that it goes down.
    lean = (sight @ across) / sight[:, 2]
    rise = to_lamp[:, 2] / np.maximum(to_lamp @ across, 1e-3)
    wall = find_lit_wall(
        fine.from_lip_mm[row, column], fine.slot_mm[row, column], lean=lean, lamp_rise=rise
    )
    facing = np.broadcast_to(across, world.shape).astype(np.float32)
    lit, _ = shade_points(scene.material, scene.lamp, view.place, world, facing)
    colour = np.array(scene.material.rgb, np.float32)
    usual = np.median(light[:: len(light) // 50 or 1], axis=(0, 1))
    inside = SLOT_LIGHT * colour * usual + wall[:, None] * lit
    share = fine.slot[row, column, None]
    light[row, column] += share * (inside - light[row, column])


def _sample_face(
    scene: Scene, surface: Surface, view: View, u: Array, w: Array
) -> tuple[Picture, Picture]:
    """Light (..., 3) at face points, and whether each lies on the face, (...,) 0 or 1."""
    picture = cv2.remap(
        _shade_face(scene, surface, view),
        (u / (surface.u_mm[1] - surface.u_mm[0])).astype(np.float32),
        (w / ROW_MM - 0.5).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    first, last = end_u_mm(scene, w)
    inside = (w >= 0) & (w <= HEIGHT_MM) & (u >= first) & (u <= last)
    return np.asarray(picture, np.float32), inside.astype(np.float32)


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
        fine = np.round(
            ((quad - corner) * np.array([patch.fine_x, patch.fine_y]) - 0.5) * 16
        ).astype(np.int32)
        tone = [float(t) for t in (lit + around / 2)[0]]
        cv2.fillConvexPoly(picture, fine, tone, shift=4)
        cv2.fillConvexPoly(cover, fine, 1.0, shift=4)


def trace_quickly(scene: Scene, surface: Surface) -> Picture:
    """The same picture as the path tracer's: linear light (H + 2 m, W + 2 m, 3), lens not applied.

    Left out: light passed on between surfaces, but for a valley's own; the shadows of the pieces
    that hide markers.
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
    fine_x, fine_y = (
        max(1, round(1 / size / scene.camera.face_px_per_mm)) for size in (SAMPLE_X_MM, SAMPLE_Y_MM)
    )
    patch = Patch(left, upper, right - left, lower - upper, fine_x, fine_y)

    x, y = patch.fine_px()
    flat_x = (x - margin - view.centre_px[0]) / view.focal_px
    flat_y = (y - margin - view.centre_px[1]) / view.focal_px
    fine = np.zeros((y.size, x.size, 3), dtype=np.float32)
    cover = np.zeros((y.size, x.size), dtype=np.float32)
    _paint_walls(scene, view, patch, picture=fine, cover=cover)
    u, w = _face_points(scene, surface, view, flat_x, flat_y)
    light, inside = _sample_face(scene, surface, view, u, w)
    fine = np.where(inside[..., None] > 0, light, fine)
    cover = np.maximum(cover, inside)

    shape = (patch.height, fine_y, patch.width, fine_x)
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
