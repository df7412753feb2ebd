"""Before and after, from stored photos to the result."""

import datetime
import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.comparing.compare import compare_sides
from scoring.comparing.comparison import Basis, Comparison, Outcome, Scale
from scoring.comparing.factor import find_side, possible_factors, value_words, values_of
from scoring.comparing.prints import gather_prints
from scoring.errors import SettingsError, SideNotFoundError
from scoring.estimate import Estimate
from scoring.flags import Flag
from scoring.ranking.combine import difference
from scoring.store.records import MeasurementRecord
from tests.comparing.conftest import MakePhoto, make_photo

LADDER = (1000, 2500, 5000, 10000, 20000)


def ladder(
    ratio: float = 0.6, *, jitter: tuple[float, ...] = (1, 1.05, 0.97, 1.02, 0.99), **after: Any
) -> list[MeasurementRecord]:
    """Stock and brace at five accelerations, the ripple with the brace ``ratio`` times as high."""
    records = []
    for number, accel in enumerate(LADDER):
        peak = accel / 300
        records += [
            make_photo(f"S{number}", peak=peak, gaps=0.01, accel_mm_s2=accel),
            make_photo(f"S{number}", gaps=0.01, accel_mm_s2=accel, shot="2"),
            make_photo(
                f"B{number}", peak=ratio * peak * jitter[number], accel_mm_s2=accel,
                **{"setup": "brace"} | after,
            ),
        ]  # fmt: skip
    return records


def compare(records: list[MeasurementRecord], **more: Any) -> Comparison:
    wanted: dict[str, Any] = {"factor": "setup", "before": "stock", "after": "brace"} | more
    return compare_sides(records, **wanted)


def codes(found: Comparison) -> set[str]:
    return {remark.code for remark in found.remarks}


def test_a_lower_ripple_is_said_with_its_interval() -> None:
    found = compare(ladder(), metrics=["ripple_peak_um"])
    (effect,) = found.overall
    assert effect.outcome is Outcome.LOWER
    assert effect.scale is Scale.RATIO
    assert effect.basis is Basis.PRINTS
    assert effect.value == pytest.approx(0.6 * math.prod((1, 1.05, 0.97, 1.02, 0.99)) ** 0.2)
    assert (effect.pairs, effect.prints_before, effect.prints_after) == (5, 5, 5)
    assert effect.p_exact == effect.p_least == 2 / 32
    assert [e.accel_mm_s2 for e in found.by_accel] == list(LADDER)
    assert all(e.basis is Basis.MEASUREMENT for e in found.by_accel)
    assert "brace lowered the ripple peak by 39.7 % (37.4 to 41.9 %)" in found.verdict
    assert "on Alder at 1000 to 20000 mm/s²" in found.verdict
    assert not found.confounders
    assert {"one-print-an-acceleration", "one-machine"} <= codes(found)


def test_a_change_within_the_scatter_is_not_claimed() -> None:
    found = compare(ladder(0.97, jitter=(1.1, 0.9, 1.05, 0.92, 1.03)), metrics=["ripple_peak_um"])
    assert found.overall[0].outcome is Outcome.OPEN
    assert "no change of the ripple peak was established" in found.verdict
    assert "lowered" not in found.verdict


def test_repeated_photos_are_no_prints(photo: MakePhoto) -> None:
    records = [photo("S", peak=20, shot=str(k)) for k in range(5)]
    records += [photo("B", peak=10, setup="brace", shot=str(k)) for k in range(5)]
    (effect,) = compare(records, metrics=["ripple_peak_um"]).overall
    assert (effect.prints_before, effect.prints_after, effect.photos_before) == (1, 1, 5)
    assert effect.basis is Basis.MEASUREMENT
    assert effect.p_exact is None
    assert effect.smallest_change is None


def test_one_print_a_side_is_said(photo: MakePhoto) -> None:
    found = compare([photo("S", peak=20), photo("B", peak=10, setup="brace")])
    assert "one-print-a-side" in codes(found)
    assert "knows the photos' uncertainty only" in found.verdict
    (effect, *_) = found.overall
    # One interval's lower side with the other's upper one, in quadrature, as logarithms.
    half = math.hypot(math.log(1.05), math.log(0.95))
    assert effect.low == pytest.approx(0.5 * math.exp(-half))
    assert effect.high == pytest.approx(0.5 * math.exp(half))


def test_gaps_compare_as_difference(photo: MakePhoto) -> None:
    records = [photo(f"S{k}", gaps=0.03 + 0.001 * k) for k in range(3)]
    records += [photo(f"B{k}", gaps=0.01 + 0.001 * k, setup="brace") for k in range(3)]
    (effect,) = compare(records, metrics=["gap_fraction"]).overall
    assert effect.scale is Scale.DIFFERENCE
    assert effect.value == pytest.approx(-0.02)
    assert effect.outcome is Outcome.LOWER
    assert effect.p_exact == 2 / 20
    assert "2.00 percentage points lower" in effect.sentence


def test_what_also_differs_comes_first(photo: MakePhoto) -> None:
    records = ladder(nozzle_temp_c=230, printed_on=datetime.date(2026, 3, 9), extra={"mat": 2})
    found = compare(records)
    assert [c.name for c in found.confounders] == ["nozzle_temp_c", "extra.mat", "printed_on"]
    assert found.confounders[0].after == ("230 °C",)
    assert found.confounders[0].before == ("not given",)
    assert found.confounders[0].pairs == 5
    assert "lowered" not in found.verdict
    assert "nozzle temperature and mat differ too" in found.verdict


def test_another_day_alone_does_not_change_the_verdict() -> None:
    found = compare(ladder(printed_on=datetime.date(2026, 3, 9)))
    assert [c.name for c in found.confounders] == ["printed_on"]
    assert "lowered" in found.verdict


def test_settings_that_both_sides_share_are_paired_on(photo: MakePhoto) -> None:
    records = [
        photo(f"{setup}{layer}", peak=peak * layer * 100, setup=setup, layer_height_mm=layer)
        for setup, peak in (("stock", 1), ("brace", 0.5))
        for layer in (0.1, 0.2)
    ]
    found = compare(records)
    assert "layer_height_mm" in found.paired_on
    assert len(found.pairs) == 2
    assert found.overall[0].value == pytest.approx(0.5)


def test_a_machine_written_in_two_ways_is_one(photo: MakePhoto) -> None:
    records = [photo("S", peak=20), photo("B", peak=10, setup="brace", machine="alder")]
    found = compare(records, metrics=["ripple_peak_um"])
    assert "on Alder at 5000" in found.verdict
    assert "one-machine" in codes(found)
    prints = gather_prints(records)
    assert possible_factors(prints) == ("setup",)
    assert values_of(prints, "machine") == {"alder": 2}


def test_prints_without_a_counterpart_count_nowhere(photo: MakePhoto) -> None:
    records = [*ladder(), photo("Z", peak=500, accel_mm_s2=40000)]
    found = compare(records)
    assert [p.settings.name for p in found.unpaired] == ["Z"]
    assert "unpaired" in codes(found)
    assert found.overall == compare(ladder()).overall


def test_no_pairs_are_a_result(photo: MakePhoto) -> None:
    found = compare([photo("S", peak=20), photo("B", peak=10, setup="brace", filament="black")])
    assert found.pairs == ()
    assert found.overall == ()
    assert "no-pairs" in codes(found)
    assert "filament (sand against black)" in found.remarks[0].sentence
    assert found.verdict.startswith("Nothing can be said")
    assert [c.name for c in found.confounders] == ["filament"]


def test_any_setting_may_be_the_factor(photo: MakePhoto) -> None:
    values: list[tuple[str, object, object, str, str]] = [
        ("machine", "Alder", "Birch", "alder", "Birch"),
        ("extruder_ratio", 3, 10, "3", "10.0"),
        ("pressure_advance_s", 0.03, 0.05, "30 ms", "50 ms"),
        ("shaper_type", "none", "zv", "none", "ZV"),
        ("accel_mm_s2", 5000, 10000, "5 m/s^2", "10000"),
        ("filament", None, "sand", "", "sand"),
        ("printed_on", "2026-03-02", "2026-03-09", "2026-03-02", "2026-03-09"),
        ("axis", "x", "y", "x", "Y"),
    ]
    for factor, old, new, before, after in values:
        records = [photo("S", peak=20, **{factor: old}), photo("B", peak=10, **{factor: new})]
        found = compare_sides(records, factor=factor, before=before, after=after)
        assert len(found.pairs) == 1, factor
        assert found.overall[0].value == pytest.approx(0.5)
        assert factor not in found.paired_on
    records = [photo("S", peak=20, extra={"feet": 1}), photo("B", peak=10, extra={"feet": "soft"})]
    assert compare_sides(records, factor="extra.feet", before="1", after="Soft").pairs
    assert compare_sides(records, factor="name", before="S", after="B").pairs


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(["extra.k", "nozzle_temp_c", "accel_mm_s2", "flow_ratio"]),
    st.tuples(*[st.floats(0.5, 2)] * 2),
)
def test_every_side_is_found_by_its_words(name: str, values: tuple[float, float]) -> None:
    """As the page and the line in a report that repeats it do."""
    times = {"nozzle_temp_c": 200, "accel_mm_s2": 5000}.get(name, 1)
    given = [times * value for value in values]
    records = [
        make_photo(f"P{k}", peak=5, **({"extra": {"k": v}} if name == "extra.k" else {name: v}))
        for k, v in enumerate(given)
    ]
    prints = gather_prints(records)
    for words in values_of(prints, name):
        assert find_side(prints, name, words).words == words
    for value, one in zip(given, prints, strict=True):
        assert one in find_side(prints, name, value).prints


def test_numbers_are_told_without_loss() -> None:
    assert value_words("extra.k", 1 / 3) == "0.3333333333333333"
    assert value_words("accel_mm_s2", 5000.0) == "5000 mm/s²"
    assert value_words("extra.k", 12345678901.5) == "12345678901.5"


def test_acceleration_as_the_factor_has_no_effects_by_acceleration(photo: MakePhoto) -> None:
    records = [photo("S", peak=20), photo("B", peak=30, accel_mm_s2=9000)]
    found = compare_sides(records, factor="accel_mm_s2", before=5000, after=9000)
    assert found.by_accel == ()
    assert found.overall


def test_a_side_that_is_not_there_lists_those_that_are() -> None:
    with pytest.raises(SideNotFoundError, match=r"there is brace, stock\. Did you mean brace"):
        compare(ladder(), after="braces")


def test_wrong_questions() -> None:
    with pytest.raises(SettingsError, match="did you mean setup"):
        compare(ladder(), factor="setups")
    with pytest.raises(SettingsError, match="choose two that differ"):
        compare(ladder(), after="Stock")
    with pytest.raises(SettingsError, match="did you mean ripple_peak_um"):
        compare(ladder(), metrics=["ripple_peak"])
    with pytest.raises(SettingsError, match="cannot be turned"):
        compare(ladder(), factor="accel_mm_s2", before="5 s", after=3)
    with pytest.raises(SideNotFoundError, match="no measured print at all"):
        compare([])


def test_mixed_revisions_and_methods_are_said(photo: MakePhoto) -> None:
    found = compare(
        [
            photo("S", peak=20, geometry="A"),
            photo("B", peak=10, setup="brace", geometry="B", method="0"),
        ]
    )
    assert {"mixed-coupons", "mixed-methods", "out-of-date"} <= codes(found)


def test_a_flag_on_one_side_is_said(photo: MakePhoto) -> None:
    found = compare(
        [photo("S", peak=20, flags=(Flag.STEEP_RIPPLE,)), photo("B", peak=10, setup="brace")]
    )
    assert "flags-differ" in codes(found)


def test_a_change_that_goes_both_ways_is_said(photo: MakePhoto) -> None:
    records = [
        photo(f"{setup}{accel}", peak=peak, setup=setup, accel_mm_s2=accel)
        for setup, peaks in (("stock", (10, 10)), ("brace", (5, 20)))
        for accel, peak in zip((1000, 9000), peaks, strict=True)
    ]
    found = compare(records)
    (said,) = [r.sentence for r in found.remarks if r.code == "both-ways" and "peak" in r.sentence]
    assert "lower at 1000 mm/s² and higher at 9000 mm/s²" in said
    assert "both-ways" not in codes(compare(ladder()))


def test_chosen_pairing(photo: MakePhoto) -> None:
    records = [photo("S", peak=20), photo("B", peak=10, setup="brace", filament="black")]
    found = compare(records, pair_on=["machine", "accel_mm_s2"])
    assert len(found.pairs) == 1
    assert [c.name for c in found.confounders] == ["filament"]


LOPSIDED = st.tuples(*[st.floats(0, 0.2)] * 3).map(
    lambda e: Estimate(*(sorted(e)[k] for k in (1, 0, 2)))
)


@settings(max_examples=40, deadline=None)
@given(LOPSIDED, LOPSIDED)
def test_one_print_a_side_is_the_ranking_s_difference(old: Estimate, new: Estimate) -> None:
    records = [make_photo("S", gaps=old), make_photo("B", gaps=new, setup="brace")]
    (effect,) = compare(records, metrics=["gap_fraction"]).overall
    known = difference(new, old)
    assert (effect.low, effect.high) == pytest.approx((known.low, known.high), abs=1e-12)


PEAKS = st.lists(st.tuples(*[st.floats(1, 100)] * 2), min_size=1, max_size=5)


@settings(max_examples=30, deadline=None)
@given(PEAKS)
def test_swapped_sides_invert_the_effect(peaks: list[tuple[float, float]]) -> None:
    records = []
    for number, (old, new) in enumerate(peaks):
        accel = 1000 * (number + 1)
        records.append(make_photo(f"S{number}", peak=old, accel_mm_s2=accel))
        records.append(make_photo(f"B{number}", peak=new, accel_mm_s2=accel, setup="brace"))
    there = compare(records, metrics=["ripple_peak_um"])
    back = compare(records, before="brace", after="stock", metrics=["ripple_peak_um"])
    swapped = {Outcome.LOWER: Outcome.HIGHER, Outcome.HIGHER: Outcome.LOWER}
    for one, other in zip(
        (*there.overall, *there.by_accel), (*back.overall, *back.by_accel), strict=True
    ):
        assert one.value is not None
        assert one.low is not None
        assert one.high is not None
        assert other.value == pytest.approx(1 / one.value)
        assert other.low == pytest.approx(1 / one.high, rel=1e-6)
        assert other.high == pytest.approx(1 / one.low, rel=1e-6)
        assert other.outcome is swapped.get(one.outcome, Outcome.OPEN)
        assert one.low <= one.value <= one.high
        assert other.p_exact == (one.p_exact and pytest.approx(one.p_exact))


@settings(max_examples=20, deadline=None)
@given(PEAKS, st.floats(0.1, 10))
def test_another_unit_does_not_change_a_ratio(
    peaks: list[tuple[float, float]], factor: float
) -> None:
    def effect_of(scale: float) -> Comparison:
        records = []
        for number, (old, new) in enumerate(peaks):
            records.append(make_photo(f"S{number}", peak=scale * old))
            records.append(make_photo(f"B{number}", peak=scale * new, setup="brace"))
        return compare(records, metrics=["ripple_peak_um"])

    one, other = effect_of(1).overall[0], effect_of(factor).overall[0]
    assert (one.value, one.low, one.high) == pytest.approx((other.value, other.low, other.high))
