"""Before and after where there was nothing to find."""

import math

import pytest

from scoring.comparing.comparison import Outcome
from scoring.estimate import Estimate
from tests.comparing.conftest import MakePhoto
from tests.comparing.test_compare import codes, compare

NOT_FOUND = Estimate(0.0, 0.0, 1.0)


def test_no_ripple_after_gives_a_bound(photo: MakePhoto) -> None:
    records = [photo("S", peak=20), photo("B", peak=NOT_FOUND, setup="brace")]
    (effect,) = compare(records, metrics=["ripple_peak_um"]).overall
    assert effect.low is None
    assert effect.high is not None
    assert effect.high >= 1 / 20  # the detection limit over the ripple before
    assert effect.outcome is Outcome.LOWER
    assert effect.p_exact is None
    assert effect.not_found_after == 1
    assert "at least" in effect.sentence


@pytest.mark.parametrize(
    ("setups", "said"),
    [
        (("stock", "brace"), "no ripple was found after in 2 of 3 prints"),
        (("brace", "stock"), "no ripple was found before in 2 of 3 prints"),
    ],
)
def test_prints_without_a_ripple_are_counted_among_those_that_tell(
    photo: MakePhoto, setups: tuple[str, str], said: str
) -> None:
    """At 9000 mm/s² no ripple is on either side: that pair tells nothing and counts nowhere."""
    found, none = setups
    records = [photo("F", peak=20, setup=found), photo("N1", peak=10, setup=none)]
    records += [photo(name, peak=NOT_FOUND, setup=none) for name in ("N2", "N3")]
    records += [
        photo(f"9{setup}", peak=NOT_FOUND, setup=setup, accel_mm_s2=9000) for setup in setups
    ]
    (effect,) = compare(records, metrics=["ripple_peak_um"]).overall
    assert said in effect.sentence
    assert effect.not_found_before + effect.not_found_after == 2


def test_a_detection_limit_above_the_ripple_shows_nothing(photo: MakePhoto) -> None:
    records = [photo("S", peak=0.9), photo("B", peak=NOT_FOUND, setup="brace")]
    (effect,) = compare(records, metrics=["ripple_peak_um"]).overall
    assert effect.outcome is Outcome.OPEN
    assert "no change established" in effect.sentence


def test_no_ripple_anywhere_says_nothing_of_the_ratio(photo: MakePhoto) -> None:
    records = [photo("S", peak=NOT_FOUND), photo("B", peak=NOT_FOUND, setup="brace")]
    found = compare(records, metrics=["ripple_peak_um"])
    assert found.overall[0].value is None
    assert found.overall[0].pairs == 0
    assert "no number can be compared" in found.verdict


def test_two_prints_a_side_are_not_called_one_where_nothing_can_be_told(photo: MakePhoto) -> None:
    records = [photo(name, peak=NOT_FOUND) for name in ("S1", "S2")]
    records += [photo(name, peak=NOT_FOUND, setup="brace") for name in ("B1", "B2")]
    assert "one-print-a-side" not in codes(compare(records, metrics=["ripple_peak_um"]))
    alone = compare([records[0], records[2]], metrics=["ripple_peak_um"])
    assert "one-print-a-side" in codes(alone)


def test_not_found_on_both_sides_in_turn_leaves_both_ends_open(photo: MakePhoto) -> None:
    records = [
        photo("S1", peak=NOT_FOUND),
        photo("B1", peak=5, setup="brace"),
        photo("S2", peak=5, accel_mm_s2=9000),
        photo("B2", peak=NOT_FOUND, setup="brace", accel_mm_s2=9000),
    ]
    (effect,) = compare(records, metrics=["ripple_peak_um"]).overall
    assert (effect.value, effect.low, effect.high) == (None, None, None)
    assert effect.outcome is Outcome.OPEN


def test_gaps_not_found_after_may_be_as_many_as_their_upper_end(photo: MakePhoto) -> None:
    records = [photo("S", gaps=Estimate(0.02, 0.019, 0.021))]
    records += [photo("B", gaps=Estimate(0.0, 0.0, 0.03), setup="brace")]
    (effect,) = compare(records, metrics=["gap_fraction"]).overall
    assert (effect.low, effect.high) == pytest.approx((-0.021, -0.02 + math.hypot(0.03, 0.001)))
    assert effect.outcome is Outcome.OPEN
