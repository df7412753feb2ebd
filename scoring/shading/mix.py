"""Which mix of the channels to read the profile from."""

import numpy as np
from numpy.typing import NDArray

from scoring.shading.calibrate import Shading

COLOURED = 0.6
"""A filament whose darkest channel is under this share of its brightest has a colour to use."""


def choose_mix(shading: Shading) -> NDArray[np.float64]:
    """Weights (3,) for the channels' linear light.

    Gloss is white while a filament's own light has its colour (the dichromatic model, Shafer
    1985): with a coloured filament the brightest channel less the darkest, each in units of the
    paper's, holds no gloss. A grey filament has no such difference, and all channels are averaged.
    """
    bright, dark = int(np.argmax(shading.albedo)), int(np.argmin(shading.albedo))
    if shading.albedo[dark] < COLOURED * shading.albedo[bright]:
        mix = np.zeros(3)
        mix[bright], mix[dark] = 1 / shading.exposure[bright], -1 / shading.exposure[dark]
        return mix
    return np.asarray(1 / shading.exposure / 3)
