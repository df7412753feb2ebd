"""Slots that lie to one side of the layer lines: one gap each, wherever they lie."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from scoring.gaps.boundaries import LIFT_PITCH, mean_light, place_boundaries
from scoring.gaps.closed import find_darkness
from scoring.gaps.columns import average_columns
from scoring.gaps.gaps import weigh_evidence
from scoring.gaps.layers import find_layer_lines
from scoring.gaps.lift import find_lift
from scoring.gaps.measure import GapMeasurement, measure_gaps
from scoring.motion import Motion
from scoring.registration.grooves import GrooveFit
from tests.gaps.drawn_face import RECOVERY_MM, DrawnFace, Look, Slot, draw_face

HEIGHT_MM = 0.1
SLOTS = tuple(
    Slot(layer, begin, begin + length, HEIGHT_MM)
    for layer, begin, length in zip(
        range(20, 100, 4), np.linspace(51, 80, 20), np.linspace(2, 9, 20), strict=True
    )
)


@cache
def _measured(from_above: float) -> tuple[DrawnFace, GapMeasurement]:
    look = Look(from_above=from_above)
    drawn = draw_face(look, SLOTS, np.random.default_rng(4))
    found = measure_gaps(
        drawn.face,
        motion=Motion(150, 5000),
        blur_mm=float(np.hypot(look.blur_mm, 0.29 / look.px_per_mm)),
        layer_height_mm=0.2,
        grooves=GrooveFit(0.0, 0.0, 0.016, 0.0003, 12),
    )
    return drawn, found


@pytest.mark.parametrize("from_above", [0.0, 0.5, 1.0])
def test_a_slot_on_either_side_is_one_gap(from_above: float) -> None:
    drawn, found = _measured(from_above)
    assert found.metrics["gap_count"].value == pytest.approx(len(SLOTS), abs=1)
    longest = max(s.u1_mm - s.u0_mm for s in SLOTS)
    assert found.metrics["gap_longest_mm"].value == pytest.approx(longest, abs=0.3)
    fraction = drawn.fraction(RECOVERY_MM)
    assert found.metrics["gap_fraction"].value == pytest.approx(fraction, rel=0.1)


def test_the_usual_place_where_nothing_is_closed() -> None:
    drawn, _ = _measured(0.5)
    columns = average_columns(drawn.face, GrooveFit(0.0, 0.0, 0.016, 0.0003, 12))
    boundaries = place_boundaries(columns, find_layer_lines(columns, layer_height_mm=0.2))
    evidence = weigh_evidence(find_darkness(mean_light(columns, boundaries), columns), columns)
    open_all_over = replace(
        evidence, depth=np.ones_like(evidence.depth), ratio=np.full_like(evidence.ratio, 10.0)
    )
    assert find_lift(open_all_over, boundaries, columns) == LIFT_PITCH
