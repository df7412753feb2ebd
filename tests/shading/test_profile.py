"""Strips of a drawn face: means, masks and shares known by hand."""

from dataclasses import replace

import numpy as np
import pytest

from scoring.geometry import BLADE
from scoring.metrics import FaceName
from scoring.registration.face import RectifiedFace
from scoring.shading.profile import CORNER_MM, extract_strips

PX_PER_MM = 20.0


def _face(light: np.ndarray, clipped: np.ndarray | None = None) -> RectifiedFace:
    """A face with 2 mm round it; ``light`` broadcasts over (rows, columns, channels)."""
    shape = (int(28 * PX_PER_MM) + 1, int(104 * PX_PER_MM) + 1)
    full = np.ascontiguousarray(np.broadcast_to(light, (*shape, 3)), np.float32)
    mask = np.zeros(shape, bool) if clipped is None else clipped
    return RectifiedFace(FaceName.RINGDOWN, full, mask, PX_PER_MM, -2.0, 26.0)


def test_strips_cover_the_measured_band() -> None:
    strips = extract_strips(_face(np.array(0.5)))
    low, high = BLADE.measured_band_w_mm
    width = strips.w_mm[0] - strips.w_mm[1]
    assert strips.w_mm[0] + width / 2 == pytest.approx(high)
    assert strips.w_mm[-1] - width / 2 == pytest.approx(low)
    assert strips.light.shape == (strips.w_mm.size, strips.u_mm.size, 4)
    assert strips.light == pytest.approx(0.5)
    assert strips.valid.all()
    assert strips.clipped_share == 0.0


def test_each_strip_is_the_mean_around_its_centre() -> None:
    """Light equal to w in mm (a ramp) has the centre's w as its mean."""
    w = 26.0 - np.arange(int(28 * PX_PER_MM) + 1) / PX_PER_MM
    strips = extract_strips(_face(w[:, None, None]))
    half_pixel_mm = 0.5 / PX_PER_MM
    assert np.abs(strips.light - strips.w_mm[:, None, None]).max() <= half_pixel_mm + 1e-4


def test_the_files_own_luma_is_taken_where_it_keeps_one() -> None:
    own = replace(_face(np.array(0.5)), luma=np.full(_face(np.array(0.5)).clipped.shape, 0.4, "f4"))
    strips = extract_strips(own)
    assert strips.light[..., :3] == pytest.approx(0.5)
    assert strips.light[..., 3] == pytest.approx(0.4)


def test_light_of_clipped_pixels_does_not_count() -> None:
    shape = (int(28 * PX_PER_MM) + 1, int(104 * PX_PER_MM) + 1)
    clipped = np.zeros(shape, bool)
    clipped[::4] = True
    light = np.where(clipped, 1.0, 0.25)[..., None]
    strips = extract_strips(_face(light, clipped))
    assert strips.light == pytest.approx(0.25)
    assert strips.clipped_share == pytest.approx(0.25, abs=0.01)
    assert strips.valid.all()


def test_columns_mostly_clipped_give_no_value() -> None:
    shape = (int(28 * PX_PER_MM) + 1, int(104 * PX_PER_MM) + 1)
    clipped = np.zeros(shape, bool)
    clipped[:, 1000:1100] = True
    strips = extract_strips(_face(np.array(0.5), clipped))
    assert not strips.valid[:, 1000:1100].any()
    assert strips.valid[:, :1000].all()
    assert strips.valid[:, 1100:].all()
    inside_mm = BLADE.length_mm - 2 * CORNER_MM
    assert strips.clipped_share == pytest.approx(100 / PX_PER_MM / inside_mm, rel=0.01)


def test_what_is_clipped_at_the_start_counts_for_itself() -> None:
    """Half the rows of u = 3 to 8 mm: 3 % of the face, half of where a ring-down is largest."""
    shape = (int(28 * PX_PER_MM) + 1, int(104 * PX_PER_MM) + 1)
    clipped = np.zeros(shape, bool)
    face = _face(np.array(0.5), clipped)
    clipped[::2, (face.u_mm() > 3) & (face.u_mm() < 8)] = True
    assert extract_strips(face).clipped_share == pytest.approx(0.5, abs=0.01)


def test_a_wave_keeps_its_size_where_its_crests_are_cut_off() -> None:
    """Layers' grain of 6 % and a wave of 2 %: up to a quarter of the crests' pixels are cut off.

    The mean of what is left alone would show the wave at less than two thirds of its size.
    """
    rng = np.random.default_rng(2)
    even = _face(np.array(0.5))
    wave = 0.02 * np.cos(2 * np.pi * even.u_mm() / 5)
    grain = np.exp(rng.normal(0, 0.06, even.clipped.shape))
    light = 0.5 * (1 + wave) * grain
    full = np.quantile(light, 0.85)
    cut = light >= full
    face = _face(np.minimum(light, full)[..., None], cut)
    naive = np.log(np.where(cut, 0.0, light).sum(axis=0) / (~cut).sum(axis=0))
    assert _size(naive, wave) < 0.013
    strips = extract_strips(face)
    assert strips.valid.mean() > 0.95
    told = np.log(np.where(strips.valid, strips.light[..., 1], np.nan))
    assert _size(np.nanmean(told, axis=0), wave) == pytest.approx(0.02, rel=0.06)


def _size(log_light: np.ndarray, wave: np.ndarray) -> float:
    """The amplitude of ``wave``'s shape in ``log_light``, by least squares."""
    return float(0.02 * (log_light - log_light.mean()) @ wave / (wave @ wave))
