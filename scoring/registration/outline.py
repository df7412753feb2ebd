"""Search the coupon's outline coarsely: a rectangle of known size near the card's bay."""

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.medians import median
from scoring.photo.opencv import cv2
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement, map_face, sample, sample_face

COARSE_PX_PER_MM = 4.0
REACH_MM = 9.0
"""How far round the bay there is picture to search."""

MOST_SHIFT_MM, ASIDE_MM = 8.5, 4.5
"""How far from its bay a coupon is looked for, and from a place where it does not lie: the fine
search still moves it by 2.4 mm."""

TURN_STEP_RAD, TURN_STEPS = np.deg2rad(0.75), 6
EDGE_CAP = 12.0
POINTS_A_SIDE = 14
BORDER_PX = 48
"""The gradients' own border goes on this far, beyond where any turned and shifted outline gets."""

SCALE_MATTERS_MM, MOST_SCALE, SCALE_DOUBT = 0.5, 0.04, 0.05
"""Scales are tried where the ends may be off by the first; the largest counts so much less."""


@dataclass(frozen=True)
class Side:
    """One side of the outline on the upright face: ends (u, w) and the outward normal."""

    start: tuple[float, float]
    end: tuple[float, float]
    normal: tuple[float, float]

    def points(self, t: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """The u and w of the side's points at shares ``t`` of its length, like ``t`` in shape."""
        u = self.start[0] + t * (self.end[0] - self.start[0])
        w = self.start[1] + t * (self.end[1] - self.start[1])
        return u, w

    def across(
        self, t: NDArray[np.float64], off_mm: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """The u and w (T, K) of points ``off_mm`` (K,) outward of the side's at ``t`` (T,)."""
        u, w = self.points(t)
        return u[:, None] + off_mm * self.normal[0], w[:, None] + off_mm * self.normal[1]


_L, _H, _C = BLADE.length_mm, BLADE.height_mm, BLADE.chamfer_leg_mm
SIDES = (
    Side((0.0, _C), (0.0, _H - _C), (-1.0, 0.0)),
    Side((_L, _C), (_L, _H - _C), (1.0, 0.0)),
    Side((_C, 0.0), (_L - _C, 0.0), (0.0, -1.0)),
    Side((_C, _H), (_L - _C, _H), (0.0, 1.0)),
)
NORMALS = np.array([side.normal for side in SIDES])
ACROSS = np.abs(NORMALS).argmax(axis=1)
"""Of each side: its outward normal (sides, 2) along u and w; which of the two it is, (sides,)."""

_POINTS = np.stack([side.points(np.linspace(0, 1, POINTS_A_SIDE)) for side in SIDES], axis=1)
"""Points u and w (2, sides, points) of the sides."""


def find_boldest_step(codes: NDArray[np.uint8], pose: Pose, placement: Placement) -> float:
    """Largest relative step in light code from inside to outside over the four sides.

    A coupon throws a shadow on one side at least; the bay's printed outline is a line, not a step.
    """
    t = np.linspace(0.1, 0.9, 24)
    off = np.concatenate([np.linspace(-2.5, -1.2, 6), np.linspace(1.2, 2.5, 6)])
    u, w = np.stack([side.across(t, off) for side in SIDES], axis=1)
    picture = sample_face(codes, pose, placement, u.reshape(-1, off.size), w.reshape(-1, off.size))
    both = picture.reshape(len(SIDES), t.size, 2, -1, 3).mean(axis=(1, 3))
    inside, outside = both[:, 0], both[:, 1]
    return float(np.max(np.abs(inside - outside) / np.maximum(inside, outside)))


def search_outline(
    codes: NDArray[np.uint8],
    pose: Pose,
    scales: NDArray[np.float64],
    *,
    aside_of: Placement | None = None,
) -> tuple[Placement, float]:
    """Best rectangle on a coarse grid of shifts and turns in an (M, N, 3) photo, and its contrast.

    The contrast is the geometric mean of the sides' edge strengths over the usual gradient, 0 where
    the bay lies outside the picture. All ``scales`` (K,) are tried, and no place within 4.5 mm of
    ``aside_of``.
    """
    step = 1 / COARSE_PX_PER_MM
    u = np.arange(-REACH_MM, _L + REACH_MM + step / 2, step)
    w = np.arange(_H + REACH_MM, -REACH_MM - step / 2, -step)
    px = map_face(pose, Placement(0.0, 0.0, 0.0), u, w)
    shrink = max(1, int(np.linalg.norm(px[0, 1] - px[0, 0])))
    ends = np.array([(axis.min(), axis.max()) for axis in cv2.split(px)])
    low = np.maximum(np.floor(ends[:, 0]).astype(int) - shrink, 0)
    high = np.ceil(ends[:, 1]).astype(int) + 2 * shrink
    crop = codes[low[1] : high[1], low[0] : high[0]]
    size = (crop.shape[1] // shrink, crop.shape[0] // shrink)
    if min(size) < 8:
        return Placement(0.0, 0.0, 0.0), 0.0
    whole = crop[: size[1] * shrink, : size[0] * shrink]
    reduced = np.asarray(cv2.resize(whole, size, interpolation=cv2.INTER_AREA), np.uint8)
    picture = sample(reduced, ((px - low + 0.5) / shrink - 0.5).astype(np.float32))
    # White paper is bright in every channel: the darkest channel sets any filament off best.
    red, green, blue = cv2.split(np.asarray(picture, np.uint8))
    darkest = np.asarray(cv2.min(cv2.min(red, green), blue), np.float32)
    smooth = cv2.GaussianBlur(darkest, (0, 0), 1.2)
    # Signed, so that print and label, light and dark in turn along a line, cancel there.
    maps = []
    for gradient in (cv2.Sobel(smooth, cv2.CV_32F, 1, 0), cv2.Sobel(smooth, cv2.CV_32F, 0, 1)):
        usual = max(median(np.abs(gradient)), 1.0)
        capped = np.clip(gradient / usual, -EDGE_CAP, EDGE_CAP)
        maps.append(np.pad(capped, BORDER_PX, mode="edge"))
    both = np.stack(maps)
    reach = int(MOST_SHIFT_MM) * int(COARSE_PX_PER_MM)
    shifts = range(-reach, reach + 1, 2)
    allowed = np.array(True)
    if aside_of is not None:
        x, y = np.meshgrid(np.array(shifts) * step, np.array(shifts) * step)
        allowed = np.hypot(x - aside_of.dx_mm, y - aside_of.dy_mm) > ASIDE_MM
    best, at, shape = -np.inf, (0, 0), (0.0, 1.0)
    for turns, stretches in (
        (np.arange(-TURN_STEPS, TURN_STEPS + 1) * 2, scales),
        (np.array([-1, 1]), np.array([1.0])),
    ):
        tried = itertools.product(shape[0] + turns * TURN_STEP_RAD, shape[1] * stretches)
        for turn, scale in tried:
            doubt = SCALE_DOUBT * ((scale - scales.mean()) / MOST_SCALE) ** 2
            score = _score(both, (float(turn), float(scale)), shifts, shifts)
            score *= (1 - doubt) * allowed
            i, j = np.unravel_index(int(np.argmax(score)), score.shape)
            if score[i, j] > best:
                best, at = float(score[i, j]), (shifts[j], shifts[i])
                shape = float(turn), float(scale)
    near_x, near_y = (range(k - 2, k + 3) for k in at)
    score = _score(both, shape, near_x, near_y)
    i, j = np.unravel_index(int(np.argmax(score)), score.shape)
    return Placement(near_x[j] * step, near_y[i] * step, *shape), float(score[i, j])


def scales_to_try(pose: Pose) -> NDArray[np.float64]:
    """Scales to try: one, unless the focal length is so unsure that the coupon's ends may move."""
    sd = pose.scale_sd(BLADE.thickness_mm)
    if sd * _L / 2 < SCALE_MATTERS_MM:
        return np.array([1.0])
    return np.asarray(1 + np.clip(sd * np.arange(-4, 5) * 0.7, -MOST_SCALE, MOST_SCALE))


def _score(
    maps: NDArray[np.float32], shape: tuple[float, float], shifts_x: range, shifts_y: range
) -> NDArray[np.float64]:
    """Geometric mean of the sides' edge strengths, for each (dy, dx) shift in grid steps.

    ``maps`` (2, M, N) are the gradients along x and y with ``BORDER_PX`` around them; ``shape`` is
    the rectangle's turn in radians and its scale.
    """
    rows, columns = maps.shape[1:]
    turn, scale = shape
    cos, sin = scale * np.cos(turn), scale * np.sin(turn)
    right, below = _POINTS[0] - _L / 2, _H / 2 - _POINTS[1]
    x = (cos * right - sin * below) * COARSE_PX_PER_MM + (columns - 1) / 2
    y = (sin * right + cos * below) * COARSE_PX_PER_MM + (rows - 1) / 2
    i, j = np.rint(y).astype(int) + shifts_y.start, np.rint(x).astype(int) + shifts_x.start
    size = (shifts_y.stop - shifts_y.start, shifts_x.stop - shifts_x.start)
    # What one point of a side meets under all shifts is a window of the gradient across the side.
    windows = sliding_window_view(maps, size, axis=(1, 2))
    windows = windows[..., :: shifts_y.step, :: shifts_x.step]
    strength = np.abs(windows[ACROSS[:, None], i, j].sum(axis=1) / POINTS_A_SIDE)
    return np.asarray(np.prod(1.0 + strength, axis=0, dtype=np.float64) ** (1 / len(SIDES)) - 1.0)
