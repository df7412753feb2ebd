"""How much of the lamp each point of the face sees past the face's own relief."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reference_images.camera import place_lamp
from reference_images.mesh import SLOT_DEPTH_MM, face_to_world
from reference_images.scene import Scene
from reference_images.standard import HEIGHT_MM
from reference_images.surface import Surface

ROW_MM = 0.01  # a bead's flank, a quarter of a layer, is a few times this
NEAR_MM, REACH_MM = 0.5, 2.4  # a bead's own shadow; a groove's, its depth over a low lamp's tangent
BLOCKS = 20  # of columns, each with its own bearing of the lamp


@dataclass(frozen=True)
class FineRows:
    """Where fine rows lie on the drawn surface, all (M, N): ``ROW_MM`` apart along w, each column.

    ``row`` counts the surface's rows (K R) from the foot, with a part; ``slot`` is the share of the
    cell that an open slot takes; ``slot_mm`` is that slot's height, ``from_lip_mm`` the cell's
    middle over the slot's lower lip.
    """

    row: NDArray[np.float64]
    slot: NDArray[np.float64]
    slot_mm: NDArray[np.float64]
    from_lip_mm: NDArray[np.float64]


def place_fine_rows(surface: Surface) -> FineRows:
    """The layer or slot at each fine row of every column."""
    k, r, _ = surface.y_mm.shape
    pitch = HEIGHT_MM / k
    w = fine_rows_mm()
    layer = np.minimum((w / pitch).astype(np.int64), k - 1)
    up = (w - layer * pitch)[:, None]
    below, above = surface.slots_mm[layer] / 2, surface.slots_mm[layer + 1] / 2
    row = layer[:, None] * r + np.clip((up - below) / (pitch - below - above), 0, 1) * (r - 1)
    upper = up > pitch / 2
    half = np.where(upper, above, below)
    # From the middle of the nearer boundary; a slot is as far open above as below it.
    off = np.where(upper, up - pitch, np.broadcast_to(up, half.shape))
    cover = np.minimum(off + ROW_MM / 2, half) - np.maximum(off - ROW_MM / 2, -half)
    return FineRows(row, np.clip(cover / ROW_MM, 0, 1), 2 * half, off + half)


def fine_rows_mm() -> NDArray[np.float64]:
    """The w of the fine rows, (M,), ``ROW_MM`` apart from ``ROW_MM`` / 2 up."""
    return np.asarray((np.arange(round(HEIGHT_MM / ROW_MM)) + 0.5) * ROW_MM, np.float64)


def refine(surface: Surface, values: NDArray[np.float64], fine: FineRows) -> NDArray[np.float32]:
    """Values of the vertices (K, R, N), along each column carried to the fine rows, (M, N)."""
    k, r, n = surface.y_mm.shape
    rows = values.reshape(k * r, n).astype(np.float32)
    whole = np.minimum(fine.row.astype(np.int64), k * r - 2)
    part = (fine.row - whole).astype(np.float32)
    low, high = (np.take_along_axis(rows, whole + i, axis=0) for i in (0, 1))
    return np.asarray(low + part * (high - low))


def see_lamp(scene: Scene, surface: Surface, fine: FineRows) -> NDArray[np.float32]:
    """Share of the lamp's disc in view from each fine row and column, (M, N).

    Along the way to the lamp the relief's horizon is the steepest line to anything ahead; the lamp
    is a disc of its own angular size at its own height, as seen from each place. A point over an
    open slot counts as at the level of its lips, but shades nothing.
    """
    w = fine_rows_mm()
    lips = refine(surface, surface.y_mm, fine)
    height = np.where(fine.slot > 0.5, lips - np.float32(SLOT_DEPTH_MM), lips)
    step_u = float(surface.u_mm[1] - surface.u_mm[0])
    zero = np.zeros(())
    origin = face_to_world(scene, zero, zero, zero)
    turn = np.radians(scene.pose.turn_deg)
    x, y, z = place_lamp(scene.lamp) - origin
    lamp_u, lamp_w = np.cos(turn) * x + np.sin(turn) * y, -np.sin(turn) * x + np.cos(turn) * y
    radius = scene.lamp.radius_mm / scene.lamp.distance_mm
    seen = np.empty(height.shape, np.float32)
    for block in np.array_split(np.arange(surface.u_mm.size), BLOCKS):
        along = lamp_u - surface.u_mm[block].mean(), lamp_w - HEIGHT_MM / 2
        far = np.hypot(*along)
        way = along[0] / far, along[1] / far
        horizon = _find_horizon(height, lips[:, block], block, way, step_u)
        away = np.hypot(along[0], lamp_w - w)[:, None]
        above = (np.arctan2(z, away) - np.arctan(horizon)) / radius
        seen[:, block] = _disc_share(above.astype(np.float32))
    return seen


def _find_horizon(
    height: NDArray[np.float32],
    here: NDArray[np.float32],
    block: NDArray[np.intp],
    along: tuple[float, float],
    step_u_mm: float,
) -> NDArray[np.float32]:
    """Steepest rise (M, B) from each place of a block of columns to what lies ``along`` (u, w)."""
    along_u, along_w = along
    fine = max(abs(along_w) / ROW_MM, abs(along_u) / step_u_mm)
    steps = np.arange(1, round(REACH_MM * fine))
    # Every step nearby, ever fewer farther off.
    near = round(NEAR_MM * fine)
    apart = np.maximum(1, ((steps - near) / near * 4).astype(np.int64))
    steps = steps[(steps <= near) | (steps % apart == 0)]
    horizon = np.full(here.shape, -10.0, np.float32)
    rows, columns = height.shape
    for way in steps / fine:
        up, right = round(way * along_w / ROW_MM), round(way * along_u / step_u_mm)
        low, high = max(0, -up), rows - max(0, up)
        at = np.clip(block + right, 0, columns - 1)  # beyond its ends the face goes on, flat
        ahead = height[low + up : high + up, at[0] : at[-1] + 1]
        if ahead.shape[1] != block.size:
            ahead = height[low + up : high + up][:, at]
        rise = (ahead - here[low:high]) * np.float32(1 / way)
        np.maximum(horizon[low:high], rise, out=horizon[low:high])
    return horizon


def _disc_share(above: NDArray[np.float32]) -> NDArray[np.float32]:
    """Share of a disc over a straight edge; ``above`` is its centre over the edge, in radii."""
    x = np.clip(above, -1, 1)
    return np.asarray(1 - (np.arccos(x) - x * np.sqrt(1 - x * x)) / np.pi, np.float32)
