import math
from collections.abc import Callable
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from scoring.errors import SettingsError
from scoring.estimate import Z95, Estimate
from scoring.metrics import FaceName
from scoring.ranking.combine import difference
from scoring.ranking.rank import RankedRun, rank_runs, shared_ranks
from scoring.ranking.run_numbers import RunNumbers
from scoring.ranking.score import read_score_table

MakeRun = Callable[..., RunNumbers]
TABLE = read_score_table()

positive = st.builds(
    lambda value, below, above: Estimate(value, value - below * value, value + above),
    st.floats(1e-3, 1e3),
    st.floats(0, 1),
    st.floats(0, 1e2),
)


def make_runs(found: list[Estimate]) -> list[RunNumbers]:
    from scoring.runs.settings import RunSettings  # noqa: PLC0415

    return [
        RunNumbers(
            RunSettings(
                name=f"R{n}",
                machine="Alder",
                axis="x",
                outer_wall_speed_mm_s=150,
                accel_mm_s2=5000,
            ),
            (FaceName.RINGDOWN,),
            1,
            {"ripple_peak_um": e, "ripple_rms_um": e},
            (),
            False,
        )
        for n, e in enumerate(found)
    ]


def ranks(rows: tuple[RankedRun, ...]) -> dict[str, int | None]:
    return {row.run.settings.name: row.rank for row in rows}


def test_runs_that_cannot_be_told_apart_share_a_rank(run: MakeRun) -> None:
    rows = rank_runs(
        [
            run("worst", ripple_peak_um=60),
            run("best", ripple_peak_um=20),
            run("close", ripple_peak_um=21),
            run("clear", ripple_peak_um=30),
        ],
        by="ripple_peak_um",
        table=TABLE,
    )
    assert [(r.rank, r.run.settings.name) for r in rows] == [
        (1, "best"),
        (1, "close"),
        (3, "clear"),
        (4, "worst"),
    ]


def test_a_chain_of_near_neighbours_is_cut_at_its_leader() -> None:
    """Each differs too little from the next, but the last clearly from the first."""
    assert shared_ranks([Estimate(v, v - 1, v + 1) for v in (10, 11, 12, 13)]) == (1, 1, 3, 3)


@given(
    st.floats(0, 10), st.floats(0.1, 3), st.floats(0, 10), st.floats(0.1, 3)
)  # fmt: skip
def test_two_normal_values_share_a_rank_where_a_z_test_sees_no_difference(
    a: float, sigma_a: float, b: float, sigma_b: float
) -> None:
    """Two-sided z-test at 5 % with scipy's normal distribution."""
    p = 2 * norm.sf(abs(a - b) / math.hypot(sigma_a, sigma_b))
    if abs(p - 0.05) > 1e-6:
        first, second = sorted([(a, sigma_a), (b, sigma_b)])
        found = [Estimate(v, v - Z95 * s, v + Z95 * s) for v, s in (first, second)]
        assert shared_ranks(found) == ((1, 1) if p > 0.05 else (1, 2))


@given(st.lists(positive, max_size=8), st.randoms(use_true_random=False))
def test_the_order_of_input_leaves_ranks_alone(found: list[Estimate], random: Random) -> None:
    runs = make_runs(found)
    shuffled = runs.copy()
    random.shuffle(shuffled)
    for by in ("ripple_peak_um", "ripple_rms_um"):
        assert rank_runs(runs, by=by, table=TABLE) == rank_runs(shuffled, by=by, table=TABLE)


@given(st.lists(positive, max_size=8), st.integers(-12, 12))
def test_the_unit_leaves_ranks_alone(found: list[Estimate], power: int) -> None:
    """A power of two scales without rounding, so that no tie on the edge may flip."""
    k = 2.0**power
    scaled = [Estimate(e.value * k, e.low * k, e.high * k) for e in found]
    before = rank_runs(make_runs(found), by="ripple_peak_um", table=TABLE)
    after = rank_runs(make_runs(scaled), by="ripple_peak_um", table=TABLE)
    assert ranks(before) == ranks(after)


@given(st.lists(positive, min_size=1, max_size=8))
def test_ranks_are_places_of_leaders(found: list[Estimate]) -> None:
    ordered = sorted(found, key=lambda e: e.value)
    given_ranks = shared_ranks(ordered)
    assert given_ranks[0] == 1
    for place, rank in enumerate(given_ranks):
        assert rank <= place + 1
        assert given_ranks[rank - 1] == rank
        apart = difference(ordered[place], ordered[rank - 1])
        assert apart.low <= 0 <= apart.high


def test_by_score_the_highest_comes_first(run: MakeRun) -> None:
    rows = rank_runs(
        [
            run("poor", ripple_peak_um=80, gap_fraction=0.1, recovery_mm=20),
            run("good", ripple_peak_um=5, gap_fraction=0.001, recovery_mm=1),
        ],
        by="score",
        table=TABLE,
    )
    assert [(r.rank, r.run.settings.name) for r in rows] == [(1, "good"), (2, "poor")]


def test_a_run_without_the_numbers_follows_unranked_with_the_reason(run: MakeRun) -> None:
    whole = run("whole", ripple_peak_um=20, gap_fraction=0.01, recovery_mm=3)
    half = run("half", ripple_peak_um=20)
    first, last = rank_runs([half, whole], by="score", table=TABLE)
    assert (first.rank, last.rank, last.value) == (1, None, None)
    assert last.unranked == "no photo of the flow face"
    (_, still) = rank_runs([half, whole], by="frequency_hz", table=TABLE)
    assert still.unranked == "no ripple found"
    ring = rank_runs([half, whole], by="score", table=TABLE, face=FaceName.RINGDOWN)
    assert [r.rank for r in ring] == [1, 1]


def test_what_cannot_be_ranked_is_told() -> None:
    with pytest.raises(SettingsError, match="did you mean ripple_peak_um"):
        rank_runs([], by="ripple_peak", table=TABLE)
    with pytest.raises(SettingsError, match="measured on the ring-down face"):
        rank_runs([], by="ripple_peak_um", table=TABLE, face=FaceName.FLOW)
