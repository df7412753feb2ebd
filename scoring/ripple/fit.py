"""Fit brightness, response and ripple together, in one least-squares problem."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray

from scoring.photo.opencv import cv2
from scoring.photo.srgb import srgb_code
from scoring.registration.facets import FacetFit
from scoring.ripple.components import Component, Damped, Track
from scoring.shading.response import Response
from scoring.shading.tone import GAMMA

SD_EXPONENT = 0.15
SD_CURVATURE = 0.04
MAX_STEPS, TOLERANCE = 40, 1e-5
"""Steps at most, and the share of the cost under which a step's gain makes it the last."""

MIN_LIGHT = 1e-3
MAX_ENVELOPE_MM = 2.0
"""No wall ripples by more; a step that asks for it is shortened."""


@dataclass(frozen=True)
class Problem:
    """What is fitted: log light of K strips over N columns.

    ``log_light`` (K, N) with each strip's own level removed, ``valid`` (K, N), ``weight`` (N,) the
    inverse variance of the strips' mean, ``base`` (N, B) the smooth baseline's columns and
    ``base_sd`` (B,) how large their weights may well be, ``facet_slope`` (N,) the designed slope,
    ``blur_px`` the line spread's standard deviation in columns, ``exponent`` and ``exponent_sd``
    what the response's exponent is expected to be, ``shift_sd_mm`` and ``stretch_sd`` how far u may
    be off: all of it together, and per millimetre from the facets' middle.
    """

    track: Track
    log_light: NDArray[np.float64]
    valid: NDArray[np.bool_]
    weight: NDArray[np.float64]
    base: NDArray[np.float64]
    base_sd: NDArray[np.float64]
    facet_slope: NDArray[np.float64]
    response: Response
    blur_px: float
    exponent: float = 1.0
    exponent_sd: float = SD_EXPONENT
    shift_sd_mm: float = 0.0
    stretch_sd: float = 0.0

    @cached_property
    def share(self) -> NDArray[np.float64]:
        """Each strip's part in the mean of the valid ones, (K, N)."""
        return np.asarray(self.valid / np.maximum(self.valid.sum(axis=0), 1))

    @cached_property
    def mean_log(self) -> NDArray[np.float64]:
        """Mean log light over the valid strips, (N,)."""
        return np.asarray((self.log_light * self.share).sum(axis=0))

    @cached_property
    def facet_rate(self) -> NDArray[np.float64]:
        """Change of relative light per unit of slope about the designed face, (N,)."""
        return self.response.light(self.facet_slope)[1]

    @cached_property
    def log_a_code(self) -> float:
        """Change of log light that one 8-bit code makes at the face's middling brightness.

        Two photos' half difference has no brightness of its own: there it is full scale's.
        """
        code = 255 * float(srgb_code(np.exp(np.median(self.response.level_log))))
        return GAMMA / code


@dataclass(frozen=True)
class Solution:
    """A fitted state: ``exponent`` and ``curvature`` of the response in log light, the components.

    Predicted log light = base @ ``base_weights`` + exponent x + curvature x^2, x = log of the
    blurred relative light.
    """

    exponent: float
    curvature: float
    base_weights: NDArray[np.float64]
    components: tuple[Component, ...]

    def vector(self) -> NDArray[np.float64]:
        """All parameters as one vector: response, baseline, then each component's."""
        parts = [np.array([self.exponent, self.curvature]), self.base_weights]
        for c in self.components:
            parts.append(np.concatenate([c.shape(), [c.a_mm, c.b_mm]]))
        return np.concatenate(parts)

    @property
    def modes(self) -> tuple[Damped, ...]:
        """The vibrations among the components."""
        return tuple(c for c in self.components if isinstance(c, Damped))

    def places(self) -> Iterator[tuple[Component, slice, slice]]:
        """Each component with where its shape and its two amplitudes stand in :meth:`vector`."""
        at = 2 + len(self.base_weights)
        for c in self.components:
            end = at + len(c.shape())
            yield c, slice(at, end), slice(end, end + 2)
            at = end + 2

    def moved(self, vector: NDArray[np.float64]) -> "Solution":
        """The solution with the parameters of ``vector``, laid out as :meth:`vector` does."""
        return Solution(
            float(vector[0]),
            float(vector[1]),
            vector[2 : 2 + len(self.base_weights)],
            tuple(c.reshaped(vector[s], *map(float, vector[ab])) for c, s, ab in self.places()),
        )


@dataclass(frozen=True)
class Fit:
    """A solution and what the model makes of it: ``predicted`` mean log light (N,).

    ``slope`` (N,) is what the components add to the facets'. Priors have no part in it. ``derive``
    gives :attr:`derivatives`, which are taken when asked for.
    """

    solution: Solution
    slope: NDArray[np.float64]
    predicted: NDArray[np.float64]
    derive: Callable[[], NDArray[np.float64]]

    @cached_property
    def derivatives(self) -> NDArray[np.float64]:
        """Of ``predicted`` by each parameter, (P, N)."""
        return self.derive()


def start(problem: Problem) -> Fit:
    """A solution without ripple, fitted to the baseline and the facets alone."""
    empty = Solution(problem.exponent, 0.0, np.zeros(problem.base.shape[1]), ())
    return refine(problem, evaluate(problem, empty))


def predict(problem: Problem, solution: Solution) -> NDArray[np.float64]:
    """Predicted mean log light, (N,)."""
    return evaluate(problem, solution).predicted


def ripple_light(problem: Problem, solution: Solution) -> NDArray[np.float64]:
    """What the components add to the mean log light, (N,)."""
    without = replace(solution, components=())
    return np.asarray(predict(problem, solution) - predict(problem, without))


def misfit(problem: Problem, fit: Fit) -> tuple[float, float]:
    """The weighted square of what is left of the mean, and that of the baseline's unlikely size."""
    left = problem.mean_log - fit.predicted
    unlikely = fit.solution.base_weights / problem.base_sd
    return float(problem.weight @ left**2), float(unlikely @ unlikely)


def slope_gain(problem: Problem, solution: Solution) -> NDArray[np.float64]:
    """Change of log light per unit of slope about the designed face, (N,)."""
    return np.asarray(solution.exponent * problem.facet_rate)


def refine(
    problem: Problem, fit: Fit, *, may_stop: Callable[[Fit, float], bool] | None = None
) -> Fit:
    """Levenberg-Marquardt from ``fit`` to the nearest least-squares optimum.

    After each step ``may_stop`` is asked, if given, whether to leave it there; it is told the
    step's gain as a share of the cost left.
    """
    target, weight = problem.mean_log, problem.weight
    root = np.sqrt(weight)
    centre, precision = _prior(problem, fit.solution)
    vector = fit.solution.vector()
    cost = _cost(target - fit.predicted, weight, vector - centre, precision)
    weighted = fit.derivatives * root
    damping = 1e-3
    for _ in range(MAX_STEPS):
        normal = weighted @ weighted.T
        gradient = weighted @ (root * (target - fit.predicted)) - precision * (vector - centre)
        scale = np.diag(normal) + precision
        step = np.linalg.solve(normal + np.diag(precision + damping * scale + 1e-9), gradient)
        moved = fit.solution.moved(vector + step)
        if max((c.envelope_mm for c in moved.components), default=0.0) > MAX_ENVELOPE_MM:
            damping *= 6
            continue
        trial, trial_vector = evaluate(problem, moved), moved.vector()
        trial_cost = _cost(target - trial.predicted, weight, trial_vector - centre, precision)
        if trial_cost < cost:
            gain = cost - trial_cost
            fit, vector, cost = trial, trial_vector, trial_cost
            damping = max(damping / 5, 1e-7)
            share = gain / max(1.0, cost)
            if share < TOLERANCE or (may_stop and may_stop(fit, share)):
                break
            weighted = fit.derivatives * root
        else:
            damping *= 6
            if damping > 1e6:
                break
    return fit


def covariance(problem: Problem, fit: Fit, *, shapes_known: bool = False) -> NDArray[np.float64]:
    """Covariance (P, P) of the parameters, from the scatter between strips.

    With ``shapes_known`` frequencies, dampings and periods are held (their rows are zero) and the
    misfit of the mean, where more components may still hide, is not counted.

    The sandwich estimator with the strips as clusters (Huber 1967; White 1980): each strip's
    residual moves the parameters through the same linearised fit, so noise of any colour along u
    is counted for what it does, as long as the strips are independent. What a wrong place u would
    do to the parameters comes on top.
    """
    _, precision = _prior(problem, fit.solution)
    free = np.ones(precision.size, dtype=bool)
    if shapes_known:
        for _, shape, _ in fit.solution.places():
            free[shape] = False
    jacobian, prior = fit.derivatives[free], np.diag(precision[free])
    weighted = jacobian * problem.weight
    normal = weighted @ jacobian.T + prior
    scale = 1 / np.sqrt(np.maximum(np.diag(normal), 1e-12))
    # A little on the diagonal: a component of no size has no shape to tell.
    scaled = normal * np.outer(scale, scale) + 1e-13 * np.eye(scale.size)
    inverse = np.linalg.inv(scaled) * np.outer(scale, scale)
    strips = len(problem.log_light)
    pull = ((problem.log_light - fit.predicted) * problem.share) @ weighted.T
    pull = pull - pull.mean(axis=0)
    meat = pull.T @ pull * strips / (strips - 1)
    # What is left in the mean beyond the strips' scatter is model misfit: it scales the whole.
    left = float(np.mean(problem.weight * (problem.mean_log - fit.predicted) ** 2))
    inflate = 1.0 if shapes_known else max(1.0, left)
    misplaced = inverse @ (weighted @ _misplaced(problem, fit))
    spread = np.zeros((free.size, free.size))
    spread[np.ix_(free, free)] = inverse @ (meat * inflate + prior) @ inverse
    spread[np.ix_(free, free)] += misplaced @ misplaced.T
    return spread


def _misplaced(problem: Problem, fit: Fit) -> NDArray[np.float64]:
    """Log light (N, 2) that the likely shift and stretch of u add to what is seen."""
    u = problem.track.u_mm
    by_shift = slope_gain(problem, fit.solution) * np.gradient(fit.slope, u)
    by_stretch = by_shift * (u - FacetFit.middle_u_mm)
    return np.stack([problem.shift_sd_mm * by_shift, problem.stretch_sd * by_stretch], axis=1)


def _prior(problem: Problem, solution: Solution) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Centre and precision of the priors on response and baseline; none on the components."""
    size = len(solution.vector())
    centre, precision = np.zeros(size), np.zeros(size)
    centre[0] = problem.exponent
    precision[:2] = 1 / problem.exponent_sd**2, 1 / SD_CURVATURE**2
    precision[2 : 2 + len(problem.base_sd)] = 1 / problem.base_sd**2
    return centre, precision


def _cost(
    residual: NDArray[np.float64],
    weight: NDArray[np.float64],
    off: NDArray[np.float64],
    precision: NDArray[np.float64],
) -> float:
    return float(residual @ (weight * residual) + off @ (precision * off))


def evaluate(problem: Problem, solution: Solution) -> Fit:
    """What the model makes of ``solution``."""
    ripples = [c.slope_derivatives(problem.track) for c in solution.components]
    slope = np.zeros_like(problem.facet_slope)
    for c, ripple in zip(solution.components, ripples, strict=True):
        slope += np.array([c.a_mm, c.b_mm]) @ ripple[-2:]
    light, rate = problem.response.light(problem.facet_slope + slope)
    # The lens blurs the light, and every ripple's effect on it.
    blurred = np.maximum(_blur(light[None], problem.blur_px)[0], MIN_LIGHT)
    x = np.log(blurred)
    rising = solution.exponent + solution.curvature * x
    predicted = problem.base @ solution.base_weights + rising * x
    by_light = (rising + solution.curvature * x) / blurred
    return Fit(solution, slope, predicted, partial(_derive, problem, x, by_light, ripples, rate))


def _derive(
    problem: Problem,
    x: NDArray[np.float64],
    by_light: NDArray[np.float64],
    ripples: list[NDArray[np.float64]],
    rate: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Derivatives (P, N) of the prediction, its change ``by_light`` (N,) and all else known."""
    rows = [x[None], (x**2)[None], problem.base.T]
    if ripples:
        rows.append(by_light * _blur(np.concatenate(ripples) * rate, problem.blur_px))
    return np.concatenate(rows)


def _blur(rows: NDArray[np.float64], sd_px: float) -> NDArray[np.float64]:
    """Each of the rows (C, N) blurred, its ends going on beyond it."""
    if sd_px < 0.2:
        return rows
    size = 2 * int(3 * sd_px + 0.5) + 1
    soft = cv2.GaussianBlur(
        rows, (size, 1), sigmaX=sd_px, sigmaY=sd_px, borderType=cv2.BORDER_REPLICATE
    )
    return np.asarray(soft, np.float64).reshape(rows.shape)
