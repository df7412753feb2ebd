"""Measure one photo: decode, register, read the label, and measure the face it shows."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from threadpoolctl import ThreadpoolController

from scoring.errors import PhotoBlurredError
from scoring.estimate import Estimate
from scoring.flags import Flag, each_once, raised
from scoring.gaps.lamp import find_lamp_rise, find_lean
from scoring.gaps.measure import measure_gaps
from scoring.geometry import CARD, GEOMETRY_REVISION
from scoring.label import Label
from scoring.measurement import Corners, Measurement, Mode, Registration
from scoring.metrics import FaceName
from scoring.motion import Motion
from scoring.photo.decode import decode_photo, read_photo
from scoring.photo.label import read_label
from scoring.photo.opencv import cv2
from scoring.photo.photo import Photo
from scoring.picture import draw_face
from scoring.registration.grooves import locate_grooves
from scoring.registration.place import (
    PlacedCoupon,
    find_card,
    place_by_corners,
    place_on_card,
    rectify_face,
    require_face,
)
from scoring.registration.pose import Pose
from scoring.ripple.ringdown import measure_ringdown
from scoring.shading.paper import project_card

LOW_PX_PER_MM = 16.0
MUCH_RESIDUAL_MM = 0.0167
"""Where markers' corners are off by so much, places far from them may be by three times as much."""

MAX_BLUR_MM = 0.18
MANY_HIDDEN = 3
LABEL_PX_PER_MM, LABEL_MARGIN_MM = 9.0, 3.0
LINEAR_ALGEBRA = ThreadpoolController()
"""A measurement's matrices are small: several threads wait for each other longer than they work."""


@dataclass(frozen=True)
class PhotoMeasurement:
    """One photo's numbers and its rectified face as JPEG, zones drawn; empty if not asked for."""

    measurement: Measurement
    face_jpeg: bytes


def measure_photo(
    source: Path | bytes,
    *,
    name: str,
    motion: Motion | Callable[[Label | None], Motion],
    face: FaceName | None = None,
    layer_height_mm: float | None = None,
    corners_px: Corners | None = None,
    picture: bool = True,
) -> PhotoMeasurement:
    """Measure the photo ``source``, a path or a file's contents.

    ``motion`` is the outer wall's, or a function that gives it for the label read (or ``None``).
    With ``corners_px``, the four corners of the face in any order, no card is looked for: flagged,
    and less sure. With ``face`` the photo must show that face. Without ``picture`` the face is not
    drawn, and only what is measured of it is resampled: the numbers are the same. Raises a
    :class:`PhotoError`, :class:`RegistrationError`, :class:`LampError` or :class:`SettingsError`
    that says what was found and what to do.
    """
    with LINEAR_ALGEBRA.limit(limits=1, user_api="blas"):
        placed, label = place_photo(source, name=name, face=face, corners_px=corners_px)
        found = motion(label) if callable(motion) else motion
        return _measure_face(
            placed, label, found, name=name, layer_height_mm=layer_height_mm, picture=picture
        )


def _measure_face(
    placed: PlacedCoupon,
    label: Label | None,
    motion: Motion,
    *,
    name: str,
    layer_height_mm: float | None,
    picture: bool,
) -> PhotoMeasurement:
    rectified = rectify_face(placed, whole=picture)
    metrics: dict[str, Estimate]
    modes: tuple[Mode, ...] = ()
    jpeg = b""
    if placed.face is FaceName.RINGDOWN:
        ring = measure_ringdown(placed, rectified, motion)
        metrics, modes, flags, trace = ring.metrics, ring.modes, ring.flags, ring.trace
        if picture:
            jpeg = draw_face(rectified, shift_mm=ring.shift_mm)
    else:
        grooves = locate_grooves(rectified, blur_mm=placed.blur_mm, sd_stretch=placed.stretch_sd)
        gaps = measure_gaps(
            rectified,
            motion=motion,
            blur_mm=placed.blur_mm,
            layer_height_mm=layer_height_mm,
            grooves=grooves,
            lamp_rise=find_lamp_rise(placed.photo, placed.pose, placed.placement),
            lean=find_lean(placed.camera_mm, placed.placement),
            picture=picture,
        )
        metrics, flags, trace = gaps.metrics, gaps.flags, gaps.trace
        if picture:
            jpeg = draw_face(rectified, shift_mm=grooves.shift_mm, open_mask=gaps.open_mask)
    measurement = Measurement(
        photo=name,
        face=placed.face,
        run=label.run if label else None,
        axis=label.axis if label else None,
        registration=tell_registration(placed),
        metrics=metrics,
        modes=modes,
        flags=each_once(placing_flags(placed, label), flags),
        trace=trace,
        geometry_revision=GEOMETRY_REVISION,
    )
    return PhotoMeasurement(measurement, jpeg)


def place_photo(
    source: Path | bytes,
    *,
    name: str,
    face: FaceName | None,
    corners_px: Corners | None = None,
) -> tuple[PlacedCoupon, Label | None]:
    """Decode, find card and coupon, and read the label; ``None`` where there is none.

    Raises as :func:`measure_photo` does, but for what only lamp and settings can spoil.
    """
    photo = decode_photo(source, name) if isinstance(source, bytes) else read_photo(source)
    if corners_px is None:
        placed, label = _place_by_card(photo)
    else:
        corners = np.array(corners_px, np.float64).reshape(4, 2)
        placed, label = place_by_corners(photo, corners), None
    require_face(placed, face, "the request")
    if label is not None:
        require_face(placed, FaceName(label.face), "its label")
    if placed.blur_mm > MAX_BLUR_MM:
        raise PhotoBlurredError(
            f"Edges are spread over {2.56 * placed.blur_mm:.2f} mm (10 to 90 %), at most "
            f"{2.56 * MAX_BLUR_MM:.2f} mm can be measured. Focus on the coupon (tap it) and hold "
            "still, or use a stand and the self-timer."
        )
    return placed, label


def _place_by_card(photo: Photo) -> tuple[PlacedCoupon, Label | None]:
    markers, pose = find_card(photo)
    if cv2.getNumThreads() == 1:  # one worker of many: no core is idle
        return place_on_card(photo, markers, pose), read_card_label(photo, pose)
    # Reading the code is OpenCV's work and needs the card alone: a second thread does it meanwhile.
    with ThreadPoolExecutor(1) as beside:
        label = beside.submit(read_card_label, photo, pose)
        return place_on_card(photo, markers, pose), label.result()


def read_card_label(photo: Photo, pose: Pose) -> Label | None:
    """The label in the card's label bay, or ``None`` where none can be read."""
    low = np.array(CARD.label_origin_mm) - LABEL_MARGIN_MM
    size = np.array(CARD.label_size_mm) + 2 * LABEL_MARGIN_MM
    unit = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    seen = project_card(pose, low + unit * size)
    wide, high = np.ceil(size * LABEL_PX_PER_MM).astype(int).tolist()
    # Over so small a square the lens does not bend lines enough to matter to a code.
    square = cv2.getPerspectiveTransform(seen, (unit * [wide - 1, high - 1]).astype(np.float32))
    codes = cv2.warpPerspective(photo.codes8, square, (wide, high))
    return read_label(np.asarray(cv2.cvtColor(codes, cv2.COLOR_RGB2GRAY), np.uint8))


def tell_registration(placed: PlacedCoupon) -> Registration:
    """How well card and coupon were placed."""
    return Registration(
        markers=placed.pose.markers,
        residual_mm=placed.pose.residual_px / placed.px_per_mm,
        mm_per_px=1 / placed.px_per_mm,
        corners_px=placed.corners_px,
    )


def placing_flags(placed: PlacedCoupon, label: Label | None) -> tuple[Flag, ...]:
    """The flags that speak of card, coupon and label."""
    hidden = len(CARD.marker_centre_mm) - placed.pose.markers
    far_off = not placed.by_corners and tell_registration(placed).residual_mm > MUCH_RESIDUAL_MM
    found = {
        Flag.LOW_RESOLUTION: placed.px_per_mm < LOW_PX_PER_MM,
        Flag.MARKERS_HIDDEN: hidden >= MANY_HIDDEN and not placed.by_corners,
        Flag.CARD_MISSING: placed.by_corners,
        Flag.CARD_OFF_SIZE: placed.off_size,
        Flag.OUTLINE_UNSURE: not placed.coupon.sure or far_off,
        Flag.LABEL_UNREAD: label is None,
    }
    return raised(found)
