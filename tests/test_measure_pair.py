"""Path-traced pairs of stained coupons, measured whole: one photo is fooled, the two are not."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from scoring.errors import (
    DifferentCouponsError,
    PhotoUnreadableError,
    SameLampError,
    ScoringError,
    WrongFaceError,
)
from scoring.flags import Flag
from scoring.measure import measure_photo
from scoring.measure_pair import measure_pair
from scoring.measurement import Measurement
from scoring.motion import Motion
from scoring.registration.face import RectifiedFace
from scoring.registration.place import PlacedCoupon, rectify_face
from scoring.ripple.components import Damped
from tests.reference_photos import ReferencePhoto, photo_named, read_photos
from tests.ripple.laid_over import lay_over

PHOTOS = read_photos("pair")
SIDES = ("left", "right")
MOTION = Motion(150, 5000)


def _photo(name: str, side: str) -> ReferencePhoto:
    return photo_named("pair", f"{name}-{side}")


@cache
def _single(name: str, side: str) -> Measurement:
    photo = _photo(name, side)
    return measure_photo(photo.path, name=photo.name, motion=photo.motion).measurement


@cache
def _pair(name: str) -> Measurement:
    left, right = (_photo(name, side) for side in SIDES)
    names = (left.name, right.name)
    return measure_pair((left.path, right.path), names=names, motion=left.motion).measurement


def test_a_stain_like_a_ring_down_fools_one_photo_and_not_two() -> None:
    """2 % of colour that dies out along u, 3 mm long; the coupon has no ripple at all."""
    pair = _pair("stained-grey")
    assert pair.modes == ()
    assert {Flag.NO_RIPPLE_FOUND, Flag.STAIN} <= set(pair.flags)
    for side in SIDES:
        claimed = _single("stained-grey", side).metrics["ripple_peak_um"]
        assert pair.metrics["ripple_peak_um"].high < claimed.low


def test_a_steady_stain_passes_for_motor_steps_in_one_photo_only() -> None:
    truth = _photo("stained-orange", "left").truth["steady_ripple_um"]
    assert truth == 0
    for side in SIDES:
        assert _single("stained-orange", side).metrics["steady_ripple_um"].low > 3
    assert _pair("stained-orange").metrics["steady_ripple_um"].value < 0.3


def test_the_ripple_under_the_stain_is_held_by_an_interval_a_third_smaller() -> None:
    truth = _photo("stained-orange", "left").truth
    pair = _pair("stained-orange")
    for name in ("ripple_peak_um", "ripple_rms_um"):
        found = pair.metrics[name]
        assert found.low <= truth[name] <= found.high
        for side in SIDES:
            single = _single("stained-orange", side).metrics[name]
            assert found.half_width < 2 / 3 * single.half_width
    for _, estimate, known in _photo("stained-orange", "left").pair_modes(pair.modes):
        assert estimate.low <= known <= estimate.high


def test_the_right_lamp_is_no_defect_of_a_pair() -> None:
    assert Flag.LAMP_FROM_FAR_SIDE in _single("stained-orange", "right").flags
    assert Flag.LAMP_FROM_FAR_SIDE not in _pair("stained-orange").flags


def test_a_label_that_the_shadow_hides_in_one_photo_is_read_in_the_other() -> None:
    pair = _pair("stained-grey")
    assert (pair.run, pair.axis) == ("PAIR-310", "x")
    assert Flag.LABEL_UNREAD not in pair.flags


@pytest.mark.parametrize(("wave_mm", "phase"), [(7.0, 1.5), (8.0, 0.0), (8.0, 4.5), (10.0, 0.0)])
def test_a_slow_lasting_ripple_does_not_bend_the_light_of_a_pair(
    wave_mm: float, phase: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Laid over both photos' own light; three of these were refused once, one came out at 105."""
    left, right = (_photo("stained-grey", side) for side in SIDES)
    ripple = Damped(
        left.motion.speed_mm_s / wave_mm, 0.015, 0.1 * np.cos(phase), 0.1 * np.sin(phase)
    )

    def rectify_rippled(placed: PlacedCoupon, *, whole: bool = True) -> RectifiedFace:
        return lay_over(placed, rectify_face(placed, whole=whole), left.motion, ripple)

    monkeypatch.setattr("scoring.measure_pair.rectify_face", rectify_rippled)
    names = (left.name, right.name)
    pair = measure_pair((left.path, right.path), names=names, motion=left.motion, picture=False)
    (mode,) = pair.measurement.modes
    assert mode.envelope_um.value == pytest.approx(100, rel=0.01)
    assert not {Flag.WEAK_SHADING, Flag.STEADY_RIPPLE} & set(pair.measurement.flags)


def test_both_photos_are_named() -> None:
    told = _pair("stained-grey").to_json()
    assert list(told)[:3] == ["photo", "pair", "face"]
    assert (told["photo"], told["pair"]) == ("stained-grey-left", "stained-grey-right")
    assert "pair" not in _single("stained-grey", "left").to_json()


@pytest.mark.parametrize("photo", PHOTOS, ids=lambda p: p.name)
def test_each_photo_may_be_measured_alone(photo: ReferencePhoto) -> None:
    """Where the coupon has a ripple it is found from either side, with its size held."""
    name, side = photo.name.rsplit("-", 1)
    if photo.truth["ripple_peak_um"]:
        found = _single(name, side).metrics["ripple_peak_um"]
        assert found.low <= photo.truth["ripple_peak_um"] <= found.high


def _refused(first: Path | bytes, second: Path | bytes) -> ScoringError:
    with pytest.raises(ScoringError) as caught:
        measure_pair((first, second), names=("a.jpg", "b.jpg"), motion=MOTION)
    return caught.value


def test_one_photo_twice_is_refused() -> None:
    path = _photo("stained-grey", "left").path
    assert isinstance(_refused(path, path), SameLampError)


def test_labels_of_two_runs_are_refused() -> None:
    error = _refused(_photo("stained-grey", "left").path, _photo("stained-orange", "right").path)
    assert isinstance(error, DifferentCouponsError)
    assert "a.jpg says run PAIR-310, axis x, b.jpg run PAIR-311" in str(error)


def test_a_flow_face_is_refused() -> None:
    flow = photo_named("flow", "white-gaps").path
    error = _refused(_photo("stained-grey", "left").path, flow)
    assert isinstance(error, WrongFaceError)
    assert str(error).startswith("b.jpg: the photo shows the flow face")


def test_a_photo_that_cannot_be_measured_is_named() -> None:
    error = _refused(b"no picture", _photo("stained-grey", "right").path)
    assert isinstance(error, PhotoUnreadableError)
    assert str(error).startswith("a.jpg: ")


def test_a_photo_is_named_once_and_the_face_drawn_only_if_asked_for(tmp_path: Path) -> None:
    gone = tmp_path / "gone.jpg"
    for name in (str(gone), "gone.jpg"):
        with pytest.raises(PhotoUnreadableError) as caught:
            measure_pair((gone, gone), names=(name, name), motion=MOTION)
        assert str(caught.value).startswith(f"{name}: there is no such file")
    left, right = (_photo("stained-grey", side) for side in SIDES)
    names = (left.name, right.name)
    bare = measure_pair((left.path, right.path), names=names, motion=left.motion, picture=False)
    assert bare.face_jpeg == b""
    assert bare.measurement == _pair("stained-grey")
