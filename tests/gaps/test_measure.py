"""The whole measurement on drawn faces of many looks: truth, intervals, invariants, refusals."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.errors import PhotoClippedError, WrongFaceError
from scoring.flags import Flag
from scoring.gaps.measure import GapMeasurement, measure_gaps
from scoring.metrics import FaceName, metrics_of
from scoring.motion import Motion
from scoring.registration.face import RectifiedFace
from scoring.registration.grooves import UNSEEN, GrooveFit
from tests.gaps.drawn_face import (
    RECOVERY_MM,
    STEADY_MM,
    DrawnFace,
    Look,
    Slot,
    draw_face,
    draw_slots,
)

MOTION = Motion(150, 5000)
SEEN = GrooveFit(0.0, 0.0, 0.016, 0.0003, 12)
LOOKS = {
    "usual": Look(),
    "fine layers": Look(layer_mm=0.12, px_per_mm=30, blur_mm=0.03),
    "tall layers": Look(layer_mm=0.32),
    "sharp and close": Look(layer_mm=0.16, px_per_mm=30, blur_mm=0.03),
    "soft": Look(blur_mm=0.07),
    "dark": Look(colour=(0.05, 0.05, 0.055), noise=0.05),
    "blue": Look(colour=(0.04, 0.12, 0.5)),
    "strong lines": Look(contrast=0.45, starved=0.3),
    "uneven": Look(falloff=0.35, banding=0.03, tilt_mm=0.06, lift_mm=0.04),
}


def _measure(
    face: RectifiedFace,
    look: Look,
    layer_mm: float | None = None,
    *,
    motion: Motion = MOTION,
    grooves: GrooveFit = SEEN,
) -> GapMeasurement:
    # A photo's line spread is told from its card's edges: lens and pixel together.
    blur_mm = float(np.hypot(look.blur_mm, 0.29 / look.px_per_mm))
    return measure_gaps(
        face, motion=motion, blur_mm=blur_mm, layer_height_mm=layer_mm, grooves=grooves
    )


@cache
def _drawn(name: str, count: int) -> tuple[DrawnFace, GapMeasurement]:
    look = LOOKS[name]
    rng = np.random.default_rng([count, *map(ord, name)])
    drawn = draw_face(look, draw_slots(look, rng, count=count), rng)
    return drawn, _measure(drawn.face, look)


CASES = [(name, count) for name in LOOKS for count in (6, 60)]


@pytest.mark.parametrize(("name", "count"), CASES)
def test_gaps_are_measured_within_the_bounds(name: str, count: int) -> None:
    drawn, found = _drawn(name, count)
    truth = drawn.fraction(RECOVERY_MM)
    fraction = found.metrics["gap_fraction"]
    assert fraction.value == pytest.approx(truth, rel=0.10, abs=0.003)
    assert fraction.low <= truth <= fraction.high
    longest = max(s.u1_mm - s.u0_mm for s in drawn.slots)
    assert found.metrics["gap_longest_mm"].value == pytest.approx(longest, rel=0.15, abs=1.0)
    assert found.metrics["gap_count"].low <= count <= found.metrics["gap_count"].high
    assert found.metrics["steady_gap_fraction"].value == pytest.approx(0, abs=1e-4)
    assert Flag.NO_GAPS_FOUND not in found.flags


@pytest.mark.parametrize(("name", "count"), CASES)
def test_recovery_is_where_the_drawn_gaps_end(name: str, count: int) -> None:
    drawn, found = _drawn(name, count)
    # By definition, on the drawn slots themselves: a moving mean by numpy's convolution.
    inside = (drawn.u_mm >= RECOVERY_MM[0]) & (drawn.u_mm <= RECOVERY_MM[1])
    share, u = drawn.open_mm[:, inside].sum(axis=0), drawn.u_mm[inside]
    moving = np.convolve(share, np.ones(20) / 20, "valid")

    def recover(peak_share: float) -> float:
        last = np.flatnonzero(moving > peak_share * moving.max())[-1]
        return float((u[last] + u[last + 19]) / 2 - RECOVERY_MM[0])

    recovery = found.metrics["recovery_mm"]
    assert recovery.low <= recover(0.1) <= recovery.high
    # Where a gap just reaches a tenth of the peak the answer jumps: both sides of it are right.
    assert recover(0.11) - 1.0 <= recovery.value <= recover(0.09) + 1.0


@pytest.mark.parametrize("name", list(LOOKS))
def test_closed_layers_give_no_gap(name: str) -> None:
    _, found = _drawn(name, 0)
    assert Flag.NO_GAPS_FOUND in found.flags
    assert found.metrics["gap_fraction"].value == 0
    assert 0 < found.metrics["gap_fraction"].high < 0.003
    assert found.metrics["recovery_mm"].value == found.metrics["recovery_s"].value == 0
    assert not found.open_mask.any()


def test_a_few_clear_gaps_raise_no_flag() -> None:
    _, found = _drawn("usual", 6)
    assert found.flags == ()


@pytest.mark.parametrize("height_mm", [0.05, 0.08, 0.11])
@pytest.mark.parametrize("rounded_mm", [0.0, 0.6])
def test_a_slot_has_its_whole_length_however_it_ends(height_mm: float, rounded_mm: float) -> None:
    """Abruptly, or rounded off like an ellipse's tip, here in steps of a twentieth of its height.

    Marked where it is as dark as 0.4 of its depth the latter alone would come 0.3 mm too short.
    """
    share = np.linspace(0.05, 1, 20)
    slots = tuple(
        Slot(50, 55.0 + inward, 65.0 - inward, height)
        for inward, height in zip(rounded_mm * share**2, height_mm * share, strict=True)
    )
    found = _measure(draw_face(Look(), slots, np.random.default_rng(9)).face, Look())
    longest = found.metrics["gap_longest_mm"]
    assert longest.low < 10.0 < longest.high
    if rounded_mm:
        assert longest.value == pytest.approx(10.0, abs=0.2)


def test_places_that_grooves_do_not_tell_are_flagged() -> None:
    drawn, found = _drawn("usual", 6)
    assert Flag.OUTLINE_UNSURE not in found.flags
    for grooves in (
        UNSEEN,
        replace(SEEN, edges=7),
        replace(SEEN, shift_mm=-0.5),
        replace(SEEN, sd_stretch=0.0011),  # 0.066 mm where the face ends
    ):
        assert Flag.OUTLINE_UNSURE in _measure(drawn.face, Look(), grooves=grooves).flags


def test_every_metric_of_the_flow_face_is_given_once() -> None:
    _, found = _drawn("usual", 6)
    assert list(found.metrics) == [m.name for m in metrics_of(FaceName.FLOW)]
    trace = found.trace
    assert trace.unit == "open fraction"
    assert len(trace.u_mm) == len(trace.measured) == len(trace.fitted)
    u, share = np.array(trace.u_mm), np.array(trace.measured)
    inside = (u >= RECOVERY_MM[0]) & (u <= RECOVERY_MM[1])
    assert share[inside].mean() == pytest.approx(found.metrics["gap_fraction"].value)


def test_deeper_valleys_are_not_taken_for_gaps() -> None:
    look = replace(LOOKS["usual"], starved=0.8)
    found = _measure(draw_face(look, (), np.random.default_rng(5)).face, look)
    assert found.metrics["gap_fraction"].value < 5e-4
    assert found.metrics["layer_modulation"].value > 1.1


def test_gaps_in_the_steady_zone_are_counted_there() -> None:
    slots = tuple(Slot(30 + 12 * k, 10.0 + k, 14.0 + k, 0.06) for k in range(5))
    drawn = draw_face(LOOKS["usual"], slots, np.random.default_rng(6))
    found = _measure(drawn.face, LOOKS["usual"])
    truth = drawn.fraction(STEADY_MM)
    assert found.metrics["steady_gap_fraction"].value == pytest.approx(truth, rel=0.15)
    assert found.metrics["gap_count"].value == 0


def test_recovery_time_follows_the_motion() -> None:
    drawn, found = _drawn("usual", 60)
    slow = _measure(drawn.face, LOOKS["usual"], motion=Motion(50, 500))
    assert slow.metrics["recovery_mm"] == found.metrics["recovery_mm"]
    assert slow.metrics["recovery_s"].value > 2 * found.metrics["recovery_s"].value


def _values(found: GapMeasurement) -> list[float]:
    return [e.value for e in found.metrics.values()]


@settings(max_examples=5)
@given(st.floats(0.3, 1.6))
def test_brightness_leaves_the_geometry_alone(factor: float) -> None:
    drawn, found = _drawn("usual", 60)
    dimmed = replace(drawn.face, linear=drawn.face.linear * np.float32(factor))
    again = _measure(dimmed, LOOKS["usual"])
    # The same gaps; the usual tone curve acts by brightness, so the area may move by a few percent.
    assert again.metrics["gap_longest_mm"] == found.metrics["gap_longest_mm"]
    count, counted = again.metrics["gap_count"], found.metrics["gap_count"]
    assert (count.value, count.low) == (counted.value, counted.low)
    # Above it are gaps too faint to be seen, as many as fill an area.
    assert count.high == pytest.approx(counted.high, rel=0.03)
    assert again.metrics["gap_fraction"].value == pytest.approx(
        found.metrics["gap_fraction"].value, rel=0.06
    )


def test_order_of_the_channels_does_not_matter() -> None:
    drawn, found = _drawn("usual", 60)
    turned = replace(drawn.face, linear=np.ascontiguousarray(drawn.face.linear[..., ::-1]))
    assert _values(_measure(turned, LOOKS["usual"])) == _values(found)


def test_stating_the_layer_height_changes_nothing_where_it_can_be_read() -> None:
    drawn, found = _drawn("tall layers", 60)
    stated = _measure(drawn.face, LOOKS["tall layers"], 0.32)
    assert _values(stated) == pytest.approx(_values(found), rel=1e-6)


def test_unresolved_layers_widen_the_interval() -> None:
    look = Look(layer_mm=0.12, blur_mm=0.08)
    rng = np.random.default_rng(7)
    drawn = draw_face(look, draw_slots(look, rng, count=40), rng)
    found = _measure(drawn.face, look)
    fraction, truth = found.metrics["gap_fraction"], drawn.fraction(RECOVERY_MM)
    assert fraction.low <= truth <= fraction.high
    assert fraction.half_width > 0.3 * fraction.value
    assert Flag.SIZE_UNSURE in found.flags
    assert "layer_modulation" not in found.metrics


def test_what_cannot_be_measured_is_refused() -> None:
    drawn, _ = _drawn("usual", 6)
    face = drawn.face
    with pytest.raises(WrongFaceError, match="ring-down face"):
        _measure(replace(face, face=FaceName.RINGDOWN), Look())
    white = np.ones_like(face.linear)
    with pytest.raises(PhotoClippedError, match="full scale"):
        _measure(replace(face, linear=white, clipped=white[..., 0] > 0), Look())
    with pytest.raises(PhotoClippedError, match="nearly black"):
        _measure(replace(face, linear=face.linear * np.float32(1e-3)), Look())


def test_a_face_of_one_tone_is_closed() -> None:
    drawn, _ = _drawn("usual", 6)
    flat = np.full_like(drawn.face.linear, 0.4)
    found = _measure(replace(drawn.face, linear=flat), Look())
    assert Flag.NO_GAPS_FOUND in found.flags
    assert "layer_modulation" not in found.metrics
