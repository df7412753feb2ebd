"""Finding gaps: threshold, extent, false alarms, against general-purpose image analysis."""

import numpy as np
import pytest
from numpy.typing import NDArray
from skimage import filters, measure

from scoring.gaps.closed import Darkness
from scoring.gaps.columns import Columns
from scoring.gaps.gaps import Evidence, choose_open, combine, find_dark, list_gaps, weigh_evidence

ROWS, SD = 96, 0.03


def _columns() -> Columns:
    u = np.concatenate([np.arange(7.05, 30.2, 0.1), np.arange(49.05, 95.0, 0.1)])
    first = int((u < 40).sum())
    parts = (slice(0, first), slice(first, u.size))
    return Columns(np.ones((10, u.size), np.float32), u, 0.1, parts, 22.0, 20.0, 0.0)


COLUMNS = _columns()


def _darkness(
    gaps: list[tuple[int, float, float, float]], rng: np.random.Generator, sd: float = SD
) -> Darkness:
    """Row, begin and end along u, and depth of each gap, in noise of ``sd`` a column."""
    share = sd * rng.standard_normal((ROWS, COLUMNS.u_mm.size))
    for row, begin, end, depth in gaps:
        share[row, (COLUMNS.u_mm > begin) & (COLUMNS.u_mm < end)] += depth
    return Darkness(share, sd / 3, np.full(COLUMNS.u_mm.size, sd / 3), 0.5)


def _open(dark: Darkness) -> NDArray[np.intp]:
    return _mark_open(weigh_evidence(dark, COLUMNS))


def _mark_open(evidence: Evidence, strictness: float = 1.0) -> NDArray[np.intp]:
    return choose_open(find_dark(evidence, COLUMNS), evidence, COLUMNS, strictness=strictness)


def test_false_alarms_are_rare() -> None:
    # The threshold asks for 0.3 a photo; Poisson's law gives 12 or fewer of 20 photos at 99 %.
    rng = np.random.default_rng(1)
    alarms = sum(int(_open(_darkness([], rng)).max()) for _ in range(20))
    assert alarms <= 12


def test_gaps_stand_where_they_were_put() -> None:
    truth = [(20, 52.0, 55.0, 0.3), (40, 60.0, 72.0, 0.2), (41, 60.0, 62.0, 0.5), (60, 12, 14, 0.4)]
    dark = _darkness(truth, np.random.default_rng(2))
    gaps = list_gaps(_open(dark), np.full(dark.share.shape, 0.04), COLUMNS)
    assert sorted(gaps.row) == [20, 40, 41, 60]
    for row, begin, end, _ in truth:
        i = int(np.flatnonzero(gaps.row == row)[0])
        assert COLUMNS.u_mm[gaps.first[i]] == pytest.approx(begin, abs=0.5)
        assert COLUMNS.u_mm[gaps.last[i]] == pytest.approx(end, abs=0.5)


def test_easy_gaps_agree_with_otsu_and_labelling() -> None:
    # scikit-image's own threshold (Otsu 1979) and connected components on the same picture.
    truth = [(5 + 4 * k, 52.0 + k, 56.0 + 2 * k, 0.6) for k in range(12)]
    dark = _darkness(truth, np.random.default_rng(3), sd=0.02)
    ours = _open(dark)
    smooth = COLUMNS.smooth(dark.share, 0.8)
    level = filters.threshold_otsu(smooth)  # type: ignore[no-untyped-call]
    theirs = measure.label(smooth > level)  # type: ignore[no-untyped-call]
    assert int(ours.max()) == int(theirs.max()) == 12
    assert float((ours > 0).sum()) == pytest.approx(float((theirs > 0).sum()), rel=0.05)


def test_a_dark_line_between_two_layers_is_no_long_gap() -> None:
    """As dark as just to be seen, all along: noise lifts it above the threshold in places.

    Without a rule of its own its longest piece was 16 mm on average.
    """
    rng = np.random.default_rng(5)
    longest_mm = []
    for _ in range(10):
        need = weigh_evidence(_darkness([], rng), COLUMNS).need
        gaps_there = [(60 + 3 * k, 60.0, 72.0, 3.0 * need) for k in range(8)]
        dark = _darkness([(30, 50.0, 94.0, 0.9 * need), *gaps_there], rng)
        evidence = weigh_evidence(dark, COLUMNS)
        gaps = list_gaps(_mark_open(evidence), np.full(dark.share.shape, 0.04), COLUMNS)
        length_mm = 0.1 * (gaps.last - gaps.first + 1)
        longest_mm.append(length_mm[gaps.row == 30].max(initial=0.0))
        assert length_mm[gaps.row == 60].max() == pytest.approx(12, abs=1)
    assert np.mean(longest_mm) < 10


def test_nothing_is_joined_across_the_grooves() -> None:
    dark = _darkness([(30, 20.0, 70.0, 0.4)], np.random.default_rng(4))
    gaps = list_gaps(_open(dark), np.full(dark.share.shape, 0.04), COLUMNS)
    assert gaps.row.tolist() == [30, 30]
    assert COLUMNS.u_mm[gaps.last[0]] < 31
    assert COLUMNS.u_mm[gaps.first[1]] > 48


def test_a_looser_judgement_finds_no_less() -> None:
    rng = np.random.default_rng(5)
    truth = [(10 + k, 55.0, 58.0, 0.01 * k) for k in range(30)]
    evidence = weigh_evidence(_darkness(truth, rng), COLUMNS)
    sizes = [int((_mark_open(evidence, s) > 0).sum()) for s in (0.5, 1.0, 2.0)]
    assert sizes[0] >= sizes[1] >= sizes[2]


def test_layers_shifted_as_a_whole_are_glints_not_gaps() -> None:
    rng = np.random.default_rng(6)
    dark = _darkness([], rng)
    dark.share[:, COLUMNS.u_mm > 49] += 0.15 * rng.standard_normal((ROWS, 1))
    evidence = weigh_evidence(dark, COLUMNS)
    assert evidence.shift == pytest.approx(0.15, rel=0.25)
    assert int(_mark_open(evidence).max()) == 0


def test_low_short_and_tall_stretches_are_no_gaps() -> None:
    member = np.zeros((ROWS, COLUMNS.u_mm.size), np.intp)
    height = np.full(member.shape, 0.05)
    for number, (row, columns, open_mm) in enumerate(
        [(10, 30, 0.05), (20, 4, 0.05), (30, 30, 0.005), (40, 8, 1.2)], start=1
    ):
        member[row, 300 : 300 + columns] = number
        height[row] = open_mm
    gaps = list_gaps(member, height, COLUMNS)
    assert gaps.row.tolist() == [10]
    assert gaps.height_mm == pytest.approx([0.05])
    assert set(np.unique(gaps.member)) == {0, 1}


def test_the_calmer_of_two_readings_weighs_more() -> None:
    rng = np.random.default_rng(7)
    calm, rough = _darkness([], rng, sd=0.02), _darkness([], rng, sd=0.2)
    both = combine(calm, rough)
    assert float(np.std(both.share)) < 1.02 * float(np.std(calm.share))
    assert float(np.std(combine(rough, calm).share)) < float(np.std(calm.share))


@pytest.mark.parametrize("share", [0.0, 0.15, 0.25])
def test_a_line_beside_every_gap_is_no_gap(share: float) -> None:
    """The far side of a bead that lies deeper: beside each gap, as long, and fainter."""
    truth = [(row, 51.0 + row / 4, 58.0 + row / 4, 0.6) for row in range(10, 90, 8)]
    companions = [(row - 1, begin, end, share * deep) for row, begin, end, deep in truth]
    dark = _darkness([*truth, *companions], np.random.default_rng(8))
    gaps = list_gaps(_open(dark), np.full(dark.share.shape, 0.04), COLUMNS)
    assert sorted(gaps.row) == [row for row, *_ in truth]


def test_faint_gaps_beside_some_clear_ones_are_gaps() -> None:
    truth = [(row, 51.0 + row / 4, 58.0 + row / 4, 0.6) for row in range(10, 90, 8)]
    faint = [(row - 1, begin, end, 0.25 * deep) for row, begin, end, deep in truth[::2]]
    dark = _darkness([*truth, *faint], np.random.default_rng(9))
    gaps = list_gaps(_open(dark), np.full(dark.share.shape, 0.04), COLUMNS)
    assert sorted(gaps.row) == sorted(row for row, *_ in (*truth, *faint))


def test_where_gaps_crowd_fainter_ones_count_but_not_long_ones() -> None:
    clear = [(row, 52.0, 57.0, 0.3) for row in range(5, 45, 5)]
    faint = [(22, 53.0, 55.0, 0.08), (32, 51.5, 58.0, 0.08), (52, 85.0, 87.0, 0.08)]
    assert _rows_over_a_tenth([*clear, *faint]) == {*range(5, 45, 5), 22}
    assert _rows_over_a_tenth(faint) == set()


def _rows_over_a_tenth(truth: list[tuple[int, float, float, float]]) -> set[int]:
    """Boundaries marked open where a gap's depth must be 0.1, or 0.065 in a crowd."""
    depth = np.zeros((ROWS, COLUMNS.u_mm.size))
    for row, begin, end, deep in truth:
        depth[row, (COLUMNS.u_mm > begin) & (COLUMNS.u_mm < end)] = deep
    sd = np.full(COLUMNS.u_mm.size, 0.005)
    evidence = Evidence(depth, depth / 0.1, sd, 0.1, 0.0, 1.0, 1.0, 0.65)
    return set(np.flatnonzero((_mark_open(evidence) > 0).any(axis=1)).tolist())


@pytest.mark.parametrize(("beyond", "length_mm"), [(0.0, 7.5), (0.04, 7.5), (0.15, 20.0)])
def test_a_faint_line_beyond_a_gap_s_end_is_no_part_of_it(beyond: float, length_mm: float) -> None:
    """A gap of 5 mm that peters out into a line ends where that is half as dark as a gap must be.

    0.3 exp(-x / 1.5) falls to 0.05 at x = 2.7; a line that would be a gap by itself belongs to it.
    """
    u = COLUMNS.u_mm
    depth = np.zeros((ROWS, u.size))
    depth[10, (u > 55) & (u < 60)] = 0.3
    after = (u > 60) & (u < 75)
    depth[10, after] = np.maximum(0.3 * np.exp(-(u[after] - 60) / 1.5), beyond)
    evidence = Evidence(depth, depth / 0.1, np.full(u.size, 0.02), 0.1, 0.0, 1.0, 1.0, 0.65)
    gaps = list_gaps(_mark_open(evidence), np.full(depth.shape, 0.04), COLUMNS)
    found_mm = (gaps.last - gaps.first).max() * COLUMNS.width_mm
    assert found_mm == pytest.approx(length_mm, abs=0.5)


def test_a_low_lamp_s_longer_shadows_must_be_higher_to_be_gaps() -> None:
    member = np.zeros((ROWS, COLUMNS.u_mm.size), np.intp)
    member[10, 300:330] = 1
    height = np.full(member.shape, 0.015)
    assert list_gaps(member, height, COLUMNS).row.size == 1
    assert list_gaps(member, height, COLUMNS, lamp_rise=0.45).row.size == 0
