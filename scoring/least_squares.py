"""Robust least squares with honest priors: data may hold strangers, priors do not."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

MAD_TO_SD = 1.4826
"""Median absolute deviation to standard deviation, normal distribution."""

ROUNDS = 5
MAX_STEPS = 30
TOLERANCE = 1e-3
STEP = 1e-5
"""For derivatives: parameters are to be scaled so that 1 is a large change."""

SOFT = 2.5
"""Data beyond so many standard deviations count ever less."""


def fit_robust(
    misfit: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    start: NDArray[np.float64],
    *,
    priors: int,
    soft: float = SOFT,
    linear: bool = False,
    tolerance: float = TOLERANCE,
    damping: float = 1e-2,
    derivatives: Callable[[NDArray[np.float64]], NDArray[np.float64]] | None = None,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Parameters (P,) and their covariance (P, P) by Levenberg-Marquardt, reweighted each step.

    ``misfit`` gives the normalised residuals (..., R) of parameters (..., P), several at once for
    the derivatives, unless ``derivatives`` gives those, (R, P); the last ``priors`` of R are
    priors. Data beyond about ``soft`` standard deviations count ever less (Cauchy weights); priors
    always count in full, which ``scipy.optimize.least_squares`` with a loss cannot do. A ``linear``
    misfit is computed at the start and for the derivatives alone. But for ``damping`` the first
    step is Gauss and Newton's; the fit ends when one gains less than ``tolerance`` of the cost.
    """
    p = start.copy()
    if derivatives is None:
        residual, *moved = misfit(np.vstack([p, p + STEP * np.eye(len(p))]))
        jacobian = (np.array(moved) - residual).T / STEP
    else:
        residual, jacobian = misfit(p), derivatives(p)
    weight = _weights(residual, priors, soft)
    normal = np.eye(len(p))
    for taken in range(MAX_STEPS):
        if taken and not linear:
            jacobian = derivatives(p) if derivatives else _jacobian(misfit, p, residual)
        weight = _weights(residual, priors, soft)
        scaled = jacobian * weight[:, None]
        normal = jacobian.T @ scaled
        gradient = scaled.T @ residual
        cost = float(residual @ (weight * residual))
        for _ in range(8):
            step = -np.linalg.solve(normal + damping * np.diag(np.diag(normal) + 1e-9), gradient)
            trial = residual + jacobian @ step if linear else misfit(p + step)
            if np.all(np.isfinite(trial)) and float(trial @ (weight * trial)) < cost:
                break
            damping *= 5
        else:
            break
        p, residual = p + step, trial
        damping = max(damping / 6, 1e-8)
        gain = cost - float(residual @ (weight * residual))
        if gain < tolerance * max(cost, 1.0):
            break
    return p, np.asarray(np.linalg.pinv(normal, hermitian=True), np.float64)


def fit_linear(
    system: NDArray[np.float64], target: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Parameters (P,) and their standard deviations (P,), of rows (R, P) over their own."""
    fit = np.asarray(np.linalg.lstsq(system, target, rcond=None)[0])
    return fit, np.asarray(np.sqrt(np.diag(np.linalg.inv(system.T @ system))))


def fit_reweighted(
    terms: NDArray[np.float64],
    target: NDArray[np.float64],
    trust: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    *,
    weight: NDArray[np.float64] | float = 1.0,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Coefficients (T,) and residuals (P,) of ``target`` (P,) on ``terms`` (P, T).

    Weighted least squares, solved ``ROUNDS`` times; from the second on ``weight`` is multiplied by
    what ``trust`` gives for the residuals (iteratively reweighted, Holland and
    Welsch 1977; from memory).
    """
    root = np.sqrt(weight * np.ones_like(target))
    fit: NDArray[np.float64] = np.zeros(terms.shape[1])
    off = target
    for _ in range(ROUNDS):
        fit = np.asarray(np.linalg.lstsq(terms * root[:, None], target * root, rcond=None)[0])
        off = target - terms @ fit
        root = np.sqrt(weight * trust(off))
    return fit, np.asarray(off)


def _weights(residual: NDArray[np.float64], priors: int, soft: float) -> NDArray[np.float64]:
    weight = 1 / (1 + (residual / soft) ** 2)
    weight[len(residual) - priors :] = 1.0
    return np.asarray(weight)


def _jacobian(
    misfit: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    p: NDArray[np.float64],
    at: NDArray[np.float64],
) -> NDArray[np.float64]:
    return np.asarray((misfit(p + STEP * np.eye(len(p))) - at).T / STEP)
