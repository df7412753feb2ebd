"""What the kernels read of a scene, as tuples that numba knows; mm, frames as in frames.py."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Picture = NDArray[np.float32]


class PoseView(NamedTuple):
    """The coupon's place: (X, Y) of its origin, unit vectors along u and w, (2,) each."""

    origin: Array
    along_u: Array
    along_w: Array
    thickness: float


class LampView(NamedTuple):
    """Place, axis and colour (3,) in the card's frame, and place (3,) in the coupon's."""

    place: Array
    axis: Array
    beam: float
    intensity: float
    rgb: Array
    radius: float
    in_coupon: Array


class EyeView(NamedTuple):
    """The camera's place, right, down and forward (3,), and its place in the coupon's frame."""

    place: Array
    right: Array
    down: Array
    forward: Array
    in_coupon: Array
    x0_px: float
    y0_px: float
    focal_px: float
    k1: float


class ReliefView(NamedTuple):
    """The relief as ``Relief`` has it; ``smooth`` is (1, 1) or heights as light below them sees."""

    heights: Picture
    smooth: Picture
    codes: NDArray[np.uint8]
    open_um: NDArray[np.uint8]
    groove: Picture
    step_u: float
    step_w: float
    top: float


class FilamentView(NamedTuple):
    """Colour (3,), law and its finish (2,), gloss under even light, shades (A, B) of 20 cells."""

    rgb: Array
    law: int
    finish: Array
    ambient_gloss: float
    shades: Picture


class WallsView(NamedTuple):
    """The prism's planes (7, 4), light on each wall but the lamp's (7, 3), and how layers lean.

    ``first_u`` is where the rim begins, ``last_u`` where it ends.
    """

    planes: Array
    indirect: Array
    layer: float
    bead_slope: float
    first_u: float
    last_u: float


class GroundView(NamedTuple):
    """The card's reflectance (T, S), the table's and the light on both (M, N, 3), with their grid.

    The grid's corner is at (left, top) of the card's frame, its cells are ``step`` wide.
    """

    card: Picture
    texels_per_mm: float
    card_rgb: Array
    card_size: Array
    table: Picture
    light: Picture
    left: float
    top: float
    step: float
