"""Variance components of nested repeats: photos within prints within settings."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2
from scipy.stats import f as fisher_f

from scoring.comparing.samples import Array

ALPHA = 0.05


@dataclass(frozen=True)
class VariancePart:
    """One component: its variance (never below 0) with a 95 % interval, mean square and degrees of
    freedom. ``variance`` is ``None`` without degrees of freedom, its ends where none can be given.
    """

    variance: float | None
    low: float | None
    high: float | None
    mean_square: float | None
    df: int


@dataclass(frozen=True)
class NestedParts:
    """``within`` the innermost cells, ``between`` the cells of a group, ``groups`` between these.

    Where no cell has two values, ``between`` holds both (``within`` is unknown).
    """

    within: VariancePart
    between: VariancePart
    groups: VariancePart


@dataclass(frozen=True)
class GaugeFigures:
    """The gauge's share of the total deviation and variance, 0 to 1, and the distinct categories.

    ``categories`` is how many classes of parts the gauge tells apart, 1.41 times parts over gauge
    cut to a whole number (automotive MSA manual, from memory); ``None`` for a gauge without spread.
    """

    study_variation: float
    contribution: float
    categories: int | None


def judge_gauge(gauge: float, parts: float) -> GaugeFigures:
    """The usual figures from the variances of gauge and parts, of which one is above 0."""
    share = gauge / (gauge + parts)
    categories = int(math.sqrt(2) * math.sqrt(parts / gauge)) if gauge > 0 else None
    return GaugeFigures(math.sqrt(share), share, categories)


def split_nested(groups: Sequence[Sequence[Array]]) -> NestedParts:
    """Components by the analysis of variance (Henderson's method 1; Searle, Casella and McCulloch,
    Variance Components, 1992, ch. 3 and 5), balanced or not: ``groups[i][j]`` has the values of one
    cell, at least one. An estimate below 0 is 0.

    Intervals: chi-square for ``within``, the modified large-sample one for ``between`` (Burdick and
    Graybill, Confidence Intervals on Variance Components, 1992, sec. 3.3; from memory), none for
    ``groups``. Raises ``ValueError`` without any value.
    """
    cells = [cell for group in groups for cell in group]
    if not cells or any(cell.size == 0 for cell in cells):
        raise ValueError("a cell without a value")
    sizes = [np.array([cell.size for cell in group], float) for group in groups]
    totals = np.array([n.sum() for n in sizes])
    every = float(totals.sum())
    means = [np.concatenate(group).mean() for group in groups]
    grand = float(np.concatenate(cells).mean())
    df = (int(every) - len(cells), len(cells) - len(groups), len(groups) - 1)
    squares = (
        math.fsum(float(np.sum((cell - cell.mean()) ** 2)) for cell in cells),
        math.fsum(
            cell.size * float(cell.mean() - mean) ** 2
            for group, mean in zip(groups, means, strict=True)
            for cell in group
        ),
        float(np.sum(totals * (np.array(means) - grand) ** 2)),
    )
    ms = [s / d if d else None for s, d in zip(squares, df, strict=True)]
    within = _within(ms[0], df[0])
    # Sums of squared cell sizes, as shares of their group and of all.
    in_groups = math.fsum(
        float(np.sum(n**2)) / total for n, total in zip(sizes, totals, strict=True)
    )
    in_all = math.fsum(float(np.sum(n**2)) for n in sizes) / every
    n0 = (every - in_groups) / df[1] if df[1] else 0.0
    between = _between(ms, df, n0)
    k_cells = (in_groups - in_all) / df[2] if df[2] else 0.0
    k_groups = (every - float(np.sum(totals**2)) / every) / df[2] if df[2] else 0.0
    top = ms[2]
    groups_variance = None
    if top is not None and between.variance is not None:
        inner = within.variance or 0.0
        groups_variance = max(0.0, (top - inner - k_cells * between.variance) / k_groups)
    return NestedParts(within, between, VariancePart(groups_variance, None, None, top, df[2]))


def _within(mean_square: float | None, df: int) -> VariancePart:
    if mean_square is None:
        return VariancePart(None, None, None, None, 0)
    low, high = (df * mean_square / float(chi2.ppf(p, df)) for p in (1 - ALPHA / 2, ALPHA / 2))
    return VariancePart(mean_square, low, high, mean_square, df)


def _between(ms: Sequence[float | None], df: Sequence[int], n0: float) -> VariancePart:
    inner, outer = ms[0], ms[1]
    if outer is None:
        return VariancePart(None, None, None, None, 0)
    if inner is None:  # single photos: the two cannot be parted
        return _within(outer, df[1])
    low, high = _burdick_graybill(outer, df[1], inner, df[0])
    variance = max(0.0, (outer - inner) / n0)
    return VariancePart(variance, max(0.0, low / n0), max(0.0, high / n0), outer, df[1])


def _burdick_graybill(outer: float, df1: int, inner: float, df2: int) -> tuple[float, float]:
    """Ends of the modified large-sample 95 % interval of a difference of two mean squares."""
    up, down = 1 - ALPHA / 2, ALPHA / 2
    g1, g2 = (1 - df / float(chi2.ppf(up, df)) for df in (df1, df2))
    h1, h2 = (df / float(chi2.ppf(down, df)) - 1 for df in (df1, df2))
    f_up, f_down = (float(fisher_f.ppf(p, df1, df2)) for p in (up, down))
    g12 = ((f_up - 1) ** 2 - g1**2 * f_up**2 - h2**2) / f_up
    h12 = ((1 - f_down) ** 2 - h1**2 * f_down**2 - g2**2) / f_down
    below = g1**2 * outer**2 + h2**2 * inner**2 + g12 * outer * inner
    above = h1**2 * outer**2 + g2**2 * inner**2 + h12 * outer * inner
    difference = outer - inner
    return difference - math.sqrt(max(below, 0.0)), difference + math.sqrt(max(above, 0.0))
