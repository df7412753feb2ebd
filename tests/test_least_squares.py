"""The robust fit against closed forms and a general-purpose library."""

import numpy as np
import pytest
from scipy.optimize import curve_fit, least_squares

from scoring.least_squares import fit_reweighted, fit_robust


def test_straight_line_has_the_textbook_covariance() -> None:
    """Without strangers the covariance is (X^T X)^-1 sigma^2, as any textbook has it."""
    rng = np.random.default_rng(3)
    x = np.linspace(0, 1, 200)
    y = 2 * x + 1 + rng.normal(0, 0.1, x.size)

    def misfit(p: np.ndarray) -> np.ndarray:
        off = (p[..., :1] * x + p[..., 1:] - y) / 0.1
        return np.concatenate([off, 0 * p[..., :1]], axis=-1)

    fit, covariance = fit_robust(misfit, np.zeros(2), priors=1, soft=np.inf)
    design = np.stack([x, np.ones_like(x)], axis=1) / 0.1
    assert fit == pytest.approx(np.polyfit(x, y, 1), abs=1e-6)
    assert covariance == pytest.approx(np.linalg.inv(design.T @ design), rel=1e-3)


def test_curve_agrees_with_scipy() -> None:
    rng = np.random.default_rng(4)
    x = np.linspace(0, 2, 100)
    y = 1.5 * np.exp(-1.2 * x) + rng.normal(0, 0.01, x.size)
    expected = curve_fit(lambda t, a, b: a * np.exp(-b * t), x, y, p0=(1, 1))[0]

    def misfit(p: np.ndarray) -> np.ndarray:
        off = (p[..., :1] * np.exp(-p[..., 1:] * x) - y) / 0.01
        return np.concatenate([off, 0 * p[..., :1]], axis=-1)

    fit, _ = fit_robust(misfit, np.ones(2), priors=1, soft=np.inf)
    assert fit == pytest.approx(expected, rel=1e-3)


def test_given_derivatives_lead_to_the_same_fit() -> None:
    rng = np.random.default_rng(4)
    x = np.linspace(0, 2, 100)
    y = 1.5 * np.exp(-1.2 * x) + rng.normal(0, 0.01, x.size)

    def misfit(p: np.ndarray) -> np.ndarray:
        return np.asarray((p[..., :1] * np.exp(-p[..., 1:] * x) - y) / 0.01)

    def derivatives(p: np.ndarray) -> np.ndarray:
        fading = np.exp(-p[1] * x)
        return np.stack([fading, -p[0] * x * fading], axis=1) / 0.01

    by_differences, _ = fit_robust(misfit, np.ones(2), priors=0)
    fit, covariance = fit_robust(misfit, np.ones(2), priors=0, derivatives=derivatives)
    assert (np.abs(fit - by_differences) < 0.01 * np.sqrt(np.diag(covariance))).all()


def test_strangers_weigh_as_in_scipy_s_cauchy_loss() -> None:
    """Cauchy weights lead to the minimum of the Cauchy loss, scipy's ``loss="cauchy"``."""
    rng = np.random.default_rng(5)
    x = np.linspace(0, 2, 100)
    y = 1.5 * np.exp(-1.2 * x) + rng.normal(0, 0.01, x.size)
    y[::9] += rng.normal(0, 0.2, y[::9].size)

    def misfit(p: np.ndarray) -> np.ndarray:
        return np.asarray((p[..., :1] * np.exp(-p[..., 1:] * x) - y) / 0.01)

    expected = least_squares(misfit, np.ones(2), loss="cauchy", f_scale=2.5, xtol=1e-12).x
    fit, covariance = fit_robust(misfit, np.ones(2), priors=0)
    assert (np.abs(fit - expected) < 0.1 * np.sqrt(np.diag(covariance))).all()


def test_strangers_are_held_down_but_priors_are_not() -> None:
    y = np.append(np.zeros(50), np.full(10, 100.0))

    def misfit(p: np.ndarray) -> np.ndarray:
        return np.concatenate([p - y, (p - 20.0) / 1e-3], axis=-1)

    fit, _ = fit_robust(misfit, np.array([1.0]), priors=1)
    assert fit[0] == pytest.approx(20.0, abs=0.01)
    free, _ = fit_robust(lambda p: misfit(p) * np.append(np.ones(60), 0.0), np.ones(1), priors=1)
    assert abs(free[0]) < 0.5


def test_a_reweighted_line_is_that_of_scipy_s_huber_loss() -> None:
    """Huber's weights lead to the minimum of the Huber loss, scipy's ``loss="huber"``."""
    rng = np.random.default_rng(6)
    x = np.linspace(-1, 1, 120)
    y = 3 * x - 2 + rng.normal(0, 0.1, x.size)
    y[::10] += 4
    terms = np.stack([np.ones_like(x), x], axis=1)

    def misfit(p: np.ndarray) -> np.ndarray:
        return np.asarray(terms @ p - y)

    expected = least_squares(misfit, np.zeros(2), loss="huber", f_scale=0.3).x

    def trust(off: np.ndarray) -> np.ndarray:
        return np.asarray(np.minimum(1.0, 0.3 / np.maximum(np.abs(off), 1e-12)))

    fit, off = fit_reweighted(terms, y, trust)
    assert fit == pytest.approx(expected, abs=2e-3)
    assert off == pytest.approx(y - terms @ fit)


def test_a_weight_of_none_leaves_a_place_out() -> None:
    x = np.linspace(0, 1, 10)
    y = np.where(x < 0.9, 2 * x, 50.0)
    terms = np.stack([np.ones_like(x), x], axis=1)
    fit, _ = fit_reweighted(terms, y, np.ones_like, weight=(x < 0.9).astype(float))
    assert fit == pytest.approx([0.0, 2.0], abs=1e-9)
