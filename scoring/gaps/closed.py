"""The light that closed layers would return, and how much darker each place is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.gaps.columns import Columns
from scoring.geometry import BLADE
from scoring.least_squares import MAD_TO_SD
from scoring.medians import median, medians

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
    steady = columns.span(BLADE.steady_zone_u_mm)
    thin = slice(steady.start, steady.stop, EVERY)  # smoothed, they hardly differ along u
    level = median(light[:, thin])
    lit = light / level
    dark = 1 - lit
    t = np.linspace(-1.0, 1.0, light.shape[0])
    powers = t[:, None] ** np.arange(5)
    smooth = columns.smooth(dark, JUDGE_MM)
    calm = smooth[:, thin]
    band = medians(calm - medians(calm.T))
    level_to_bent, _ = np.linalg.qr(powers[:, :3])
    band -= level_to_bent @ (level_to_bent.T @ band)
    near = closed if closed is not None else _seek_closed(smooth - band[:, None], thin)
    strength = np.ones(light.shape[1])
    for k in range(ROUNDS):
        shut = near.astype(np.float64)  # products are quicker than choosing
        rest = dark - _fit_surface(dark - strength * band[:, None], shut, powers, columns)
        band = medians(rest[:, steady.start : steady.stop : 2])
        inner = columns.smooth(np.stack([band @ (rest * shut), band**2 @ shut]), BANDING_MM)
        strength = np.clip(inner[0] / np.maximum(inner[1], 1e-12), 0.0, 2.0)
        rest -= strength * band[:, None]
        if closed is not None and k < ROUNDS - 1:
            continue
        judged = columns.smooth(rest, JUDGE_MM)
        # Gaps only darken, so what is brighter than the closed level shows its true spread.
        calm_sd = MAD_TO_SD * median(np.abs(judged[:, thin]))
        some = judged[:, ::EVERY]
        sd = max(calm_sd, SMALLEST_SD, -MAD_TO_SD * median(some[some <= 0]))
        if closed is None:
            near = np.abs(judged) < NEAR_SD * sd
    shut = near.astype(np.float64)
    count = shut.sum(axis=0)
    squares = columns.smooth(np.stack([(judged**2 * shut).sum(axis=0), count]), LOCAL_MM)
    local = np.sqrt(squares[0] / np.maximum(squares[1], 1e-9))
    rest -= columns.smooth((rest * shut).sum(axis=0) / np.maximum(count, 1), FINE_MM)
    share = 1 - lit / np.maximum(lit + rest, MIN_CLOSED)
    return Darkness(share, sd, np.maximum(local, max(calm_sd, SMALLEST_SD)), level)


def _seek_closed(smooth: NDArray[np.float64], steady: slice) -> NDArray[np.bool_]:
    """Which places (K, C) look closed: the mode of each column, sought from the bright side."""
    calm = smooth[:, steady]
    reach = NEAR_SD * MAD_TO_SD * median(np.abs(calm - medians(calm.T)))
    thin = np.sort(smooth[:, ::EVERY].T, axis=1)
    at = START_QUANTILE * (thin.shape[1] - 1)
    low, part = thin[:, int(at) : int(at) + 2], at % 1
    level = low[:, 0] * (1 - part) + low[:, -1] * part
    for _ in range(6):
        near = np.abs(thin - level[:, None]) < reach
        level = (thin * near).sum(axis=1) / np.maximum(near.sum(axis=1), 1)
    every = np.arange(smooth.shape[1])
    return np.asarray(np.abs(smooth - np.interp(every, every[::EVERY], level)) < reach)


def _fit_surface(
    dark: NDArray[np.float64],
    shut: NDArray[np.float64],
    powers: NDArray[np.float64],
    columns: Columns,
) -> NDArray[np.float64]:
    """Quadratic in w at every u through the ``shut`` places (1, else 0) around, (K, C).

    ``powers`` (K, 5) are those of w from 0 to 4; places count within ``FALLOFF_MM``.
    """
    terms = powers[:, :3]
    sums = np.concatenate([powers.T @ shut, terms.T @ (dark * shut)])
    a, b, c, d, e, p, q, r = columns.smooth(sums, FALLOFF_MM)
    # Slope and bend are held near zero where little is closed.
    a, middle, e = (m + h * len(powers) for m, h in ((a, 1e-6), (c, 1e-3), (e, 1e-3)))
    # Cramer's rule on (a b c, b middle d, c d e): numpy's solver takes ten times as long.
    aa, ab, ac = middle * e - d * d, c * d - b * e, b * d - c * middle
    bb, bc, cc = a * e - c * c, b * c - a * d, a * middle - b * b
    fit = np.stack([aa * p + ab * q + ac * r, ab * p + bb * q + bc * r, ac * p + bc * q + cc * r])
    return np.asarray(terms @ (fit / (a * aa + b * ab + c * ac)))
