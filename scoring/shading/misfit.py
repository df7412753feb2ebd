"""How far an account is from what one photo shows of card and face."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.shading.account import FaceLine, Shading, trace_line, with_axis
from scoring.shading.evidence import Evidence, Take
from scoring.shading.lamp import BAY_CENTRE_MM, irradiance, light_bay
from scoring.shading.layer_line import first_harmonic
from scoring.shading.priors import (
    LINE_U_MM,
    SD_AZIMUTH_RAD,
    SD_BEAM,
    SD_LEAN,
    SD_LOG_COTANGENT,
    SD_LOG_DISTANCE,
    SD_LOG_LINE,
    SD_LOG_STRAY,
    USUAL_BEAM,
    USUAL_COTANGENT,
    USUAL_DISTANCE_MM,
    USUAL_STRAY,
)
from scoring.shading.surface import Sight, gloss_light, return_light

VARNISH_ROUGHNESS, VARNISH_STRENGTH = 0.5, 0.04
"""A varnish over the ink, as of most plastics; only how it changes over the card matters."""

LEAST_LIGHT = 1e-6
"""No step of a fit makes ink darker: of light below zero there is no logarithm."""


@dataclass(frozen=True)
class PhotoMisfit:
    """One photo's part of the problem: its evidence in logs, and what hangs on its lamp alone.

    ``card_mm`` (C, 3) is the places of paper, then, at ``ink``, of ink, in card axes,
    ``card_to_camera`` (C, 3) unit vectors, ``walls`` (C,) the share of their view that the coupon's
    walls take and ``shine`` (K, 1) what the ink's gloss would return as a varnish's, in shares of
    the lamp's light on paper. ``off_axis`` (M,), ``log_light`` (M, 4) and ``sd`` (M, 4) are of
    card, face and shaded paper.
    """

    evidence: Evidence
    off_axis: NDArray[np.float64]
    log_light: NDArray[np.float64]
    sd: NDArray[np.float64]
    line: FaceLine
    middle: FaceLine
    far_end: NDArray[np.float64]
    card_mm: NDArray[np.float64]
    card_to_camera: NDArray[np.float64]
    walls: NDArray[np.float64]
    ink: slice
    shine: NDArray[np.float64]

    @classmethod
    def of(cls, take: Take) -> "PhotoMisfit":
        """All that does not change with the account, of ``take``."""
        evidence, placement = take.evidence, take.placement
        shadow, shaded = evidence.shadow, evidence.shaded
        line = trace_line(placement, take.camera_mm, evidence.face_u_mm)
        edge_u = np.array(shadow.edge_u_mm if shadow else BLADE.length_mm)
        far_end = placement.card_mm(edge_u, np.array(BLADE.height_mm / 2))[:2]
        ink = evidence.ink
        off_axis = [evidence.paper_off_axis, evidence.ink_off_axis, evidence.face_off_axis]
        light = [evidence.paper.light, ink.light, evidence.face]
        sd = [evidence.paper_sd, evidence.ink_sd, evidence.face_sd]
        if shaded:
            off_axis.append(np.array([shaded.off_axis]))
            light.append(shaded.light[None])
            sd.append(shaded.sd[None])
        card_mm = np.pad(np.concatenate([evidence.paper.card_mm, ink.card_mm]), ((0, 0), (0, 1)))
        card_to_camera = _unit(take.camera_mm - card_mm)
        at_ink = slice(len(evidence.paper.card_mm), None)
        # For the lamp where it is sought first: how gloss goes over the card hangs little on it.
        to_lamp = _unit(_lamp_mm(evidence, np.zeros(3)) - card_mm[at_ink])
        middle = trace_line(placement, take.camera_mm, np.array([LINE_U_MM]))
        return cls(
            evidence,
            np.concatenate(off_axis),
            np.log(np.concatenate(light)),
            np.concatenate(sd),
            line,
            middle,
            far_end,
            card_mm,
            card_to_camera,
            np.pad(evidence.paper_walls, (0, len(ink.card_mm))),
            at_ink,
            _shine(to_lamp, card_to_camera[at_ink])[:, None],
        )

    def lamp_mm(self, lamp: NDArray[np.float64]) -> NDArray[np.float64]:
        """The lamp's place (..., 3) by its first three parameters (..., 3 or more)."""
        return _lamp_mm(self.evidence, lamp)

    def misfit(self, s: Shading) -> NDArray[np.float64]:
        """Of all evidence, in standard deviations, (..., R)."""
        evidence = self.evidence
        seen = [self._card(s), s.channels(s.sight(self.line), evidence.face_slope)]
        if evidence.shaded:
            seen.append((with_axis(s.stray + s.veil) * s.exposure)[..., None, :])
        light = np.concatenate(seen, axis=-2)
        coded = s.code_with_luma(light * np.exp(-with_axis(s.vignette) * self.off_axis)[..., None])
        off = (np.log(coded) - self.log_light) / self.sd
        flat = off.reshape(*off.shape[:-2], -1)
        return np.asarray(np.concatenate([flat, self.misfit_layers(s)], axis=-1))

    def _card(self, s: Shading) -> NDArray[np.float64]:
        """True linear light of paper and ink, (..., C, 3)."""
        level = irradiance(s.lamp_mm[..., None, :], self.card_mm[:, :2])
        to_lamp = _unit(s.lamp_mm[..., None, :] - self.card_mm)
        between = (to_lamp * self.card_to_camera).sum(axis=-1)
        returned = return_light(between, to_lamp[..., 2], self.card_to_camera[:, 2])
        level = level * s.sent(self.card_mm) * (1 + with_axis(s.paper_returning) * returned)
        lamp = (level / with_axis(light_bay(s.lamp_mm)))[..., None]
        walls = self.walls[:, None]
        bounce = with_axis(with_axis(s.bounce)) * s.albedo[..., None, :] * walls
        light = lamp * (1 + bounce) + with_axis(with_axis(s.stray)) * (1 - walls)
        ink = light[..., self.ink, :] * with_axis(with_axis(s.ink))
        ink += lamp[..., self.ink, :] * self.shine * with_axis(with_axis(s.ink_gloss))
        light[..., self.ink, :] = np.maximum(ink, LEAST_LIGHT)
        light += with_axis(with_axis(s.veil))
        light *= s.exposure[..., None, :]
        return np.asarray(light)

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


def _lamp_mm(evidence: Evidence, lamp: NDArray[np.float64]) -> NDArray[np.float64]:
    """The lamp's place (..., 3): how far, how low and where aside (..., 3) of the usual one."""
    shadow = evidence.shadow
    flat = USUAL_DISTANCE_MM * np.exp(lamp[..., 0])
    usual_cotangent = shadow.cotangent if shadow else USUAL_COTANGENT
    height = flat / (usual_cotangent * np.exp(lamp[..., 1])) + BLADE.thickness_mm
    azimuth = evidence.azimuth_rad + lamp[..., 2]
    x, y = BAY_CENTRE_MM[0] + flat * np.cos(azimuth), BAY_CENTRE_MM[1] + flat * np.sin(azimuth)
    return np.stack([x, y, height], axis=-1)


def _shine(to_lamp: NDArray[np.float64], to_camera: NDArray[np.float64]) -> NDArray[np.float64]:
    """Light (K,) that a flat varnish returns over paper's, for unit vectors (K, 3)."""
    sight = Sight(to_lamp, to_camera, np.ones(len(to_lamp)))
    gloss = gloss_light(
        sight,
        np.zeros(len(to_lamp)),
        roughness=np.array(VARNISH_ROUGHNESS),
        strength=np.array([VARNISH_STRENGTH]),
        bead=0.0,
    )
    return np.asarray(gloss[0] / to_lamp[:, 2])


def _unit(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=-1, keepdims=True))
