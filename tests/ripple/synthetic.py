"""A least-squares problem of known truth: ideal response, white noise, no photo."""

import numpy as np

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
