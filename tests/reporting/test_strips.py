"""Strips at one contrast on one millimetre axis."""

import io

import numpy as np
import pytest
from PIL import Image

from scoring.geometry import BLADE
from scoring.metrics import FaceName
from scoring.reporting.strips import Floats, cut_strips
from tests.reporting.conftest import PX_PER_MM, draw_face


def grey(jpeg: bytes | None) -> Floats:
    assert jpeg is not None
    with Image.open(io.BytesIO(jpeg)) as picture:
        return np.asarray(picture.convert("L"), float)


def test_twice_the_ripple_has_twice_the_contrast_whatever_the_exposure() -> None:
    strips = cut_strips(
        draw_face(contrast=0.2, level=0.3), draw_face(contrast=0.1, level=0.15),
        face=FaceName.RINGDOWN,
    )  # fmt: skip
    swing = [np.ptp(grey(jpeg)[:, 50:-50].mean(0)) for jpeg in (strips.before, strips.after)]
    assert swing[0] / swing[1] == pytest.approx(2.0, rel=0.05)
    assert grey(strips.before).mean() == pytest.approx(127, abs=3)
    assert grey(strips.after).mean() == pytest.approx(127, abs=3)


def test_the_strip_spans_the_zone_and_its_waves_stand_where_they_are() -> None:
    strips = cut_strips(draw_face(), draw_face(), face=FaceName.RINGDOWN)
    assert strips.u_mm == BLADE.ringdown_zone_u_mm
    columns = grey(strips.before).mean(0)
    assert columns.size == (strips.u_mm[1] - strips.u_mm[0]) * PX_PER_MM
    u = strips.u_mm[0] + np.arange(columns.size) / PX_PER_MM
    wave = np.sin(2 * np.pi * u / 3)
    # A tenth of a millimetre off would turn the 3 mm wave by 12 degrees: correlation 0.978.
    assert np.corrcoef(columns[20:-20], wave[20:-20])[0, 1] > 0.995


def test_flow_strips_share_their_median_light() -> None:
    strips = cut_strips(draw_face(level=0.5), draw_face(level=0.1), face=FaceName.FLOW)
    assert strips.u_mm == BLADE.recovery_zone_u_mm
    medians = [np.median(grey(jpeg)) for jpeg in (strips.before, strips.after)]
    assert medians[0] == pytest.approx(medians[1], abs=2)


def test_no_picture_gives_no_strip() -> None:
    strips = cut_strips(b"", draw_face(), face=FaceName.RINGDOWN)
    assert strips.before is None
    assert strips.after is not None
    assert cut_strips(b"", b"", face=FaceName.RINGDOWN).after is None
