"""One consistent account of lamp, tone curve, filament and gloss, from card and face together."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE, CARD
from scoring.least_squares import fit_robust
from scoring.registration.rectify import Placement
from scoring.shading.paper import Paper, bay_centre_mm
from scoring.shading.shadow import Shadow
from scoring.shading.surface import PAPER_ALBEDO, SEEN_SURROUND, Sight, gloss_light, matt_light
from scoring.shading.tone import bend, luma_light

SD_LOG_PAPER = 0.012
BOUNCE, BOUNCE_MM = 0.05, 10.0
"""How far the light of a bright coupon's walls raises the paper about it: on traced photos 4 % at
9 mm, 1 % at 25 mm."""

SD_LOG_DISTANCE = 0.4
SD_LOG_COTANGENT = 0.35
SD_AZIMUTH_RAD = 0.4
USUAL_CONTRAST, SD_CONTRAST = 0.18, 0.2
SD_LOG_POWER = 0.12
USUAL_VIGNETTE, SD_VIGNETTE = 0.03, 0.12
"""Phones correct most of what their lenses lose outwards; others lose a third in the corners."""

LAMP, SHARED, EXPOSURE = 4, 8, 3
"""Parameters: of each lamp, of coupon and camera, of each photo's exposure; in that order."""

SHARED_PRIORS = 5
"""Tone curve, gloss and vignette; every parameter of a lamp has a prior besides."""

BAY_CENTRE_MM = np.append(bay_centre_mm(), 0.0)
USUAL_DISTANCE_MM, USUAL_COTANGENT = 500.0, 2.75
"""Where the lamp is looked for first: 20 degrees up, as the card asks."""

USUAL_STRAY, SD_LOG_STRAY = 0.06, 0.6
USUAL_STRENGTH, SD_LOG_STRENGTH = 0.036, 0.3
USUAL_ROUGHNESS, SD_LOG_ROUGHNESS = 0.45, 0.35


@dataclass(frozen=True)
class Evidence:
    """What is fitted: nominal linear light of bare paper and of B blocks of the face.

    ``paper`` may be empty; ``face_u_mm`` (B,), ``face_slope`` (B,) the designed slope there,
    ``face`` (B, 4) red, green, blue and luma, ``face_sd`` (B, 4) of its logarithm;
    ``paper_off_axis`` (P,) and ``face_off_axis`` (B,) are squared distances from the picture's
    middle, 1 at its corners; ``shadow`` if one was measured; ``azimuth_rad`` where the lamp seems
    to stand.
    """

    paper: Paper
    paper_off_axis: NDArray[np.float64]
    face_off_axis: NDArray[np.float64]
    face_u_mm: NDArray[np.float64]
    face_slope: NDArray[np.float64]
    face: NDArray[np.float64]
    face_sd: NDArray[np.float64]
    shadow: Shadow | None
    azimuth_rad: float


@dataclass(frozen=True)
class Take:
    """A photo's evidence, how the coupon lies, and the camera (3,) in card axes, z up."""

    evidence: Evidence
    placement: Placement
    camera_mm: NDArray[np.float64]


@dataclass(frozen=True)
class Calibration:
    """The best account, and its doubt.

    ``variants`` are shadings one standard deviation away along independent directions: any number
    that hangs on the shading has, to first order, the root sum of squares of its changes as its
    standard deviation.
    """

    shading: "Shading"
    variants: tuple["Shading", ...]


@dataclass(frozen=True)
class FaceLine:
    """N places on the face: ``at_mm`` (N, 3) in card axes, z up.

    ``axes`` (3, 3) has the face's u, w and outward unit vectors as rows; ``to_camera`` (N, 3) are
    unit vectors in these.
    """

    at_mm: NDArray[np.float64]
    axes: NDArray[np.float64]
    to_camera: NDArray[np.float64]


@dataclass(frozen=True)
class Shading:
    """The fitted account.

    ``lamp_mm`` (3,) in card axes, z up; ``stray`` light over the lamp's on the bay's centre;
    ``contrast`` and ``power`` of the tone curve as in :func:`bend`; ``strength`` and ``roughness``
    of the gloss as in :func:`gloss_light`; ``albedo`` (3,) over paper's; ``exposure`` (3,) the
    linear light of paper at the bay's centre under the lamp alone; ``vignette`` the logarithm of
    light that the lens loses in the picture's corners.
    """

    lamp_mm: NDArray[np.float64]
    stray: float
    contrast: float
    strength: float
    roughness: float
    albedo: NDArray[np.float64]
    exposure: NDArray[np.float64]
    power: float = 1.0
    vignette: float = 0.0

    def code(self, light: NDArray[np.float64]) -> NDArray[np.float64]:
        """``light`` as a standard reader takes it from the file: the camera's tone curve."""
        return bend(light, self.contrast, self.power)

    def sight(self, line: FaceLine) -> Sight:
        """Directions to lamp and camera, and the lamp's irradiance, along ``line``."""
        to_lamp = (self.lamp_mm - line.at_mm) @ line.axes.T
        distance = np.sqrt(np.einsum("nk,nk->n", to_lamp, to_lamp))
        return Sight(
            to_lamp / distance[:, None], line.to_camera, 1 / distance**2 / _level(self.lamp_mm)
        )

    def channels(self, sight: Sight, slope: NDArray[np.float64]) -> NDArray[np.float64]:
        """True linear light of the face, (..., N, 3), for ``slope`` (..., N)."""
        return self.mix(*self.reflect(sight, slope))

    def reflect(
        self, sight: Sight, slope: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """The lamp's light that comes back matt from a white face, and glossy, (..., N) each."""
        matt = matt_light(sight, slope, roughness=self.roughness)
        gloss = gloss_light(sight, slope, roughness=self.roughness, strength=self.strength)
        return sight.irradiance * matt, sight.irradiance * gloss

    def mix(self, matt: NDArray[np.float64], gloss: NDArray[np.float64]) -> NDArray[np.float64]:
        """Linear light (..., N, 3) of what :meth:`reflect` gives, in the filament's colour."""
        lamp = matt[..., None] * self.albedo + gloss[..., None]
        mirrored = self.albedo + self.strength / PAPER_ALBEDO
        return np.asarray((lamp + SEEN_SURROUND * self.stray * mirrored) * self.exposure)


def trace_line(
    placement: Placement, camera_mm: NDArray[np.float64], u_mm: NDArray[np.float64]
) -> FaceLine:
    """The face's middle line at ``u_mm`` (N,), seen from ``camera_mm`` (3,), card axes, z up."""
    at = placement.card_mm(u_mm, np.full_like(u_mm, BLADE.height_mm / 2)) * np.array([1, 1, -1])
    cos, sin = np.cos(placement.turn_rad), np.sin(placement.turn_rad)
    axes = np.array([[cos, sin, 0], [sin, -cos, 0], [0, 0, 1]])
    to_camera = (camera_mm - at) @ axes.T
    return FaceLine(at, axes, to_camera / np.linalg.norm(to_camera, axis=1, keepdims=True))


def calibrate(
    evidence: Evidence, placement: Placement, camera_mm: NDArray[np.float64]
) -> Calibration:
    """Least squares over lamp place, stray light, tone contrast, gloss and albedo, with priors.

    The paper (matt, of known place) and the shadow tell lamp and exposure; the face's falloff and
    facets in three channels tell tone curve and gloss: the tone curve acts by code value, gloss is
    white and shifts with the view. ``camera_mm`` (3,) is the camera in card axes, z up.
    """
    return calibrate_together((Take(evidence, placement, camera_mm),))[0]


def calibrate_together(takes: Sequence[Take]) -> tuple[Calibration, ...]:
    """As :func:`calibrate`, for photos of one coupon by one camera; one calibration a photo.

    Filament, gloss and tone curve are one; lamp, stray light and exposure are each photo's own. The
    k-th variants of all photos are one step of the whole.
    """
    sides = [_Side.of(take) for take in takes]
    # Most derivatives are by what changes neither lamp nor gloss: colour, exposure, stray light.
    reflect = [lru_cache(maxsize=8)(side.reflect) for side in sides]
    shared = LAMP * len(takes)

    def unpack(p: NDArray[np.float64], k: int) -> Shading:
        lamp, common = p[LAMP * k :], p[shared : shared + SHARED]
        exposure = p[shared + SHARED + EXPOSURE * k :][:EXPOSURE]
        return Shading(
            lamp_mm=sides[k].lamp_mm(lamp),
            stray=float(np.exp(lamp[3])),
            contrast=float(common[0]),
            strength=float(np.exp(common[1])),
            roughness=float(np.clip(np.exp(common[2]), 0.15, 0.95)),
            albedo=np.exp(common[5:]),
            exposure=np.exp(exposure),
            power=float(np.exp(common[3])),
            vignette=float(common[4]),
        )

    def misfit(p: NDArray[np.float64]) -> NDArray[np.float64]:
        common = p[shared:]
        off, priors = [], []
        for k, side in enumerate(sides):
            shading = unpack(p, k)
            lit_by = (tuple(shading.lamp_mm.tolist()), shading.strength, shading.roughness)
            off += side.misfit(shading, *reflect[k](*lit_by))
            priors += side.priors(shading, p[LAMP * k :])
        priors += [
            (common[0] - USUAL_CONTRAST) / SD_CONTRAST,
            (common[1] - np.log(USUAL_STRENGTH)) / SD_LOG_STRENGTH,
            (common[2] - np.log(USUAL_ROUGHNESS)) / SD_LOG_ROUGHNESS,
            common[3] / SD_LOG_POWER,
            (common[4] - USUAL_VIGNETTE) / SD_VIGNETTE,
        ]
        return np.concatenate([*off, priors])

    albedo, levels = [], []
    for take in takes:
        paper = take.evidence.paper
        level = np.median(paper.light, axis=0) if paper.enough else np.full(3, 0.8)
        levels.append(np.log(level))
        face = np.median(take.evidence.face[:, :3], axis=0)
        albedo.append(np.log(np.clip(face / level, 1e-3, None)))
    gloss = [USUAL_CONTRAST, np.log(USUAL_STRENGTH), np.log(USUAL_ROUGHNESS), 0.0, USUAL_VIGNETTE]
    lamps = [[0.0, 0.0, 0.0, np.log(USUAL_STRAY)] for _ in takes]
    begin = np.concatenate([*lamps, gloss, np.mean(albedo, axis=0), *levels])
    fit, covariance = fit_robust(misfit, begin, priors=LAMP * len(takes) + SHARED_PRIORS)
    values, directions = np.linalg.eigh(covariance)
    steps = (directions * np.sqrt(np.maximum(values, 0.0))).T
    return tuple(
        Calibration(unpack(fit, k), tuple(unpack(fit + step, k) for step in steps))
        for k in range(len(takes))
    )


@dataclass(frozen=True)
class _Side:
    """One photo's part of the problem: its evidence in logs, and what hangs on its lamp alone."""

    evidence: Evidence
    paper: NDArray[np.float64]
    paper_sd: NDArray[np.float64]
    face: NDArray[np.float64]
    line: FaceLine
    far_end: NDArray[np.float64]

    @classmethod
    def of(cls, take: Take) -> "_Side":
        evidence, placement = take.evidence, take.placement
        shadow = evidence.shadow
        line = trace_line(placement, take.camera_mm, evidence.face_u_mm)
        edge_u = np.array(shadow.edge_u_mm if shadow else BLADE.length_mm)
        far_end = placement.card_mm(edge_u, np.array(BLADE.height_mm / 2))[:2]
        paper = evidence.paper
        bounce = BOUNCE * np.exp(-_from_bay_mm(paper.card_mm) / BOUNCE_MM)
        paper_sd = np.hypot(SD_LOG_PAPER, bounce)[:, None]
        return cls(evidence, np.log(paper.light), paper_sd, np.log(evidence.face), line, far_end)

    def lamp_mm(self, lamp: NDArray[np.float64]) -> NDArray[np.float64]:
        shadow = self.evidence.shadow
        flat = USUAL_DISTANCE_MM * np.exp(lamp[0])
        usual_cotangent = shadow.cotangent if shadow else USUAL_COTANGENT
        height = flat / (usual_cotangent * np.exp(lamp[1])) + BLADE.thickness_mm
        azimuth = self.evidence.azimuth_rad + lamp[2]
        along = flat * np.array([np.cos(azimuth), np.sin(azimuth)])
        return np.array([*(BAY_CENTRE_MM[:2] + along), height])

    def reflect(
        self, lamp_mm: tuple[float, ...], strength: float, roughness: float
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """:meth:`Shading.reflect` of the blocks, from all that it hangs on."""
        white = np.ones(3)
        s = Shading(np.array(lamp_mm), 0.0, 0.0, strength, roughness, white, white)
        return s.reflect(s.sight(self.line), self.evidence.face_slope)

    def misfit(
        self, s: Shading, matt: NDArray[np.float64], gloss: NDArray[np.float64]
    ) -> list[NDArray[np.float64]]:
        away = s.lamp_mm[:2] - self.evidence.paper.card_mm
        radius2 = (away**2).sum(axis=1) + s.lamp_mm[2] ** 2
        level = s.lamp_mm[2] / radius2**1.5 / _level(s.lamp_mm)
        paper_light = (level + s.stray)[:, None] * s.exposure
        paper_light *= np.exp(-s.vignette * self.evidence.paper_off_axis)[:, None]
        face = s.mix(matt, gloss) * np.exp(-s.vignette * self.evidence.face_off_axis)[:, None]
        channels = s.code(face)
        face_light = np.concatenate([channels, luma_light(channels)[:, None]], axis=1)
        off_paper = (np.log(s.code(paper_light)) - self.paper) / self.paper_sd
        off_face = (np.log(face_light) - self.face) / self.evidence.face_sd
        return [off_paper.ravel(), off_face.ravel()]

    def priors(self, s: Shading, lamp: NDArray[np.float64]) -> list[float]:
        shadow = self.evidence.shadow
        flat = float(np.linalg.norm(s.lamp_mm[:2] - self.far_end))
        seen = flat / max(float(s.lamp_mm[2]) - BLADE.thickness_mm, 1.0)
        return [
            lamp[0] / SD_LOG_DISTANCE,
            (seen - shadow.cotangent) / shadow.sd if shadow else lamp[1] / SD_LOG_COTANGENT,
            lamp[2] / SD_AZIMUTH_RAD,
            (lamp[3] - np.log(USUAL_STRAY)) / SD_LOG_STRAY,
        ]


def _from_bay_mm(card_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far places (P, 2) lie outside the bay, (P,)."""
    half = np.array(CARD.bay_size_mm) / 2
    return np.asarray(np.hypot(*np.maximum(np.abs(card_mm - bay_centre_mm()) - half, 0.0).T))


def _level(lamp_mm: NDArray[np.float64]) -> float:
    """The lamp's irradiance on level paper at the bay's centre, in 1/mm^2 of unit intensity."""
    away = lamp_mm - BAY_CENTRE_MM
    return float(lamp_mm[2] / (away @ away) ** 1.5)
