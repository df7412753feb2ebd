"""Reflection against closed forms and published relations."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.shading.surface import (
    BEAD_SLOPES,
    Sight,
    fresnel,
    gloss_light,
    matt_light,
    return_light,
)


def _sight(elevation_deg: float, count: int = 1) -> Sight:
    e = np.deg2rad(elevation_deg)
    lamp = np.tile([-np.cos(e), 0.0, np.sin(e)], (count, 1))
    camera = np.tile([0.0, 0.0, 1.0], (count, 1))
    return Sight(lamp, camera, np.ones(count))


def _lambert_roughness(elevation_deg: float) -> float:
    """The roughness at which Burley's grazing factor is 1, so that Lambert's law is left."""
    half = (np.sin(np.deg2rad(elevation_deg)) + 1) / 2
    return float(0.25 / half)


@pytest.mark.parametrize(
    ("amplitude_um", "elevation_deg", "linear"),
    [(10, 15, 0.117246), (20, 15, 0.234492), (50, 10, 0.890843)],
)
def test_contrast_is_that_of_linear_shape_from_shading(
    amplitude_um: float, elevation_deg: float, linear: float
) -> None:
    """(2 pi A / lambda) / tan e for lambda = 2 mm (Pentland 1990; values recomputed)."""
    u = np.linspace(0, 2, 400, endpoint=False)
    slope = 2 * np.pi * amplitude_um * 1e-3 / 2 * np.cos(np.pi * u)
    sight = _sight(elevation_deg, u.size)
    light = matt_light(sight, slope, roughness=_lambert_roughness(elevation_deg)).mean(axis=0)
    spectrum = np.fft.rfft(light) / u.size
    contrast = 2 * abs(spectrum[1]) / abs(spectrum[0])
    # Exact Lambert lies under the linear relation by up to 0.3 %, and beads change little.
    assert contrast == pytest.approx(linear, rel=6e-3)


def test_level_face_returns_the_sine() -> None:
    """Lambert's cosine law, over the beads' own slopes."""
    light = matt_light(_sight(20), np.zeros(1), roughness=_lambert_roughness(20)).mean()
    beads = np.mean(1 / np.sqrt(1 + BEAD_SLOPES**2))
    assert light == pytest.approx(np.sin(np.deg2rad(20)) * beads, rel=1e-6)


@given(slope=st.floats(-0.3, 0.3), elevation=st.floats(12, 40))
def test_far_lamp_mirrors_the_slope(slope: float, elevation: float) -> None:
    near = _sight(elevation)
    far = Sight(near.to_lamp * np.array([-1, 1, 1]), near.to_camera, near.irradiance)
    a = matt_light(near, np.array([slope]), roughness=0.5)
    b = matt_light(far, np.array([-slope]), roughness=0.5)
    assert a == pytest.approx(b)


@pytest.mark.parametrize("elevation_deg", [15, 20, 30])
def test_a_clear_skin_lets_in_what_fresnel_leaves(elevation_deg: float) -> None:
    """``grazing`` of -1 beside Lambert is a dielectric's transmittance, index 1.5.

    So Schlick's polynomial (1994) has it, which for light this flat is up to 2 % off.
    """
    sight, slopes = _sight(elevation_deg, 3), np.tan(np.deg2rad([-3.0, 0.0, 3.0]))
    lambert = _lambert_roughness(elevation_deg)
    skin = matt_light(sight, slopes, roughness=lambert, grazing=-1.0).mean(axis=0)
    through = []
    for slope in slopes:
        normal = np.stack([-slope + 0 * BEAD_SLOPES, -BEAD_SLOPES, 1 + 0 * BEAD_SLOPES], axis=1)
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        cosine = normal @ sight.to_lamp[0]
        let_in = [1 - _reflectance(1.5, float(d)) for d in np.rad2deg(np.arccos(cosine))]
        through.append(np.mean(cosine * let_in))
    assert skin / skin[1] == pytest.approx(np.array(through) / through[1], rel=0.02)


@given(lamp=st.floats(1, 80), camera=st.floats(1, 80), apart=st.floats(-180, 180))
def test_returned_light_is_that_of_rough_surfaces(lamp: float, camera: float, apart: float) -> None:
    """max(0, cos phi) sin a tan b of Oren and Nayar 1994, from angles instead of vectors."""
    to_lamp, to_camera, phi = np.deg2rad([lamp, camera, apart])
    between = np.cos(to_lamp) * np.cos(to_camera) + np.sin(to_lamp) * np.sin(to_camera) * np.cos(
        phi
    )
    expected = max(0.0, np.cos(phi)) * np.sin(max(to_lamp, to_camera))
    expected *= np.tan(min(to_lamp, to_camera))
    found = return_light(np.array(between), np.cos(np.array(to_lamp)), np.cos(np.array(to_camera)))
    assert found == pytest.approx(expected, abs=1e-9)


@given(grazing=st.floats(-8, 8), elevation=st.floats(2, 40), slope=st.floats(-1, 1))
def test_no_account_makes_light_negative(grazing: float, elevation: float, slope: float) -> None:
    """Steps of a doubtful fit go far: a negative light has no logarithm and no code."""
    light = matt_light(_sight(elevation), np.array([slope]), roughness=0.5, grazing=grazing)
    assert (light >= 0).all()


def test_gloss_peaks_at_the_mirror_slope() -> None:
    """A facet that halves the angle between lamp and camera is the mirror: slope tan 35 degrees."""
    slopes = np.linspace(-1, 1.5, 501)
    light = gloss_light(_sight(20), slopes[:, None], roughness=0.3, strength=0.04).mean(axis=-2)
    light = light[:, 0]
    assert slopes[np.argmax(light)] == pytest.approx(np.tan(np.deg2rad(35)), abs=0.05)


def _reflectance(index: float, degrees: float) -> float:
    """Fresnel's equations in their sine and tangent form (Hecht, Optics, section 4.6)."""
    i = np.deg2rad(degrees)
    t = np.arcsin(np.sin(i) / index)
    across, along = np.sin(i - t) / np.sin(i + t), np.tan(i - t) / np.tan(i + t)
    return float((across**2 + along**2) / 2)


def test_gloss_grows_with_reflectance() -> None:
    """A lamp 20 degrees up and a camera above mirror each other at 35 degrees from the normal."""
    low, high = (
        gloss_light(
            _sight(20), np.zeros(1), roughness=0.4, strength=((n - 1) / (n + 1)) ** 2
        ).mean()
        for n in (1.4, 1.6)
    )
    assert high / low == pytest.approx(_reflectance(1.6, 35) / _reflectance(1.4, 35), rel=1e-6)


@pytest.mark.parametrize("degrees", [5, 45, 60, 80])
def test_reflectance_is_a_handbooks(degrees: float) -> None:
    """Glass of index 1.5; straight on it returns 0.04."""
    found = fresnel(np.cos(np.deg2rad([degrees])), 0.04)
    assert found == pytest.approx([_reflectance(1.5, degrees)])


def test_at_brewsters_angle_half_of_the_light_is_not_reflected() -> None:
    """tan of it is the index; only the other polarisation is left: ((n^2-1)/(n^2+1))^2 / 2."""
    found = fresnel(np.cos(np.arctan([1.5])), 0.04)
    assert found == pytest.approx([(1.25 / 3.25) ** 2 / 2])
