"""Stains: places where the filament is lighter or darker, whatever the shape."""

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from reference_images.scene import Scene
from reference_images.surface import STEP_U_MM, Surface

ROW_MM = 0.4  # blotches are drawn on rows this far apart
HEIGHT_ROWS = 61


def paint_stain(scene: Scene, surface: Surface) -> NDArray[np.float64]:
    """The filament's colour over its clean one at every vertex of the face, (K, R, N).

    A wave along u, the same in all layers, that may die out as a ripple does; and blotches, seeded
    by the scene, so that every photo of one coupon has the same.
    """
    stain = scene.stain
    u = surface.u_mm
    fading = np.exp(-u / stain.decay_mm) if stain.decay_mm else np.ones_like(u)
    wave = stain.share * fading * np.cos(2 * np.pi * u / stain.period_mm + stain.phase_rad)
    rng = np.random.default_rng([scene.seed, 5])
    blotch = rng.standard_normal((HEIGHT_ROWS, u.size))
    spread = (stain.blotch_mm / ROW_MM, stain.blotch_mm / STEP_U_MM)
    blotch = ndimage.gaussian_filter(blotch, spread, mode="reflect")
    blotch *= stain.blotch_share / blotch.std()
    rows = np.clip(surface.w_mm / ROW_MM, 0, HEIGHT_ROWS - 1).astype(np.int64)
    return np.asarray(1 + wave + blotch[rows, np.arange(u.size)])
