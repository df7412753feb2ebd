"""The exact permutation test against published values and against brute force."""

from itertools import permutations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.comparing.permutation import permute_exactly
from scoring.comparing.samples import Stratum
from tests.comparing.worked_examples import MAIZE, SLEEP, pairs_of, sample


def test_maize_as_fisher_counted_it() -> None:
    """1726 of 32768 sign changes give as large a sum either way (Fisher 1935, from memory)."""
    found = permute_exactly(pairs_of(np.zeros(15), MAIZE))
    assert found is not None
    assert found.p == pytest.approx(1726 / 32768, abs=1e-12)
    assert found.p_least == 2 / 32768


def test_two_samples_against_brute_force() -> None:
    before, after = SLEEP[0][:4], SLEEP[1][:4]
    found = permute_exactly([Stratum(sample(before), sample(after))])
    every = np.concatenate([after, before])
    means = np.array([np.mean(p[:4]) - np.mean(p[4:]) for p in permutations(every)])
    there = after.mean() - before.mean()
    tails = (np.mean(means >= there - 1e-12), np.mean(means <= there + 1e-12))
    assert found is not None
    assert found.p == pytest.approx(min(1, 2 * min(tails)))
    assert found.p_least == 2 / 70


def test_strata_of_several_prints_against_brute_force() -> None:
    rng = np.random.default_rng(3)
    parts = [(rng.normal(size=2), rng.normal(1, size=2)), (rng.normal(size=1), rng.normal(size=3))]
    found = permute_exactly([Stratum(sample(b), sample(a)) for b, a in parts])
    weights = [len(b) * len(a) / (len(b) + len(a)) for b, a in parts]

    def statistic(orders: tuple[tuple[float, ...], ...]) -> float:
        terms = zip(weights, parts, orders, strict=True)
        return float(
            sum(w * (np.mean(o[len(b) :]) - np.mean(o[: len(b)])) for w, (b, _), o in terms)
        )

    every = [list(permutations(np.concatenate(part))) for part in parts]
    values = np.array([statistic(orders) for orders in product(*every)])
    there = statistic(tuple(tuple(np.concatenate(part)) for part in parts))
    tails = (np.mean(values >= there - 1e-12), np.mean(values <= there + 1e-12))
    assert found is not None
    assert found.p == pytest.approx(min(1, 2 * min(tails)))
    assert found.p_least == 2 / (6 * 4)


def test_one_print_a_side_says_nothing() -> None:
    assert permute_exactly([Stratum(sample(1.0), sample(2.0))]) is None


def test_too_many_ways() -> None:
    assert permute_exactly(pairs_of(np.zeros(20), np.ones(20))) is None


@settings(max_examples=30)
@given(st.lists(st.tuples(*[st.floats(-5, 5)] * 2), min_size=2, max_size=6))
def test_never_below_the_least_and_the_same_when_swapped(pairs: list[tuple[float, float]]) -> None:
    before, after = (np.array(side) for side in zip(*pairs, strict=True))
    found, back = (permute_exactly(pairs_of(*two)) for two in ((before, after), (after, before)))
    assert found is not None
    assert back is not None
    assert found.p >= found.p_least - 1e-12
    assert found.p == pytest.approx(back.p)


def test_one_print_against_several_has_none_in_a_single_pair_but_counts_among_pairs() -> None:
    """Of three ways one lies farthest out, so p could be nothing but 2 / 3 or 1. Two such pairs
    have nine ways, by hand: the farthest out is one of them."""
    one = Stratum(sample([1.0, 2.0]), sample([5.0]))
    assert permute_exactly([one]) is None
    found = permute_exactly([one, one])
    assert found is not None
    assert found.p == pytest.approx(2 / 9)
    assert found.p_least == pytest.approx(2 / 9)
