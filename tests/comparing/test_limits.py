"""How far up the ladder prints keep within limits."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from scoring.comparing.acceptance import AcceptanceLimit, Reach, Rung
from scoring.comparing.limit_words import group_labels
from scoring.comparing.limits import find_limits, read_limit
from scoring.errors import SettingsError
from scoring.estimate import Estimate
from scoring.store.records import MeasurementRecord
from tests.comparing.conftest import MakePhoto, make_photo

PEAK = [AcceptanceLimit("ripple_peak_um", 15.0)]


def prints(peaks: dict[float, float | Estimate], **more: Any) -> list[MeasurementRecord]:
    return [
        make_photo(f"R{accel:g}", peak=peak, accel_mm_s2=accel, **more)
        for accel, peak in peaks.items()
    ]


def test_the_highest_that_passes() -> None:
    (result,) = find_limits(prints({1000: 5, 2500: 10, 5000: 14.9, 10000: 40}), PEAK)
    (ladder,) = result.ladders
    # 14.9 lies below 15, but not with 95 % confidence: its interval is 5 % either way.
    assert [r.rung for r in ladder.rungs] == [
        Rung.PASSES, Rung.PASSES, Rung.UNSURE, Rung.FAILS,
    ]  # fmt: skip
    assert (ladder.reach, ladder.highest_mm_s2) == (Reach.FOUND, 2500)
    assert "not shown to pass" in ladder.sentence
    assert not ladder.between_prints


def test_the_bounds_are_the_normal_distribution_s_95_per_cent_points(photo: MakePhoto) -> None:
    """1.645 standard deviations one-sided, 1.960 two-sided (any table); one is 1 % here."""
    record = photo("A", gaps=Estimate(0.10, 0.10 - 0.0196, 0.10 + 0.0196))
    (result,) = find_limits([record], [AcceptanceLimit("gap_fraction", 0.2)])
    rung = result.ladders[0].rungs[0]
    assert (rung.least, rung.most) == pytest.approx((0.08355, 0.11645), abs=1e-5)
    assert (rung.value.low, rung.value.high) == pytest.approx((0.0804, 0.1196), abs=1e-5)


@pytest.mark.parametrize(
    ("metric", "found", "limit"),
    [
        ("gap_fraction", Estimate(0.0, 0.0, 0.018), 0.01),
        ("recovery_mm", Estimate(0.0, 0.0, 40.0), 20.0),
        ("gap_longest_mm", Estimate(1.0, 0.9, 3.0), 2.0),
    ],
)
def test_a_lopsided_interval_is_judged_by_its_own_upper_side(
    photo: MakePhoto, metric: str, found: Estimate, limit: float
) -> None:
    (result,) = find_limits([photo("A", numbers={metric: found})], [AcceptanceLimit(metric, limit)])
    rung = result.ladders[0].rungs[0]
    shorter = norm.ppf(0.95) / norm.ppf(0.975)
    assert rung.most == pytest.approx(found.value + shorter * (found.high - found.value))
    assert rung.least == pytest.approx(found.value - shorter * (found.value - found.low))
    ends = (rung.value.value, rung.value.low, rung.value.high)
    assert ends == pytest.approx((found.value, found.low, found.high))
    assert rung.rung is Rung.UNSURE


def test_not_reached_and_never() -> None:
    (result,) = find_limits(prints({1000: 5, 2500: 7}), PEAK)
    assert (result.reach, result.highest_mm_s2) == (Reach.NOT_REACHED, 2500)
    assert "may lie higher" in result.sentence
    (result,) = find_limits(prints({1000: 50, 2500: 7}), PEAK)
    assert (result.reach, result.highest_mm_s2) == (Reach.NEVER, None)
    assert "2500 mm/s² passes again, which does not count" in result.ladders[0].sentence


def test_two_limits_together(photo: MakePhoto) -> None:
    records = prints({1000: 5, 2500: 10, 5000: 40})
    records += [
        photo(f"R{accel}", gaps=gaps, accel_mm_s2=accel, shot="2")
        for accel, gaps in ((1000, 0.001), (2500, 0.03), (5000, 0.05))
    ]
    (result,) = find_limits(records)
    assert [lad.highest_mm_s2 for lad in result.ladders] == [2500, 1000]
    assert (result.reach, result.highest_mm_s2) == (Reach.FOUND, 1000)


def test_the_limit_that_ends_first_tells_how_it_ends(photo: MakePhoto) -> None:
    """Gaps fail at 5000 mm/s²; the ripple was looked at up to 1000 only, and may go farther."""
    records = [photo("R", peak=5, accel_mm_s2=1000)] + [
        photo(f"F{accel}", gaps=gaps, accel_mm_s2=accel)
        for accel, gaps in ((1000, 0.001), (2500, 0.002), (5000, 0.05))
    ]
    (result,) = find_limits(records)
    assert [lad.reach for lad in result.ladders] == [Reach.NOT_REACHED, Reach.FOUND]
    assert (result.reach, result.highest_mm_s2) == (Reach.NOT_REACHED, 1000)
    assert "may lie higher" in result.sentence


def test_a_metric_that_was_not_measured() -> None:
    (result,) = find_limits(prints({1000: 5}))
    assert result.ladders[1].reach is Reach.UNKNOWN
    assert (result.reach, result.highest_mm_s2) == (Reach.UNKNOWN, None)
    assert "cannot be told" in result.sentence


def test_no_ripple_found_passes_if_its_detection_limit_does() -> None:
    (result,) = find_limits(prints({1000: Estimate(0, 0, 2), 2000: Estimate(0, 0, 20)}), PEAK)
    assert [r.rung for r in result.ladders[0].rungs] == [Rung.PASSES, Rung.UNSURE]


def test_a_ripple_that_may_be_none_is_not_shown_to_fail() -> None:
    (result,) = find_limits(prints({1000: Estimate(20, 0, 22)}), PEAK)
    rung = result.ladders[0].rungs[0]
    assert (rung.least, rung.value.low, rung.rung) == (0, 0, Rung.UNSURE)
    assert rung.value.value == pytest.approx(20)


def test_repeats_widen_the_bounds_at_every_acceleration(photo: MakePhoto) -> None:
    """Two prints 20 % apart at 1000 mm/s²: one degree of freedom, so t is 6.314 (t table)."""
    records = [photo("A", peak=2, accel_mm_s2=1000), photo("B", peak=2.4, accel_mm_s2=1000)]
    records += [photo("C", peak=8, accel_mm_s2=2000)]
    (result,) = find_limits(records, PEAK)
    first, second = result.ladders[0].rungs
    assert result.ladders[0].between_prints
    sd = 0.18232155679395 / 2**0.5  # ln 1.2
    assert second.most == pytest.approx(8 * 2.718281828459045 ** (6.313752 * sd), rel=1e-5)
    assert first.prints == 2


@pytest.mark.parametrize("nothing", [{"peak": Estimate(0, 0, 1)}, {"gaps": Estimate(0, 0, 0.002)}])
def test_prints_that_show_nothing_do_not_tell_how_prints_differ(
    photo: MakePhoto, nothing: dict[str, Estimate]
) -> None:
    records = [photo(name, accel_mm_s2=1000, **nothing) for name in ("A", "B")]
    records += [photo("C", peak=14, within=0.02, accel_mm_s2=2000)]
    records += [photo("C", gaps=0.009, accel_mm_s2=2000, shot="2")]
    (result,) = find_limits(records)
    assert not any(ladder.between_prints for ladder in result.ladders)
    assert "no repeated prints tell how prints differ" in result.sentence


def test_a_ripple_not_found_leaves_the_spread_to_those_found(photo: MakePhoto) -> None:
    """Three prints, one of them without a ripple: as two, one degree of freedom (t 6.314)."""
    records = [photo("A", peak=2), photo("B", peak=2.4), photo("C", peak=Estimate(0, 0, 1.1))]
    records += [photo("D", peak=8, accel_mm_s2=9000)]
    (result,) = find_limits(records, PEAK)
    sd = math.log(1.2) / math.sqrt(2)
    assert result.ladders[0].rungs[1].most == pytest.approx(8 * math.exp(6.313752 * sd), rel=1e-5)


def test_prints_with_and_without_gaps_differ(photo: MakePhoto) -> None:
    """0 and 0.2 % at one acceleration: a standard deviation of 0.2 % over the root of 2."""
    records = [photo("A", gaps=0.002, within=0), photo("B", gaps=Estimate(0, 0, 1e-5))]
    records += [photo("C", gaps=0.03, within=0, accel_mm_s2=9000)]
    (result,) = find_limits(records, [AcceptanceLimit("gap_fraction", 0.01)])
    most = result.ladders[0].rungs[1].most
    assert most == pytest.approx(0.03 + 6.313752 * 0.002 / math.sqrt(2), rel=1e-5)


def test_machines_and_setups_apart(photo: MakePhoto) -> None:
    records = [
        photo(f"{machine}{setup}", peak=5, machine=machine, setup=setup)
        for machine in ("Birch", "Alder")
        for setup in ("stock", "brace")
    ]
    found = find_limits(records, PEAK)
    assert [(r.group["machine"], r.group["setup"]) for r in found] == [
        ("Alder", "brace"), ("Alder", "stock"), ("Birch", "brace"), ("Birch", "stock"),
    ]  # fmt: skip


def test_groups_of_one_machine_and_setup_are_told_apart(photo: MakePhoto) -> None:
    records = [
        photo("A", peak=5),
        photo("B", peak=5, nozzle_temp_c=220),
        photo("C", peak=5, machine="Birch"),
    ]
    labels = group_labels([r.group for r in find_limits(records, PEAK)])
    assert labels == (
        "Alder, stock, nozzle temperature not given",
        "Alder, stock, nozzle temperature 220 °C",
        "Birch, stock",
    )


def test_groups_are_told_apart_whatever_the_case_of_their_names(photo: MakePhoto) -> None:
    records = [photo("A", peak=5), photo("B", peak=5, machine="alder", nozzle_temp_c=220)]
    labels = group_labels([r.group for r in find_limits(records, PEAK)])
    assert labels == (
        "Alder, stock, nozzle temperature not given",
        "alder, stock, nozzle temperature 220 °C",
    )


def test_no_records() -> None:
    assert find_limits([]) == ()


def test_limits_as_people_write_them() -> None:
    assert read_limit("ripple_peak_um=15") == AcceptanceLimit("ripple_peak_um", 15)
    assert read_limit("ripple_peak_um = 0.015 mm").most == pytest.approx(15)
    assert read_limit("gap_fraction=1%").most == pytest.approx(0.01)
    assert read_limit("gap_longest_mm=2").most == 2
    for wrong, said in (
        ("ripple=15", "did you mean ripple_peak_um, ripple_rms_um or steady_ripple_um"),
        ("gap_fraction=150%", "150 % of the area"),
        ("gap_fraction=1", "100 % of the area.*gap_fraction=0.01"),
        ("steady_gap_fraction=15", "1500 % of the area"),
        ("frequency_hz=30", "better lower"),
        ("ripple_peak_um", "like ripple_peak_um=15"),
        ("ripple_peak_um=much", "no number"),
        ("ripple_peak_um=15 s", "cannot be turned"),
        ("ripple_peak_um=-1", "above zero"),
    ):
        with pytest.raises(SettingsError, match=said):
            read_limit(wrong)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(0.5, 50), min_size=1, max_size=6), st.floats(1, 40), st.floats(1, 40))
def test_a_wider_limit_never_lowers_the_answer(peaks: list[float], one: float, two: float) -> None:
    records = prints({1000 * (k + 1): peak for k, peak in enumerate(peaks)})
    low, high = sorted((one, two))
    tight, wide = (
        find_limits(records, [AcceptanceLimit("ripple_peak_um", most)])[0].highest_mm_s2 or 0
        for most in (low, high)
    )
    assert tight <= wide
