"""Place the coupon by its face's four corners alone, as someone pointed at them; without a card."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from scoring.errors import CornersWrongError
from scoring.geometry import BLADE
from scoring.least_squares import fit_robust
from scoring.photo.opencv import cv2
from scoring.registration.pose import (
    DEFAULT_FOCAL_35MM,
    FULL_FRAME_DIAGONAL_MM,
    SD_LOG_FOCAL_KNOWN,
    SD_LOG_FOCAL_UNKNOWN,
    Pose,
)
from scoring.registration.rectify import Placement, sample

REACH_MM, COARSE_MM, FINE_MM = 1.5, 0.15, 0.03
"""How far a pointed-at side may be off, and the steps in which its edge is sought."""

FAR = 0.5
"""An edge as far off as that counts so much less than one just where it was pointed at."""

SIDE_SAMPLES, SPREAD_MM = 80, 0.1
ENDS = {"long": (0.1, 0.9), "short": (0.32, 0.68)}
"""Of each side, this part is looked at: the cut corner takes a quarter of a short side."""

SD_ALONG_MM, SD_ACROSS_MM, SD_TILT_RAD = 0.35, 0.1, 0.1
"""How well a corner's place is known along the long sides, whose ends are rounded, and across; and
that the phone was held about straight above."""

ROUNDING_MM = 0.3
"""Rounded ends look short by about that much, each."""

LEAST_SHAPE, MOST_SHAPE = 2.4, 7.5
"""Long over short side as seen; 100 over 24 is 4.2, a tilted view changes that."""

SCALE = np.array([0.01, 0.01, 0.01, 1.0, 1.0, 3.0, 0.02])
"""Radians, millimetres and log focal length: each about as large a change as another."""


def order_corners(corners_px: NDArray[np.float64]) -> NDArray[np.float64]:
    """The four points (4, 2) clockwise as seen, a long side first; whichever order they came in.

    Raises :class:`CornersWrongError` where they are no long, convex four-sided shape.
    """
    middle = corners_px.mean(axis=0)
    around = np.arctan2(*(corners_px - middle).T[::-1])
    ordered = corners_px[np.argsort(around)]
    sides = np.roll(ordered, -1, axis=0) - ordered
    turns = sides[:, 0] * np.roll(sides, -1, axis=0)[:, 1]
    turns = turns - sides[:, 1] * np.roll(sides, -1, axis=0)[:, 0]
    lengths = np.linalg.norm(sides, axis=1)
    long_first = lengths[0] + lengths[2] > lengths[1] + lengths[3]
    ordered = ordered if long_first else np.roll(ordered, -1, axis=0)
    pairs = sorted((float(lengths[0] + lengths[2]), float(lengths[1] + lengths[3])))
    shape = pairs[1] / max(pairs[0], 1e-9)
    if not (turns > 0).all() or not LEAST_SHAPE < shape < MOST_SHAPE:
        raise CornersWrongError(
            f"The four corners do not look like the face: it is {BLADE.length_mm:g} mm by "
            f"{BLADE.height_mm:g} mm, and those span sides of {shape:.1f} to 1. Point at the "
            "outermost corners of the face; of the cut corner, where its two sides would meet."
        )
    return np.asarray(ordered)


def snap_corners(grey: NDArray[np.uint8], corners_px: NDArray[np.float64]) -> NDArray[np.float64]:
    """The corners (4, 2) in which the face's edges near those of ``corners_px`` meet.

    Each side's edge is the straight line along which brightness steps most on the whole, sought
    within 1.5 mm, nearer ones first; corners in order as :func:`order_corners` gives them.
    """
    px_per_mm = float(np.linalg.norm(corners_px[1] - corners_px[0])) / BLADE.length_mm
    soft = np.asarray(cv2.GaussianBlur(grey, (0, 0), max(SPREAD_MM * px_per_mm, 0.8)), np.float32)
    lines = [
        _snap_side(soft, corners_px[k], corners_px[(k + 1) % 4], "long" if k % 2 == 0 else "short",
                   px_per_mm)
        for k in range(4)
    ]  # fmt: skip
    return np.stack([_meet(lines[k - 1], lines[k]) for k in range(4)])


def _snap_side(
    soft: NDArray[np.float32],
    start: NDArray[np.float64],
    end: NDArray[np.float64],
    kind: str,
    px_per_mm: float,
) -> NDArray[np.float64]:
    """Two points (2, 2) of the edge by the line from ``start`` to ``end``."""
    along = end - start
    across = np.array([along[1], -along[0]]) / np.linalg.norm(along)
    share = np.linspace(*ENDS[kind], SIDE_SAMPLES)
    off_mm = np.arange(-REACH_MM - 0.3, REACH_MM + 0.31, FINE_MM)
    points = start + share[:, None, None] * along + off_mm[None, :, None] * px_per_mm * across
    values = np.asarray(sample(soft, points.astype(np.float32)), np.float64)
    step = np.gradient(np.log(values + 4.0), axis=1)
    best, chosen = -1.0, (0.0, 0.0)
    for reach, by, about in ((REACH_MM, COARSE_MM, (0.0, 0.0)), (COARSE_MM, FINE_MM, None)):
        middle = chosen if about is None else about
        tries = np.arange(-reach, reach + by / 2, by)
        for a in middle[0] + tries:
            for b in middle[1] + tries:
                place = (a + (b - a) * share - off_mm[0]) / FINE_MM
                index = np.clip(np.round(place).astype(int), 0, off_mm.size - 1)
                near = 1 - FAR * (a * a + b * b) / (2 * REACH_MM**2)
                found = near * abs(float(step[np.arange(share.size), index].mean()))
                if found > best:
                    best, chosen = found, (float(a), float(b))
    offsets = np.array(chosen)[:, None] * px_per_mm * across
    return np.asarray(np.stack([start, end]) + offsets)


def _meet(first: NDArray[np.float64], second: NDArray[np.float64]) -> NDArray[np.float64]:
    """Where two lines, each through two points (2, 2), cross."""
    directions = np.stack([first[1] - first[0], second[0] - second[1]], axis=1)
    share = np.linalg.solve(directions, second[0] - first[0])
    return np.asarray(first[0] + share[0] * (first[1] - first[0]))


def pose_from_corners(
    corners_px: NDArray[np.float64], *, shape: tuple[int, int], focal_35mm: float | None
) -> Pose:
    """The camera over a card that is not there, under a coupon that lies straight in its bay.

    ``corners_px`` (4, 2) as :func:`order_corners` gives them; ``shape`` is the photo's (M, N). The
    first long side is taken for the rim; which way round it lies is told later. ``markers`` is 0.
    """
    centre = ((shape[1] - 1) / 2, (shape[0] - 1) / 2)
    focal0 = (focal_35mm or DEFAULT_FOCAL_35MM) * float(np.hypot(*shape)) / FULL_FRAME_DIAGONAL_MM
    sd_log_focal = SD_LOG_FOCAL_KNOWN if focal_35mm else SD_LOG_FOCAL_UNKNOWN
    u, w = BLADE.length_mm, BLADE.height_mm
    face = Placement(0.0, 0.0, 0.0).card_mm(np.array([0.0, u, u, 0.0]), np.array([w, w, 0.0, 0.0]))
    camera = np.array([[focal0, 0, centre[0]], [0, focal0, centre[1]], [0, 0, 1]])
    ok, turn, place = cv2.solvePnP(face, corners_px, camera, None, flags=cv2.SOLVEPNP_ITERATIVE)
    if not ok:
        raise CornersWrongError("The four corners fit no view of the face. Point at them anew.")
    start = np.concatenate([np.ravel(turn), np.ravel(place), [0.0]])
    along = (corners_px[1] - corners_px[0]) / np.linalg.norm(corners_px[1] - corners_px[0])
    axes = np.stack([along, [-along[1], along[0]]])
    px_per_mm = float(np.linalg.norm(corners_px[1] - corners_px[0])) / BLADE.length_mm
    outward = ROUNDING_MM * px_per_mm * np.array([[-1.0], [1.0], [1.0], [-1.0]]) * along
    seen_px = corners_px + outward

    def posed(p: NDArray[np.float64], residual_px: float = 0.0) -> Pose:
        rotation = np.asarray(cv2.Rodrigues(p[:3])[0], np.float64)
        focal = float(focal0 * np.exp(p[6]))
        return Pose(rotation, p[3:6], focal, centre, np.zeros(4), residual_px, 0, sd_log_focal)

    def misfit(change: NDArray[np.float64]) -> NDArray[np.float64]:
        p = start + change * SCALE
        pose = posed(p)
        off = (pose.project(face) - seen_px) @ axes.T / px_per_mm
        off /= np.array([SD_ALONG_MM, SD_ACROSS_MM])
        lean = pose.rotation[2, :2] / SD_TILT_RAD
        return np.concatenate([off.ravel(), lean, [p[6] / sd_log_focal]])

    several = np.vectorize(misfit, signature="(p)->(r)")
    change, _ = fit_robust(several, np.zeros(start.size), priors=3, soft=np.inf)
    best = start + change * SCALE
    off = posed(best).project(face) - seen_px
    return replace(posed(best), residual_px=float(np.sqrt(np.mean(np.sum(off**2, axis=1)))))
