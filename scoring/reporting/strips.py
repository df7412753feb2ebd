"""Strips cut from two rectified faces, at one contrast, so that the eye may compare them."""

import io
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from scoring.geometry import BLADE
from scoring.metrics import FaceName
from scoring.photo.srgb import srgb_code, srgb_curve
from scoring.registration.place import MARGIN_MM

Floats = NDArray[np.float64]

INSIDE_MM = 0.4
"""The zones' drawn outlines are cut off by this much."""
QUALITY = 85
LUMA = np.array([0.2126, 0.7152, 0.0722])
"""Shares of red, green and blue in luminance (IEC 61966-2-1)."""
LEVEL = 0.5
"""Brightness that a strip's closed surface is given, of full scale."""
DARKER = 0.35
"""The same for the flow face, as linear light, so that glints do not burn out."""


@dataclass(frozen=True)
class StripPair:
    """Two JPEG pictures of the same stretch of face, u from ``u_mm[0]`` to ``u_mm[1]``.

    Either is ``None`` where its picture cannot be read. ``aspect`` is height over width.
    """

    before: bytes | None
    after: bytes | None
    u_mm: tuple[float, float]
    aspect: float


def cut_strips(before: bytes, after: bytes, *, face: FaceName, height_mm: float = 5.0) -> StripPair:
    """Cut the measured zone from two stored faces' pictures, ``height_mm`` high about its middle.

    Ring-down: light over its own smooth baseline, both at the one contrast that shows the stronger
    ripple whole; slope shows as brightness, so equal contrast is equal slope under like lamps.
    Flow: in colour, both brought to the same median light; gaps found are tinted as stored.
    """
    u_mm = BLADE.ringdown_zone_u_mm if face is FaceName.RINGDOWN else BLADE.recovery_zone_u_mm
    cuts = [_cut(picture, u_mm, height_mm) for picture in (before, after)]
    if face is FaceName.RINGDOWN:
        shown = _at_one_contrast(cuts)
    else:
        shown = [None if cut is None else srgb_code(DARKER * cut / _median(cut)) for cut in cuts]
    jpegs = [None if one is None else _as_jpeg(one) for one in shown]
    return StripPair(jpegs[0], jpegs[1], u_mm, height_mm / (u_mm[1] - u_mm[0]))


def _cut(picture: bytes, u_mm: tuple[float, float], height_mm: float) -> Floats | None:
    """The stretch in linear light, (rows, columns, 3); ``None`` for what is no picture."""
    try:
        with Image.open(io.BytesIO(picture)) as opened:
            code = np.asarray(opened.convert("RGB"), float) / 255
    except OSError:
        return None
    rows, columns = code.shape[:2]
    # The outermost pixels' centres lie MARGIN_MM beyond the coupon.
    x_per_mm = (columns - 1) / (BLADE.length_mm + 2 * MARGIN_MM)
    y_per_mm = (rows - 1) / (BLADE.height_mm + 2 * MARGIN_MM)
    left, right = (round((u + MARGIN_MM) * x_per_mm) for u in u_mm)
    inside = round(INSIDE_MM * x_per_mm)
    middle = rows / 2
    top, bottom = (round(middle + s * height_mm / 2 * y_per_mm) for s in (-1, 1))
    cut = code[max(top, 0) : bottom, left:right].copy()
    # The zone's own outline would stand out as a bar at either end.
    cut[:, :inside] = cut[:, inside : inside + 1]
    cut[:, cut.shape[1] - inside :] = cut[:, -inside - 1 : cut.shape[1] - inside]
    light: Floats = srgb_curve(cut)
    return light


def _at_one_contrast(cuts: list[Floats | None]) -> list[Floats | None]:
    grey = [None if cut is None else np.asarray(cut @ LUMA) for cut in cuts]
    contrast = [None if one is None else one / _baseline(one) - 1 for one in grey]
    # The ripple is in the columns' means; noise and layers shall fill no more than part of it.
    there = [c for c in contrast if c is not None]
    ripple = [1.6 * float(np.max(np.abs(c[:, 20:-20].mean(0)))) for c in there]
    noise = [3.0 * float(np.std(c - c.mean(0))) for c in there]
    full = max(*ripple, *noise, 0.02) if there else 1.0
    return [None if c is None else LEVEL * (1 + c / full) for c in contrast]


def _baseline(grey: Floats) -> Floats:
    """A cubic along u: lamp falloff is smooth, ripples are not."""
    u = np.linspace(-1, 1, grey.shape[1])
    fitted = np.polynomial.Polynomial.fit(u, grey.mean(0), 3)(u)
    return np.asarray(np.maximum(fitted, 1e-4))


def _median(cut: Floats) -> float:
    return max(float(np.median(cut)), 1e-4)


def _as_jpeg(shown: Floats) -> bytes:
    code = np.round(255 * np.clip(shown, 0, 1)).astype(np.uint8)
    file = io.BytesIO()
    Image.fromarray(code).save(file, "JPEG", quality=QUALITY)
    return file.getvalue()
