"""The tabulated response against the shading it was made from, and its inverse."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.geometry import BLADE
from scoring.registration.rectify import Placement
from scoring.shading.account import Shading, trace_line
from scoring.shading.calibrate import Calibration
from scoring.shading.response import SLOPES, Response, carry_steps, tabulate_response
from scoring.shading.tone import bend, luma_light
from tests.shading.drawn_shading import (
    BAY_MM,
    CAMERA_MM,
    PLACEMENT,
    lamp_at,
    several,
    shading_under,
)

LAMP_MM = lamp_at(azimuth_deg=178, elevation_deg=20, flat_mm=450)
SHADING = shading_under(LAMP_MM, contrast=0.15)
U = np.linspace(4.0, 92.0, 300)
RESPONSE = tabulate_response(SHADING, PLACEMENT, CAMERA_MM, u_mm=U)


def _exact(slope: np.ndarray) -> np.ndarray:
    line = trace_line(PLACEMENT, CAMERA_MM, U)
    return luma_light(bend(SHADING.channels(SHADING.sight(line), slope), SHADING.contrast))


@given(slope=st.floats(-0.25, 0.25))
def test_table_is_the_shading(slope: float) -> None:
    """Slopes of ripples and facets: interpolation costs under a thousandth of the light."""
    light, _ = RESPONSE.light(np.full(U.size, slope))
    exact = _exact(np.full(U.size, slope)) / _exact(np.zeros(U.size))
    assert light == pytest.approx(exact, abs=1e-3)


def test_level_is_the_level_face() -> None:
    assert RESPONSE.level_log == pytest.approx(np.log(_exact(np.zeros(U.size))), abs=1e-3)
    assert RESPONSE.light(np.zeros(U.size))[0] == pytest.approx(1.0, abs=1e-6)


@given(slope=st.floats(-1.1, 1.1))
def test_rate_is_the_derivative(slope: float) -> None:
    at, h = np.full(U.size, slope), 1e-5
    rate = RESPONSE.light(at)[1]
    numeric = (RESPONSE.light(at + h)[0] - RESPONSE.light(at - h)[0]) / (2 * h)
    assert rate == pytest.approx(numeric, abs=2e-3 * np.abs(numeric).max() + 1e-6)


@given(slope=st.floats(-0.25, 0.25))
def test_inverse_gives_the_slope_back(slope: float) -> None:
    """It is linear between the table's slopes, 0.04 apart, where light is cubic."""
    light, _ = RESPONSE.light(np.full(U.size, slope))
    assert RESPONSE.slope(light) == pytest.approx(slope, abs=2e-3)


def test_inverse_under_a_lamp_on_the_right_gives_the_slope_back() -> None:
    """There light falls with slope."""
    lamp = lamp_at(azimuth_deg=2, elevation_deg=20, flat_mm=450)
    response = tabulate_response(shading_under(lamp), PLACEMENT, CAMERA_MM, u_mm=U)
    for slope in (-0.2, -0.03, 0.0, 0.05, 0.2):
        light, rate = response.light(np.full(U.size, slope))
        assert (rate < 0).all()
        assert response.slope(light) == pytest.approx(slope, abs=2e-3)


def test_light_beyond_the_table_is_held_to_its_ends() -> None:
    table = np.tile(1 + 0.5 * SLOPES, (2, 1))
    response = Response(table, np.full_like(table, 0.5), np.zeros(2))
    assert response.slope(np.array([0.0, 9.0])) == pytest.approx([SLOPES[0], SLOPES[-1]])
    held, _ = response.light(np.array([-9.0, 9.0]))
    assert held == pytest.approx([table[0, 0], table[0, -1]], abs=1e-3)


def test_a_sure_calibration_carries_no_doubt() -> None:
    sure = Calibration(SHADING, *[several(SHADING, SHADING)] * 2)
    facets = np.array([78.0, 85.0])
    assert (carry_steps(sure, PLACEMENT, CAMERA_MM, from_u_mm=facets, to_u_mm=10.0) == 0.0).all()


def test_doubt_of_the_lamps_distance_grows_with_the_way_carried() -> None:
    nearer = shading_under(LAMP_MM * np.array([0.8, 1.0, 1.0]), contrast=0.15)
    unsure = Calibration(SHADING, several(nearer), several(SHADING))
    facets = np.array([78.0, 85.0])
    near, far = (
        abs(carry_steps(unsure, PLACEMENT, CAMERA_MM, from_u_mm=facets, to_u_mm=u)[0])
        for u in (70.0, 10.0)
    )
    assert 0 < near < far < 0.5


def test_a_lamp_opposite_is_as_unsure() -> None:
    """Face, card and camera mirrored about the face's middle: the same doubt comes out."""
    level, above = Placement(0.0, 0.0, 0.0), np.array([BAY_MM[0], BAY_MM[1], 330.0])
    middle = BLADE.length_mm / 2
    doubts = []
    for azimuth, side in ((180.0, 1.0), (0.0, -1.0)):
        lamps = [lamp_at(azimuth_deg=azimuth, elevation_deg=20, flat_mm=f) for f in (450, 360)]
        sure, nearer = (shading_under(lamp) for lamp in lamps)
        unsure = Calibration(sure, several(nearer), several(sure))
        facets = middle + side * np.array([28.0, 35.0])
        to_u_mm = middle - side * 40.0
        doubts.append(carry_steps(unsure, level, above, from_u_mm=facets, to_u_mm=to_u_mm)[0])
    assert abs(doubts[0]) > 0.01
    assert doubts[0] == pytest.approx(doubts[1], rel=1e-6)


def test_each_step_is_carried_by_itself() -> None:
    one, other = (shading_under(LAMP_MM + d, contrast=0.15) for d in ([40.0, 0, 0], [0, 0, 25.0]))

    def carry(*ahead: Shading) -> np.ndarray:
        unsure = Calibration(SHADING, several(*ahead), several(*[SHADING] * len(ahead)))
        facets = np.array([78.0, 85.0])
        return carry_steps(unsure, PLACEMENT, CAMERA_MM, from_u_mm=facets, to_u_mm=10.0)

    both = carry(one, other)
    assert both == pytest.approx(np.concatenate([carry(one), carry(other)]))
    assert (both != 0).all()
