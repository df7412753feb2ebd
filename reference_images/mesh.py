"""Triangles from the height field, in world mm: X = card x, Y = -card y, Z up from the card."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reference_images.scene import Scene
from reference_images.standard import CARD, HEIGHT_MM, LENGTH_MM, THICKNESS_MM
from reference_images.surface import Surface, end_u_mm

Array = NDArray[np.float64]
Index = NDArray[np.uint32]
SLOT_DEPTH_MM = 0.55


@dataclass(frozen=True)
class Mesh:
    """Vertices (V, 3), triangles (F, 3), and vertex normals (V, 3) unless it is faceted."""

    vertices: Array
    triangles: Index
    normals: Array | None


def face_to_world(scene: Scene, u_mm: Array, w_mm: Array, y_mm: Array) -> Array:
    """World place (..., 3) of face points; the hand shifts and turns about the bay's centre."""
    (bx, by), (bw, bh) = CARD["bay"]["origin_mm"], CARD["bay"]["size_mm"]
    turn = np.radians(scene.pose.turn_deg)
    x, y = u_mm - LENGTH_MM / 2, w_mm - HEIGHT_MM / 2
    return np.stack(
        [
            bx + bw / 2 + scene.pose.dx_mm + np.cos(turn) * x - np.sin(turn) * y,
            -(by + bh / 2 + scene.pose.dy_mm) + np.sin(turn) * x + np.cos(turn) * y,
            THICKNESS_MM + y_mm,
        ],
        axis=-1,
    )


def turn_to_world(scene: Scene, direction: Array) -> Array:
    """World direction (..., 3) of a face direction (u, w, y)."""
    turn = np.radians(scene.pose.turn_deg)
    u, w, y = np.moveaxis(direction, -1, 0)
    return np.stack(
        [np.cos(turn) * u - np.sin(turn) * w, np.sin(turn) * u + np.cos(turn) * w, y], axis=-1
    )


def slope_along(y_mm: Array, step_mm: float) -> Array:
    """dy/du (..., N) such that, taken linearly between columns, a ripple keeps its size.

    Central differences of fourth order, then a twelfth of the second difference off for what
    the line between two columns cuts from a wave: plain differences lose 2.4 % of a 1 mm wave.
    """
    slope = np.gradient(y_mm, step_mm, axis=-1)
    y = y_mm
    slope[..., 2:-2] = (8 * (y[..., 3:-1] - y[..., 1:-3]) - (y[..., 4:] - y[..., :-4])) / (
        12 * step_mm
    )
    second = slope[..., 2:] - 2 * slope[..., 1:-1] + slope[..., :-2]
    slope[..., 1:-1] -= second / 12
    return np.asarray(slope)


def surface_normals(surface: Surface) -> Array:
    """Unit normals (K, R, N, 3) in face directions (u, w, y); each layer by itself."""
    along = slope_along(surface.y_mm, float(surface.u_mm[1] - surface.u_mm[0]))
    rows = np.gradient(surface.w_mm, axis=1)
    across = np.gradient(surface.y_mm, axis=1, edge_order=2) / rows
    normal = np.stack([-along, -across, np.ones_like(along)], axis=-1)
    return np.asarray(normal / np.linalg.norm(normal, axis=-1, keepdims=True))


def _drop_flat(vertices: Array, triangles: Index) -> Index:
    a, b, c = (vertices[triangles[:, i]] for i in range(3))
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    return np.asarray(triangles[area > 1e-9])


def _quads(a: Index, b: Index, c: Index, d: Index) -> Index:
    """Two triangles for each quadrilateral a b c d, counter-clockwise."""
    first = np.stack([a, b, c], axis=-1).reshape(-1, 3)
    return np.concatenate([first, np.stack([a, c, d], axis=-1).reshape(-1, 3)])


def face_mesh(scene: Scene, surface: Surface) -> Mesh:
    """The measured face, cut to its outline: columns beyond it are drawn onto it."""
    k, r, n = surface.y_mm.shape
    first, last = end_u_mm(scene, surface.w_mm)
    u = np.clip(np.broadcast_to(surface.u_mm, (k, r, n)), first, last)
    vertices = face_to_world(scene, u, surface.w_mm, surface.y_mm).reshape(-1, 3)
    normals = turn_to_world(scene, surface_normals(surface)).reshape(-1, 3)
    number = np.arange(k * r * n, dtype=np.uint32).reshape(k, r, n)
    triangles = _quads(
        number[:, :-1, :-1], number[:, :-1, 1:], number[:, 1:, 1:], number[:, 1:, :-1]
    )
    return Mesh(vertices, _drop_flat(vertices, triangles), normals)


def _strip(upper: Array, lower: Array) -> tuple[Array, Index]:
    """A wall between two polylines (N, 3) of equal length."""
    n = len(upper)
    number = np.arange(2 * n, dtype=np.uint32).reshape(2, n)
    quads = _quads(number[0, :-1], number[0, 1:], number[1, 1:], number[1, :-1])
    return np.concatenate([upper, lower]), quads


def wall_mesh(scene: Scene, surface: Surface) -> Mesh:
    """The box's side walls, from the face's own edge down to the card."""
    k, r, n = surface.y_mm.shape
    first, last = end_u_mm(scene, surface.w_mm)
    u = np.clip(np.broadcast_to(surface.u_mm, (k, r, n)), first, last)
    top = face_to_world(scene, u, surface.w_mm, surface.y_mm)
    left, right = top[:, :, 0].reshape(-1, 3), top[:, :, -1].reshape(-1, 3)
    outline = np.concatenate([top[0, 0], right[1:], top[-1, -1][::-1][1:], left[::-1][1:]])
    foot = outline.copy()
    foot[:, 2] = 0.0
    vertices, triangles = _strip(outline, foot)
    return Mesh(vertices, _drop_flat(vertices, triangles), None)


def slot_mesh(scene: Scene, surface: Surface) -> Mesh | None:
    """Walls and floors of the open slots; None where there is none."""
    parts: list[tuple[Array, Index]] = []
    for k in range(1, surface.slots_mm.shape[0] - 1):
        open_ = surface.slots_mm[k] > 0
        if not open_.any():
            continue
        wide = open_ | np.roll(open_, 1) | np.roll(open_, -1)
        edges = np.flatnonzero(np.diff(np.concatenate(([0], wide.astype(np.int8), [0]))))
        for a, b in zip(edges[::2], edges[1::2], strict=True):
            u = surface.u_mm[a:b]
            low_w, low_y = surface.w_mm[k - 1, -1, a:b], surface.y_mm[k - 1, -1, a:b]
            high_w, high_y = surface.w_mm[k, 0, a:b], surface.y_mm[k, 0, a:b]
            lip_low = face_to_world(scene, u, low_w, low_y)
            lip_high = face_to_world(scene, u, high_w, high_y)
            floor_low = face_to_world(scene, u, low_w, low_y - SLOT_DEPTH_MM)
            floor_high = face_to_world(scene, u, high_w, high_y - SLOT_DEPTH_MM)
            parts.append(_strip(lip_low, floor_low))
            parts.append(_strip(floor_low, floor_high))
            parts.append(_strip(floor_high, lip_high))
    if not parts:
        return None
    starts = np.cumsum([0] + [len(v) for v, _ in parts[:-1]])
    vertices = np.concatenate([v for v, _ in parts])
    triangles = np.concatenate([t + np.uint32(s) for (_, t), s in zip(parts, starts, strict=True)])
    return Mesh(vertices, _drop_flat(vertices, triangles), None)
