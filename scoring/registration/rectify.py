"""Resample a plane of the photo to millimetres."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE, CARD
from scoring.photo.opencv import cv2
from scoring.registration.pose import Pose

GRID_STEP_PX = 16
"""The lens map is smooth: it is computed on this coarse grid and interpolated between."""

BAND_CELLS = 8
"""So many cells' rows of the map are made at once: few enough to stay in the processor's cache."""


@dataclass(frozen=True)
class Placement:
    """Where the coupon's face lies: over the card's plane raised by the coupon's thickness.

    The face's centre sits at the bay's centre shifted by (``dx_mm``, ``dy_mm``); ``turn_rad``
    turns x toward y (clockwise as seen); ``scale`` multiplies the coupon's lengths (1 but for the
    error of the camera's height and a card of another size).
    """

    dx_mm: float
    dy_mm: float
    turn_rad: float
    scale: float = 1.0

    def card_mm(self, u_mm: NDArray[np.float64], w_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Card coordinates (..., 3) of face points; z is minus the thickness as it looks."""
        right = (np.asarray(u_mm) - BLADE.length_mm / 2) * self.scale
        down = -(np.asarray(w_mm) - BLADE.height_mm / 2) * self.scale
        cos, sin = np.cos(self.turn_rad), np.sin(self.turn_rad)
        x = CARD.bay_origin_mm[0] + CARD.bay_size_mm[0] / 2 + self.dx_mm + cos * right - sin * down
        y = CARD.bay_origin_mm[1] + CARD.bay_size_mm[1] / 2 + self.dy_mm + sin * right + cos * down
        return np.stack(np.broadcast_arrays(x, y, -BLADE.thickness_mm * self.scale), axis=-1)


def find_lean_along(
    pose: Pose, placement: Placement, u_mm: NDArray[np.float64]
) -> NDArray[np.float64]:
    """How far the view leans toward the camera along the face at ``u_mm`` (N,): a tangent, (N,)."""
    away = pose.camera_mm - placement.card_mm(u_mm, np.array(BLADE.height_mm / 2))
    along = np.array([np.cos(placement.turn_rad), np.sin(placement.turn_rad)])
    return np.asarray(away[:, :2] @ along / -away[:, 2])


def map_face(
    pose: Pose, placement: Placement, u_mm: NDArray[np.float64], w_mm: NDArray[np.float64]
) -> NDArray[np.float32]:
    """Photo pixels (M, N, 2) of the face grid with rows ``w_mm`` (M,) and columns ``u_mm`` (N,).

    Exact on a coarse grid, bilinear between: the error is under a thousandth of a pixel for any
    lens a phone has.
    """
    coarse = _map_coarsely(pose, placement, u_mm, w_mm)
    size = (coarse.shape[1] * GRID_STEP_PX, coarse.shape[0] * GRID_STEP_PX)
    full = cv2.resize(coarse, size, interpolation=cv2.INTER_LINEAR)
    inner = full[GRID_STEP_PX:, GRID_STEP_PX:]
    return np.asarray(inner[: len(w_mm), : len(u_mm)], np.float32)


def map_bands(
    pose: Pose, placement: Placement, u_mm: NDArray[np.float64], w_mm: NDArray[np.float64]
) -> Iterator[tuple[slice, NDArray[np.float32]]]:
    """The places of :func:`map_face` in bands: which rows, and their pixels (R, N, 2).

    All bands are made in the same memory, so each is lost as the next is asked for.
    """
    coarse = _map_coarsely(pose, placement, u_mm, w_mm)
    columns = coarse.shape[1] * GRID_STEP_PX
    full = np.empty(((BAND_CELLS + 2) * GRID_STEP_PX, columns, 2), np.float32)
    for cell in range(0, -(-len(w_mm) // GRID_STEP_PX), BAND_CELLS):
        part = coarse[cell : cell + BAND_CELLS + 2]
        made = full[: len(part) * GRID_STEP_PX]
        cv2.resize(part, made.shape[1::-1], dst=made, interpolation=cv2.INTER_LINEAR)
        first = cell * GRID_STEP_PX
        rows = slice(first, min(first + BAND_CELLS * GRID_STEP_PX, len(w_mm)))
        yield rows, made[GRID_STEP_PX:, GRID_STEP_PX:][: rows.stop - first, : len(u_mm)]


def sample_face(
    codes: NDArray[np.uint8],
    pose: Pose,
    placement: Placement,
    u_mm: NDArray[np.float64],
    w_mm: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Code values (P, Q, 3) of an (M, N, 3) photo at face points ``u_mm``, ``w_mm`` (P, Q)."""
    px = pose.project(placement.card_mm(u_mm, w_mm)).astype(np.float32)
    return np.asarray(sample(codes, px), np.float64)


def _map_coarsely(
    pose: Pose, placement: Placement, u_mm: NDArray[np.float64], w_mm: NDArray[np.float64]
) -> NDArray[np.float32]:
    """Photo pixels (A, B, 2), one for each cell of GRID_STEP_PX rows and columns.

    They are placed where ``cv2.resize`` takes them to be, and there is one more all round so that
    no border is replicated.
    """
    uu, ww = np.meshgrid(_coarse(u_mm), _coarse(w_mm))
    return pose.project(placement.card_mm(uu, ww)).astype(np.float32)


def _coarse(axis_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    step = float(axis_mm[1] - axis_mm[0])
    cells = np.arange(-1, len(axis_mm) // GRID_STEP_PX + 2)
    return np.asarray(axis_mm[0] + step * ((cells + 0.5) * GRID_STEP_PX - 0.5))


def sample(
    image: NDArray[np.uint8] | NDArray[np.float32],
    px: NDArray[np.float32],
    *,
    out: NDArray[np.float32] | None = None,
    between: bool = True,
) -> NDArray[np.generic]:
    """Bilinear samples of an (M, N[, C]) image at (P, Q, 2) pixel places, zero outside.

    Not ``between`` pixels the nearest one's own values are taken. They are put into ``out``
    (P, Q[, C]), contiguous and of the image's type, if it is given.
    """
    # Places side by side are one map; the stubs know only of two.
    way = cv2.INTER_LINEAR if between else cv2.INTER_NEAREST
    seen = cv2.remap(  # type: ignore[call-overload]
        image, px, None, way, dst=out, borderMode=cv2.BORDER_CONSTANT
    )
    return np.asarray(seen)
