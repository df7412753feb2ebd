"""The light that closed layers would return, and how much darker each place is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.gaps.columns import Columns
from scoring.geometry import BLADE
from scoring.least_squares import MAD_TO_SD

JUDGE_MM = 0.8
FALLOFF_MM = 2.0
BANDING_MM = 6.0
LOCAL_MM = 4.0
FINE_MM = 0.3
START_QUANTILE = 0.15
NEAR_SD = 2.5
ROUNDS = 2
MIN_CLOSED = 0.1
SMALLEST_SD = 1e-4  # a picture without any noise is still coded in steps
EVERY = 4


@dataclass(frozen=True)
class Darkness:
    """How much of the closed layers' light is missing.

    ``share`` (K, C) is 0 where layers touch and near 1 where all is open; ``sd`` is the spread of
    its mean over ``JUDGE_MM`` along u where layers touch, ``local_sd`` (C,) the same around each u.
    ``level`` is the closed layers' linear light in the steady zone.
    """

    share: NDArray[np.float64]
    sd: float
    local_sd: NDArray[np.float64]
    level: float


def find_darkness(
    light: NDArray[np.float64], columns: Columns, *, closed: NDArray[np.bool_] | None = None
) -> Darkness:
    """Missing light over the closed layers' own light, for ``light`` (K, C).

    The closed level is what most boundaries around each u share: a surface smooth in w and free
    along u, which takes up lamp falloff, marks across all layers and the deeper valleys of a
    starved nozzle. On top comes the banding of the layers, a pattern taken from the steady zone
    whose strength may change slowly along u. Which places are ``closed`` (K, C) may be given;
    otherwise they are sought from the bright side, so that up to about two thirds of the
    boundaries around a u may be open.
    """
    steady = np.flatnonzero(columns.inside(BLADE.steady_zone_u_mm))
    thin = steady[::EVERY]  # smoothed values hardly differ from column to column
    level = float(np.median(light[:, thin]))
    dark = 1 - light / level
    t = np.linspace(-1.0, 1.0, light.shape[0])
    smooth = columns.smooth(dark, JUDGE_MM)
    calm = smooth[:, thin]
    band = np.median(calm - np.median(calm, axis=0), axis=1)
    band -= np.polyval(np.polyfit(t, band, 2), t)
    near = closed if closed is not None else _seek_closed(smooth - band[:, None], thin)
    strength = np.ones(light.shape[1])
    for _ in range(ROUNDS):
        surface = _fit_surface(dark - strength * band[:, None], near, t, columns)
        rest = dark - surface
        band = np.median(rest[:, steady[::2]], axis=1)
        inner = columns.smooth(
            np.stack([band @ np.where(near, rest, 0.0), band**2 @ near]), BANDING_MM
        )
        strength = np.clip(inner[0] / np.maximum(inner[1], 1e-12), 0.0, 2.0)
        judged = columns.smooth(rest - strength * band[:, None], JUDGE_MM)
        # Gaps only darken, so what is brighter than the closed level shows its true spread.
        calm_sd = MAD_TO_SD * float(np.median(np.abs(judged[:, thin])))
        some = judged[:, ::EVERY]
        sd = max(calm_sd, SMALLEST_SD, MAD_TO_SD * float(np.median(-some[some <= 0])))
        if closed is None:
            near = np.abs(judged) < NEAR_SD * sd
    pattern = surface + strength * band[:, None]
    squares = columns.smooth(
        np.stack([(np.where(near, judged, 0.0) ** 2).sum(axis=0), near.sum(axis=0)]), LOCAL_MM
    )
    local = np.sqrt(squares[0] / np.maximum(squares[1], 1e-9))
    left = np.where(near, dark - pattern, 0.0).sum(axis=0) / np.maximum(near.sum(axis=0), 1)
    pattern += columns.smooth(left, FINE_MM)
    share = 1 - (1 - dark) / np.maximum(1 - pattern, MIN_CLOSED)
    return Darkness(share, sd, np.maximum(local, max(calm_sd, SMALLEST_SD)), level)


def _seek_closed(smooth: NDArray[np.float64], steady: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which places (K, C) look closed: the mode of each column, sought from the bright side."""
    calm = smooth[:, steady]
    reach = NEAR_SD * MAD_TO_SD * float(np.median(np.abs(calm - np.median(calm, axis=0))))
    thin = smooth[:, ::EVERY]
    level = np.quantile(thin, START_QUANTILE, axis=0)
    for _ in range(6):
        near = np.abs(thin - level) < reach
        level = np.where(near, thin, 0.0).sum(axis=0) / np.maximum(near.sum(axis=0), 1)
    at = np.arange(smooth.shape[1])
    return np.asarray(np.abs(smooth - np.interp(at, at[::EVERY], level)) < reach)


def _fit_surface(
    dark: NDArray[np.float64], near: NDArray[np.bool_], t: NDArray[np.float64], columns: Columns
) -> NDArray[np.float64]:
    """Quadratic in w at every u through near places within ``FALLOFF_MM``, (K, C)."""
    powers = t[:, None] ** np.arange(5)
    moments = columns.smooth(powers.T @ near.astype(np.float64), FALLOFF_MM)
    sums = columns.smooth(powers[:, :3].T @ np.where(near, dark, 0.0), FALLOFF_MM)
    order = np.add.outer(np.arange(3), np.arange(3))
    normal = np.moveaxis(moments[order], -1, 0)
    # Slope and bend are held near zero where little is closed.
    normal = normal + np.diag([1e-6, 1e-3, 1e-3]) * t.size
    fit = np.linalg.solve(normal, sums.T[..., None])[..., 0]
    return np.asarray(powers[:, :3] @ fit.T)
