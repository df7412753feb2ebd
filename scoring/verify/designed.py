"""The check blade's designed ripple, fitted through the same light that measures any ripple."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scoring.geometry.check_ripple import CHECK_RIPPLE, CheckStretch
from scoring.ripple.components import Track
from scoring.ripple.fit import Problem, Solution, covariance, evaluate, predict, refine, start
from scoring.ripple.search import FREED_EXPONENT_SD


@dataclass(frozen=True)
class DesignedWave:
    """A stretch's wave, ``a_mm`` as designed and ``b_mm`` a quarter wave on; its shape is known."""

    stretch: CheckStretch
    a_mm: float = 0.0
    b_mm: float = 0.0

    @property
    def envelope_mm(self) -> float:
        """The amplitude."""
        return float(np.hypot(self.a_mm, self.b_mm))

    def shape(self) -> NDArray[np.float64]:
        """No parameter: wavelength and place are designed."""
        return np.empty(0)

    def reshaped(self, shape: NDArray[np.float64], a_mm: float, b_mm: float) -> "DesignedWave":
        """This wave with other amplitudes."""
        return DesignedWave(self.stretch, a_mm, b_mm)

    def heights_mm(self, track: Track) -> NDArray[np.float64]:
        """The height (N,)."""
        columns = CHECK_RIPPLE.waves(self.stretch, track.u_mm)[0]
        return np.asarray(columns @ np.array([self.a_mm, self.b_mm]))

    def slope_derivatives(self, track: Track) -> NDArray[np.float64]:
        """Derivatives (2, N) of the slope by a and b."""
        return CHECK_RIPPLE.waves(self.stretch, track.u_mm)[1].T


@dataclass(frozen=True)
class DesignedFit:
    """What was found of the designed ripple, its K stretches in the order of the design.

    ``amplitude_um`` (K, 2) are a and b of every stretch, ``covariance_um2`` (2 K, 2 K) theirs;
    ``explained`` is the share of the rippled part's brightness that the designed shape explains,
    0 to 1; ``facet_exponent`` as in :class:`scoring.ripple.search.Detection`; ``problem`` and
    ``solution`` are what was solved and its answer.
    """

    amplitude_um: NDArray[np.float64]
    covariance_um2: NDArray[np.float64]
    explained: float
    facet_exponent: float
    problem: Problem
    solution: Solution


def fit_designed(problem: Problem) -> DesignedFit:
    """Fit every stretch's amplitude, together with baseline and response, from no ripple at all.

    The response is held to what the facets and the flat parts ask for, as it is for any ripple, so
    that size comes from the facets and never from the ripple itself.
    """
    u = problem.track.u_mm
    low, high = CHECK_RIPPLE.rippled_u_mm
    rippled = (u > low) & (u < high)
    level = start(replace(problem, weight=np.where(rippled, 0.0, problem.weight))).solution
    held = replace(problem, exponent=level.exponent, exponent_sd=FREED_EXPONENT_SD)
    waves = tuple(DesignedWave(s) for s in CHECK_RIPPLE.stretches)
    fit = refine(held, evaluate(held, replace(level, components=waves)))
    solution, spread = fit.solution, covariance(held, fit)
    places = np.concatenate([np.arange(ab.start, ab.stop) for _, _, ab in solution.places()])
    left, whole = (
        float(problem.weight[rippled] @ (problem.mean_log - predict(held, s))[rippled] ** 2)
        for s in (solution, replace(solution, components=()))
    )
    return DesignedFit(
        amplitude_um=1e3 * np.array([[c.a_mm, c.b_mm] for c in solution.components]),
        covariance_um2=1e6 * spread[np.ix_(places, places)],
        explained=1 - left / max(whole, 1e-12),
        facet_exponent=level.exponent,
        problem=held,
        solution=solution,
    )
