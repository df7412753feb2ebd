"""What a lamp sends where, against the cosine laws of photometry."""

import numpy as np
import pytest
from numpy.typing import NDArray

from scoring.geometry import CARD
from scoring.shading.lamp import BAY_CENTRE_MM, intensity
from tests.shading.drawn_shading import lamp_at, shaded_beam

LAMP_MM = lamp_at(azimuth_deg=172, elevation_deg=18, flat_mm=420)
BAY_POINT_MM = np.append(BAY_CENTRE_MM, 0.0)


def _places() -> NDArray[np.float64]:
    x, y = np.meshgrid(np.linspace(0, CARD.size_mm[0], 9), np.linspace(0, CARD.size_mm[1], 7))
    return np.stack([x.ravel(), y.ravel(), np.zeros(x.size)], axis=1)


def test_a_bare_bulb_sends_as_much_everywhere() -> None:
    sent = intensity(LAMP_MM, np.array(0.0), np.zeros(2), _places())
    assert sent == pytest.approx(1.0)


@pytest.mark.parametrize("power", [1.0, 4.0])
def test_a_beam_aimed_at_the_bay_is_a_power_of_the_cosine(power: float) -> None:
    sent = intensity(LAMP_MM, np.array(power), np.zeros(2), _places())
    assert sent == pytest.approx(shaded_beam(LAMP_MM, _places(), power=power))


@pytest.mark.parametrize("aim_mm", [(45.0, 74.0), (165.0, 74.0), (105.0, 34.0), (105.0, 114.0)])
def test_a_beam_turned_aside_leans_by_its_power_times_the_angle(
    aim_mm: tuple[float, float],
) -> None:
    """To first order; the card's corners, 15 degrees from its middle, are within 4 %."""
    power = 3.0
    to_bay, to_aim = BAY_POINT_MM - LAMP_MM, np.array([*aim_mm, 0.0]) - LAMP_MM
    across = np.cross([0, 0, 1.0], to_bay)
    axes = np.stack([across, np.cross(to_bay, across)])
    axes /= np.linalg.norm(axes, axis=1, keepdims=True)
    ahead = to_aim @ to_bay / np.linalg.norm(to_bay)
    lean = power * (axes @ to_aim) / ahead
    sent = intensity(LAMP_MM, np.array(power), lean, _places())
    true = shaded_beam(LAMP_MM, _places(), power=power, aim_mm=aim_mm)
    assert sent == pytest.approx(true, rel=0.04)
    assert np.ptp(np.log(true)) > 0.07


def test_lamps_at_once_are_lamps_one_by_one() -> None:
    lamps = np.stack([LAMP_MM, lamp_at(azimuth_deg=10, elevation_deg=25, flat_mm=300)])
    beams, leans = np.array([1.0, 3.0]), np.array([[0.1, -0.2], [0.3, 0.4]])
    together = intensity(lamps, beams, leans, _places())
    alone = [intensity(*one, _places()) for one in zip(lamps, beams, leans, strict=True)]
    assert together == pytest.approx(np.stack(alone))
