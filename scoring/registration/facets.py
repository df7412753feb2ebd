"""Set u by the facets: their edges lie inside the face, where no wall or shadow misleads."""

import itertools
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from scoring.geometry import BLADE
from scoring.registration.u_fit import UFit

REACH_MM = 2.5
SOFT_MM = 0.12
EDGE_REACH_MM = 0.45
SD_EDGE_MM = 0.02
"""How far a 3 degree step's place may err, print and photo together."""


def facet_slope(u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """The designed slope dy/du of the ring-down face at ``u_mm`` (N,): zero outside the facets."""
    slope = np.zeros_like(u_mm)
    for facet in BLADE.facets:
        slope[(u_mm >= facet.u_mm[0]) & (u_mm < facet.u_mm[1])] = facet.slope
    return slope


def facet_height_mm(u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """The designed height of the ring-down face at ``u_mm`` (N,): zero outside the facets."""
    height = np.zeros_like(u_mm)
    for facet in BLADE.facets:
        height += facet.slope * np.clip(u_mm - facet.u_mm[0], 0, facet.u_mm[1] - facet.u_mm[0])
    return height


@dataclass(frozen=True)
class FacetFit(UFit):
    """Where the facets lie, stretched about the middle of all five.

    ``sd_stretch`` is the stretch's standard deviation, ``agreement`` the correlation of the
    profile's steps with the facets', -1 to 1: negative for a lamp on the far side, near zero where
    no facets are seen.
    """

    middle_u_mm: ClassVar[float] = (BLADE.facets[0].u_mm[0] + BLADE.facets[-1].u_mm[1]) / 2

    sd_stretch: float
    agreement: float


def find_facets(
    u_mm: NDArray[np.float64],
    log_light: NDArray[np.float64],
    *,
    sd_stretch: float,
    view_tangent: float | NDArray[np.float64] = 0.0,
) -> FacetFit:
    """Place the facets on the mean log brightness (N,) over ``u_mm`` (N,).

    ``view_tangent``, one value or (N,), is how far the view leans toward the camera along u for a
    millimetre of height: the facets' ridges, up to 0.26 mm high, are seen that much farther out.

    The steps between facets form a code of known signs and sizes: its derivative is matched to the
    profile's within 2.5 mm, then each edge is placed by itself, and shift and stretch follow from
    the edges; ``sd_stretch`` says how well lengths were known before. Never fails: see
    ``agreement``.
    """
    step = float(u_mm[1] - u_mm[0])
    soft = SOFT_MM / step
    seen = gaussian_filter1d(log_light, soft, order=1)
    code = gaussian_filter1d(facet_slope(u_mm), soft, order=1)
    bounds = (BLADE.facets[0].u_mm[0] - 2, BLADE.facets[-1].u_mm[1] + 2)
    low, high = (int(i) for i in np.searchsorted(u_mm, bounds))
    near = seen[low:high]
    reach = round(REACH_MM / step)
    shifts = np.arange(-reach, reach + 1) * step
    around = code[low - reach : high + reach]
    alike = np.correlate(around, near)[::-1]
    power = np.correlate(around**2, np.ones(near.size))[::-1]
    scores = alike / np.sqrt((near @ near) * power + 1e-30)
    best = int(np.argmax(np.abs(scores)))
    edges, offsets, weights = [], [], []
    stepped = np.array([edge for edge, _ in _edges()])
    lean = np.broadcast_to(np.asarray(view_tangent, dtype=np.float64), u_mm.shape)
    seen_off = -facet_height_mm(stepped) * np.interp(stepped, u_mm, lean)
    for (edge, rise), leant_mm in zip(_edges(), seen_off, strict=True):
        part = np.abs(u_mm - edge - shifts[best]) < EDGE_REACH_MM
        mass = np.maximum(seen[part] * np.sign(rise) * np.sign(scores[best]), 0.0)
        if mass.sum() > 0:
            edges.append(edge - FacetFit.middle_u_mm)
            offsets.append(float(mass @ u_mm[part] / mass.sum()) - edge - float(leant_mm))
            weights.append(abs(rise) / SD_EDGE_MM)
    columns = np.stack([np.ones(len(edges)), edges], axis=1) * np.array(weights)[:, None]
    columns = np.concatenate([columns, [[0.0, 1 / sd_stretch]]])
    target = np.append(np.array(offsets) * np.array(weights), 0.0)
    shift, stretch = np.linalg.lstsq(columns, target, rcond=None)[0]
    spread = np.linalg.inv(columns.T @ columns + 1e-9 * np.eye(2))
    return FacetFit(float(shift), float(stretch), float(np.sqrt(spread[1, 1])), float(scores[best]))


def _edges() -> list[tuple[float, float]]:
    """Where the slope steps, and by how much in units of the 3 degree step."""
    bounds = [f.u_mm[0] for f in BLADE.facets] + [BLADE.facets[-1].u_mm[1]]
    slopes = [0.0] + [f.slope for f in BLADE.facets] + [0.0]
    unit = max(abs(s) for s in slopes)
    rises = [(b - a) / unit for a, b in itertools.pairwise(slopes)]
    return [(u, rise) for u, rise in zip(bounds, rises, strict=True) if rise]
