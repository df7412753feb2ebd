"""A crossed gauge study against the automotive MSA manual's data."""

import dataclasses
import json

import numpy as np
import pytest

from scoring.comparing.crossed import study_crossed
from scoring.errors import SettingsError

ROWS = """.29 .41 .64 .08 .25 .07 .04 -.11 -.15
-.56 -.68 -.58 -.47 -1.22 -.68 -1.38 -1.13 -.96
1.34 1.17 1.27 1.19 .94 1.34 .88 1.09 .67
.47 .50 .64 .01 1.03 .20 .14 .20 .11
-.80 -.92 -.84 -.56 -1.20 -1.28 -1.46 -1.07 -1.45
.02 -.11 -.21 -.20 .22 .06 -.29 -.67 -.49
.59 .75 .66 .47 .55 .83 .02 .01 .21
-.31 -.20 -.17 -.63 .08 -.34 -.46 -.56 -.49
2.26 1.99 2.01 1.80 2.12 2.19 1.77 1.45 1.87
-1.36 -1.25 -1.31 -1.68 -1.62 -1.50 -1.49 -1.77 -2.16"""
MSA = np.array(ROWS.split(), float).reshape(10, 3, 3)
"""10 parts, 3 operators, 3 trials (from memory; the total sum of squares guards it)."""


def test_msa_manual() -> None:
    """Sums of squares and pooled variances of the manual, recomputed with two gauge libraries."""
    assert np.sum((MSA - MSA.mean()) ** 2) == pytest.approx(94.6471, abs=1e-4)
    found = study_crossed(MSA)
    assert found.ss_person == pytest.approx(3.1673, abs=1e-4)
    assert found.ss_print == pytest.approx(88.3619, abs=1e-4)
    assert found.ss_interaction == pytest.approx(0.3590, abs=1e-4)
    assert found.ss_repeat == pytest.approx(2.7589, abs=1e-4)
    assert found.f_interaction == pytest.approx(0.4337, abs=1e-4)
    assert found.pooled
    assert found.repeatability == pytest.approx(0.0399733, abs=1e-7)
    assert found.reproducibility == pytest.approx(0.0514553, abs=1e-7)
    assert found.gauge == pytest.approx(0.0914285, abs=1e-7)
    assert found.parts == pytest.approx(1.0864466, abs=1e-7)
    assert 100 * found.study_variation == pytest.approx(27.86, abs=5e-3)
    assert 100 * found.contribution == pytest.approx(7.76, abs=5e-3)
    assert found.categories == 4


def test_an_interaction_is_not_pooled() -> None:
    rng = np.random.default_rng(2)
    y = rng.normal(size=(6, 3, 1)) + 0.05 * rng.normal(size=(6, 3, 3))
    found = study_crossed(y)
    assert not found.pooled
    assert found.repeatability == pytest.approx(found.ss_repeat / 36)
    assert found.reproducibility > 0.2


def test_a_formula_s_analysis_of_variance() -> None:
    """statsmodels' table of the same two-way layout."""
    import pandas as pd  # noqa: PLC0415
    from statsmodels.formula.api import ols  # noqa: PLC0415
    from statsmodels.stats.anova import anova_lm  # noqa: PLC0415

    y = np.random.default_rng(3).normal(5, 1, (4, 3, 2))
    rows = [(value, *place[:2]) for place, value in np.ndenumerate(y)]
    table = pd.DataFrame(rows, columns=["y", "print", "person"])
    known = anova_lm(ols("y ~ C(print) * C(person)", table).fit())
    found = study_crossed(y)
    squares = (found.ss_print, found.ss_person, found.ss_interaction, found.ss_repeat)
    assert squares == pytest.approx(tuple(known["sum_sq"]))
    assert found.f_interaction == pytest.approx(known["F"]["C(print):C(person)"])
    assert found.p_interaction == pytest.approx(known["PR(>F)"]["C(print):C(person)"])


@pytest.mark.parametrize("repeats", [2, 3])
def test_repeats_that_agree_fully(repeats: int) -> None:
    """Without an interaction there is none to find; with one no F is large enough."""
    y = np.repeat([[[0.1], [0.3]], [[0.7], [0.9]], [[0.4], [0.6]]], repeats, axis=2)
    alike = study_crossed(y)
    assert (alike.ss_interaction, alike.ss_repeat) == (0, 0)
    assert (alike.f_interaction, alike.p_interaction, alike.pooled) == (0, 1, True)
    y[0, 0] += 0.1
    other = study_crossed(y)
    assert (other.f_interaction, other.p_interaction, other.pooled) == (None, 0, False)
    for found in (alike, other):
        json.dumps(dataclasses.asdict(found), allow_nan=False)


@pytest.mark.parametrize("shape", [(1, 2, 2), (2, 1, 2), (2, 2, 1)])
def test_too_small_a_study(shape: tuple[int, ...]) -> None:
    with pytest.raises(SettingsError, match="two photos of each print"):
        study_crossed(np.arange(4.0).reshape(shape))


@pytest.mark.parametrize("value", [0.0, 1.0, 0.1])
def test_no_spread(value: float) -> None:
    with pytest.raises(SettingsError, match="no spread"):
        study_crossed(np.full((3, 3, 3), value))


def test_the_sentence_has_the_figures() -> None:
    said = study_crossed(MSA).sentence("ripple_peak_um")
    assert "27.9 %" in said
    assert "7.8 %" in said
    assert "4 distinct categories" in said
