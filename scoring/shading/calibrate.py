"""One consistent account of lamp, tone curve, filament and gloss, from card and face together."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from scoring.geometry import BLADE, CARD
from scoring.registration.rectify import Placement
from scoring.shading.shadow import Shadow
from scoring.shading.surface import Sight, gloss_light, matt_light
from scoring.shading.tone import bend

SD_LOG_PAPER = 0.02
SD_LOG_FACE = 0.006
SD_LOG_DISTANCE = 0.4
SD_LOG_COTANGENT = 0.35
SD_AZIMUTH = 0.4
SD_CONTRAST = 0.25
USUAL_DISTANCE_MM = 500.0
USUAL_STRAY, SD_LOG_STRAY = 0.06, 0.6
USUAL_STRENGTH, SD_LOG_STRENGTH = 0.036, 0.3
USUAL_ROUGHNESS, SD_LOG_ROUGHNESS = 0.45, 0.35


@dataclass(frozen=True)
class Evidence:
    """What is fitted: nominal linear light of bare paper and of face blocks, three channels.

    ``paper_mm`` (P, 2) card places, ``paper`` (P, 3); ``face_u_mm`` (B,), ``face_slope`` (B,) the
    slope there, ``face`` (B, 3), ``face_sd`` (B,) of its logarithm; ``shadow`` if one was measured.
    """

    paper_mm: NDArray[np.float64]
    paper: NDArray[np.float64]
    face_u_mm: NDArray[np.float64]
    face_slope: NDArray[np.float64]
    face: NDArray[np.float64]
    face_sd: NDArray[np.float64]
    shadow: Shadow | None
    azimuth_rad: float


@dataclass(frozen=True)
class Shading:
    """The fitted account. ``lamp_mm`` (3,) in card axes, z up; ``albedo`` (3,) over paper's."""

    lamp_mm: NDArray[np.float64]
    stray: float
    contrast: float
    strength: float
    roughness: float
    albedo: NDArray[np.float64]
    exposure: NDArray[np.float64]
    placement: Placement
    camera_mm: NDArray[np.float64]
    residual: float

    def sight(self, u_mm: NDArray[np.float64]) -> Sight:
        """Directions from the face's middle line at ``u_mm`` (N,)."""
        return sight_at(self.lamp_mm, self.camera_mm, self.placement, u_mm)

    def light(
        self, sight: Sight, slope: NDArray[np.float64], mix: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """True linear light of the face for ``slope`` (..., N), channels mixed by ``mix`` (3,)."""
        matt = matt_light(sight, slope, roughness=self.roughness)
        gloss = gloss_light(sight, slope, roughness=self.roughness, strength=self.strength)
        weights = mix * self.exposure
        albedo = float(weights @ self.albedo)
        lamp = sight.irradiance * (albedo * matt + float(weights.sum()) * gloss)
        return np.asarray(lamp + albedo * self.stray)


def sight_at(
    lamp_mm: NDArray[np.float64],
    camera_mm: NDArray[np.float64],
    placement: Placement,
    u_mm: NDArray[np.float64],
) -> Sight:
    """Directions to lamp and camera from the face's middle line, in face axes."""
    at = placement.card_mm(u_mm, np.full_like(u_mm, BLADE.height_mm / 2)) * np.array([1, 1, -1])
    cos, sin = np.cos(placement.turn_rad), np.sin(placement.turn_rad)
    axes = np.array([[cos, sin, 0], [sin, -cos, 0], [0, 0, 1]])
    to_lamp = (lamp_mm - at) @ axes.T
    to_camera = (camera_mm - at) @ axes.T
    distance = np.linalg.norm(to_lamp, axis=1, keepdims=True)
    return Sight(
        to_lamp / distance,
        to_camera / np.linalg.norm(to_camera, axis=1, keepdims=True),
        1 / distance[:, 0] ** 2 / _level(lamp_mm),
    )


def calibrate(evidence: Evidence, placement: Placement, camera_mm: NDArray[np.float64]) -> Shading:
    """Least squares over lamp place, stray light, tone contrast, gloss and albedo, with priors.

    The paper (matt, of known place) and the shadow tell lamp and exposure; the face's falloff and
    facets in three channels tell tone curve and gloss: the tone curve acts by code value, gloss is
    white and shifts with the view. ``camera_mm`` (3,) is the camera in card axes, z up.
    """
    paper, face = np.log(evidence.paper), np.log(evidence.face)
    shadow = evidence.shadow
    far_end = placement.card_mm(np.array(BLADE.length_mm), np.array(BLADE.height_mm / 2))[:2]
    bay = _bay_centre()
    usual_cotangent = shadow.cotangent if shadow else 2.75

    def unpack(p: NDArray[np.float64]) -> Shading:
        flat = USUAL_DISTANCE_MM * np.exp(p[0])
        height = flat / (usual_cotangent * np.exp(p[1])) + BLADE.thickness_mm
        azimuth = evidence.azimuth_rad + p[2]
        lamp = np.array([*(bay + flat * np.array([np.cos(azimuth), np.sin(azimuth)])), height])
        return Shading(
            lamp_mm=lamp,
            stray=float(np.exp(p[3])),
            contrast=float(p[4]),
            strength=float(np.exp(p[5])),
            roughness=float(np.clip(np.exp(p[6]), 0.15, 0.95)),
            albedo=np.exp(p[7:10]),
            exposure=np.exp(p[10:13]),
            placement=placement,
            camera_mm=camera_mm,
            residual=0.0,
        )

    def misfit(p: NDArray[np.float64]) -> NDArray[np.float64]:
        s = unpack(p)
        away = s.lamp_mm[:2] - evidence.paper_mm
        radius2 = (away**2).sum(axis=1) + s.lamp_mm[2] ** 2
        level = s.lamp_mm[2] / radius2**1.5 / _level(s.lamp_mm)
        paper_light = (level + s.stray)[:, None] * s.exposure
        sight = s.sight(evidence.face_u_mm)
        channels = [s.light(sight, evidence.face_slope, unit) for unit in np.eye(3)]
        face_light = np.stack(channels, axis=1)
        off_paper = (np.log(bend(paper_light, s.contrast)) - paper) / SD_LOG_PAPER
        off_face = (np.log(bend(face_light, s.contrast)) - face) / evidence.face_sd[:, None]
        flat = float(np.linalg.norm(s.lamp_mm[:2] - far_end))
        seen = flat / max(float(s.lamp_mm[2]) - BLADE.thickness_mm, 1.0)
        height_prior = (seen - shadow.cotangent) / shadow.sd if shadow else p[1] / SD_LOG_COTANGENT
        priors = [
            p[0] / SD_LOG_DISTANCE,
            height_prior,
            p[2] / SD_AZIMUTH,
            (p[3] - np.log(USUAL_STRAY)) / SD_LOG_STRAY,
            p[4] / SD_CONTRAST,
            (p[5] - np.log(USUAL_STRENGTH)) / SD_LOG_STRENGTH,
            (p[6] - np.log(USUAL_ROUGHNESS)) / SD_LOG_ROUGHNESS,
        ]
        return np.concatenate([off_paper.ravel(), off_face.ravel(), priors])

    level = np.median(evidence.paper, axis=0)
    albedo = np.clip(np.median(evidence.face, axis=0) / level, 1e-3, None)
    begin = np.concatenate(
        [
            [
                0.0,
                0.0,
                0.0,
                np.log(USUAL_STRAY),
                0.0,
                np.log(USUAL_STRENGTH),
                np.log(USUAL_ROUGHNESS),
            ],
            np.log(albedo),
            np.log(level),
        ]
    )
    fit = least_squares(misfit, begin, loss="soft_l1", f_scale=2.0)
    off = misfit(fit.x)[evidence.paper.size : evidence.paper.size + evidence.face.size]
    sd = np.repeat(evidence.face_sd, 3)
    best = unpack(fit.x)
    return Shading(**{**vars(best), "residual": float(np.sqrt(np.mean((off * sd) ** 2)))})


def _level(lamp_mm: NDArray[np.float64]) -> float:
    """The lamp's irradiance on level paper at the bay's centre, in 1/mm^2 of unit intensity."""
    away = lamp_mm[:2] - _bay_centre()
    return float(lamp_mm[2] / ((away**2).sum() + lamp_mm[2] ** 2) ** 1.5)


def _bay_centre() -> NDArray[np.float64]:
    return np.array(CARD.bay_origin_mm) + np.array(CARD.bay_size_mm) / 2
