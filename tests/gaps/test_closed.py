"""Missing light over a closed level that must be found among gaps."""

import numpy as np
import pytest
from numpy.typing import NDArray

from scoring.gaps.closed import find_darkness
from scoring.gaps.columns import Columns

ROWS = 96


def _columns() -> Columns:
    u = np.concatenate([np.arange(7.05, 30.2, 0.1), np.arange(49.05, 95.0, 0.1)])
    first = int((u < 40).sum())
    return Columns(
        np.ones((10, u.size), np.float32),
        u,
        0.1,
        (slice(0, first), slice(first, u.size)),
        22.0,
        20.0,
        0.0,
    )


def _light(columns: Columns, rng: np.random.Generator, noise: float) -> NDArray[np.float64]:
    """Falloff, banding and a mark across all layers, and noise; (K, C)."""
    t = np.linspace(-1, 1, ROWS)[:, None]
    falloff = 1 - 0.002 * (columns.u_mm - 50) + 0.05 * t - 0.03 * t**2
    banding = 1 + 0.02 * rng.standard_normal((ROWS, 1))
    mark = 1 - 0.06 * np.exp(-(((columns.u_mm - 60) / 1.5) ** 2))
    grain = 1 + noise * rng.standard_normal((ROWS, columns.u_mm.size))
    return np.asarray(0.4 * falloff * banding * mark * grain)


def test_falloff_banding_and_marks_across_the_layers_are_no_darkness() -> None:
    columns = _columns()
    darkness = find_darkness(_light(columns, np.random.default_rng(1), 0.02), columns)
    smooth = columns.smooth(darkness.share, 0.8)
    assert abs(float(np.median(smooth))) < 1e-3
    assert float(np.std(smooth)) < 0.012
    assert darkness.level == pytest.approx(0.4, rel=0.1)


@pytest.mark.parametrize("open_rows", [0.1, 0.3, 0.5])
def test_missing_light_is_measured_whatever_share_of_the_layers_is_open(open_rows: float) -> None:
    columns = _columns()
    rng = np.random.default_rng(2)
    open_ = np.zeros((ROWS, columns.u_mm.size), bool)
    dark = rng.permutation(ROWS)[: int(open_rows * ROWS)]
    open_[np.ix_(dark, (columns.u_mm > 52) & (columns.u_mm < 60))] = True
    light = _light(columns, rng, 0.02) * np.where(open_, 0.7, 1.0)
    share = find_darkness(light, columns).share
    assert float(share[open_].mean()) == pytest.approx(0.3, abs=0.012)
    assert float(share[~open_].mean()) == pytest.approx(0.0, abs=0.004)
    told = find_darkness(light, columns, closed=~open_).share
    assert float(told[open_].mean()) == pytest.approx(0.3, abs=0.006)


def test_spread_is_that_of_the_closed_layers() -> None:
    columns = _columns()
    darkness = find_darkness(_light(columns, np.random.default_rng(3), 0.03), columns)
    # Nine columns are averaged; the banding that is fitted takes a little of the noise with it.
    assert darkness.sd == pytest.approx(0.03 / np.sqrt(9), rel=0.15)
    assert darkness.local_sd == pytest.approx(darkness.sd, rel=0.35)


def test_share_of_dark_cells_is_the_area_coverage_of_printing() -> None:
    # Murray-Davies: a = (1 - 10^-Dt) / (1 - 10^-Ds); Dt 0.30103 and Ds 1.5 cover 0.516328 (computed
    # from the formula). Light missing over what the solid takes is the same number.
    columns = _columns()
    light = np.ones((ROWS, columns.u_mm.size))
    light[40, columns.u_mm > 60] = 10**-0.30103
    share = find_darkness(light, columns).share[40, -1]
    assert share / (1 - 10**-1.5) == pytest.approx(0.516328, abs=2e-6)
