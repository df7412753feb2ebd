"""The ring-down face as a whole: refusals, flags and metrics on path-traced photos."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from scoring.errors import LampError, PhotoClippedError
from scoring.flags import Flag
from scoring.metrics import FaceName, metrics_of
from scoring.photo.decode import read_photo
from scoring.registration.face import RectifiedFace
from scoring.registration.place import PlacedCoupon, place_coupon, rectify_face
from scoring.ripple.components import Damped
from scoring.ripple.fit import Solution, ripple_light
from scoring.ripple.light import understand_light
from scoring.ripple.ringdown import RingdownMeasurement, measure_ringdown
from scoring.ripple.search import find_components
from tests.reference_photos import ReferencePhoto, photo_named
from tests.ripple.laid_over import lay_over

GREY = "turned-dark-grey"


def _photo(name: str) -> ReferencePhoto:
    return photo_named("ringdown", name)


@cache
def _rectified(name: str) -> tuple[PlacedCoupon, RectifiedFace]:
    placed = place_coupon(read_photo(_photo(name).path))
    return placed, rectify_face(placed)


@cache
def _measured(name: str) -> RingdownMeasurement:
    placed, face = _rectified(name)
    return measure_ringdown(placed, face, _photo(name).motion)


def test_every_metric_of_the_face_but_the_absent_steady_period_is_given() -> None:
    expected = {m.name for m in metrics_of(FaceName.RINGDOWN)} - {"steady_period_mm"}
    assert set(_measured(GREY).metrics) == expected


def test_a_face_without_ripple_says_so() -> None:
    measured = _measured("no-ripple-natural")
    peak = measured.metrics["ripple_peak_um"]
    assert Flag.NO_RIPPLE_FOUND in measured.flags
    assert measured.modes == ()
    assert (peak.value, peak.low) == (0.0, 0.0)
    assert peak.high > 0


def test_two_micrometres_added_to_a_face_without_ripple_are_found() -> None:
    """3 mm at any phase, in a photo's own noise; 84 of 84 on 21 drawn photos without ripple."""
    motion = _photo("no-ripple-natural").motion
    problem = understand_light(*_rectified("no-ripple-natural"), motion).problem
    level = Solution(1.0, 0.0, np.zeros(problem.base.shape[1]), ())
    frequency = motion.speed_mm_s / 3.0
    for phase in np.linspace(0, 2 * np.pi, 12, endpoint=False):
        truth = Damped(frequency, 0.05, 0.002 * np.cos(phase), 0.002 * np.sin(phase))
        added = ripple_light(problem, replace(level, components=(truth,)))
        rippled = replace(problem, log_light=problem.log_light + added)
        (found,) = find_components(rippled).solution.components
        assert isinstance(found, Damped)
        assert found.frequency_hz == pytest.approx(frequency, rel=0.1)
        assert found.envelope_mm == pytest.approx(0.002, rel=0.25)


@pytest.mark.parametrize("phase", [0.0, 3.0, 4.5])
def test_a_slow_lasting_ripple_does_not_bend_the_light_it_is_read_by(
    phase: float,
) -> None:
    """Laid over a photo's own light; with it left in what is calibrated by: 113, 89, 95 um."""
    motion = _photo("no-ripple-natural").motion
    placed, face = _rectified("no-ripple-natural")
    frequency = motion.speed_mm_s / 7.0
    truth = Damped(frequency, 0.015, 0.1 * np.cos(phase), 0.1 * np.sin(phase))
    rippled = lay_over(placed, face, motion, truth)
    (mode,) = measure_ringdown(placed, rippled, motion).modes
    assert mode.envelope_um.value == pytest.approx(100, rel=0.03)


def test_strips_drawn_anew_show_no_ripple_either() -> None:
    """A bootstrap over the strips of a face without ripple; 0 of 210 on 21 drawn photos."""
    rng = np.random.default_rng(0)
    name = "no-ripple-natural"
    problem = understand_light(*_rectified(name), _photo(name).motion).problem
    strips = len(problem.log_light)
    for _ in range(20):
        drawn = rng.integers(0, strips, strips)
        again = replace(problem, log_light=problem.log_light[drawn], valid=problem.valid[drawn])
        assert find_components(again).solution.components == ()


def test_an_unknown_focal_length_leaves_the_corners_place_less_sure() -> None:
    """Facets are 80 mm from the corner: what they leave open there grows with the pose's doubt."""
    placed, face = _rectified(GREY)
    unknown = replace(placed, pose=replace(placed.pose, sd_log_focal=0.3))
    motion = _photo(GREY).motion
    known_sd, unknown_sd = (
        understand_light(p, face, motion).facets.sd_stretch for p in (placed, unknown)
    )
    assert unknown_sd > 2 * known_sd
    wider = measure_ringdown(unknown, face, motion).modes[0].frequency_hz
    assert wider.half_width > _measured(GREY).modes[0].frequency_hz.half_width


def test_a_steady_ripple_is_flagged() -> None:
    measured = _measured("steady-two-mm-orange")
    assert Flag.STEADY_RIPPLE in measured.flags
    period = measured.metrics["steady_period_mm"]
    truth = _photo("steady-two-mm-orange").truth["steady_period_mm"]
    assert period.low <= truth <= period.high


def test_trace_and_facets_stand_on_one_u() -> None:
    measured = _measured(GREY)
    lengths = {
        len(v) for v in (measured.trace.u_mm, measured.trace.measured, measured.trace.fitted)
    }
    assert len(lengths) == 1
    assert (np.diff(measured.trace.u_mm) > 0).all()
    peak = measured.metrics["ripple_peak_um"].value
    zone = [
        abs(y) for u, y in zip(measured.trace.u_mm, measured.trace.fitted, strict=True) if u > 4
    ]
    # The trace is drawn every 0.2 mm, a fraction of the ripple's 3 mm: it hardly misses the peak.
    assert max(zone) == pytest.approx(peak, rel=0.05)


def test_a_face_mostly_clipped_is_refused() -> None:
    placed, face = _rectified(GREY)
    white = replace(face, clipped=np.ones_like(face.clipped))
    with pytest.raises(PhotoClippedError, match="Lower the exposure"):
        measure_ringdown(placed, white, _photo(GREY).motion)


def test_a_face_clipped_where_the_ripple_starts_is_refused() -> None:
    """Every other row of the first millimetres, a fortieth of the face."""
    placed, face = _rectified(GREY)
    u = face.u_mm()
    start = face.clipped.copy()
    start[::2, (u > 3) & (u < 8)] = True
    with pytest.raises(PhotoClippedError, match="first 8 mm"):
        measure_ringdown(placed, replace(face, clipped=start), _photo(GREY).motion)


@pytest.mark.parametrize("name", ["large-orange", "two-modes-natural", GREY])
def test_a_peak_unsure_by_over_half_again_the_bound_is_flagged(name: str) -> None:
    measured = _measured(name)
    peak = measured.metrics["ripple_peak_um"]
    assert (peak.half_width > 0.075 * peak.value) == (Flag.SIZE_UNSURE in measured.flags)


@pytest.mark.parametrize(("name", "unsure"), [("fine-white", True), ("small-grey", False)])
def test_a_vibration_of_unsure_frequency_is_flagged(name: str, unsure: bool) -> None:
    measured = _measured(name)
    (mode,) = measured.modes
    assert (mode.frequency_hz.half_width > 0.0075 * mode.frequency_hz.value) == unsure
    assert (Flag.MODE_UNSURE in measured.flags) == unsure


@pytest.mark.parametrize(("name", "flagged"), [("small-grey", False), ("fine-white", True)])
def test_a_small_peak_unsure_by_under_three_quarters_of_a_micrometre_is_not_flagged(
    name: str, flagged: bool
) -> None:
    """Over a tenth of so small a ripple is little in micrometres; the longer side counts."""
    measured = _measured(name)
    peak = measured.metrics["ripple_peak_um"]
    assert 0.1 * peak.value < peak.half_width < 0.75
    assert (peak.high - peak.value > 0.75) == flagged
    assert (Flag.SIZE_UNSURE in measured.flags) == flagged


def test_sizes_of_ripples_steeper_than_the_lamp_are_much_less_sure() -> None:
    """Contrast is slope over the lamp's tangent: from 1 on, Lambert's cosine is 0 on some flank."""
    lit = understand_light(*_rectified("large-orange"), _photo("large-orange").motion)
    gentle, steep, shaded, dark = (lit.size_sd(contrast=c, wave_mm=3) for c in (0.2, 0.9, 1.2, 1.7))
    assert gentle < steep < shaded
    assert dark - shaded > 2 * (steep - gentle)


def test_a_few_clipped_columns_are_flagged() -> None:
    placed, face = _rectified(GREY)
    some = face.clipped.copy()
    u = face.u_mm()
    some[:, (u > 40) & (u < 42)] = True
    measured = measure_ringdown(placed, replace(face, clipped=some), _photo(GREY).motion)
    assert Flag.CLIPPED in measured.flags
    assert Flag.CLIPPED not in _measured(GREY).flags
    whole = _measured(GREY).metrics["ripple_peak_um"]
    assert whole.low < measured.metrics["ripple_peak_um"].value < whole.high


def test_an_even_face_is_refused() -> None:
    placed, face = _rectified(GREY)
    rng = np.random.default_rng(0)
    even = np.asarray(0.2 + rng.normal(0, 0.002, face.linear.shape), np.float32)
    with pytest.raises(LampError, match="facets do not separate"):
        measure_ringdown(placed, replace(face, linear=even, luma=None), _photo(GREY).motion)


def test_faint_facets_are_refused() -> None:
    """A quarter of the contrast, as under a lamp far too high."""
    placed, face = _rectified(GREY)
    middle = float(np.median(face.linear))
    faint = np.asarray(middle * (np.maximum(face.linear, 1e-4) / middle) ** 0.25, np.float32)
    with pytest.raises(LampError, match="hardly differ"):
        measure_ringdown(placed, replace(face, linear=faint, luma=None), _photo(GREY).motion)


def test_a_lamp_on_the_rims_side_is_refused() -> None:
    name = "refuse-lamp-from-rim"
    placed, face = _rectified(name)
    with pytest.raises(LampError, match="label's side"):
        measure_ringdown(placed, face, _photo(name).motion)


def test_a_softer_photo_is_flagged() -> None:
    placed, face = _rectified(GREY)
    soft = replace(placed, markers=replace(placed.markers, blur_px=0.1 * placed.px_per_mm))
    measured = measure_ringdown(soft, face, _photo(GREY).motion)
    assert Flag.SOFT_FOCUS in measured.flags
    assert Flag.SOFT_FOCUS not in _measured(GREY).flags
