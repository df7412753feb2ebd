"""The rectified face as a picture, its zones drawn: what was measured, for a person to see."""

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.metrics import FaceName
from scoring.photo.opencv import cv2
from scoring.photo.srgb import srgb_code
from scoring.registration.face import RectifiedFace

ZONE_RGB, REFERENCE_RGB, GAP_RGB = (40, 110, 220), (30, 140, 70), (220, 40, 140)
"""Measured zone, reference (facets or steady zone), and open gaps."""

QUALITY = 88
BRIGHT = 0.75
CODE_OF_ROOT = np.round(255 * srgb_code((np.arange(256) / 255) ** 2)).astype(np.uint8)


def draw_face(
    face: RectifiedFace, *, shift_mm: float = 0.0, open_mask: NDArray[np.bool_] | None = None
) -> bytes:
    """The face as JPEG, brightened to a common level, zones outlined, gaps tinted.

    It spans u from ``face.u0_mm`` to the last column, 2 mm beyond the coupon on either side.
    ``open_mask`` (M, N) marks open gaps. What lies at u + ``shift_mm`` in ``face`` is drawn at u,
    so that the picture lines up with a trace whose u was set by the facets.
    """
    level = max(float(np.percentile(face.linear[::8, ::8], 98)), 1e-4)
    # Light in 256 steps would show bands in the dark: its square root does not.
    roots = cv2.convertScaleAbs(cv2.sqrt(face.linear), alpha=255 * np.sqrt(BRIGHT / level))
    picture = np.asarray(cv2.LUT(roots, CODE_OF_ROOT), np.uint8)
    if open_mask is not None:
        picture[open_mask] = (0.4 * picture[open_mask] + 0.6 * np.array(GAP_RGB)).astype(np.uint8)
    if shift_mm:
        size = (picture.shape[1], picture.shape[0])
        centre = ((size[0] - 1) / 2 + shift_mm * face.px_per_mm, (size[1] - 1) / 2)
        picture = np.asarray(cv2.getRectSubPix(picture, size, centre), np.uint8)
    low, high = BLADE.measured_band_w_mm
    if face.face is FaceName.RINGDOWN:
        zones = [(BLADE.ringdown_zone_u_mm, ZONE_RGB)]
        zones += [(f.u_mm, REFERENCE_RGB) for f in BLADE.facets]
    else:
        zones = [(BLADE.recovery_zone_u_mm, ZONE_RGB), (BLADE.steady_zone_u_mm, REFERENCE_RGB)]
    for (first, last), colour in zones:
        corners = [
            (round((u - face.u0_mm) * face.px_per_mm), round((face.w0_mm - w) * face.px_per_mm))
            for u, w in ((first, high), (last, low))
        ]
        cv2.rectangle(picture, corners[0], corners[1], colour, 2)
    bgr = cv2.cvtColor(picture, cv2.COLOR_RGB2BGR)
    done, data = cv2.imencode(".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, QUALITY])
    assert done, "eight-bit colour can be encoded"
    return bytes(data)
