"""How far the missing light overstates the open height, and how well that is known."""

from dataclasses import dataclass

import numpy as np

from scoring.shading.tone import bend, unbend

USUAL_CONTRAST, SD_CONTRAST = 0.15, 0.15
"""Cameras raise contrast by a smooth S-curve more often than not; how much, a flow face's light
does not tell."""

DARK_STEP = 0.7
SD_SHAPE = 0.07
"""Two effects of a slot nearly cancel: its floor returns some light, while the beads beside it are
squeezed and steeper. Their sum differs by this much from photo to photo (path-traced ones)."""

GLOSS_PER_SHIFT = 5.0
CALM_SHIFT = 0.008
CLIP_PER_SHARE = 1.5
MAX_SD = 0.4


@dataclass(frozen=True)
class Gain:
    """Missing light over open height: ``value`` near 1, ``sd_log`` the spread of its logarithm."""

    value: float
    sd_log: float


def estimate_gain(*, level: float, shift: float, clipped_share: float) -> Gain:
    """The gain at the closed layers' linear light ``level``, 0 to 1.

    A tone curve that raises contrast makes a gap in a surface of middling brightness look wider;
    the usual curve is taken out, its uncertainty kept. ``shift`` of whole layers' light speaks of
    gloss, and glints beside a gap hide or feign it; a ``clipped_share`` hides the thin ones.
    """
    curves = []
    for contrast in (USUAL_CONTRAST - SD_CONTRAST, USUAL_CONTRAST, USUAL_CONTRAST + SD_CONTRAST):
        full = float(unbend(np.array(min(level, 1.0)), contrast))
        seen = bend(np.array([DARK_STEP * full, full]), contrast)
        curves.append(float((1 - seen[0] / seen[1]) / (1 - DARK_STEP)))
    gloss = GLOSS_PER_SHIFT * max(0.0, shift - CALM_SHIFT)
    parts = SD_SHAPE, (curves[2] - curves[0]) / 2, gloss, CLIP_PER_SHARE * clipped_share
    return Gain(curves[1], min(float(np.hypot.reduce(parts)), MAX_SD))
