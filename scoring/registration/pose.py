"""Camera pose over the card: rotation, place, focal length and the lens's terms."""

from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from scoring.errors import TooFewMarkersError
from scoring.least_squares import fit_robust
from scoring.photo.opencv import cv2
from scoring.registration.markers import MIN_MARKERS, MarkerCorners

FULL_FRAME_DIAGONAL_MM = float(np.hypot(36.0, 24.0))
DEFAULT_FOCAL_35MM = 27.0
SD_LOG_FOCAL_KNOWN = 0.025
SD_LOG_FOCAL_UNKNOWN = 0.35
SD_LENS_TERMS = np.array([0.08, 0.05, 0.002, 0.002])
"""Two radial and two tangential terms: a phone's lens bends by per cents, and is centred to
thousandths (common practice, no source)."""

SD_CENTRE = 0.0025
"""How far the lens may look past the picture's middle, over the diagonal (common practice, no
source). Under a tilted camera ten pixels pass for 2 % of focal length."""

SD_CORNER_PX = 0.15
OUTLIER_PX = 0.3
CORNERS_ALONE = 3.0
"""Corners err together (paper not flat): where they alone tell the focal length it is so many times
less sure than if each erred by itself."""

TOLERANCE = 1e-5
"""Focal length and distance stand in for each other: the fit creeps along a narrow valley."""

LONGER = (1.0, 1.8, 3.0)
"""Where the fit begins without a focal length: 27, 49 and 81 mm."""

PARAMETER_SCALE = np.array([0.01] * 3 + [1.0, 1.0, 3.0] + [0.02] * 3 + [0.001] * 4)
"""Radians, millimetres, log focal length, lens terms, centre over the diagonal: each about as large
a change as another."""

FOCAL, LENS, CENTRE = 6, slice(7, 11), slice(11, 13)
PRIORS = 7
"""Where log focal length, lens terms and centre stand among the parameters; each has a prior."""


@dataclass(frozen=True)
class Pose:
    """How card millimetres reach the photo.

    ``rotation`` (3, 3) and ``place_mm`` (3,) take card coordinates (x right, y down, z down into
    the table, so that the frame is right-handed) to the camera's; ``focal_px``, ``centre_px``
    (x, y) and the ``lens`` (4,) take them to pixels: two radial terms, on the normalised radius
    squared and to the fourth, and two tangential ones (Brown 1966). ``residual_px`` is the RMS
    distance over the corners used, ``markers`` how many markers these belong to, ``sd_log_focal``
    the fit's own standard deviation of the focal length's logarithm.
    """

    rotation: NDArray[np.float64]
    place_mm: NDArray[np.float64]
    focal_px: float
    centre_px: tuple[float, float]
    lens: NDArray[np.float64]
    residual_px: float
    markers: int
    sd_log_focal: float

    def project(self, xyz_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Photo pixels (..., 2) of card points (..., 3); heights above the card are -z."""
        # As ``cv2.projectPoints``, which takes eight times as long for many points.
        seen = xyz_mm.reshape(-1, 3) @ self.rotation.T + self.place_mm
        k1, k2, p1, p2 = self.lens
        x, y = seen[:, 0] / seen[:, 2], seen[:, 1] / seen[:, 2]
        r2 = x * x + y * y
        longer = 1 + r2 * (k1 + k2 * r2) + 2 * (p1 * y + p2 * x)
        placed = np.empty((len(seen), 2))
        placed[:, 0] = self.focal_px * (x * longer + p2 * r2) + self.centre_px[0]
        placed[:, 1] = self.focal_px * (y * longer + p1 * r2) + self.centre_px[1]
        return placed.reshape(*xyz_mm.shape[:-1], 2)

    def scale_sd(self, height_mm: float) -> float:
        """Relative uncertainty (SD) of lengths in a plane ``height_mm`` above the card.

        The card fixes its own scale; a wrong focal length puts the camera at a wrong height, and
        that magnifies the raised plane wrongly by height over distance.
        """
        return height_mm / float(abs(self.camera_mm[2])) * self.sd_log_focal

    @property
    def camera_mm(self) -> NDArray[np.float64]:
        """The camera's place in card coordinates, (3,) mm."""
        return np.asarray(-self.rotation.T @ self.place_mm)


def solve_pose(markers: MarkerCorners, *, shape: tuple[int, int], focal_35mm: float | None) -> Pose:
    """Fit the pose to all marker corners by least squares (Zhang 2000, with priors).

    ``shape`` is the photo's (M, N); ``focal_35mm`` the EXIF 35 mm equivalent, else a phone's usual
    27 mm is the weak prior, and the fit begins at longer ones too: from 27 mm it does not get to
    65. Corners farther from the fit than 0.3 px and three times the median are dropped once and the
    fit repeated. Raises :class:`TooFewMarkersError` when fewer than four markers remain.
    """
    centre = np.array([(shape[1] - 1) / 2, (shape[0] - 1) / 2])
    diagonal = float(np.hypot(*shape))
    focal0 = (focal_35mm or DEFAULT_FOCAL_35MM) * diagonal / FULL_FRAME_DIAGONAL_MM
    sd_log_focal = SD_LOG_FOCAL_KNOWN if focal_35mm else SD_LOG_FOCAL_UNKNOWN
    card = np.concatenate([markers.card_mm, np.zeros((*markers.card_mm.shape[:2], 1))], axis=2)
    card, seen = card.reshape(-1, 3), markers.photo_px.reshape(-1, 2)
    weight = np.where(markers.sharp.ravel(), 1.0, 0.2)
    to_prior = 1 / np.concatenate([[sd_log_focal], SD_LENS_TERMS, [SD_CENTRE, SD_CENTRE]])

    def project(p: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Corners' places (N, 2) and their derivatives (2 N, parameters)."""
        focal = focal0 * np.exp(p[FOCAL])
        x, y = centre + diagonal * p[CENTRE]
        camera = np.array([[focal, 0, x], [0, focal, y], [0, 0, 1]])
        placed, by = cv2.projectPoints(card, p[:3], p[3:FOCAL], camera, p[LENS])
        by_log_focal = focal * (by[:, 6:7] + by[:, 7:8])
        by_centre = diagonal * by[:, 8:10]
        derived = np.hstack([by[:, :FOCAL], by_log_focal, by[:, 10:14], by_centre])
        return np.asarray(placed, np.float64).reshape(-1, 2), np.asarray(derived, np.float64)

    def misfit(scaled: NDArray[np.float64]) -> NDArray[np.float64]:
        p = scaled * PARAMETER_SCALE
        off = (project(p)[0] - seen) * (weight / SD_CORNER_PX)[:, None]
        return np.concatenate([off.ravel(), p[FOCAL:] * to_prior])

    def derivatives(scaled: NDArray[np.float64]) -> NDArray[np.float64]:
        by = project(scaled * PARAMETER_SCALE)[1] * np.repeat(weight / SD_CORNER_PX, 2)[:, None]
        priors = np.hstack([np.zeros((PRIORS, FOCAL)), np.diag(to_prior)])
        return np.asarray(np.vstack([by, priors]) * PARAMETER_SCALE)

    fit = partial(fit_robust, misfit, priors=PRIORS, tolerance=TOLERANCE, derivatives=derivatives)
    longer = (1.0,) if focal_35mm else LONGER
    begins = (_begin(card, seen, focal0, ratio, centre) for ratio in longer)
    fits = [fit(begin / PARAMETER_SCALE)[0] for begin in begins]
    rough = min(fits, key=lambda p: float(np.median(_distances(misfit(p), weight))))
    off = _distances(misfit(rough), weight)
    weight = np.where(off < max(OUTLIER_PX, 3 * float(np.median(off))), weight, 0.0)
    used = int(np.count_nonzero(weight.reshape(-1, 4).sum(axis=1) > 0))
    if used < MIN_MARKERS:
        raise TooFewMarkersError(
            f"Only {used} markers agree on where the camera stood; at least {MIN_MARKERS} are "
            "needed. Lay the card flat and uncover it."
        )
    scaled, spread = fit(rough, soft=np.inf)
    residual = (misfit(scaled)[:-PRIORS].reshape(-1, 2) * SD_CORNER_PX)[weight > 0]
    inflate = max(1.0, float(np.sqrt(np.mean(residual**2))) / SD_CORNER_PX)
    best = scaled * PARAMETER_SCALE
    x, y = centre + diagonal * best[CENTRE]
    sd_fitted = inflate * float(np.sqrt(spread[FOCAL, FOCAL]) * PARAMETER_SCALE[FOCAL])
    return Pose(
        rotation=np.asarray(cv2.Rodrigues(best[:3])[0]),
        place_mm=best[3:6],
        focal_px=float(focal0 * np.exp(best[FOCAL])),
        centre_px=(float(x), float(y)),
        lens=best[LENS],
        residual_px=float(np.sqrt(np.mean(np.sum(residual**2, axis=1)))),
        markers=used,
        sd_log_focal=min(sd_log_focal, sd_fitted if focal_35mm else CORNERS_ALONE * sd_fitted),
    )


def _begin(
    card: NDArray[np.float64],
    seen: NDArray[np.float64],
    focal0: float,
    ratio: float,
    centre: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Parameters of the pose that fits best at ``ratio`` times the focal length ``focal0``."""
    focal = focal0 * ratio
    camera = np.array([[focal, 0, centre[0]], [0, focal, centre[1]], [0, 0, 1]])
    ok, turn, place = cv2.solvePnP(card, seen, camera, None, flags=cv2.SOLVEPNP_ITERATIVE)
    if not ok:
        raise TooFewMarkersError("The markers found do not fit a flat card. Lay the card flat.")
    begin = np.concatenate([np.ravel(turn), np.ravel(place), np.zeros(PRIORS)])
    begin[FOCAL] = np.log(ratio)
    return begin


def _distances(misfit: NDArray[np.float64], weight: NDArray[np.float64]) -> NDArray[np.float64]:
    """Pixel distance of each corner from a weighted misfit vector that ends with the priors."""
    off = np.linalg.norm(misfit[:-PRIORS].reshape(-1, 2), axis=1) * SD_CORNER_PX
    return np.asarray(off / np.where(weight > 0, weight, 1.0))
