"""Where the lamp stands and how much light is stray, from the card's white paper."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from scoring.geometry import BLADE, CARD
from scoring.photo.opencv import cv2
from scoring.photo.photo import Photo
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement, sample
from scoring.shading.shadow import Shadow, find_shadow

STEP_MM = 4.0
PATCH_MM = 1.2
CLEAR_OF_BAY_MM = 9.0
PRIOR_DISTANCE_MM, SD_LOG_DISTANCE = 520.0, 0.45
SD_LOG_ELEVATION = 0.35
SD_EXPONENT = 0.12
SD_PAPER = 0.01
FULL_CODE_SHARE = 0.97


@dataclass(frozen=True)
class Lamp:
    """The lamp as a point over the card, and the stray light.

    ``place_mm`` (3,) is x right, y down, and height above the card; ``stray`` is the diffuse
    light's irradiance at the bay's centre over the lamp's there; ``sd_log_distance`` is the
    relative uncertainty of its distance; ``residual`` the RMS of log paper brightness.
    """

    place_mm: tuple[float, float, float]
    stray: float
    sd_log_distance: float
    residual: float

    def cotangent(self, placement: Placement, u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Horizontal over vertical distance to the lamp, seen along -u, (N,); signed.

        Positive where the lamp stands toward smaller u.
        """
        away, height = self._seen(placement, u_mm)
        return np.asarray(away[:, 0] / height)

    def irradiance(self, placement: Placement, u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """The lamp's irradiance on the level face along u over that at the bay's centre, (N,)."""
        away, height = self._seen(placement, u_mm)
        return np.asarray(height / (away**2).sum(axis=1) ** 1.5) / _irradiance_at_bay(
            np.array(self.place_mm)
        )

    def _seen(
        self, placement: Placement, u_mm: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], float]:
        """Vectors (N, 3) from the lamp's side: along u, along w, up; and the height over the face."""
        middle = np.full_like(u_mm, BLADE.height_mm / 2)
        card = placement.card_mm(u_mm, middle)[:, :2]
        height = self.place_mm[2] - BLADE.thickness_mm
        cos, sin = np.cos(placement.turn_rad), np.sin(placement.turn_rad)
        to_lamp = np.array(self.place_mm[:2]) - card
        along_u = to_lamp @ np.array([cos, sin])
        along_w = -(to_lamp @ np.array([-sin, cos]))
        return np.stack([-along_u, along_w, np.full_like(u_mm, height)], axis=1), height


def find_lamp(photo: Photo, pose: Pose, placement: Placement, *, side: str) -> Lamp:
    """Fit stray + P h / r^3 to the brightness of the card's bare paper.

    ``side`` is where the lamp is expected, "left" or "top" on the upright card; it only sets the
    fit's start. White paper is matt and its place is known; the falloff's direction and bend tell
    where the lamp stands, and the coupon's shadow tells how high. A camera's tone curve near white
    is allowed for by an exponent near 1. Never fails: with too little bare paper, what comes back is the usual place with the usual
    doubt.
    """
    places, light = _paper(photo, pose)
    start = _usual_place(side)
    if len(places) < 30:
        return Lamp(tuple(start), 0.06, SD_LOG_DISTANCE, 1.0)
    target = np.log(light)
    bay = _bay_centre()

    def unpack(p: NDArray[np.float64]) -> tuple[NDArray[np.float64], float, float]:
        radius = PRIOR_DISTANCE_MM * np.exp(p[0])
        elevation = np.deg2rad(20.0) * np.exp(p[1])
        azimuth = p[2] + (np.pi if side == "left" else -np.pi / 2)
        flat = radius * np.cos(elevation)
        place = np.array(
            [
                bay[0] + flat * np.cos(azimuth),
                bay[1] + flat * np.sin(azimuth),
                radius * np.sin(elevation),
            ]
        )
        return place, float(np.exp(p[3])), float(p[4])

    def log_paper(p: NDArray[np.float64], at: NDArray[np.float64]) -> NDArray[np.float64]:
        place, stray, exponent = unpack(p)
        radius2 = ((place[:2] - at) ** 2).sum(axis=-1) + place[2] ** 2
        lamp = place[2] / radius2**1.5 / _irradiance_at_bay(place)
        return np.asarray(exponent * np.log(lamp + stray) + p[5])

    shadow: Shadow | None = None
    far_end = placement.card_mm(np.array(BLADE.length_mm), np.array(BLADE.height_mm / 2))[:2]

    def misfit(p: NDArray[np.float64]) -> NDArray[np.float64]:
        place, _, exponent = unpack(p)
        off = (log_paper(p, places) - target) / SD_PAPER
        prior = [
            p[0] / SD_LOG_DISTANCE,
            p[1] / SD_LOG_ELEVATION,
            p[2] / 0.4,
            (p[3] - np.log(0.06)) / 0.7,
            (exponent - 1) / SD_EXPONENT,
        ]
        if shadow is not None:
            flat = float(np.linalg.norm(place[:2] - far_end))
            cotangent = flat / max(place[2] - BLADE.thickness_mm, 1.0)
            prior.append((cotangent - shadow.cotangent) / shadow.sd)
        return np.concatenate([off, prior])

    begin = np.array([0.0, 0.0, 0.0, np.log(0.06), 1.0, float(np.median(target))])
    fit = least_squares(misfit, begin, loss="soft_l1", f_scale=2.0)
    place, stray, _ = unpack(fit.x)
    azimuth = float(np.arctan2(*(place[:2] - bay)[::-1]))
    begun = fit.x

    def paper(at: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.exp(log_paper(begun, at)))

    shadow = find_shadow(photo, pose, placement, azimuth, paper)
    if shadow is not None:
        fit = least_squares(misfit, fit.x, loss="soft_l1", f_scale=2.0)
        place, stray, _ = unpack(fit.x)
    residual = misfit(fit.x)[: len(places)] * SD_PAPER
    rms = float(1.4826 * np.median(np.abs(residual)))
    spread = np.linalg.pinv(fit.jac.T @ fit.jac) * max(1.0, (rms / SD_PAPER) ** 2)
    return Lamp(
        (float(place[0]), float(place[1]), float(place[2])),
        stray,
        float(min(np.sqrt(spread[0, 0]), SD_LOG_DISTANCE)),
        rms,
    )


def _irradiance_at_bay(place: NDArray[np.float64]) -> float:
    away = place[:2] - _bay_centre()
    return float(place[2] / ((away**2).sum() + place[2] ** 2) ** 1.5)


def _bay_centre() -> NDArray[np.float64]:
    return np.array(CARD.bay_origin_mm) + np.array(CARD.bay_size_mm) / 2


def _usual_place(side: str) -> tuple[float, float, float]:
    elevation = np.deg2rad(20.0 if side == "left" else 35.0)
    flat, up = PRIOR_DISTANCE_MM * np.cos(elevation), PRIOR_DISTANCE_MM * np.sin(elevation)
    x, y = _bay_centre()
    return (x - flat, y, up) if side == "left" else (x, y - flat, up)


def _paper(photo: Photo, pose: Pose) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Card places (P, 2) of bare, unclipped paper and their green light (P,)."""
    x = np.arange(STEP_MM, CARD.size_mm[0], STEP_MM)
    y = np.arange(STEP_MM, CARD.size_mm[1], STEP_MM)
    places = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    places = places[_bare(places)]
    offsets = np.linspace(-PATCH_MM / 2, PATCH_MM / 2, 5)
    patch = np.stack(np.meshgrid(offsets, offsets), axis=-1).reshape(-1, 2)
    points = places[:, None] + patch[None]
    flat = np.concatenate([points, np.zeros((*points.shape[:2], 1))], axis=2)
    px = pose.project(flat).astype(np.float32)
    inside = np.all((px > 1) & (px < np.array(photo.pixels.shape[1::-1]) - 2), axis=(1, 2))
    places, px = places[inside], px[inside]
    codes = np.asarray(sample(np.ascontiguousarray(photo.pixels[..., 1]), px))
    full = FULL_CODE_SHARE * photo.clip_level
    usable = codes.max(axis=1) < full
    light = photo.to_linear[:, 1][codes[usable]]
    return places[usable], np.median(light, axis=1).astype(np.float64) + 1e-6


def _bare(places: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which card places carry no print, no coupon and, for lamps at the left or top, no shadow."""
    bare = np.ones(len(places), dtype=bool)
    half = CARD.marker_side_mm / 2 + 1.5
    for centre in CARD.marker_centre_mm:
        bare &= np.abs(places - np.array(centre)).max(axis=1) > half
    boxes = (
        (CARD.bay_origin_mm, CARD.bay_size_mm, CLEAR_OF_BAY_MM),
        (CARD.label_origin_mm, CARD.label_size_mm, 3.0),
        (CARD.wedge_origin_mm, (CARD.wedge_patch_mm[0] * 8, CARD.wedge_patch_mm[1]), 2.0),
        (CARD.ruler_origin_mm, (CARD.ruler_length_mm, 6.0), 4.0),
    )
    for origin, size, margin in boxes:
        low = np.array(origin) - margin
        high = np.array(origin) + np.array(size) + margin
        bare &= ~np.all((places > low) & (places < high), axis=1)
    bay_right = CARD.bay_origin_mm[0] + CARD.bay_size_mm[0]
    bay_top = CARD.bay_origin_mm[1]
    shadow_right = (places[:, 0] > bay_right) & (
        np.abs(places[:, 1] - bay_top - CARD.bay_size_mm[1] / 2) < 26
    )
    return bare & ~shadow_right
