"""Gap numbers from a hand-made openness: nothing is measured here, so all is known exactly."""

import numpy as np
import pytest

from scoring.estimate import Z95
from scoring.gaps.boundaries import Boundaries
from scoring.gaps.columns import Columns
from scoring.gaps.gaps import Evidence, find_dark
from scoring.gaps.intervals import (
    END_LOST_MM,
    MISSED_GAPS,
    RECOVERY_SD_MM,
    ZONE_MM,
    GapNumbers,
    estimate_numbers,
)
from scoring.geometry import BLADE
from scoring.registration.grooves import SD_OUTLINE_MM

PITCH_MM, WIDTH_MM = 0.2, 0.1
U = np.arange(5.05, 99.0, WIDTH_MM)
LOW, HIGH = BLADE.measured_band_w_mm
AT = np.arange(LOW, HIGH + 0.01, PITCH_MM)
COLUMNS = Columns(
    np.ones((20, U.size), np.float32), U, WIDTH_MM, (slice(0, U.size),), HIGH, 20.0, 0.0
)
EDGES = np.append(AT - PITCH_MM / 2, AT[-1] + PITCH_MM / 2)
BOUNDARIES = Boundaries(
    np.tile(AT[:, None], U.size),
    np.tile(EDGES[:, None], U.size),
    np.ones(AT.size, bool),
    PITCH_MM,
)
BEGIN = BLADE.recovery_zone_u_mm[0]


def _numbers(
    *slots: tuple[int, float, float],
    heights_mm: tuple[float, ...] = (),
    need: float = 0.1,
    sd_log_gain: float = 0.05,
    most: float = 1.0,
) -> GapNumbers:
    """Slots of boundary, start and end after the recovery zone's start in mm.

    They are 0.1 mm high unless their ``heights_mm`` are given.
    """
    open_mm = np.zeros((AT.size, U.size))
    past_mm = U - BEGIN
    for (row, start, end), height in zip(slots, heights_mm or [0.1] * len(slots), strict=True):
        open_mm[row, (past_mm > start) & (past_mm < end)] = height
    depth = open_mm / PITCH_MM
    evidence = Evidence(depth, depth / need, np.full(U.size, 0.01), need, 0.0, 1.0, most, 1.0)
    return estimate_numbers(
        open_mm,
        find_dark(evidence, COLUMNS),
        evidence,
        BOUNDARIES,
        COLUMNS,
        spread=0.01,
        sd_log_gain=sd_log_gain,
    )


def test_area_length_count_and_end_are_those_of_the_slots() -> None:
    found = _numbers((10, 1.0, 6.0), (30, 3.0, 15.0), (50, 8.0, 11.0)).metrics
    area = (5.0 + 12.0 + 3.0) * 0.1
    fraction = found["gap_fraction"]
    assert fraction.value == pytest.approx(area / ((HIGH - LOW) * ZONE_MM), rel=0.01)
    assert fraction.low < fraction.value < fraction.high
    # Slots narrow towards their ends as a rule, so an abrupt end counts as the middle of one.
    assert found["gap_longest_mm"].value == pytest.approx(12.0 + END_LOST_MM, abs=1e-6)
    assert found["gap_count"].value == 3
    # The last window of 2 mm that still holds a tenth of the peak ends a little past the slot.
    assert found["recovery_mm"].value == pytest.approx(15.0, abs=1.0)
    assert found["steady_gap_fraction"].value == 0.0


def test_a_surer_gain_makes_a_shorter_interval() -> None:
    slots = ((10, 1.0, 6.0), (30, 3.0, 15.0))
    sure, unsure = (_numbers(*slots, sd_log_gain=s).metrics["gap_fraction"] for s in (0.02, 0.2))
    assert sure.value == unsure.value
    assert sure.half_width < unsure.half_width


def test_no_gap_is_zero_with_what_could_have_been_missed() -> None:
    found = _numbers().metrics
    assert all(e.value == e.low == 0.0 for e in found.values())
    assert all(e.high > 0.0 for e in found.values())
    assert found["gap_count"].high >= MISSED_GAPS


def test_a_blind_photo_claims_nothing() -> None:
    """Where only gaps half a layer deep would show, none seen says hardly anything."""
    sharp, blind = _numbers().metrics, _numbers(need=0.5).metrics
    assert blind["gap_longest_mm"].high == ZONE_MM
    assert blind["recovery_mm"].high == ZONE_MM
    assert blind["gap_fraction"].high > 10 * sharp["gap_fraction"].high


def test_faint_gaps_are_uncertain_in_number() -> None:
    """Just over the threshold they would vanish at a tighter one: the low end is without them."""
    slots = tuple((5 + 6 * k, 1.0 + k, 6.0 + k) for k in range(8))
    clear, faint = (_numbers(*slots, need=need).metrics["gap_count"] for need in (0.1, 0.45))
    assert clear.value == 8
    assert faint.value > 8  # as many again are likely too faint
    assert faint.low < clear.low
    assert faint.high > clear.high


def test_the_fraction_reckons_with_gaps_too_faint_to_see() -> None:
    """Heights even from 0 up: what lies under the threshold is missed, yet part of the truth.

    Up to three times as much may be; the scale is held, so that nothing else reaches so high.
    """
    heights = tuple(0.004 * k for k in range(1, 21))
    slots = tuple((3 + 4 * k, 1.0 + k, 6.0 + k) for k in range(len(heights)))
    found = _numbers(*slots, heights_mm=heights, need=0.15, sd_log_gain=0.001)
    fraction = found.metrics["gap_fraction"]
    area = (HIGH - LOW) * ZONE_MM
    true = sum(heights) * 5.0 / area
    seen = sum(h for h in heights if h / PITCH_MM > 0.15) * 5.0 / area
    assert seen < fraction.value
    assert abs(fraction.value - true) < 0.5 * (true - seen)
    assert fraction.low < seen < true < fraction.high
    assert fraction.high - fraction.value > 2 * (fraction.value - seen)


def test_area_and_count_may_be_as_large_as_what_is_dark_but_no_gap() -> None:
    """Some thirty lines of two thirds of the threshold, and four gaps: the truth has them all."""
    clear = tuple((10 + 20 * k, 1.0, 6.0) for k in range(4))
    dim = tuple((row, 8.0, 13.0) for row in range(3, 88) if row % 3 == 0)
    heights = *(0.04,) * 4, *(0.02,) * len(dim)
    found = _numbers(*clear, *dim, heights_mm=heights, need=0.16, sd_log_gain=0.001).metrics
    true = (4 * 0.04 + len(dim) * 0.02) * 5.0 / ((HIGH - LOW) * ZONE_MM)
    assert 3 * found["gap_fraction"].value < true < found["gap_fraction"].high
    assert found["gap_count"].value < len(dim) < found["gap_count"].high


def test_where_gaps_end_reckons_with_a_last_one_too_faint_to_see() -> None:
    # A window of 2 mm holds a tenth of what a slot of 0.1 mm fills as long as it holds 1.11 mm of
    # one 18 um high: until its centre is 0.11 mm before that slot's end.
    late, end_mm = (30, 6.2, 8.0), 8.0 + 1.0 - 2.0 * 0.01 / 0.018
    found = _numbers((10, 1.0, 6.0), late, heights_mm=(0.1, 0.018)).metrics["recovery_mm"]
    assert found.value == pytest.approx(6.8 + END_LOST_MM / 2, abs=WIDTH_MM / 2)
    assert found.value + 1.0 < end_mm < found.high


def test_one_faint_line_long_after_many_clear_gaps_hardly_moves_the_end() -> None:
    """It fills 7 % of what they fill; a tenth, with gaps too faint to see beside all of it."""
    slots = *((10 + 10 * k, 1.0, 6.0) for k in range(6)), (75, 14.0, 17.0)
    heights = *(0.1,) * 6, 0.045
    found = _numbers(*slots, heights_mm=heights).metrics["recovery_mm"]
    assert found.value == pytest.approx(6.8 + END_LOST_MM / 2, abs=WIDTH_MM / 2)
    reach = Z95 * float(np.hypot(RECOVERY_SD_MM, SD_OUTLINE_MM))
    assert found.high <= found.value + 2.4 + reach


def test_gaps_like_the_steady_zone_s_shadows_may_be_none() -> None:
    slots = tuple((5 + 6 * k, 1.0 + k, 6.0 + k) for k in range(8))
    found = _numbers(*slots, need=0.1, most=6.0).metrics
    assert all(found[name].value > 0 for name in ("gap_fraction", "gap_longest_mm", "recovery_mm"))
    assert all(found[name].low == 0 for name in found)


MANY = tuple((2 + 2 * k, 1.0, 6.0) for k in range(40))
"""They fill 2.5 % of the zone: a tenth of that is under 0.3 percentage points, a fifth is over."""

STEPS = tuple((2 + 4 * k, 1.0 + 2 * (k % 4), 4.0 + 2 * (k % 4)) for k in range(20))
LONE = (88, 12.0, 13.5)


@pytest.mark.parametrize(
    ("numbers", "unsure"),
    [
        (_numbers(*MANY, sd_log_gain=0.04), None),
        (_numbers(*MANY, sd_log_gain=0.1), "gap_fraction"),
        # Large beside so small a fraction, but small in percentage points.
        (_numbers(*MANY[:4], sd_log_gain=0.1), None),
        # A line that only a loose judgement takes for a gap: the last, or the longest.
        (_numbers(*MANY[:4], LONE, heights_mm=(0.1,) * 4 + (0.04,), need=0.25), "recovery_mm"),
        (
            _numbers(*STEPS, (84, 1.0, 9.0), heights_mm=(0.1,) * 20 + (0.025,), need=0.15),
            "gap_longest_mm",
        ),
    ],
)
def test_a_number_is_unsure_where_its_interval_breaks_its_bound(
    numbers: GapNumbers, unsure: str | None
) -> None:
    """The bounds are those that README states under its flags."""
    found = numbers.metrics
    broken = {
        name
        for name, share, amount in (
            ("gap_fraction", 0.10, 0.003),
            ("gap_longest_mm", 0.15, 1.0),
            ("recovery_mm", 0.0, 1.0),
        )
        for value, low, high in [(found[name].value, found[name].low, found[name].high)]
        if max(value - low, high - value) > max(share * value, amount)
    }
    assert broken == ({unsure} if unsure else set())
    assert numbers.unsure == bool(broken)
