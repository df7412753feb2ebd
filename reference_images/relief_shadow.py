"""Which points of the face the relief itself hides from the lamp."""

import numpy as np
from numpy.typing import NDArray

from reference_images.camera import place_lamp
from reference_images.mesh import face_to_world
from reference_images.scene import Scene
from reference_images.standard import HEIGHT_MM, LENGTH_MM
from reference_images.surface import Surface

REACH_MM = 2.4  # a groove's depth over the tangent of a low lamp
STEP_MM = 0.05


def hidden_from_lamp(scene: Scene, surface: Surface) -> NDArray[np.bool_]:
    """True where the way to the lamp passes through the relief, (K, R, N).

    The lamp counts as a point, its direction as the one at the face's middle; rows count as evenly
    spaced, so an open slot is left to the caller.
    """
    k, r, n = surface.y_mm.shape
    middle = face_to_world(scene, np.array(LENGTH_MM / 2), np.array(HEIGHT_MM / 2), np.zeros(()))
    x, y, z = place_lamp(scene.lamp) - middle
    turn = np.radians(scene.pose.turn_deg)
    along = np.array([np.cos(turn) * x + np.sin(turn) * y, -np.sin(turn) * x + np.cos(turn) * y])
    rise = z / np.hypot(*along)
    along /= np.hypot(*along)
    height = surface.y_mm.reshape(k * r, n).astype(np.float32)
    row_mm, column_mm = HEIGHT_MM / (k * r), surface.u_mm[1] - surface.u_mm[0]
    hidden = np.zeros_like(height, dtype=bool)
    for step in range(1, round(REACH_MM / STEP_MM)):
        way = step * STEP_MM
        rows, columns = round(way * along[1] / row_mm), round(way * along[0] / column_mm)
        ahead = _look(height, rows, columns)
        hidden |= ahead > height + np.float32(way * rise)
    return hidden.reshape(k, r, n)


def _look(height: NDArray[np.float32], rows: int, columns: int) -> NDArray[np.float32]:
    """The height ``rows`` and ``columns`` further on; nothing stands beyond the face's edge."""
    out = np.full_like(height, -np.inf)
    m, n = height.shape
    to_rows = slice(max(0, -rows), m - max(0, rows))
    to_columns = slice(max(0, -columns), n - max(0, columns))
    out[to_rows, to_columns] = height[
        to_rows.start + rows : to_rows.stop + rows,
        to_columns.start + columns : to_columns.stop + columns,
    ]
    return out
