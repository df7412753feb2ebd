"""Tell which face is up, which way round and how large: by facets, grooves or the cut corner."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.geometry import BLADE
from scoring.metrics import FaceName
from scoring.registration.chamfer import find_chamfer
from scoring.registration.facets import CLEAR, find_facets, match_facets, match_under_ripple
from scoring.registration.grooves import ENOUGH_EDGES, GrooveFit, find_grooves
from scoring.registration.pose import Pose
from scoring.registration.rectify import Placement, find_lean_along, sample_face

STEP_MM = 0.125
EDGE_MM, BAND_MM, ROWS = 0.5, 4.0, 24
SURE, SIZED = 0.6, 0.7
"""Correlation at which facets are taken as seen, and at which they tell the size; flow faces stay
under 0.35. Large ripples draw the edges of facets hard to see by 2 %."""

MIN_GROOVE_EDGES, BLUR_MM = 6, 0.06
"""Of twelve; ring-down faces show none."""

ALL_SIZES = (1.0, 0.98, 1.02, 0.96, 1.04, 0.94, 1.06, 0.92, 1.08, 0.9, 1.1)
SD_STRETCH, MOST_STRETCH = 0.02, 0.01
"""How far features may be stretched about each size tried, and how far they are about their own."""

SD_SIZE = 0.003
"""How well facets and grooves tell the size: to 0.2 %, within 0.4."""

BY_CHAMFER = {
    "top-right": (FaceName.RINGDOWN, 0.0),
    "top-left": (FaceName.FLOW, 0.0),
    "bottom-left": (FaceName.RINGDOWN, np.pi),
    "bottom-right": (FaceName.FLOW, np.pi),
}


@dataclass(frozen=True)
class Recognised:
    """The face that is up, the turn, 0 or pi, that sets it upright, and its ``size``.

    ``by_features`` says that facets or grooves were seen, ``agreement`` how well the facets, as in
    :class:`FacetFit`. The ``size`` is how long facets or grooves look as the face is placed,
    relatively; ``None`` where they are not seen clearly enough.
    """

    face: FaceName
    turn_rad: float
    by_features: bool = False
    size: float | None = None
    agreement: float = 0.0

    @property
    def clear(self) -> bool:
        """Whether features were seen as well as on most photos."""
        return self.by_features and (self.face is FaceName.FLOW or abs(self.agreement) > CLEAR)


def recognise_face(codes: NDArray[np.uint8], pose: Pose, placement: Placement) -> Recognised:
    """What lies on the card, in an (M, N, 3) photo.

    A dark coupon's cut corner may not show against its own shadow, but the steps between facets
    are a code of their own, and so are the grooves; the corner decides where neither is seen. A
    card that was printed too small or large makes the coupon look so: where neither is clear at
    its own size, they are looked for from a tenth smaller to a tenth larger.
    """
    u = np.arange(EDGE_MM, BLADE.length_mm - EDGE_MM + STEP_MM / 2, STEP_MM)
    w = np.linspace(BAND_MM, BLADE.height_mm - BAND_MM, ROWS)
    uu, ww = np.meshgrid(u, w)
    profile = sample_face(codes, pose, placement, uu, ww).mean(axis=(0, 2)) + 1.0
    both_ways = ((profile, 0.0), (profile[::-1], np.pi))
    lean = find_lean_along(pose, placement, u)
    return (
        _find_facets(u, both_ways, lean, (1.0,), least=CLEAR)
        or _find_grooves(u, both_ways, (1.0,), only_clear=True)
        or _find_facets(u, both_ways, lean, ALL_SIZES, least=SURE)
        or _find_facets_under_ripple(u, both_ways)
        or _find_grooves(u, both_ways, ALL_SIZES)
        or Recognised(*BY_CHAMFER[find_chamfer(codes, pose, placement)])
    )


_BothWays = tuple[tuple[NDArray[np.float64], float], ...]


def _resize(u_mm: NDArray[np.float64], size: float) -> NDArray[np.float64]:
    middle_mm = BLADE.length_mm / 2
    return (u_mm - middle_mm) / size + middle_mm


def _find_facets(
    u_mm: NDArray[np.float64],
    both_ways: _BothWays,
    lean: NDArray[np.float64],
    sizes: tuple[float, ...],
    *,
    least: float,
) -> Recognised | None:
    """The ring-down face if its facets agree by ``least`` in the first of ``sizes``, or well in
    another.
    """

    def match(size: float) -> list[tuple[float, float, int]]:
        resized = _resize(u_mm, size)
        ways = enumerate(both_ways)
        return [(match_facets(resized, light)[1], size, way) for way, (light, _) in ways]

    best = max(match(sizes[0]), key=_agreement)
    if _agreement(best) < CLEAR:
        others = [one for size in sizes[1:] for one in match(size) if _agreement(one) > SIZED]
        best = max([best, *others], key=_agreement)
    agreement, size, way = best
    light, turn_rad = both_ways[way]
    if abs(agreement) < least:
        return None
    if abs(agreement) < SIZED:
        return Recognised(FaceName.RINGDOWN, turn_rad, by_features=True, agreement=agreement)
    seen = lean if way == 0 else -lean[::-1]
    fit = find_facets(_resize(u_mm, size), light, sd_stretch=SD_STRETCH, view_tangent=seen)
    size = size * (1 + fit.stretch)
    return Recognised(FaceName.RINGDOWN, turn_rad, True, size, agreement)


def _find_facets_under_ripple(u_mm: NDArray[np.float64], both_ways: _BothWays) -> Recognised | None:
    for light, turn_rad in both_ways:
        match = match_under_ripple(u_mm, light)
        if match and abs(match[1]) > CLEAR:
            return Recognised(FaceName.RINGDOWN, turn_rad, by_features=True, agreement=match[1])
    return None


def _agreement(match: tuple[float, float, int]) -> float:
    return abs(match[0])


def _find_grooves(
    u_mm: NDArray[np.float64],
    both_ways: _BothWays,
    sizes: tuple[float, ...],
    *,
    only_clear: bool = False,
) -> Recognised | None:
    """The flow face if its grooves are seen in one of ``sizes``.

    With ``only_clear`` most of them have to be, and at that size.
    """

    def fit(size: float, light: NDArray[np.float64]) -> GrooveFit:
        resized = _resize(u_mm, size)
        return find_grooves(resized, light, blur_mm=BLUR_MM, sd_stretch=SD_STRETCH)

    most, found = 0, None
    for size in sizes:
        for light, turn_rad in both_ways:
            grooves = fit(size, light)
            if grooves.edges <= most:
                continue
            most = grooves.edges
            found = Recognised(FaceName.FLOW, turn_rad, True, size * (1 + grooves.stretch))
            if most >= ENOUGH_EDGES and abs(grooves.stretch) < MOST_STRETCH:
                return found  # never the wrong way round
    return None if only_clear or most < MIN_GROOVE_EDGES else found
