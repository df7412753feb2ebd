"""How far the missing light overstates the open height, and how well that is known."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import erfinv

from scoring.gaps.columns import Columns
from scoring.shading.tone import bend, unbend

USUAL_CONTRAST, SD_CONTRAST = 0.15, 0.15
"""Cameras raise contrast by a smooth S-curve more often than not; how much, a flow face's light
does not tell."""

DARK_STEP = 0.7
SD_SHAPE = 0.08
"""Two effects of a slot nearly cancel: its floor returns some light, while the beads beside it are
squeezed and steeper. Their sum differs by this much from photo to photo (path-traced ones)."""

GLOSS_PER_SHIFT, CALM_SHIFT = 5.0, 0.008
GLINT_PER_SPILL, CALM_SPILL = 2.0, -0.03
CLIP_PER_SHARE = 1.5

SD_GLOSSY, GLOSSY_SHIFT = 0.25, (0.012, 0.018)
SD_GLINTS, GLINTS_SPILL = 0.15, (-0.04, -0.08)
SD_CLIPPED, MUCH_CLIPPED = 0.18, (0.01, 0.03)
"""What gloss, glints and full scale do to both readings alike: nothing up to the first value, all
from the second on (drawn and traced photos)."""

SHADED_DEG, SHADED_PER_DEG = 31.0, 0.025
"""From 31 degrees down a gap takes 2.5 % a degree less light, or nothing, or twice that: it hangs
on how steep the beads are."""

STEEP_LEAN, WALLS_PER_LEAN = 0.03, 1.2
"""A wall seen aslant returns light: by so much of the gap's dark, beyond a small lean."""

MAX_SD = 0.4

DEPTH_SMOOTH_MM = 0.5
RESAMPLED_PX = 0.35
"""Spread that resampling and the pixel's place within a valley add to the lens's."""

MAX_DEPTH = 0.93
SD_DEPTH = 0.08
SOFT_PITCH, SHARP_PER_PITCH = 0.25, 3.0
"""Under a sharp lens the darkest pixel of closed layers lies in a valley of its own, which an open
gap hardly darkens: the depth is trusted less below this blur, in pitches."""

SD_CURVE = 0.06
"""A camera that codes by another power (1.8 or 2.6) reads 15 % more or less, in both readings;
nothing on a flow face tells which it is."""

SD_FLOOR = 0.05
"""How much light a slot's floor returns is in both readings, and differs with colour and view."""

SD_ASTRAY = 0.2
"""The same where layer lines were only assumed: gaps lie anywhere between the boundaries."""

FEW_MM = 5.0


@dataclass(frozen=True)
class Gain:
    """Missing light over open height: ``value`` near 1, ``sd_log`` the spread of its logarithm.

    ``sd_shared`` is the part of doubt that another reading of the same gaps shares.
    """

    value: float
    sd_log: float
    sd_shared: float = 0.0


def foretell_gain(
    *,
    level: float,
    shift: float,
    spill_down: float,
    clipped_share: float,
    lamp_rise: float | None = None,
    lean: float = 0.0,
) -> Gain:
    """The gain at the closed layers' linear light ``level``, 0 to 1, before any gap is looked at.

    A tone curve that raises contrast makes a gap in a surface of middling brightness look wider;
    the usual curve is taken out, its uncertainty kept. Gloss shows as a ``shift`` of whole layers'
    light, and as light instead of dark below a gap (``spill_down`` below 0); such glints hide or
    feign open height. A ``clipped_share`` hides the thin gaps. Under a low lamp (``lamp_rise`` over
    its run; unknown where ``None``) a gap lies in the shade of the layer above. A sight that moves
    across the layers by ``lean`` mm for each mm it goes down sees a gap's walls, not its floor.
    """
    curves = []
    for contrast in (USUAL_CONTRAST - SD_CONTRAST, USUAL_CONTRAST, USUAL_CONTRAST + SD_CONTRAST):
        full = float(unbend(np.array(min(level, 1.0)), contrast))
        seen = bend(np.array([DARK_STEP * full, full]), contrast)
        curves.append(float((1 - seen[0] / seen[1]) / (1 - DARK_STEP)))
    gloss = GLOSS_PER_SHIFT * max(0.0, shift - CALM_SHIFT)
    glint = GLINT_PER_SPILL * max(0.0, CALM_SPILL - spill_down)
    tone = (curves[2] - curves[0]) / 2
    low = SHADED_PER_DEG * max(0.0, SHADED_DEG - np.degrees(np.arctan(lamp_rise or 1.0)))
    parts = SD_SHAPE, tone, gloss, glint, CLIP_PER_SHARE * clipped_share, low
    walls = WALLS_PER_LEAN * max(0.0, abs(lean) - STEEP_LEAN)
    shared = (
        SD_CURVE,
        low,
        walls,
        SD_GLOSSY * float(np.interp(shift, GLOSSY_SHIFT, (0, 1))),
        SD_GLINTS * float(np.interp(-spill_down, [-s for s in GLINTS_SPILL], (0, 1))),
        SD_CLIPPED * float(np.interp(clipped_share, MUCH_CLIPPED, (0, 1))),
    )
    return Gain(
        curves[1] * float(np.exp(-low - walls)),
        min(float(np.hypot.reduce(parts)), MAX_SD),
        float(np.hypot.reduce(shared)),
    )


def compare_with_depth(
    foretold: Gain,
    open_mm: NDArray[np.float64],
    depth: NDArray[np.float64],
    open_places: NDArray[np.bool_],
    columns: Columns,
    *,
    blur_mm: float,
    pitch_mm: float,
    aligned: bool,
) -> Gain:
    """Correct the gain by how dark the middle of the gaps is.

    A slot of height h seen through a blur of standard deviation s takes erf(h / (2 sqrt 2 s)) of
    the light in its middle, whatever the tone or gloss of the beads beside it, but hangs on the
    blur; the integral hangs on the former, not on the blur. ``open_mm`` and ``depth`` (K, C) are
    both readings at ``open_places`` (K, C). The two are averaged by their uncertainties; where they
    disagree by more than that, the result's uncertainty grows with it. ``aligned`` is false where
    no layer lines were found.
    """
    length = float(open_places.sum()) * columns.width_mm
    blur = float(np.hypot(blur_mm, RESAMPLED_PX / columns.px_per_mm))
    middle = np.clip(columns.smooth(depth, DEPTH_SMOOTH_MM)[open_places], 0.0, MAX_DEPTH)
    by_depth = float((2 * np.sqrt(2) * blur * erfinv(middle)).sum())
    by_light = float(open_mm[open_places].sum())
    if by_depth <= 0 or by_light <= 0:
        sd = float(np.hypot(foretold.sd_log, foretold.sd_shared))
        return Gain(foretold.value, min(sd, MAX_SD))
    seen = np.log(by_light / by_depth)
    told, sd_told = np.log(foretold.value), foretold.sd_log
    sharp = SHARP_PER_PITCH * max(0.0, SOFT_PITCH - blur_mm / pitch_mm)
    sd_seen = float(np.hypot(SD_DEPTH, sharp)) * np.sqrt(1 + FEW_MM / length)
    weight = sd_told**2 / (sd_told**2 + sd_seen**2)
    apart = abs(seen - told) / np.hypot(sd_told, sd_seen)
    sd = sd_told * sd_seen / np.hypot(sd_told, sd_seen) * max(1.0, apart)
    sd = float(np.hypot.reduce([sd, SD_FLOOR if aligned else SD_ASTRAY, foretold.sd_shared]))
    return Gain(float(np.exp(told + weight * (seen - told))), min(sd, MAX_SD))
