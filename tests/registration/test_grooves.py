"""Grooves found where they are, on profiles of known shift and on photos of known place."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from scoring.geometry import BLADE
from scoring.photo.decode import read_photo
from scoring.registration.grooves import UNSEEN, find_grooves, locate_grooves
from scoring.registration.place import place_coupon, rectify_face
from tests.reference_photos import ReferencePhoto, read_photos
from tests.registration.true_offsets import read_off_mm

FINE = np.arange(20, 60, 0.002)
SEEN = np.arange(20, 60, 0.05)
BLUR_MM = 0.05
FLOW = [p for p in read_photos("flow") if p.truth["expect"] is None]


def _profile(
    shift_mm: float, stretch: float, walls_mm: tuple[float, float], floor: float, slope: float
) -> NDArray[np.float64]:
    """Light along u: dark walls of given widths inside each groove's edges, a floor, falloff."""
    u = FINE - shift_mm - stretch * (FINE - 39.6)
    light = 0.5 + slope * (u - 40)
    half = BLADE.grooves.width_mm / 2
    for centre in BLADE.grooves.centres_u_mm:
        light[np.abs(u - centre) < half] *= floor
        light[(u > centre - half) & (u < centre - half + walls_mm[0])] *= 0.2
        light[(u < centre + half) & (u > centre + half - walls_mm[1])] *= 0.3
    return np.asarray(np.interp(SEEN, FINE, gaussian_filter1d(light, BLUR_MM / 0.002)))


@given(
    shift=st.floats(-0.6, 0.35),
    stretch=st.floats(-0.001, 0.001),
    walls=st.tuples(st.floats(0.06, 0.35), st.floats(0.06, 0.35)),
    floor=st.floats(0.9, 1.1),
)
def test_known_shift_and_stretch_come_back(
    shift: float, stretch: float, walls: tuple[float, float], floor: float
) -> None:
    fit = find_grooves(
        SEEN, _profile(shift, stretch, walls, floor, 0.004), blur_mm=BLUR_MM, sd_stretch=0.01
    )
    middle = np.array([32.0, 40.0, 48.0])
    expected = middle - shift - stretch * (middle - 39.6)
    assert fit.edges == 12
    assert fit.true_u_mm(middle) == pytest.approx(expected, abs=0.025)
    assert fit.true_u_mm(fit.read_u_mm(middle)) == pytest.approx(middle, abs=1e-9)


@pytest.mark.parametrize("shift", [-2.6, -1.6, -1.2, 1.0, 1.5, 2.2])
def test_an_outline_off_by_up_to_most_of_a_pitch_is_set_right(shift: float) -> None:
    """Each groove then lies between two places, or near the next one's but for the last."""
    light = _profile(shift, 0.0, (0.15, 0.2), 1.0, 0.004)
    fit = find_grooves(SEEN, light, blur_mm=BLUR_MM, sd_stretch=0.001)
    assert fit.edges == 12
    assert fit.shift_mm == pytest.approx(shift, abs=0.025)
    assert not fit.sure


@given(shift=st.floats(-0.15, 0.15), stretch=st.floats(-0.001, 0.001))
def test_a_blade_whose_grooves_begin_at_the_drawn_places_is_read_as_such(
    shift: float, stretch: float
) -> None:
    """``blade.toml`` does not say whether ``first_u_mm`` is a groove's middle or its near edge."""
    light = _profile(shift + BLADE.grooves.width_mm / 2, stretch, (0.15, 0.2), 1.0, 0.004)
    fit = find_grooves(SEEN, light, blur_mm=BLUR_MM, sd_stretch=0.001)
    assert fit.shift_mm == pytest.approx(shift, abs=0.025)
    assert not fit.sure  # an outline so far off would look the same


def test_a_fit_is_sure_where_all_walls_are_seen_near_the_outlines_place() -> None:
    for shift, walls, sure in (
        (0.1, (0.15, 0.2), True),
        (-0.4, (0.15, 0.2), False),
        (0.1, (0.0, 0.2), False),
    ):
        light = _profile(shift, 0.0, walls, 1.0, 0.004)
        assert find_grooves(SEEN, light, blur_mm=BLUR_MM, sd_stretch=0.001).sure == sure
    assert not UNSEEN.sure


def test_one_wall_of_each_groove_is_enough_but_less_sure() -> None:
    """Seen aslant, only the far walls show: the grooves' width then has to be believed."""
    light = _profile(0.2, 0.0, (0.0, 0.3), 1.0, 0.0)
    fit = find_grooves(SEEN, light, blur_mm=BLUR_MM, sd_stretch=0.001)
    assert fit.edges == 6
    assert fit.sd_shift_mm > 0.04
    assert abs(fit.shift_mm - 0.2) < 2 * fit.sd_shift_mm


def test_a_wall_with_a_glint_on_its_edge_does_not_count() -> None:
    light = _profile(0.1, 0.0, (0.15, 0.2), 1.0, 0.0)
    right = np.array(BLADE.grooves.centres_u_mm) + 0.1 + BLADE.grooves.width_mm / 2
    glints = 0.3 * np.exp(-(((SEEN[:, None] - right - 0.12) / 0.05) ** 2)).sum(axis=1)
    fit = find_grooves(SEEN, light + glints, blur_mm=BLUR_MM, sd_stretch=0.001)
    assert fit.edges == 6
    assert not fit.sure
    assert abs(fit.shift_mm - 0.1) < 2 * fit.sd_shift_mm


def test_a_plain_face_keeps_the_outlines_place() -> None:
    light = 0.5 + np.random.default_rng(1).normal(0, 0.004, SEEN.size)
    assert find_grooves(SEEN, light, blur_mm=BLUR_MM, sd_stretch=0.001) == UNSEEN


@pytest.mark.parametrize("photo", FLOW, ids=lambda p: p.name)
def test_u_is_right_within_a_twentieth_of_a_millimetre(photo: ReferencePhoto) -> None:
    """Two of these photos are 0.06 mm off by their outline alone."""
    placed = place_coupon(read_photo(photo.path))
    face = rectify_face(placed, whole=False)
    fit = locate_grooves(face, blur_mm=placed.blur_mm, sd_stretch=placed.stretch_sd)
    u, w, true = photo.read_face_grid()
    read_mm = fit.read_u_mm(u)
    off = read_off_mm(placed, true, (read_mm, w), (read_mm + 1, w))
    assert fit.edges == 12
    assert np.abs(off[(u > 20) & (u < 60)]).max() < 0.05
    assert abs(off.mean()) < 3 * fit.sd_shift_mm
