"""A ripple of known size laid over a photo's own light, as its face and lamp would show it."""

from dataclasses import replace

import numpy as np

from scoring.motion import Motion
from scoring.registration.face import RectifiedFace
from scoring.registration.place import PlacedCoupon
from scoring.ripple.components import Damped
from scoring.ripple.fit import Solution, ripple_light
from scoring.ripple.light import understand_light


def lay_over(
    placed: PlacedCoupon, face: RectifiedFace, motion: Motion, ripple: Damped
) -> RectifiedFace:
    """``face`` with ``ripple`` on it; the face itself must have none."""
    lit = understand_light(placed, face, motion)
    rippled = Solution(1.0, 0.0, np.zeros(lit.problem.base.shape[1]), (ripple,))
    added = ripple_light(lit.problem, rippled)
    at_u_mm = lit.facets.true_u_mm(face.u_mm())
    factor = np.exp(np.interp(at_u_mm, lit.problem.track.u_mm, added))
    assert face.luma is not None
    return replace(
        face,
        linear=(face.linear * factor[:, None]).astype(np.float32),
        luma=(face.luma * factor).astype(np.float32),
    )
