"""What a noiseless photo under a known account would show of card and face."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE, CARD
from scoring.shading.account import Shading, trace_line
from scoring.shading.evidence import Evidence, ShadedPaper
from scoring.shading.gather import see_walls
from scoring.shading.ink import NO_INK, Ink
from scoring.shading.layer_line import LayerLine
from scoring.shading.paper import NO_PAPER, Paper
from scoring.shading.shadow import Shadow
from scoring.shading.surface import Sight, gloss_light
from scoring.shading.tone import luma_light, with_luma
from tests.shading.drawn_shading import (
    BAY_MM,
    CAMERA_MM,
    PLACEMENT,
    paper_irradiance,
    paper_returned,
    shaded_beam,
)


def draw_evidence(
    truth: Shading,
    *,
    with_shadow: bool = True,
    power: float = 0.0,
    aim_mm: tuple[float, float] = (BAY_MM[0], BAY_MM[1]),
) -> Evidence:
    """Its evidence under ``truth``, the lamp's beam as :func:`shaded_beam` has it."""

    def sent(at_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        return shaded_beam(truth.lamp_mm, at_mm, power=power, aim_mm=aim_mm)

    x, y = np.meshgrid(np.arange(8.0, CARD.size_mm[0], 8), [40.0, 48.0, 56.0, 100.0, 110.0, 120.0])
    bare = np.stack([x.ravel(), y.ravel()], axis=1)
    inked = np.array(CARD.marker_centre_mm)
    places = np.concatenate([bare, inked])
    walls = np.concatenate([see_walls(bare), np.zeros(len(inked))])[:, None]
    lamp = paper_irradiance(truth.lamp_mm, places)[:, None] * (
        1 + truth.bounce * truth.albedo * walls
    )
    lamp *= 1 + truth.paper_returning * paper_returned(truth.lamp_mm, places)[:, None]
    lamp *= sent(np.pad(places, ((0, 0), (0, 1))))[:, None]
    light = (lamp + truth.stray * (1 - walls)) * truth.exposure
    light[len(bare) :] *= truth.ink
    shine = truth.ink_gloss * _varnish(truth.lamp_mm, inked) * lamp[len(bare) :, 0]
    light[len(bare) :] += shine[:, None] * truth.exposure
    light += truth.veil * truth.exposure
    light *= np.exp(-truth.vignette * _off_axis(places))[:, None]
    blocks = np.arange(22.0, 64.0, 4.0)
    u = np.concatenate([blocks, [np.mean(f.u_mm) for f in BLADE.facets]])
    slope = np.concatenate([np.zeros(blocks.size), [f.slope for f in BLADE.facets]])
    line = trace_line(PLACEMENT, CAMERA_MM, u)
    face_off_axis = _off_axis(line.at_mm[:, :2])
    sight = truth.sight(line)
    sight = replace(sight, irradiance=sight.irradiance * sent(line.at_mm))
    # A veil lies over all the picture alike.
    face = replace(truth, veil=0.0).channels(sight, slope) + truth.veil * truth.exposure
    face = truth.code(face * np.exp(-truth.vignette * face_off_axis)[:, None])
    card = with_luma(truth.code(light))
    card_off_axis = _off_axis(places)
    far = PLACEMENT.card_mm(np.array(BLADE.length_mm), np.array(BLADE.height_mm / 2))[:2]
    flat = float(np.linalg.norm(truth.lamp_mm[:2] - far))
    shadow = Shadow(flat / (truth.lamp_mm[2] - BLADE.thickness_mm), 0.02, BLADE.length_mm)
    away = truth.lamp_mm[:2] - BAY_MM
    shade = truth.code((truth.stray + truth.veil) * truth.exposure[None])[0]
    return Evidence(
        paper=Paper(bare, card[: len(bare)]),
        paper_sd=np.full((len(bare), 4), 0.01),
        paper_walls=walls[: len(bare), 0],
        paper_off_axis=card_off_axis[: len(bare)],
        ink=Ink(inked, card[len(bare) :]),
        ink_sd=np.full((len(inked), 4), 0.02),
        ink_off_axis=card_off_axis[len(bare) :],
        face_off_axis=face_off_axis,
        face_u_mm=u,
        face_slope=slope,
        face=with_luma(face),
        face_sd=np.full((u.size, 4), 0.005),
        shadow=shadow if with_shadow else None,
        shaded=ShadedPaper(with_luma(shade), np.full(4, 0.1), 0.0) if with_shadow else None,
        layer_line=None,
        azimuth_rad=float(np.arctan2(away[1], away[0])) + 0.1,
    )


def _varnish(lamp_mm: NDArray[np.float64], at_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Light that a level varnish at (N, 2) returns over a paper's under the same lamp, (N,)."""
    at = np.pad(at_mm, ((0, 0), (0, 1)))
    to_lamp, to_camera = (
        (away / np.linalg.norm(away, axis=1, keepdims=True))
        for away in (lamp_mm - at, CAMERA_MM - at)
    )
    sight = Sight(to_lamp, to_camera, np.ones(len(at)))
    gloss = gloss_light(
        sight, np.zeros(len(at)), roughness=np.array(0.5), strength=np.array([0.04]), bead=0.0
    )
    return np.asarray(gloss[0] / to_lamp[:, 2])


def _off_axis(places_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Squared distance from the picture's middle where card places (N, 2) fall, 1 at its corners.

    The picture shows 230 by 172 mm about the card's middle.
    """
    away = places_mm - np.array(CARD.size_mm) / 2
    return np.asarray((away**2).sum(axis=1) / (115.0**2 + 86.0**2))


def burnt_out(evidence: Evidence) -> Evidence:
    """The same with all paper clipped."""
    return replace(
        evidence,
        paper=NO_PAPER,
        paper_sd=np.empty((0, 4)),
        paper_walls=np.empty(0),
        paper_off_axis=np.empty(0),
    )


def without_card(evidence: Evidence) -> Evidence:
    """The same without a card."""
    return without_ink(burnt_out(evidence))


def without_ink(evidence: Evidence) -> Evidence:
    """The same with no marker seen."""
    return replace(evidence, ink=NO_INK, ink_sd=np.empty((0, 4)), ink_off_axis=np.empty(0))


def with_layer_line(evidence: Evidence, truth: Shading) -> Evidence:
    """The line that the truth's beads show through a lens that lets half of it through."""
    line = trace_line(PLACEMENT, CAMERA_MM, np.array([34.0]))
    across = luma_light(truth.code(truth.layers(truth.sight(line))))
    wave = np.fft.rfft(across)
    contrast = float(2 * abs(wave[1]) / abs(wave[0]))
    return replace(evidence, layer_line=LayerLine(0.5 * contrast, 0.2, 0.5))
