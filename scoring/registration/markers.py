"""Find the card's markers, and their corners to a small part of a pixel."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.errors import CardNotFoundError, TooFewMarkersError
from scoring.geometry import CARD
from scoring.photo.opencv import cv2

DETECT_WIDTH_PX = 1400
"""Markers are looked for in a copy about this wide: as many are found, many times faster."""

WINDOWS_PX = (13, 23)
"""A pixel is told dark or bright against neighbourhoods of these widths. The usual third one of
3 px is for markers far smaller than the card's: on 250 photos it brought none and cost a third."""

MIN_MARKERS = 4
LAYOUT_TOLERANCE_PX = 6.0
"""In the small copy: a marker farther from the card's layout than this is a false one."""

BAND_ROWS = 64

PROFILES_A_SIDE = 12
PROFILE_REACH_PX = 9.0
SAMPLES_A_PX = 3


@dataclass(frozen=True)
class MarkerCorners:
    """Corners seen in the photo beside their places on the card.

    ``ids`` (K,), ``card_mm`` (K, 4, 2) and ``photo_px`` (K, 4, 2), corners clockwise from the
    marker's top left; pixel (0, 0) is the centre of the first pixel. ``sharp`` (K, 4) tells which
    corners came from fitted edges; ``blur_px`` is the median standard deviation of the line
    spread over all those edges, in photo pixels.
    """

    ids: NDArray[np.int64]
    card_mm: NDArray[np.float64]
    photo_px: NDArray[np.float64]
    sharp: NDArray[np.bool_]
    blur_px: float


def marker_corners_mm(marker_id: int) -> NDArray[np.float64]:
    """The (4, 2) corners of one marker on the card, clockwise from its top left, in mm."""
    half = CARD.marker_side_mm / 2
    corners = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    return np.asarray(corners + np.array(CARD.marker_centre_mm[marker_id]))


def find_markers(codes: NDArray[np.uint8], to_linear: NDArray[np.float32]) -> MarkerCorners:
    """Detect the card's markers in an (M, N, 3) photo and refine their corners.

    ``to_linear`` maps the 256 grey codes to linear light: an edge's half-way point is only
    unbiased there. Detection runs on a small copy; markers that contradict the card's layout are
    dropped (a 4 x 4 marker is sometimes seen where there is none). Raises
    :class:`CardNotFoundError` when none is seen and :class:`TooFewMarkersError` when fewer than
    four agree.
    """
    step = max(1, round(max(codes.shape) / DETECT_WIDTH_PX))
    known = _detect(_shrink(codes, step))
    if not known:
        raise CardNotFoundError(
            "No marker of the card was found. Lay the coupon on the printed card and take in the "
            "whole card, in focus; check that the card is not mirrored."
        )
    kept = _agree_with_card(known)
    if len(kept) < MIN_MARKERS:
        raise TooFewMarkersError(
            f"{len(known)} of {len(CARD.marker_centre_mm)} markers were seen and {len(kept)} of "
            f"them agree with the card; at least {MIN_MARKERS} are needed. Uncover the card and "
            "take in all of it."
        )
    ids_kept = np.array([i for i, _ in kept], dtype=np.int64)
    card = np.stack([marker_corners_mm(i) for i, _ in kept])
    rough = np.stack([c for _, c in kept]) * step + (step - 1) / 2
    return _refine(codes, to_linear, ids_kept, card, rough)


def _shrink(codes: NDArray[np.uint8], step: int) -> NDArray[np.uint8]:
    """Mean grey of every ``step`` x ``step`` pixels, (M // step, N // step)."""
    rows, columns = (n // step for n in codes.shape[:2])
    small = np.empty((rows, columns), np.uint8)
    # In bands, in the same memory: fetching new pages would take as long as the work itself.
    grey = np.empty((BAND_ROWS * step, codes.shape[1]), np.uint8)
    mean = np.empty_like(grey)
    for top in range(0, rows, BAND_ROWS):
        band = codes[top * step :][: len(grey)]
        cv2.cvtColor(band, cv2.COLOR_RGB2GRAY, dst=grey[: len(band)])
        cv2.blur(grey[: len(band)], (step, step), dst=mean[: len(band)])
        part = small[top : top + BAND_ROWS]
        part[:] = mean[step // 2 :: step, step // 2 :: step][: len(part), :columns]
    return small


def _detect(grey: NDArray[np.uint8]) -> list[tuple[int, NDArray[np.float64]]]:
    """What looks like markers of the card: the id and corners (4, 2) of each."""
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, CARD.marker_dictionary))
    parameters = cv2.aruco.DetectorParameters()
    parameters.adaptiveThreshWinSizeMin, parameters.adaptiveThreshWinSizeMax = WINDOWS_PX
    found, ids, _ = cv2.aruco.ArucoDetector(dictionary, parameters).detectMarkers(grey)
    return [
        (int(i), np.asarray(c, np.float64).reshape(4, 2))
        for i, c in zip(np.ravel(ids) if ids is not None else [], found, strict=True)
        if int(i) < len(CARD.marker_centre_mm)
    ]


def _agree_with_card(
    known: list[tuple[int, NDArray[np.float64]]],
) -> list[tuple[int, NDArray[np.float64]]]:
    """The markers all of whose corners one homography of the card explains, one per id.

    By corners, not by centres: those of one row of markers lie on a line.
    """
    if len(known) < MIN_MARKERS:
        return []
    card = np.concatenate([marker_corners_mm(i) for i, _ in known])
    seen = np.concatenate([corners for _, corners in known])
    homography, inlier = cv2.findHomography(
        card, seen, cv2.RANSAC, LAYOUT_TOLERANCE_PX, maxIters=2000, confidence=0.9999
    )
    if homography is None:
        return []
    agreed: dict[int, NDArray[np.float64]] = {}
    placed = cv2.perspectiveTransform(card[None], homography).reshape(-1, 4, 2)
    for (i, corners), at, good in zip(known, placed, np.reshape(inlier, (-1, 4)), strict=True):
        off = float(np.abs(at - corners).max())
        side = float(np.linalg.norm(corners[1] - corners[0]))
        if good.all() and off < 2 * LAYOUT_TOLERANCE_PX + 0.1 * side:
            agreed.setdefault(i, corners)
    return list(agreed.items())


def _refine(
    codes: NDArray[np.uint8],
    to_linear: NDArray[np.float32],
    ids: NDArray[np.int64],
    card: NDArray[np.float64],
    rough: NDArray[np.float64],
) -> MarkerCorners:
    """Fit a line through the half-way points of each side's edge; corners are where they meet.

    Corner detectors pull corners of isolated squares inward by up to half a pixel; the half-way
    point of an edge in linear light is unbiased for any symmetric line spread (the slanted-edge
    idea of ISO 12233).
    """
    a, b = rough, np.roll(rough, -1, axis=1)  # (K, 4, 2): each side's ends
    along = b - a
    length = np.linalg.norm(along, axis=2, keepdims=True)
    along = along / length
    outward = np.stack([along[..., 1], -along[..., 0]], axis=2)
    t = np.linspace(0.12, 0.88, PROFILES_A_SIDE)
    foot = a[:, :, None] + (b - a)[:, :, None] * t[None, None, :, None]  # (K, 4, P, 2)
    reach = np.arange(-PROFILE_REACH_PX, PROFILE_REACH_PX + 1e-9, 1 / SAMPLES_A_PX)
    where = foot[..., None, :] + outward[:, :, None, None, :] * reach[:, None]
    flat = where.reshape(len(ids), -1, reach.size, 2).astype(np.float32)
    light = to_linear[np.concatenate([_sample_grey(codes, px) for px in flat])]
    edge, spread, good = _locate_edges(light, reach)
    shape = foot.shape[:3]
    edge, spread, good = edge.reshape(shape), spread.reshape(shape), good.reshape(shape)
    points = foot + outward[:, :, None] * edge[..., None]
    normal, offset, sound = _fit_lines(points, good)
    # A corner is where the side that ends there meets the one that begins there.
    both = np.stack([np.roll(normal, 1, axis=1), normal], axis=2)
    ends = np.stack([np.roll(offset, 1, axis=1), offset], axis=2)
    sharp = sound & np.roll(sound, 1, axis=1)
    meet = np.linalg.solve(np.where(sharp[..., None, None], both, np.eye(2)), ends[..., None])[
        ..., 0
    ]
    sharp &= np.linalg.norm(meet - rough, axis=2) < PROFILE_REACH_PX
    corners = np.where(sharp[..., None], meet, rough)
    blur = float(np.median(spread[good])) if good.any() else float("inf")
    return MarkerCorners(ids, card, corners, sharp, blur)


def _sample_grey(codes: NDArray[np.uint8], px: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Grey codes (P, Q) at ``px`` (P, Q, 2), at the border those of the nearest pixel."""
    x, y = cv2.split(px)
    left, top = max(int(x.min()) - 1, 0), max(int(y.min()) - 1, 0)
    around = codes[top : int(y.max()) + 3, left : int(x.max()) + 3]
    grey = cv2.cvtColor(around, cv2.COLOR_RGB2GRAY)
    seen = cv2.remap(grey, x - left, y - top, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(seen, np.uint8)


def _locate_edges(
    light: NDArray[np.float32], reach: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Half-way crossing and spread (SD, px) of dark-to-light edges; ``light`` is (P, R)."""
    dark = np.median(light[:, :5], axis=1, keepdims=True)
    bright = np.median(light[:, -5:], axis=1, keepdims=True)
    rise = bright - dark
    good = (rise[:, 0] > 0.03) & (rise[:, 0] > 0.25 * bright[:, 0])
    level = (light - dark) / np.where(rise > 0, rise, 1)
    clipped = np.clip(level, 0, 1)
    step = reach[1] - reach[0]
    # For a symmetric spread the crossing is the integral of what is not yet risen; local search
    # around the half-way crossing is less troubled by the far ends.
    crossing = _crossing(level, reach, 0.5)
    low, high = _crossing(level, reach, 0.1587), _crossing(level, reach, 0.8413)
    spread = (high - low) / 2
    good &= np.isfinite(crossing) & np.isfinite(spread) & (spread >= 0)
    good &= clipped.sum(axis=1) * step > 2.0
    return np.where(good, crossing, 0.0), np.where(good, spread, 0.0), good


def _crossing(
    level: NDArray[np.float64], reach: NDArray[np.float64], at: float
) -> NDArray[np.float64]:
    """Where each row of ``level`` last rises through ``at``, interpolated; NaN where never."""
    above = level >= at
    rises = above[:, 1:] & ~above[:, :-1]
    last = rises.shape[1] - 1 - np.argmax(rises[:, ::-1], axis=1)
    rows = np.arange(level.shape[0])
    low, high = level[rows, last], level[rows, last + 1]
    gap = np.where(high > low, high - low, 1.0)
    place = reach[last] + (at - low) / gap * (reach[1] - reach[0])
    return np.where(rises.any(axis=1), place, np.nan)


def _fit_lines(
    points: NDArray[np.float64], good: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Unit normals (..., 2) and offsets (...) of lines through points (..., P, 2).

    Outliers are dropped once; where too few are ``good`` (..., P), the third (...) is false.
    """
    sound = np.ones(good.shape[:-1], dtype=bool)
    for _ in range(2):
        count = good.sum(axis=-1, keepdims=True)
        sound &= count[..., 0] >= PROFILES_A_SIDE // 2
        share = (good / np.maximum(count, 1))[..., None]
        centre = (points * share).sum(axis=-2)
        away = points - centre[..., None, :]
        (xx, xy), (_, yy) = np.moveaxis(np.swapaxes(away * share, -1, -2) @ away, (-2, -1), (0, 1))
        # The principal axis of a 2 x 2 scatter in closed form.
        along = 0.5 * np.arctan2(2 * xy, xx - yy)
        normal = np.stack([-np.sin(along), np.cos(along)], axis=-1)
        off = np.abs((away * normal[..., None, :]).sum(axis=-1))
        ordered = np.sort(np.where(good, off, np.inf), axis=-1)
        middle = np.take_along_axis(ordered, np.minimum(count // 2, good.shape[-1] - 1), axis=-1)
        good = good & (off < np.maximum(0.3, 3 * middle))
    return normal, (normal * centre).sum(axis=-1), sound
