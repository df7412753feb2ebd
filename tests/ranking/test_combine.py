import math
import re
from importlib.resources import files
from random import Random

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.optimize import curve_fit

from scoring.estimate import Z95, Estimate
from scoring.ranking.combine import birge_ratio, combine, difference


def normal(value: float, sigma: float) -> Estimate:
    return Estimate.around(value, Z95 * sigma)


estimates = st.builds(
    lambda value, below, above: Estimate(value, value - below, value + above),
    st.floats(-1e3, 1e3),
    st.floats(0, 1e3),
    st.floats(0, 1e3),
)


def test_the_charged_kaon_s_mass() -> None:
    """Disagreeing measurements of the charged kaon's mass in MeV, Review of Particle Physics:
    average 493.677 +- 0.013, scale factor 2.4 (values from memory). The review leaves the least
    precise of the six, 493.640 +- 0.054, out of its scale factor; so does this test."""
    measured = [
        (493.696, 0.007),
        (493.636, 0.011),
        (493.670, 0.029),
        (493.657, 0.020),
        (493.691, 0.040),
    ]
    together = combine([normal(*m) for m in measured])
    assert round(together.value, 3) == 493.677
    assert round(together.half_width / Z95, 3) == 0.013
    unscaled = 1 / math.sqrt(sum(s**-2 for _, s in measured))
    assert round(together.half_width / Z95 / unscaled, 1) == 2.4


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("scatter", [0.3, 3.0])
def test_agrees_with_scipy_s_weighted_fit_of_a_constant(seed: int, scatter: float) -> None:
    """curve_fit with relative sigmas scales its covariance by chi^2 / (n - 1): the Birge ratio."""
    rng = np.random.default_rng(seed)
    sigmas = rng.uniform(0.5, 2.0, 6)
    values = 40 + scatter * rng.normal(0, sigmas)
    together = combine([normal(v, s) for v, s in zip(values, sigmas, strict=True)])

    def fit(absolute: bool) -> tuple[float, float]:
        best, covariance = curve_fit(
            lambda x, c: 0 * x + c,
            np.arange(6.0),
            values,
            p0=[40.0],
            sigma=sigmas,
            absolute_sigma=absolute,
        )
        return float(best[0]), math.sqrt(covariance[0, 0])

    mean, own_sigma = fit(True)
    _, scaled_sigma = fit(False)
    assert together.value == pytest.approx(mean, rel=1e-6)
    assert together.half_width / Z95 == pytest.approx(max(own_sigma, scaled_sigma), rel=1e-4)


def _nist_anova(name: str) -> tuple[dict[int, list[float]], float, float]:
    """Data by treatment, certified F and certified residual SD of a NIST StRD one-way ANOVA file,
    as scipy ships them (NIST Statistical Reference Datasets, itl.nist.gov/div898/strd)."""
    text = (files("scipy.stats") / f"tests/data/nist_anova/{name}.dat").read_text()
    f = re.search(r"^Between .* (\S+)$", text, re.MULTILINE)
    sd = re.search(r"Standard Deviation +(\S+)", text)
    assert f is not None
    assert sd is not None
    groups: dict[int, list[float]] = {}
    for treatment, value in re.findall(r"^ +(\d+) +(\d+\.\d+)$", text, re.MULTILINE):
        groups.setdefault(int(treatment), []).append(float(value))
    return groups, float(f[1]), float(sd[1])


@pytest.mark.parametrize(
    ("name", "f"),
    [("SiRstv", 1.18046237440255), ("AtmWtAg", 15.9467335677930), ("SmLs01", 21.0)],
)
def test_widening_is_that_of_certified_data(name: str, f: float) -> None:
    """Equal groups, each mean with the certified residual SD over sqrt(n): their Birge ratio is the
    root of the certified F statistic, their mean the grand mean."""
    groups, certified_f, residual_sd = _nist_anova(name)
    assert certified_f == pytest.approx(f)
    (n,) = {len(g) for g in groups.values()}
    of_mean = residual_sd / math.sqrt(n)
    together = combine([normal(math.fsum(g) / n, of_mean) for g in groups.values()])
    grand = math.fsum(v for g in groups.values() for v in g) / (n * len(groups))
    assert together.value == pytest.approx(grand, rel=1e-12)
    widening = together.half_width / Z95 / (of_mean / math.sqrt(len(groups)))
    assert widening == pytest.approx(math.sqrt(certified_f), rel=1e-5)


def test_difference_of_two_certified_groups_is_its_t() -> None:
    """AtmWtAg has two groups: their difference over its SD is t, its square the certified F."""
    groups, certified_f, residual_sd = _nist_anova("AtmWtAg")
    first, second = (
        normal(math.fsum(g) / len(g), residual_sd / math.sqrt(len(g))) for g in groups.values()
    )
    apart = difference(first, second)
    assert (apart.value / (apart.half_width / Z95)) ** 2 == pytest.approx(certified_f, rel=1e-5)


def test_sides_are_carried_apart() -> None:
    """Two equal weights: each side is its half-widths in quadrature, halved (by hand)."""
    together = combine([Estimate(10, 7, 14), Estimate(10, 6, 13)])
    assert together.value == pytest.approx(10)
    assert together.low == pytest.approx(10 - math.hypot(3, 4) / 2)
    assert together.high == pytest.approx(10 + math.hypot(4, 3) / 2)


def test_intervals_of_no_length() -> None:
    exact = Estimate(3, 3, 3)
    assert combine([exact, exact]) == exact
    apart = combine([Estimate(2, 2, 2), Estimate(4, 4, 4)])
    # mean 3, standard deviation sqrt(2), of the mean 1
    assert (apart.value, apart.half_width) == pytest.approx((3, Z95))
    mixed = combine([exact, Estimate(3, 2, 4)])
    assert mixed.half_width == pytest.approx(1 / math.sqrt(2))


def test_one_is_itself_and_none_is_refused() -> None:
    one = Estimate(1, 0.5, 3)
    assert combine([one]) == one
    with pytest.raises(ValueError, match="nothing"):
        combine([])
    with pytest.raises(ValueError, match="scatter"):
        birge_ratio([one])


@given(st.lists(estimates, min_size=1, max_size=6))
def test_the_mean_lies_among_the_values_and_no_interval_newly_reaches_below_zero(
    found: list[Estimate],
) -> None:
    together = combine(found)
    values = [e.value for e in found]
    slack = 1e-9 * (1 + max(map(abs, values)))
    assert min(values) - slack <= together.value <= max(values) + slack
    if all(e.low >= 0 for e in found):
        assert together.low >= 0


@given(st.lists(estimates, min_size=2, max_size=6), st.randoms())
@example([Estimate(0.0, 0.0, 6e-307), Estimate(41.0, 41.0, 41.0)], Random(1))
def test_order_does_not_matter(found: list[Estimate], random: Random) -> None:
    shuffled = found.copy()
    random.shuffle(shuffled)
    one, other = combine(found), combine(shuffled)
    assert one.value == pytest.approx(other.value, rel=1e-9, abs=1e-9)
    assert one.half_width == pytest.approx(other.half_width, rel=1e-6, abs=1e-9)


def test_a_difference_adds_in_quadrature() -> None:
    apart = difference(Estimate(10, 7, 11), Estimate(5, 3, 9))
    assert (apart.value, apart.low, apart.high) == (5, 5 - 5, 5 + math.hypot(1, 2))


@given(estimates, estimates)
def test_a_difference_turns_its_sign_with_the_order(a: Estimate, b: Estimate) -> None:
    one, other = difference(a, b), difference(b, a)
    assert (one.value, one.low, one.high) == (-other.value, -other.high, -other.low)
