"""Photos of exactly known coupons by another path tracer, which nothing here was made with.

Blender's Cycles drew them, through a program written from the standard's pages alone by someone who
had not seen the measurement; ``reference_images/README.md`` says what differs. Nothing was set by
these.
"""

from functools import cache

import pytest

from scoring.flags import Flag
from scoring.measure import measure_photo
from scoring.measurement import Measurement
from tests.reference_photos import ReferencePhoto, photo_named, read_photos

FOLDERS = ("cycles/ringdown", "cycles/flow")
RING, FLOW = ([p.name for p in read_photos(folder)] for folder in FOLDERS)
GAPS = ("gap_fraction", "gap_longest_mm", "gap_count", "recovery_mm")


@cache
def _measure(folder: str, name: str) -> tuple[ReferencePhoto, Measurement]:
    photo = photo_named(folder, name)
    found = measure_photo(
        photo.path, name=name, motion=photo.motion, layer_height_mm=photo.layer_height_mm
    )
    return photo, found.measurement


@pytest.mark.parametrize("name", RING)
def test_ripples_are_held_and_within_a_tenth(name: str) -> None:
    photo, found = _measure("cycles/ringdown", name)
    pairs = [(k, found.metrics[k], photo.truth[k]) for k in ("ripple_peak_um", "ripple_rms_um")]
    for metric, estimate, truth in [*pairs, *photo.pair_modes(found.modes)]:
        assert estimate.low <= truth <= estimate.high, metric
        if metric != "damping_ratio":
            assert estimate.value == pytest.approx(truth, rel=0.1), metric
    assert len(found.modes) == len(photo.truth["modes"])
    assert (Flag.NO_RIPPLE_FOUND in found.flags) == (not photo.truth["modes"])


@pytest.mark.parametrize("name", FLOW)
def test_gaps_are_held(name: str) -> None:
    photo, found = _measure("cycles/flow", name)
    for metric in GAPS:
        estimate = found.metrics[metric]
        assert estimate.low <= photo.truth[metric] <= estimate.high, metric
    # Slots in the top of a layer are one gap each: their number does not double.
    assert found.metrics["gap_count"].value == pytest.approx(photo.truth["gap_count"], rel=0.25)
    assert found.metrics["gap_longest_mm"].value == pytest.approx(
        photo.truth["gap_longest_mm"], rel=0.15
    )


@pytest.mark.parametrize(
    ("folder", "name"), [(FOLDERS[0], n) for n in RING] + [(FOLDERS[1], n) for n in FLOW]
)
def test_card_and_label_are_read(folder: str, name: str) -> None:
    photo, found = _measure(folder, name)
    assert (found.run, found.axis) == (photo.truth["run"], photo.truth["axis"])
    assert found.registration.markers >= 11
    assert found.registration.residual_mm < 0.05
