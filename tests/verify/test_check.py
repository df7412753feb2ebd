"""Photos of check blades of exactly known size, verified whole.

Path traced by code that shares nothing with the package. ``check-grey`` was looked at while the
check was made; the other two only to see how it does.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from scoring.errors import NoDesignedRippleError, WrongFaceError
from scoring.flags import Flag
from scoring.verify.check import Verification, join, verify_photo
from scoring.verify.verdict import Outcome
from tests.reference_photos import ReferencePhoto, photo_named, read_photos

PHOTOS = read_photos("check")
TRUE = [p for p in PHOTOS if p.truth["designed_ripple"]["scale"] == 1]
LOW = [p for p in PHOTOS if p.truth["designed_ripple"]["scale"] == 0.85]


@cache
def _verify(name: str) -> Verification:
    return verify_photo(photo_named("check", name).path, name=name)


@pytest.mark.parametrize("photo", PHOTOS, ids=lambda p: p.name)
def test_the_scale_is_within_its_interval(photo: ReferencePhoto) -> None:
    scale = _verify(photo.name).result.scale
    assert scale.low <= photo.truth["designed_ripple"]["scale"] <= scale.high
    assert scale.half_width < 0.1


@pytest.mark.parametrize("photo", PHOTOS, ids=lambda p: p.name)
def test_every_stretch_is_measured_as_it_is(photo: ReferencePhoto) -> None:
    """Against the surface itself, as rounded: within the interval, and within 5 %."""
    stretches = _verify(photo.name).result.stretches
    true = photo.truth["designed_ripple"]["printed_um"]
    for stretch, printed_um in zip(stretches, true, strict=False):
        assert stretch.measured_um.low <= printed_um <= stretch.measured_um.high
        assert stretch.measured_um.value == pytest.approx(printed_um, rel=0.05)


@pytest.mark.parametrize("photo", PHOTOS, ids=lambda p: p.name)
def test_no_ripple_is_read_on_the_flat_stretch(photo: ReferencePhoto) -> None:
    flat = _verify(photo.name).result.flat_um
    assert flat.low == 0
    assert flat.high < 1


@pytest.mark.parametrize("photo", PHOTOS, ids=lambda p: p.name)
def test_rounding_is_read_from_the_facets_edges(photo: ReferencePhoto) -> None:
    """The variance within 2.1 standard deviations, Student's 95 % for 17 degrees of freedom."""
    found = _verify(photo.name).rounding
    true_mm2 = photo.truth["designed_ripple"]["rounding_mm"] ** 2
    assert abs(found.variance_mm2 - true_mm2) < 2.11 * found.sd_mm2
    assert found.sd_mm2 < 0.005


@pytest.mark.parametrize("photo", PHOTOS, ids=lambda p: p.name)
def test_response_is_straight(photo: ReferencePhoto) -> None:
    lost = _verify(photo.name).result.lost_um
    assert lost.low <= 0 <= lost.high
    assert abs(lost.value) < 1


@pytest.mark.parametrize("photo", TRUE, ids=lambda p: p.name)
def test_a_true_blade_is_trusted(photo: ReferencePhoto) -> None:
    verdict = _verify(photo.name).verdict
    assert verdict.outcome is Outcome.TRUSTED
    assert verdict.within_percent is not None
    assert verdict.from_um is not None
    assert f"from {verdict.from_um} µm up can be trusted" in verdict.sentences[0]


@pytest.mark.parametrize("photo", LOW, ids=lambda p: p.name)
def test_a_blade_15_percent_too_low_is_found_out(photo: ReferencePhoto) -> None:
    found = _verify(photo.name)
    assert found.result.scale.high < 1
    assert found.verdict.outcome is Outcome.READS_LOW


def test_both_kinds_are_there() -> None:
    assert (len(TRUE), len(LOW)) == (2, 1)


def test_photos_together_share_what_they_share() -> None:
    checks = [replace(_verify(p.name), run="C-1", axis="x") for p in TRUE]
    together = join(checks)
    assert together.scale is not None
    values = [c.result.scale.value for c in checks]
    assert min(values) <= together.scale.value <= max(values)
    shared = max(c.result.t * c.result.shared_sd for c in checks)
    assert together.scale.half_width > shared
    assert together.verdict.outcome is Outcome.TRUSTED
    alone = join(checks[:1])
    assert alone.scale is not None
    assert alone.scale.half_width == pytest.approx(checks[0].result.scale.half_width, rel=1e-6)


def test_photos_that_disagree_are_not_averaged() -> None:
    both = join([replace(_verify(p.name), run=None) for p in (TRUE[0], LOW[0])])
    assert both.scale is None
    assert both.verdict.outcome is Outcome.DISAGREE
    said = " ".join(both.verdict.sentences)
    assert "disagree by more than their intervals allow" in said
    assert said.index(LOW[0].name) < said.index(TRUE[0].name)  # the lowest first
    assert both.to_json()["scale"] is None


def test_labels_of_different_blades_are_not_averaged() -> None:
    both = join([_verify(p.name) for p in TRUE])
    assert both.scale is None
    assert "labels name different blades" in both.verdict.sentences[0]


@pytest.mark.parametrize("name", ["no-ripple-natural", "large-orange", "steady-two-mm-orange"])
def test_an_ordinary_blade_is_told(name: str) -> None:
    with pytest.raises(NoDesignedRippleError, match="ordinary blade"):
        verify_photo(photo_named("ringdown", name).path, name=name)


def test_the_flow_face_is_told() -> None:
    with pytest.raises(WrongFaceError, match="flow face"):
        verify_photo(photo_named("flow", "few-gaps-grey").path, name="x")


def test_the_label_is_read_and_a_steep_stretch_flagged() -> None:
    photo = photo_named("check", "check-grey")
    found = _verify(photo.name)
    assert (found.run, found.axis) == (photo.truth["run"], photo.truth["axis"])
    assert Flag.LABEL_UNREAD not in found.flags
    assert Flag.STEEP_RIPPLE in found.flags  # 0.21 of slope times the lamp's cotangent


def test_json_is_plain_and_leaves_the_workings_out() -> None:
    told = _verify("check-grey").to_json()
    assert list(told) == [
        "photo", "run", "axis", "stretches", "scale", "lost_um", "flat_um", "shift_mm",
        "rounding_mm", "flags", "verdict",
    ]  # fmt: skip
    assert set(told["scale"]) == {"value", "low", "high"}
    assert [s["designed_um"] for s in told["stretches"]] == [20, 50, 100]
    assert told["verdict"]["outcome"] == "trusted"
    assert np.isfinite(told["shift_mm"])
