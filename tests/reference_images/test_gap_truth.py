"""The gaps' truth against slots whose area and length are known on paper."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reference_images.gap_truth import Array, deficit, draw_slots, find_gap_truth
from reference_images.scene import Starvation
from reference_images.standard import HEIGHT_MM

U_MM = np.linspace(0.0, 100.0, 10001)
LAYERS = 120


def one_slot(u0: float, u1: float, height_mm: float, *, w_mm: float = 12.0) -> Array:
    slots = np.zeros((LAYERS + 1, U_MM.size))
    row = round(w_mm / HEIGHT_MM * LAYERS)
    slots[row, (u0 <= U_MM) & (u1 >= U_MM)] = height_mm
    return slots


def test_area_of_one_slot() -> None:
    # 10 mm x 0.1 mm in a zone of 44 mm x 18 mm.
    truth = find_gap_truth(one_slot(52, 62, 0.1), U_MM)
    assert truth.gap_fraction == pytest.approx(10 * 0.1 / (44 * 18), rel=2e-3)
    assert truth.gap_longest_mm == pytest.approx(10, abs=0.02)
    assert truth.gap_count == 1
    assert truth.steady_gap_fraction == 0


def test_recovery_of_one_slot() -> None:
    # A 2 mm window holds a tenth of its fill until its centre is 0.8 mm beyond the slot's end.
    truth = find_gap_truth(one_slot(52, 62, 0.1), U_MM)
    assert truth.recovery_mm == pytest.approx(62.8 - 50, abs=0.02)


def test_a_faint_far_slot_does_not_count_as_not_recovered() -> None:
    slots = one_slot(52, 56, 0.15) + one_slot(80, 84, 0.012, w_mm=8.0)
    assert find_gap_truth(slots, U_MM).recovery_mm == pytest.approx(56.8 - 50, abs=0.02)


def test_slots_outside_the_band_are_not_counted() -> None:
    assert find_gap_truth(one_slot(52, 62, 0.1, w_mm=2.0), U_MM).gap_count == 0


def test_steady_slots_count_as_steady() -> None:
    truth = find_gap_truth(one_slot(10, 12, 0.05), U_MM)
    assert truth.steady_gap_fraction == pytest.approx(2 * 0.05 / (22 * 18), rel=0.01)
    assert (truth.gap_fraction, truth.gap_count, truth.recovery_mm) == (0, 0, 0)


def test_no_slot_gives_zeros() -> None:
    truth = find_gap_truth(np.zeros((LAYERS + 1, U_MM.size)), U_MM)
    assert (truth.gap_fraction, truth.gap_longest_mm, truth.recovery_mm) == (0, 0, 0)


@given(seed=st.integers(0, 10_000), share=st.floats(0.3, 0.9))
def test_fraction_is_proportional_to_height(seed: int, share: float) -> None:
    rng = np.random.default_rng(seed)
    u = np.linspace(0, 100, 1001)
    slots = draw_slots(Starvation(0.5, 6.0), u, LAYERS, rng)
    slots[slots < 0.04] = 0  # none may fall below what counts as open
    whole, less = find_gap_truth(slots, u), find_gap_truth(slots * share, u)
    assert less.gap_fraction == pytest.approx(whole.gap_fraction * share)
    assert less.gap_count == whole.gap_count


def test_drawn_slots_start_after_the_details_and_leave_beads() -> None:
    slots = draw_slots(Starvation(2.0, 8.0), U_MM, LAYERS, np.random.default_rng(4))
    assert not slots[:, U_MM < 50].any()
    assert slots.max() <= 0.6 * HEIGHT_MM / LAYERS
    assert (slots[1:] + slots[:-1]).max() / 2 < HEIGHT_MM / LAYERS


def test_deficit_falls_to_a_third_over_its_decay() -> None:
    fallen = deficit(Starvation(1.0, 6.0), np.array([49.9, 50.0, 56.0]))
    assert fallen == pytest.approx([0.0, 1.0, np.exp(-1)])
