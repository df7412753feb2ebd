"""From a decoded photo to the rectified face: card, pose, coupon, face, resampling."""

from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scoring.errors import (
    CouponNotFoundError,
    CouponOutOfBayError,
    PhotoTooCoarseError,
    WrongFaceError,
)
from scoring.geometry import BLADE
from scoring.measurement import Corners
from scoring.metrics import FACE_WORDS, FaceName
from scoring.photo.opencv import cv2
from scoring.photo.photo import Photo
from scoring.registration.corners import order_corners, pose_from_corners, snap_corners
from scoring.registration.coupon import CouponFit, find_coupon
from scoring.registration.face import RectifiedFace
from scoring.registration.markers import MarkerCorners, find_markers
from scoring.registration.pose import Pose, solve_pose
from scoring.registration.recognise import SD_SIZE, SIZED, Recognised, recognise_face
from scoring.registration.rectify import GRID_STEP_PX, Placement, map_bands, sample

MIN_PX_PER_MM = 15.0
MIN_GRID_PX_PER_MM, MAX_GRID_PX_PER_MM = 20, 40
OFF_LAYERS_PX_PER_MM = 0.5
"""Added on the flow face. Layer heights come in round numbers: on a round grid layers are sampled
at the same few places of their profile, and its third harmonic is read as the line itself."""

MARGIN_MM = 2.0
BESIDE_MM = 1.0
"""How far past the measured band anything looks, for neighbouring layers."""

SD_STRETCH_BY_CORNERS = 0.018
"""Four corners leave the camera's lean unsure by some degrees: one end looks longer, the other
shorter. Found on the reference photos (frequencies off by 0 to 4 %)."""

MOST_OFF_SIZE = 0.008
"""Card and coupon may disagree so much, and more where the focal length is not known."""

USUAL_BLUR_PX = 0.8
"""The median over the tuning photos, where no marker's edge tells the photo's own."""

BOW_PX = 12
"""The lens may bow the face's middle out of the box round its border by less than this."""

CLIPPED_SHARE = 0.98
"""Between a clipped pixel and its neighbour lies light that was not measured either."""


@dataclass(frozen=True)
class PlacedCoupon:
    """A photo whose coupon's place is known, with what was found on the way.

    ``off_size`` says that card and coupon disagree in length; the coupon was believed.
    """

    photo: Photo
    markers: MarkerCorners
    pose: Pose
    coupon: CouponFit
    face: FaceName
    placement: Placement
    px_per_mm: float
    corners_px: Corners | None = None
    off_size: bool = False

    @property
    def camera_mm(self) -> NDArray[np.float64]:
        """The camera's place over the card, (3,): x right, y down, z up."""
        return np.asarray(self.pose.camera_mm * np.array([1.0, 1.0, -1.0]))

    @property
    def by_corners(self) -> bool:
        """Whether no card was used, so that neither paper nor shadow can be read on it."""
        return self.corners_px is not None

    @property
    def stretch_sd(self) -> float:
        """Relative standard deviation of lengths on the face."""
        if self.by_corners:
            return SD_STRETCH_BY_CORNERS
        own = SD_SIZE if self.off_size else 0.0
        return float(np.hypot(self.pose.scale_sd(BLADE.thickness_mm), own))

    @property
    def blur_mm(self) -> float:
        """Standard deviation of the photo's line spread, in mm on the face."""
        return self.markers.blur_px / self.px_per_mm


def place_coupon(photo: Photo) -> PlacedCoupon:
    """Find card, camera and coupon in ``photo``.

    Raises the registration errors of the steps it takes, and :class:`PhotoTooCoarseError` under
    15 px/mm on the face.
    """
    return place_on_card(photo, *find_card(photo))


def find_card(photo: Photo) -> tuple[MarkerCorners, Pose]:
    """The card's markers and the camera over it.

    Raises :class:`CardNotFoundError` and :class:`TooFewMarkersError`.
    """
    markers = find_markers(photo.codes8, photo.light_of_codes8(np.arange(256), 1))
    shape = photo.pixels.shape[0], photo.pixels.shape[1]
    return markers, solve_pose(markers, shape=shape, focal_35mm=photo.focal_35mm)


def place_on_card(photo: Photo, markers: MarkerCorners, pose: Pose) -> PlacedCoupon:
    """Find the coupon on the card that was found.

    Raises :class:`CouponNotFoundError`, :class:`CouponOutOfBayError` and, under 15 px/mm on the
    face, :class:`PhotoTooCoarseError`.
    """
    px_per_mm = _require_fine(pose)
    if markers.ids.size:
        coupon, seen, off_size = _find_features(photo.codes8, pose)
    else:  # four corners set the scale as well
        coupon, off_size = find_coupon(photo.codes8, pose), False
        seen = recognise_face(photo.codes8, pose, coupon.placement)
    placement = replace(coupon.placement, turn_rad=coupon.placement.turn_rad + seen.turn_rad)
    px_per_mm *= placement.scale
    return PlacedCoupon(
        photo, markers, pose, coupon, seen.face, placement, px_per_mm, off_size=off_size
    )


def _find_features(codes: NDArray[np.uint8], pose: Pose) -> tuple[CouponFit, Recognised, bool]:
    """The coupon, what its face shows, and whether it is not of the size that the card makes it.

    The outline proposes, facets and grooves decide: where they are seen in another size the outline
    is sought in that, and where none is clear in the next best place, taken if facets are there.
    """
    coupon = find_coupon(codes, pose)
    seen = recognise_face(codes, pose, coupon.placement)
    if seen.size is not None:
        scale = coupon.placement.scale * seen.size
        if abs(scale - 1) > max(MOST_OFF_SIZE, 3 * pose.scale_sd(BLADE.thickness_mm)):
            found = _find_scaled(codes, pose, scale)
            if found is not None:
                return *found, True
    if not seen.clear:
        with suppress(CouponNotFoundError, CouponOutOfBayError):
            other = find_coupon(codes, pose, aside_of=coupon.placement)
            there = recognise_face(codes, pose, other.placement)
            # Turned in sign, as under a lamp on the far side, the code fits 5 mm aside as well.
            if there.agreement > max(SIZED, abs(seen.agreement)):
                return other, there, False
    return coupon, seen, False


def _find_scaled(
    codes: NDArray[np.uint8], pose: Pose, scale: float
) -> tuple[CouponFit, Recognised] | None:
    """The coupon where it looks ``scale`` times as large; ``None`` if outline and features do not
    both say so, on second looking at the latest.
    """
    sd = float(np.hypot(pose.scale_sd(BLADE.thickness_mm), SD_SIZE))
    for _ in range(2):
        try:
            coupon = find_coupon(codes, pose, known_scale=(scale, sd))
        except (CouponNotFoundError, CouponOutOfBayError):
            return None
        seen = recognise_face(codes, pose, coupon.placement)
        if seen.size is None:
            return None
        by_outline, by_features = coupon.placement.scale, coupon.placement.scale * seen.size
        if max(abs(by_outline / scale - 1), abs(by_features / scale - 1)) < 2 * SD_SIZE:
            return coupon, seen
        scale = by_features
    return None


def place_by_corners(photo: Photo, corners_px: NDArray[np.float64]) -> PlacedCoupon:
    """Place the coupon by its face's four corners (4, 2) in any order, without a card.

    The edges near them are sought, and their lines' crossings taken; of the cut corner that is
    where its sides would meet. Nothing is known of card, paper and focus: there are no markers, and
    the blur is taken for the usual one. Raises :class:`CornersWrongError`,
    :class:`CouponNotFoundError` and :class:`PhotoTooCoarseError`.
    """
    grey = np.asarray(cv2.cvtColor(photo.codes8, cv2.COLOR_RGB2GRAY), np.uint8)
    corners = snap_corners(grey, order_corners(corners_px))
    pose = pose_from_corners(corners, shape=grey.shape, focal_35mm=photo.focal_35mm)
    none = np.empty((0, 4, 2))
    markers = MarkerCorners(
        np.empty(0, np.int64), none, none, np.empty((0, 4), bool), USUAL_BLUR_PX
    )
    given = tuple((float(x), float(y)) for x, y in corners_px)
    return replace(place_on_card(photo, markers, pose), corners_px=given)


def rectify_face(placed: PlacedCoupon, *, whole: bool = True) -> RectifiedFace:
    """Resample the face, with 2 mm around it, to millimetres in linear light.

    Not ``whole`` are the rows of the measured band alone, and ``BESIDE_MM`` on either side: all
    that is measured, for less time.
    """
    grid = float(np.clip(np.ceil(placed.px_per_mm), MIN_GRID_PX_PER_MM, MAX_GRID_PX_PER_MM))
    if placed.face is FaceName.FLOW:
        grid += OFF_LAYERS_PX_PER_MM
    u = np.arange(-MARGIN_MM, BLADE.length_mm + MARGIN_MM + 0.5 / grid, 1 / grid)
    w = np.arange(BLADE.height_mm + MARGIN_MM, -MARGIN_MM - 0.5 / grid, -1 / grid)
    if not whole:
        low_mm, high_mm = BLADE.measured_band_w_mm
        # From a whole cell of the lens map on: the rows lie exactly where the whole face's do.
        first = int((w[0] - high_mm - BESIDE_MM) * grid) // GRID_STEP_PX * GRID_STEP_PX
        w = w[first:][w[first:] > low_mm - BESIDE_MM - 1.5 / grid]
    light = np.empty((3, w.size, u.size), np.float32)
    # Ripples of a fraction of a code are read from luma; open slots are not.
    with_luma = placed.face is FaceName.RINGDOWN and placed.photo.keeps_luma
    luma = np.empty(light.shape[1:], np.float32) if with_luma else None
    brightest = 0
    # In bands, in the same memory: fetching new pages takes as long as the work itself.
    for band, px in map_bands(placed.pose, placed.placement, u, w):
        rows, columns = _box(px, placed.photo)
        corner = columns.start, rows.start
        # A whole row at a time: two numbers broadcast over the pairs take twenty times as long.
        np.subtract(px, np.tile(np.array(corner, np.float32), px.shape[1]).reshape(-1, 2), out=px)
        brightest = max(brightest, int(placed.photo.pixels[rows, columns].max()))
        for channel, plane in enumerate(light):
            sample(placed.photo.linear(rows, columns, channel), px, out=plane[band])
        if luma is not None:
            sample(placed.photo.luma_light(rows, columns), px, out=luma[band])
    clipped = np.zeros(light.shape[1:], dtype=bool)
    if brightest >= placed.photo.clip_level:
        full = CLIPPED_SHARE * placed.photo.to_linear[placed.photo.clip_level]
        for plane, least in zip(light, full, strict=True):
            clipped |= plane >= least
    linear = np.moveaxis(light, 0, -1)
    return RectifiedFace(placed.face, linear, clipped, grid, float(u[0]), float(w[0]), luma)


def _box(px: NDArray[np.float32], photo: Photo) -> tuple[slice, slice]:
    """Rows and columns of ``photo`` that hold the places ``px`` (R, N, 2): one at the least."""
    height, width = photo.pixels.shape[:2]
    x, y, wide, high = cv2.boundingRect(np.concatenate([px[0], px[-1], px[:, 0], px[:, -1]]))
    left, right = np.clip([x - BOW_PX, x + wide + BOW_PX], 0, width)
    top, bottom = np.clip([y - BOW_PX, y + high + BOW_PX], 0, height)
    return slice(min(top, height - 1), max(bottom, 1)), slice(min(left, width - 1), max(right, 1))


def _require_fine(pose: Pose) -> float:
    """Pixels per millimetre on the face. Raises :class:`PhotoTooCoarseError`."""
    upright = Placement(0.0, 0.0, 0.0)
    ends = pose.project(upright.card_mm(np.array([0.0, BLADE.length_mm]), np.array([12.0, 12.0])))
    px_per_mm = float(np.linalg.norm(ends[1] - ends[0])) / BLADE.length_mm
    if px_per_mm < MIN_PX_PER_MM:
        raise PhotoTooCoarseError(
            f"The face is seen at {np.floor(10 * px_per_mm) / 10:.1f} px/mm; at least "
            f"{MIN_PX_PER_MM:g} are needed. Go closer until the card fills the picture, or use the "
            "full resolution."
        )
    return px_per_mm


def require_face(placed: PlacedCoupon, asked: FaceName | None, source: str) -> None:
    """Raise :class:`WrongFaceError` where ``source`` asked for another face than is seen."""
    if asked is not None and asked is not placed.face:
        raise WrongFaceError(
            f"The photo shows the {FACE_WORDS[placed.face]} face, but {source} says the "
            f"{FACE_WORDS[asked]} face. Turn the coupon over, or correct that."
        )
