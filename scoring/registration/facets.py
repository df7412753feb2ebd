"""Set u by the facets: their edges lie inside the face, where no wall or shadow misleads."""

import itertools
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import correlate1d, gaussian_filter1d
from scipy.special import erf

from scoring.geometry import BLADE
from scoring.least_squares import fit_linear
from scoring.registration.u_fit import UFit

CLEAR = 0.85
"""Most photos agree better; below, something lies over the facets."""

STEADY_U_MM, STEADY_PERIODS_MM = (44.0, 72.0), (0.3, 2.5)
STEADY_SHARE, STEADY_STRONG = 0.5, 0.15
"""Where a steady ripple is looked for (ring-down is mostly over there), of which periods, and what
it must make up: half of the light's variance there, and so much (RMS) of what the facets show."""

REACH_MM = 2.5
SOFT_MM = 0.12
EDGE_REACH_MM, EDGE_STEP_MM, BESIDE_EDGE_MM = 0.25, 0.01, 0.8
"""How far an edge may lie from where all of them agree, how finely it is placed, and how far beside
it light is looked at."""

SD_BLUR_MM = 0.07
"""The usual photo's; half and twice as much place edges alike."""

SD_EDGE_MM = 0.02
"""How far a 3 degree step's place may err, print and photo together."""

SD_SHIFT_MM = 0.012
"""How far all may err together, found on the tuning photos."""

SD_SHIFT_RIPPLED_MM = 0.03
"""The same under a strong steady ripple, which draws all edges its way."""


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

    ``agreement`` is the correlation of the profile's steps with the facets', -1 to 1: negative for
    a lamp on the far side, near zero where no facets are seen.
    """

    middle_u_mm: ClassVar[float] = (BLADE.facets[0].u_mm[0] + BLADE.facets[-1].u_mm[1]) / 2

    agreement: float


def match_facets(u_mm: NDArray[np.float64], light: NDArray[np.float64]) -> tuple[float, float]:
    """How far the facets are shifted on ``light`` (N,) over evenly spaced ``u_mm`` (N,), roughly.

    With the agreement of :class:`FacetFit`. The steps between facets form a code of known signs and
    sizes: its derivative is matched to the profile's within 2.5 mm.
    """
    return _match(u_mm, light, np.ones(1))


def match_under_ripple(
    u_mm: NDArray[np.float64], light: NDArray[np.float64]
) -> tuple[float, float] | None:
    """As :func:`match_facets`, where a strong steady ripple lies over them; ``None`` without one.

    Code and profile are both averaged over the ripple's period, which leaves none of it.
    """
    average = _average_over_steady(u_mm, light)
    return None if average is None else _match(u_mm, light, average)


def _match(
    u_mm: NDArray[np.float64], light: NDArray[np.float64], average: NDArray[np.float64]
) -> tuple[float, float]:
    step = float(u_mm[1] - u_mm[0])

    def differentiate(values: NDArray[np.float64]) -> NDArray[np.float64]:
        averaged = correlate1d(values, average, mode="nearest")
        return np.asarray(gaussian_filter1d(averaged, SOFT_MM / step, order=1))

    seen = differentiate(light)
    bounds = (BLADE.facets[0].u_mm[0] - 2, BLADE.facets[-1].u_mm[1] + 2)
    low, high = (int(i) for i in np.searchsorted(u_mm, bounds))
    near = seen[low:high]
    reach = round(REACH_MM / step)
    shifts = np.arange(-reach, reach + 1) * step
    u_around = u_mm[low] + np.arange(-reach, high - low + reach) * step
    around = differentiate(facet_slope(u_around))
    alike = np.correlate(around, near)[::-1]
    power = np.correlate(around**2, np.ones(near.size))[::-1]
    scores = alike / np.sqrt((near @ near) * power + 1e-30)
    best = int(np.argmax(np.abs(scores)))
    return float(shifts[best]), float(scores[best])


def _average_over_steady(
    u_mm: NDArray[np.float64], light: NDArray[np.float64]
) -> NDArray[np.float64] | None:
    """The weights of an average over the period of a strong steady ripple; ``None`` without one.

    ``light`` (N,) is over evenly spaced ``u_mm`` (N,).
    """
    step = float(u_mm[1] - u_mm[0])
    beside = light[(u_mm > STEADY_U_MM[0]) & (u_mm < STEADY_U_MM[1])]
    at_facets = light[(u_mm > BLADE.facets[0].u_mm[0]) & (u_mm < BLADE.facets[-1].u_mm[1])]
    x = np.linspace(-1, 1, beside.size)
    left = beside - np.polynomial.Chebyshev.fit(x, beside, 5)(x)
    power = np.abs(np.fft.rfft(left * np.hanning(left.size))) ** 2
    waves = np.fft.rfftfreq(left.size, step)
    allowed = (waves > 1 / STEADY_PERIODS_MM[1]) & (waves < 1 / STEADY_PERIODS_MM[0])
    top = int(np.argmax(power * allowed))
    line = slice(max(top - 2, 0), top + 3)
    share = float(power[line].sum() / max(power.sum(), 1e-30))
    if share < STEADY_SHARE or left.std() < STEADY_STRONG * at_facets.std():
        return None
    columns = 1 / float(np.average(waves[line], weights=power[line])) / step
    reach = int(np.ceil((columns - 1) / 2))
    return np.clip((columns + 1) / 2 - np.abs(np.arange(-reach, reach + 1)), 0, 1) / columns


def find_facets(
    u_mm: NDArray[np.float64],
    light: NDArray[np.float64],
    *,
    sd_stretch: float,
    view_tangent: float | NDArray[np.float64] = 0.0,
) -> FacetFit:
    """Place the facets on the mean ``light`` (N,) over evenly spaced ``u_mm`` (N,), in any unit.

    ``view_tangent``, one value or (N,), is how far the view leans toward the camera along u for a
    millimetre of height: the facets' ridges, up to 0.26 mm high, are seen that much farther out.

    Near where :func:`match_facets` has them each edge is placed by itself, as a blurred step on a
    parabola, and shift and stretch follow from the edges; ``sd_stretch`` says how well lengths were
    known before. Light is blurred, not its logarithm: in that, bright facets look wider. Never
    fails: see ``agreement``.
    """
    rough_mm, agreement = match_facets(u_mm, light)
    sd_common_mm = SD_SHIFT_MM
    under_ripple = match_under_ripple(u_mm, light) if abs(agreement) < CLEAR else None
    if under_ripple and abs(under_ripple[1]) > abs(agreement):
        rough_mm, agreement = under_ripple
        sd_common_mm = SD_SHIFT_RIPPLED_MM
    edges, rises = np.array(_edges()).T
    lean = np.broadcast_to(np.asarray(view_tangent, dtype=np.float64), u_mm.shape)
    seen_off = -facet_height_mm(edges) * np.interp(edges, u_mm, lean)
    signs = np.sign(rises * agreement)
    offsets = _place_steps(u_mm, light, edges + rough_mm, signs) - edges - seen_off
    columns = np.stack([np.ones(edges.size), edges - FacetFit.middle_u_mm], axis=1)
    known = np.array([[0.0, 1 / sd_stretch]])

    def weigh(weights: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        system = np.concatenate([columns * weights[:, None], known])
        return system, np.append(offsets * weights, 0.0)

    weights = np.abs(rises) / SD_EDGE_MM
    system, target = weigh(weights)
    left = system @ fit_linear(system, target)[0] - target
    # Edges that do not lie along a line are less sure than usual: ripple or texture steps too.
    scatter = max(1.0, float(np.sqrt(left @ left / (edges.size - 1))))
    (shift, stretch), (sd_shift, sd_stretch) = fit_linear(*weigh(weights / scatter))
    sd_shift = np.hypot(sd_shift, sd_common_mm)
    return FacetFit(float(shift), float(stretch), float(sd_shift), float(sd_stretch), agreement)


def _place_steps(
    u_mm: NDArray[np.float64],
    light: NDArray[np.float64],
    near_mm: NDArray[np.float64],
    signs: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Where ``light`` steps up or down, as ``signs`` (E,) say, near each of ``near_mm`` (E,)."""
    step = float(u_mm[1] - u_mm[0])
    beside = np.arange(-round(BESIDE_EDGE_MM / step), round(BESIDE_EDGE_MM / step) + 1)
    tried = np.arange(-EDGE_REACH_MM, EDGE_REACH_MM + EDGE_STEP_MM / 2, EDGE_STEP_MM)
    steps = erf((beside[:, None] * step - tried) / (np.sqrt(2) * SD_BLUR_MM))
    parabola = np.linalg.qr(np.vander(beside / beside[-1], 3))[0]
    steps -= parabola @ (parabola.T @ steps)
    steps /= np.linalg.norm(steps, axis=0)
    at = np.clip(np.searchsorted(u_mm, near_mm), beside[-1], u_mm.size - 1 - beside[-1])
    explained = signs[:, None] * (light[at[:, None] + beside] @ steps)
    best = np.argmax(explained[:, 1:-1], axis=1) + 1
    rows = np.arange(at.size)
    before, top, after = (explained[rows, best + k] for k in (-1, 0, 1))
    bend = np.maximum(2 * top - before - after, 1e-12)
    finer = np.clip((after - before) / (2 * bend), -0.5, 0.5)
    return np.asarray(u_mm[at] + tried[best] + finer * EDGE_STEP_MM)


def _edges() -> list[tuple[float, float]]:
    """Where the slope steps, and by how much in units of the 3 degree step."""
    bounds = [f.u_mm[0] for f in BLADE.facets] + [BLADE.facets[-1].u_mm[1]]
    slopes = [0.0] + [f.slope for f in BLADE.facets] + [0.0]
    unit = max(abs(s) for s in slopes)
    rises = [(b - a) / unit for a, b in itertools.pairwise(slopes)]
    return [(u, rise) for u, rise in zip(bounds, rises, strict=True) if rise]
