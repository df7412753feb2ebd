"""Fit the account of a photo's light to all that card and face show of it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from scoring.geometry import BLADE
from scoring.least_squares import SOFT, fit_robust
from scoring.registration.rectify import Placement
from scoring.shading.account import (
    FaceLine,
    Shading,
    trace_line,
    with_axis,
)
from scoring.shading.lamp import BAY_CENTRE_MM, irradiance, light_bay
from scoring.shading.layer_line import LayerLine, first_harmonic
from scoring.shading.paper import Paper
from scoring.shading.priors import (
    LINE_U_MM,
    SD_AZIMUTH_RAD,
    SD_BEAM,
    SD_LEAN,
    SD_LOG_COTANGENT,
    SD_LOG_DISTANCE,
    SD_LOG_LINE,
    SD_LOG_STRAY,
    SHARED,
    USUAL_BEAM,
    USUAL_COTANGENT,
    USUAL_DISTANCE_MM,
    USUAL_STRAY,
    begin_shared,
    misfit_shared,
    read_shared,
)
from scoring.shading.shadow import Shadow
from scoring.shading.surface import return_light

CHANNELS = 3

DARK_ALBEDO, SMOOTH, BETWEEN, ROUGH = 0.2, 0.35, 0.6, 0.8
"""Where the face is darker than so much of the paper (as coded) much of its light is gloss, and
facets and falloff often fit a rough one as well as a smooth one: two accounts, a third of a
ripple's size apart. Beside one whose roughness is on one side the other's is sought."""

LOG_ALBEDOS = (-12.0, 2.0)
"""A saturated colour's darkest channel says so little that a step may run off with it; nothing
hangs on it out there."""

ROUGHNESS = [prior.name for prior in SHARED].index("roughness")
LAMP, COMMON, EXPOSURE = 7, len(SHARED) + CHANNELS, CHANNELS
"""Parameters: of each lamp, of coupon and camera (``SHARED``, then the albedo), of each photo's
exposure; in that order."""


@dataclass(frozen=True)
class ShadedPaper:
    """Paper in the coupon's shadow: ``light`` (4,), red, green, blue and luma, ``sd`` (4,) of its
    logarithm, and ``off_axis`` as in :class:`Evidence`.
    """

    light: NDArray[np.float64]
    sd: NDArray[np.float64]
    off_axis: float


@dataclass(frozen=True)
class Evidence:
    """What is fitted: nominal linear light of bare paper and of B blocks of the face.

    ``paper`` may be empty, ``paper_sd`` (P, 4) is of the logarithm of its red, green, blue and
    luma, ``paper_walls`` (P,) the share of its view that the coupon's walls take; ``face_u_mm``
    (B,), ``face_slope`` (B,) the designed slope there, ``face`` (B, 4) and ``face_sd`` (B, 4) as of
    paper; ``paper_off_axis`` (P,) and ``face_off_axis`` (B,) are squared distances from the
    picture's middle, 1 at its corners; ``shadow``, ``shaded`` and ``layer_line`` if they were
    measured; ``azimuth_rad`` where the lamp seems to stand.
    """

    paper: Paper
    paper_sd: NDArray[np.float64]
    paper_walls: NDArray[np.float64]
    paper_off_axis: NDArray[np.float64]
    face_off_axis: NDArray[np.float64]
    face_u_mm: NDArray[np.float64]
    face_slope: NDArray[np.float64]
    face: NDArray[np.float64]
    face_sd: NDArray[np.float64]
    shadow: Shadow | None
    shaded: ShadedPaper | None
    layer_line: LayerLine | None
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

    ``ahead`` are V shadings in one, each a standard deviation away along a direction of its own,
    and ``behind`` as many on the other side; the last leads to another account that fits nearly as
    well, if there is one, and has no other side. Any number that hangs on the shading has the root
    sum of squares of its changes, each to the farther side, as its standard deviation.
    """

    shading: Shading
    ahead: Shading
    behind: Shading


def calibrate(
    evidence: Evidence, placement: Placement, camera_mm: NDArray[np.float64]
) -> Calibration:
    """Least squares over lamp, stray light, tone curve, filament, lens and walls, with priors.

    The paper (matt, of known place), the shadow and the paper in it tell lamp, stray light and
    exposure; the face's falloff and facets in three channels tell tone curve and gloss: the tone
    curve acts by code value, gloss is white and shifts with the view. ``camera_mm`` (3,) is the
    camera in card axes, z up.
    """
    return calibrate_together((Take(evidence, placement, camera_mm),))[0]


def calibrate_together(takes: Sequence[Take]) -> tuple[Calibration, ...]:
    """As :func:`calibrate`, for photos of one coupon by one camera; one calibration a photo.

    Filament, gloss and tone curve are one; lamp, stray light and exposure are each photo's own. The
    k-th steps of all photos are one step of the whole.
    """
    sides = [_Side.of(take) for take in takes]
    common_from = LAMP * len(takes)

    def unpack(p: NDArray[np.float64], k: int) -> Shading:
        lamp, common = p[..., LAMP * k :], p[..., common_from : common_from + COMMON]
        exposure = p[..., common_from + COMMON + EXPOSURE * k :][..., :EXPOSURE]
        return Shading(
            lamp_mm=sides[k].lamp_mm(lamp),
            stray=np.exp(lamp[..., 3]),
            beam=lamp[..., 4],
            lean=lamp[..., 5:7],
            albedo=np.exp(np.clip(common[..., len(SHARED) :], *LOG_ALBEDOS)),
            exposure=np.exp(exposure),
            **read_shared(common),
        )

    def misfit(p: NDArray[np.float64]) -> NDArray[np.float64]:
        off, priors = [], []
        for k, side in enumerate(sides):
            shading = unpack(p, k)
            off.append(side.misfit(shading))
            priors.append(side.priors(shading, p[..., LAMP * k :]))
        priors.append(misfit_shared(p[..., common_from:]))
        return np.concatenate([*off, *priors], axis=-1)

    albedo, levels = [], []
    for take in takes:
        paper = take.evidence.paper
        level = np.median(paper.light[:, :3], axis=0) if paper.enough else np.full(3, 0.8)
        levels.append(np.log(level))
        face = np.median(take.evidence.face[:, :3], axis=0)
        albedo.append(np.log(np.clip(face / level, 1e-3, None)))
    lamps = [[0.0, 0.0, 0.0, np.log(USUAL_STRAY), USUAL_BEAM, 0.0, 0.0] for _ in takes]
    begin = np.concatenate([*lamps, begin_shared(), np.mean(albedo, axis=0), *levels])
    priors = LAMP * len(takes) + len(SHARED)
    fit, covariance = fit_robust(misfit, begin, priors=priors)
    to_other = np.zeros_like(fit)
    if np.exp(np.mean(albedo, axis=0)).max() < DARK_ALBEDO:
        begin = fit.copy()
        roughness = common_from + ROUGHNESS
        begin[roughness] = np.log(ROUGH if fit[roughness] < np.log(BETWEEN) else SMOOTH)
        other, other_covariance = fit_robust(misfit, begin, priors=priors)
        farther = _cost(misfit(other), priors) - _cost(misfit(fit), priors)
        if farther < 0:
            fit, covariance, other = other, other_covariance, fit
        to_other = np.sqrt(special.expit(-abs(farther) / 2)) * (other - fit)
    values, directions = np.linalg.eigh(covariance)
    steps = (directions * np.sqrt(np.maximum(values, 0.0))).T
    ahead, behind = np.vstack([fit + steps, fit + to_other]), np.vstack([fit - steps, fit])
    return tuple(
        Calibration(unpack(fit, k), unpack(ahead, k), unpack(behind, k)) for k in range(len(takes))
    )


def _cost(misfit: NDArray[np.float64], priors: int) -> float:
    """Twice the negative logarithm of how likely residuals (R,) are, by the fit's own law.

    That is Cauchy's for data and the normal one for the last ``priors``.
    """
    data, of_priors = misfit[:-priors], misfit[-priors:]
    return float(SOFT**2 * np.log1p((data / SOFT) ** 2).sum() + of_priors @ of_priors)


@dataclass(frozen=True)
class _Side:
    """One photo's part of the problem: its evidence in logs, and what hangs on its lamp alone.

    ``paper_mm`` (P, 3) is the paper's places in card axes, ``paper_to_camera`` (P, 3) unit vectors.

    ``off_axis`` (M,), ``log_light`` (M, 4) and ``sd`` (M, 4) are of paper, face and shaded paper.
    """

    evidence: Evidence
    off_axis: NDArray[np.float64]
    log_light: NDArray[np.float64]
    sd: NDArray[np.float64]
    line: FaceLine
    middle: FaceLine
    far_end: NDArray[np.float64]
    paper_mm: NDArray[np.float64]
    paper_to_camera: NDArray[np.float64]

    @classmethod
    def of(cls, take: Take) -> "_Side":
        evidence, placement = take.evidence, take.placement
        shadow, shaded = evidence.shadow, evidence.shaded
        line = trace_line(placement, take.camera_mm, evidence.face_u_mm)
        edge_u = np.array(shadow.edge_u_mm if shadow else BLADE.length_mm)
        far_end = placement.card_mm(edge_u, np.array(BLADE.height_mm / 2))[:2]
        off_axis = [evidence.paper_off_axis, evidence.face_off_axis]
        light = [evidence.paper.light, evidence.face]
        sd = [evidence.paper_sd, evidence.face_sd]
        if shaded:
            off_axis.append(np.array([shaded.off_axis]))
            light.append(shaded.light[None])
            sd.append(shaded.sd[None])
        log_light = np.log(np.concatenate(light))
        paper_mm = np.pad(evidence.paper.card_mm, ((0, 0), (0, 1)))
        middle = trace_line(placement, take.camera_mm, np.array([LINE_U_MM]))
        return cls(
            evidence,
            np.concatenate(off_axis),
            log_light,
            np.concatenate(sd),
            line,
            middle,
            far_end,
            paper_mm,
            _unit(take.camera_mm - paper_mm),
        )

    def lamp_mm(self, lamp: NDArray[np.float64]) -> NDArray[np.float64]:
        shadow = self.evidence.shadow
        flat = USUAL_DISTANCE_MM * np.exp(lamp[..., 0])
        usual_cotangent = shadow.cotangent if shadow else USUAL_COTANGENT
        height = flat / (usual_cotangent * np.exp(lamp[..., 1])) + BLADE.thickness_mm
        azimuth = self.evidence.azimuth_rad + lamp[..., 2]
        x, y = BAY_CENTRE_MM[0] + flat * np.cos(azimuth), BAY_CENTRE_MM[1] + flat * np.sin(azimuth)
        return np.stack([x, y, height], axis=-1)

    def misfit(self, s: Shading) -> NDArray[np.float64]:
        evidence = self.evidence
        level = irradiance(s.lamp_mm[..., None, :], evidence.paper.card_mm)
        to_lamp = _unit(s.lamp_mm[..., None, :] - self.paper_mm)
        between = (to_lamp * self.paper_to_camera).sum(axis=-1)
        returned = return_light(between, to_lamp[..., 2], self.paper_to_camera[:, 2])
        level = level * s.sent(self.paper_mm) * (1 + with_axis(s.paper_returning) * returned)
        lamp = (level / with_axis(light_bay(s.lamp_mm)))[..., None]
        walls = evidence.paper_walls[:, None]
        bounce = with_axis(with_axis(s.bounce)) * s.albedo[..., None, :] * walls
        stray = with_axis(with_axis(s.stray)) * (1 - walls)
        paper = (lamp * (1 + bounce) + stray) * s.exposure[..., None, :]
        seen = [paper, s.channels(s.sight(self.line), evidence.face_slope)]
        if evidence.shaded:
            seen.append((with_axis(s.stray) * s.exposure)[..., None, :])
        light = np.concatenate(seen, axis=-2)
        coded = s.code_with_luma(light * np.exp(-with_axis(s.vignette) * self.off_axis)[..., None])
        off = (np.log(coded) - self.log_light) / self.sd
        flat = off.reshape(*off.shape[:-2], -1)
        return np.asarray(np.concatenate([flat, self.misfit_layers(s)], axis=-1))

    def misfit_layers(self, s: Shading) -> NDArray[np.float64]:
        """Of the layer line's contrast, (..., 1); without one there is nothing to fit: (..., 0)."""
        line = self.evidence.layer_line
        if line is None:
            return np.empty((*np.shape(s.stray), 0))
        across = s.code_with_luma(s.layers(s.sight(self.middle)))[..., 3]
        amplitude = line.passed * first_harmonic(across)
        off = np.log(np.maximum(amplitude, 1e-6) / line.amplitude) / SD_LOG_LINE
        return np.asarray(off[..., None])

    def priors(self, s: Shading, lamp: NDArray[np.float64]) -> NDArray[np.float64]:
        shadow = self.evidence.shadow
        flat = np.linalg.norm(s.lamp_mm[..., :2] - self.far_end, axis=-1)
        seen = flat / np.maximum(s.lamp_mm[..., 2] - BLADE.thickness_mm, 1.0)
        steep = (seen - shadow.cotangent) / shadow.sd if shadow else lamp[..., 1] / SD_LOG_COTANGENT
        stray = (lamp[..., 3] - np.log(USUAL_STRAY)) / SD_LOG_STRAY
        along, aside = lamp[..., 0] / SD_LOG_DISTANCE, lamp[..., 2] / SD_AZIMUTH_RAD
        beam, lean = (lamp[..., 4] - USUAL_BEAM) / SD_BEAM, lamp[..., 5:7] / SD_LEAN
        return np.stack([along, steep, aside, stray, beam, *np.moveaxis(lean, -1, 0)], axis=-1)


def _unit(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=-1, keepdims=True))
