"""What is expected of lamp, camera and filament before a photo's light is accounted for."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

USUAL_DISTANCE_MM, SD_LOG_DISTANCE = 500.0, 0.4
USUAL_COTANGENT, SD_LOG_COTANGENT = 2.75, 0.35
"""Where the lamp is looked for first: 20 degrees up, as the card asks."""

SD_AZIMUTH_RAD = 0.4
USUAL_STRAY, SD_LOG_STRAY = 0.06, 0.6

USUAL_BEAM, SD_BEAM = 1.0, 1.5
SD_LEAN = 0.3
"""A bare bulb's beam is 0, a matt disc's 1, a shade's 2 to 5; one of 3 that is turned past the bay
by a sixth of its distance leans by a half."""

SD_LOG_LINE = 0.3
"""On photos of three renderers the layer line's contrast tells a bead's steepness within 20 %, and
goes with its first to second power."""

LINE_U_MM = 34.0
"""The middle of where the layer line is read."""

SD_RETURNING = 0.15
"""Rough paper and filament return 0.2 to 0.4 of it (Oren and Nayar 1994), smooth ones none."""

LEAST_ROUGHNESS, MOST_ROUGHNESS = 0.15, 0.95


@dataclass(frozen=True)
class Prior:
    """A number of the coupon or the camera: the ``name`` it has in :class:`Shading`, its usual
    value and standard deviation, of its logarithm for one that is ``positive``.
    """

    name: str
    usual: float
    sd: float
    positive: bool = False


SHARED = (
    Prior("contrast", 0.18, 0.2),
    # Plastics return 0.035 to 0.05 straight on; a matt, filled one may return a third of that, and
    # little in a photo tells which.
    Prior("strength", 0.033, 0.4, positive=True),
    Prior("roughness", 0.5, 0.5, positive=True),
    Prior("power", 1.0, 0.06, positive=True),
    # Phones correct most of what their lenses lose outwards; others lose a third in the corners.
    Prior("vignette", 0.08, 0.2),
    # Walls that stand between paper and sky send on a third of paper's light, if they are as
    # bright: they see lit paper in half of their view, and both return 0.85 of it.
    Prior("bounce", 0.3, 0.2),
    # How far a filament's matt light under a low lamp departs from Burley's measured materials;
    # colour under a clear, smooth skin lies 1.1 lower.
    Prior("grazing", 0.0, 0.5),
    # Printed beads are half to twice as steep as ``BEAD_SLOPES``.
    Prior("bead", 1.0, 0.5, positive=True),
    # Of a camera that codes highlights flatly; one of a strong film-like curve comes out at 0.3.
    Prior("shoulder", 0.0, 0.2),
    Prior("paper_returning", 0.0, SD_RETURNING),
    Prior("returning", 0.0, SD_RETURNING),
    # Toner and ink return 0.03 to 0.06 of what paper does; a varnish's gloss adds to that.
    Prior("ink", 0.045, 0.7, positive=True),
    Prior("ink_gloss", 0.0, 0.5),
    Prior("veil", 0.002, 1.0, positive=True),
)
"""What photos of one coupon by one camera share, but for the filament's albedo."""

_SDS = np.array([prior.sd for prior in SHARED])


def begin_shared() -> NDArray[np.float64]:
    """``SHARED`` at their usual values, as parameters (14,) that :func:`read_shared` takes."""
    return np.array([np.log(p.usual) if p.positive else p.usual for p in SHARED])


def misfit_shared(parameters: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far (..., 14) the first of ``parameters`` lie from their usual values, in deviations."""
    return np.asarray((parameters[..., : len(SHARED)] - begin_shared()) / _SDS)


def read_shared(parameters: NDArray[np.float64]) -> dict[str, NDArray[np.float64]]:
    """The values (...,) of ``SHARED`` by name, from parameters (..., 14 or more)."""
    values = {
        prior.name: np.exp(parameters[..., k]) if prior.positive else parameters[..., k]
        for k, prior in enumerate(SHARED)
    }
    values["roughness"] = np.clip(values["roughness"], LEAST_ROUGHNESS, MOST_ROUGHNESS)
    return values
