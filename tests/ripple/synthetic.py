"""A least-squares problem of known truth: ideal response, white noise, no photo."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from scoring.motion import Motion
from scoring.registration.facets import facet_slope
from scoring.ripple.components import Component, follow, slopes
from scoring.ripple.fit import Problem
from scoring.ripple.problem import baseline
from scoring.shading.response import SLOPES, Response

COTANGENT = 2.75


def synthesise(
    rng: np.random.Generator,
    components: tuple[Component, ...],
    motion: Motion,
    *,
    noise: float = 0.01,
    strips: int = 18,
) -> Problem:
    """Log light of ``strips`` strips under a far matt lamp with ``noise`` (SD) in each column."""
    u = np.arange(3.5, 93, 0.1)
    track = follow(motion, u)
    table = np.tile(np.maximum(1 + COTANGENT * SLOPES, 1e-3), (u.size, 1))
    rates = np.tile(np.where(1 + COTANGENT * SLOPES > 1e-3, COTANGENT, 0.0), (u.size, 1))
    facets = facet_slope(u)
    light = 1 + COTANGENT * (facets + slopes(components, track))
    log_light = np.log(light) + rng.normal(0, noise, (strips, u.size))
    base, base_sd = baseline(u)
    return Problem(
        track=track,
        log_light=log_light,
        valid=np.ones((strips, u.size), dtype=bool),
        weight=np.full(u.size, strips / noise**2),
        base=base,
        base_sd=base_sd,
        facet_slope=facets,
        response=Response(table, rates, np.zeros(u.size)),
        blur_px=0.0,
    )


def synthesise_photo_like(
    rng: np.random.Generator,
    components: tuple[Component, ...],
    motion: Motion,
    *,
    noise: float = 0.009,
    shared: float = 0.15,
    drift: float = 0.005,
    strips: int = 18,
) -> Problem:
    """The same with noise of the colour that the reference photos have.

    Their strips scatter by 0.6 to 1.5 % of the light, 0.8 % in the middle. Most of it hangs
    together over 0.15 mm (resampling, line spread, coding), a fifth over a millimetre (texture), a
    tenth over 5 mm and more (layers that wander); neighbouring strips go apart. What all strips
    share is ``shared`` times the variance of their mean, over 0.5 mm (0 to 0.2 in photos of small
    ripples), and a smooth ``drift`` of the light over 25 mm and more.
    """
    clean = synthesise(rng, components, motion, noise=1e-9, strips=strips)
    step = float(clean.track.u_mm[1] - clean.track.u_mm[0])
    shape = clean.log_light.shape
    own = sum(
        np.sqrt(part) * _smooth_noise(rng, shape, length / step)
        for part, length in ((0.7, 0.09), (0.2, 0.5), (0.1, 5.0))
    )
    common = np.sqrt(shared / strips) * _smooth_noise(rng, (1, shape[1]), 0.25 / step)
    slow = drift * _smooth_noise(rng, (1, shape[1]), 12.0 / step)
    log_light = clean.log_light + noise * (own + common) + slow
    log_light -= log_light.mean(axis=1, keepdims=True)
    spread = float(np.median(np.std(log_light - log_light.mean(axis=0), axis=0)))
    return replace(
        clean, log_light=log_light, weight=np.full(clean.weight.size, strips / spread**2)
    )


def _smooth_noise(
    rng: np.random.Generator, shape: tuple[int, int], length_px: float
) -> NDArray[np.float64]:
    """Rows of unit noise smoothed by a Gaussian of SD ``length_px``."""
    margin = round(4 * length_px) + 1
    rough = rng.normal(size=(shape[0], shape[1] + 2 * margin))
    smooth = gaussian_filter1d(rough, length_px, axis=1)[:, margin:-margin]
    # The kernel's own sum of squares, as it is cut and sampled.
    impulse = gaussian_filter1d(np.eye(1, 4 * margin + 1, 2 * margin)[0], length_px)
    return np.asarray(smooth / np.sqrt(np.sum(impulse**2)))
