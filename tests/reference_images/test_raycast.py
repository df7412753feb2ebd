"""The raycaster: motion, ripple, slots, camera, reflectance, developing; one photo, measured."""

import math
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import integrate

from reference_images.raycast.camera import Camera, hold_camera, shrink_camera, turn_points
from reference_images.raycast.conditions import GGX_FRESNEL, LAMBERT, LAMBERT_BLINN, OREN_NAYAR
from reference_images.raycast.develop import demosaic, encode, take_mosaic
from reference_images.raycast.draw_conditions import draw_conditions
from reference_images.raycast.frames import lay
from reference_images.raycast.lamp_rays import find_disc_share, find_lamp_power
from reference_images.raycast.motion import (
    Mode,
    Motion,
    find_ripple_truth,
    mode_signal_mm,
    ripple_mm,
    time_s,
)
from reference_images.raycast.photo import draw_photo, save_photo
from reference_images.raycast.prism import find_outline, find_planes
from reference_images.raycast.prism_rays import is_inside, meet_prism
from reference_images.raycast.reflectance import Vector, find_fresnel, reflect, spread_blinn
from reference_images.raycast.relief import build_relief, draw_ripples, weigh_layers
from reference_images.raycast.slots import draw_slots, find_gap_truth
from scoring.measure import measure_photo
from tests.reference_photos import ReferencePhoto

Array = NDArray[np.float64]
MOTION = Motion(150.0, 4000.0, 6.0)
UP: Vector = (0.0, 0.0, 1.0)


def _toward(elevation_deg: float, azimuth_deg: float) -> Vector:
    elevation, azimuth = math.radians(elevation_deg), math.radians(azimuth_deg)
    level = math.cos(elevation)
    return level * math.cos(azimuth), level * math.sin(azimuth), math.sin(elevation)


def _reflect(law: int, roughness: float, light: Vector, sight: Vector) -> tuple[float, float]:
    """Both factors over the light's cosine: pi times the reflectance distribution."""
    finish = np.array([roughness, 1.0])
    diffuse, gloss = reflect(law, finish, UP, light, sight, light[2])
    return diffuse / light[2], gloss / light[2]


def _integrate(law: int, roughness: float, light: Vector) -> tuple[float, float]:
    """Both factors' share of the light that leaves, over the hemisphere of sights."""
    cosines = (np.arange(60) + 0.5) / 60
    total = np.zeros(2)
    for cosine in cosines:
        for azimuth in np.arange(0, 360, 4):
            sight = _toward(math.degrees(math.asin(cosine)), float(azimuth))
            total += np.array(_reflect(law, roughness, light, sight)) * cosine
    diffuse, gloss = total * 2 / (60 * 90)
    return float(diffuse), float(gloss)


def test_time_is_the_integral_of_one_over_speed() -> None:
    def slowness(u: float) -> float:
        return 1 / min(MOTION.speed_mm_s, math.sqrt(6.0**2 + 2 * 4000.0 * u))

    for u in (0.5, 2.0, 40.0):
        expected, _ = integrate.quad(slowness, 0, u, points=[1e-3, 1e-2, 0.1], limit=400)
        assert time_s(u, MOTION) == pytest.approx(expected, rel=1e-6)


def test_a_mode_is_a_damped_oscillator() -> None:
    """Against scipy's integration of y'' + 2 zeta w y' + w^2 y = 0 from the zone's start."""
    mode = Mode(20.0, 45.0, 0.06, 0.7)
    damped = 2 * np.pi * 45.0
    w = damped / math.sqrt(1 - 0.06**2)
    u = np.linspace(4, 40, 60)
    t = time_s(u, MOTION) - time_s(4.0, MOTION)
    turn = damped * float(time_s(4.0, MOTION)) + 0.7
    rate = -0.02 * (0.06 * w * math.cos(turn) + damped * math.sin(turn))
    found = integrate.solve_ivp(
        lambda _, y: [y[1], -2 * 0.06 * w * y[1] - w * w * y[0]],
        (0, t[-1]),
        [0.02 * math.cos(turn), rate],
        t_eval=t,
        rtol=1e-9,
        atol=1e-12,
    )
    assert ripple_mm(u, (mode,), MOTION) == pytest.approx(found.y[0], abs=1e-7)
    assert abs(mode_signal_mm(4.0, mode, MOTION)) == pytest.approx(0.02)


def test_no_mode_is_no_ripple() -> None:
    assert find_ripple_truth((), MOTION) == (0.0, 0.0)


@pytest.mark.parametrize("seed", [14, 62])
def test_the_mean_over_the_band_is_the_truth(seed: int) -> None:
    """Layers differ, and the relief's rows that lie in w = 3 to 21 mm do not on average."""
    scene, rng = draw_conditions("ringdown", seed)
    scene = replace(scene, made=replace(scene.made, scatter=0.2))
    w = np.linspace(0.005, 23.995, 2400)
    weights = weigh_layers(w, scene.made.layer_mm)
    u = np.linspace(4, 64, 301)
    layers = draw_ripples(rng, scene, u, weights)
    band = w[(w > 3) & (w < 21)]
    rows = layers[(band / scene.made.layer_mm).astype(int)]
    truth = ripple_mm(u, scene.ripple.modes, scene.motion)
    assert rows.mean(axis=0, dtype=float) == pytest.approx(truth, abs=2e-6)
    assert rows.std(axis=0).max() > 0.05 * np.abs(truth).max()


def test_the_relief_has_ripple_facets_and_layers_on_average() -> None:
    scene, rng = draw_conditions("ringdown", 62)
    relief, gaps = build_relief(rng, scene)
    assert gaps == {}
    mean = relief.heights_mm[300:2100].mean(axis=0, dtype=float)
    u = (np.arange(mean.size) + 0.5) * 0.025
    bow = scene.made.bow_um * ((u - 50) / 50) ** 2 + scene.made.lean_um * (u - 50) / 50
    left = mean - ripple_mm(u, scene.ripple.modes, scene.motion) - bow / 1000
    zone, flat = left[(u > 4) & (u < 64)], left[(u > 69) & (u < 72)]
    assert zone.std() < 1e-4
    assert flat.mean() == pytest.approx(zone.mean(), abs=2e-4)
    rising = (u > 74) & (u < 77)
    slope = np.polyfit(u[rising], left[rising], 1)[0]
    assert slope == pytest.approx(math.tan(math.radians(3)), abs=2e-4)


def test_open_cells_of_the_relief_are_the_truths_area() -> None:
    scene, rng = draw_conditions("flow", 16)
    relief, truth = build_relief(rng, scene)
    rows, columns = relief.codes.shape
    u, w = (np.arange(columns) + 0.5) * 0.025, (np.arange(rows) + 0.5) * 0.005
    band = relief.codes[(w > 3) & (w < 21)][:, (u > 50) & (u < 94)]
    is_open = (band > 0) & (band < 255)
    assert truth["gap_fraction"] > 0
    assert is_open.mean() == pytest.approx(truth["gap_fraction"], rel=0.05)


def test_gap_numbers_against_a_raster() -> None:
    """Runs and area counted on cells of 0.01 mm by 2 um, and the last full 2 mm window."""
    scene, rng = draw_conditions("flow", 16)
    assert scene.gaps is not None
    plan = replace(scene.gaps, share=0.01)
    u = np.linspace(0.0125, 99.9875, 4000)
    slots = draw_slots(rng, plan, u, layer_mm=0.2, layers=120)
    truth = find_gap_truth(slots, 0.2)
    lines = slots.open_mm[16:105]  # w = 3.2 to 20.8
    zone = lines[:, (slots.fine_u_mm > 50) & (slots.fine_u_mm < 94)]
    heights = np.arange(0.001, 0.12, 0.002)
    area = (zone[..., None] > heights).sum() * 0.002 * 0.005
    assert truth["gap_fraction"] == pytest.approx(area / (44 * 18), rel=0.01)
    count, longest = 0, 0.0
    for line in (zone >= 0.01).astype(np.uint8):
        found, _, stats, _ = cv2.connectedComponentsWithStats(line[None])
        count += found - 1
        longest = max(longest, *(stats[1:, cv2.CC_STAT_WIDTH] * 0.005), 0.0)
    assert (truth["gap_count"], truth["gap_longest_mm"]) == (count, pytest.approx(longest))
    mean = np.convolve(zone.sum(axis=0, dtype=float), np.ones(400), "valid")
    last = np.nonzero(mean > 0.1 * mean.max())[0][-1] * 0.005 + 1
    assert truth["recovery_mm"] == pytest.approx(last, abs=0.006)


def _hold(face: str, seed: int) -> Camera:
    scene, rng = draw_conditions(face, seed)
    return hold_camera(rng, scene.handling, lay(scene.laid))


@pytest.mark.parametrize("seed", [13, 62])
def test_projection_is_opencvs(seed: int) -> None:
    camera = _hold("ringdown", seed)
    places = np.random.default_rng(9).uniform((0, -148, 0), (210, 0, 12), (20, 3))
    turn = np.stack([camera.right, camera.down, camera.forward])
    x0, y0 = camera.centre_px
    matrix = np.array([[camera.focal_px, 0, x0], [0, camera.focal_px, y0], [0, 0, 1]])
    expected, _ = cv2.projectPoints(
        places,
        cv2.Rodrigues(turn)[0],
        -turn @ camera.place_mm,
        matrix,
        np.array([camera.handling.k1, 0, 0, 0.0]),
    )
    assert np.linalg.det(turn) == pytest.approx(1)
    assert camera.project(places) == pytest.approx(expected[:, 0], abs=1e-6)


def test_a_shrunken_photo_shows_the_same() -> None:
    camera = _hold("ringdown", 62)
    small = shrink_camera(camera, 15.0)
    share = 15.0 / camera.least_px_per_mm
    places = np.array([[20.0, -28.0, 0.0], [150.0, -70.0, 12.0]])
    expected = (camera.project(places) + 0.5) * share - 0.5
    assert small.project(places) == pytest.approx(expected)
    scene, _ = draw_conditions("ringdown", 62)
    assert small.find_scale(lay(scene.laid)) == pytest.approx(15.0, rel=1e-3)


def test_points_turn_with_the_picture() -> None:
    picture = np.zeros((30, 50), np.uint8)
    picture[4, 11] = 1
    for turns in range(4):
        row, column = np.argwhere(np.rot90(picture, turns))[0]
        assert turn_points(np.array([11.0, 4.0]), turns, (50, 30)).tolist() == [column, row]


def test_fresnel_straight_on_and_at_brewsters_angle() -> None:
    assert find_fresnel(1.0) == pytest.approx(((1.47 - 1) / (1.47 + 1)) ** 2)
    assert find_fresnel(0.0) == pytest.approx(1)
    # There the parallel part vanishes, and the other is the cosine of twice the angle, squared.
    brewster = math.atan(1.47)
    assert find_fresnel(math.cos(brewster)) == pytest.approx(math.cos(2 * brewster) ** 2 / 2)


def test_smooth_oren_nayar_is_lamberts() -> None:
    light, sight = _toward(20, 180), _toward(75, 30)
    assert _reflect(OREN_NAYAR, 0.0, light, sight) == _reflect(LAMBERT, 0.0, light, sight)
    assert _reflect(LAMBERT, 0.0, light, sight) == pytest.approx((1, 0))


def test_oren_nayar_returns_light_towards_the_lamp() -> None:
    """Against the formula as published, for angles from the normal and an azimuth between."""
    for theta_l, theta_v, azimuth in ((70, 10, 0), (70, 10, 60), (50, 65, 30), (70, 10, 180)):
        a, b = max(theta_l, theta_v), min(theta_l, theta_v)
        s2 = 0.4**2
        turned = max(0.0, math.cos(math.radians(azimuth)))
        expected = (
            1
            - s2 / (2 * (s2 + 0.33))
            + 0.45
            * s2
            / (s2 + 0.09)
            * turned
            * math.sin(math.radians(a))
            * math.tan(math.radians(b))
        )
        found, _ = _reflect(
            OREN_NAYAR, 0.4, _toward(90 - theta_l, 0), _toward(90 - theta_v, azimuth)
        )
        assert found == pytest.approx(expected)


@pytest.mark.parametrize("law", [LAMBERT, OREN_NAYAR, LAMBERT_BLINN, GGX_FRESNEL])
def test_light_and_sight_may_change_places(law: int) -> None:
    for elevation_l, elevation_v, azimuth in ((20, 80, 150), (60, 35, 20), (45, 45, 180)):
        light, sight = _toward(elevation_l, azimuth), _toward(elevation_v, 0)
        there, back = _reflect(law, 0.5, light, sight), _reflect(law, 0.5, sight, light)
        assert there == pytest.approx(back, rel=1e-9)


@pytest.mark.parametrize("law", [LAMBERT, OREN_NAYAR, LAMBERT_BLINN, GGX_FRESNEL])
@pytest.mark.parametrize("elevation_deg", [15, 40, 90])
def test_no_more_light_leaves_than_comes(law: int, elevation_deg: float) -> None:
    diffuse, gloss = _integrate(law, 0.5, _toward(elevation_deg, 0))
    assert 0 < diffuse <= 1.001
    assert 0 <= gloss < 1
    # White filament's two parts together, within what the tenth for light from inside may add.
    assert diffuse + gloss < 1.1


def test_facets_cover_the_surface_once() -> None:
    """A spread of facets' areas, seen from above, adds up to the surface: D cos over the sphere."""
    for roughness in (0.45, 0.65):
        total, _ = integrate.quad(
            lambda c, r=roughness: 2 * math.pi * c * spread_blinn(r, c), 0, 1, limit=200
        )
        assert total == pytest.approx(1, rel=1e-6)


def test_ggx_is_as_published() -> None:
    """Light, sight and normal in one: D F G / 4 with D = 1 / (pi alpha^2) and G = 1."""
    _, gloss = _reflect(GGX_FRESNEL, 0.5, UP, UP)
    assert gloss / math.pi == pytest.approx(find_fresnel(1.0) / (4 * math.pi * 0.25**2))


def test_a_beam_falls_off_its_axis() -> None:
    lamp, down = np.array([0.0, 0, 500]), np.array([0.0, 0, -1])
    below, aside = np.zeros(3), np.array([500.0, 0, 0])
    assert find_lamp_power(below, lamp, down, 0.0) == pytest.approx(1 / 500**2)
    ball, beam = (find_lamp_power(aside, lamp, down, power) for power in (0.0, 2.0))
    assert beam / ball == pytest.approx(0.5)


def test_a_disc_sets_behind_the_horizon() -> None:
    assert [find_disc_share(0.3, h, 0.02) for h in (0.2, 0.3, 0.4)] == [1, pytest.approx(0.5), 0]
    # A segment half a radius high: (pi / 3 - sqrt(3) / 4) / pi of the disc.
    part = (math.pi / 3 - math.sqrt(3) / 4) / math.pi
    assert find_disc_share(0.3, 0.31, 0.02) == pytest.approx(part)


@pytest.mark.parametrize("face", ["ringdown", "flow"])
def test_the_prism_is_the_outline(face: str) -> None:
    outline, planes = find_outline(face).astype(np.float32), find_planes(face)
    rng = np.random.default_rng(3)
    for u, w in rng.uniform((-5, -5), (105, 29), (300, 2)):
        inside = cv2.pointPolygonTest(outline, (float(u), float(w)), False) > 0
        assert is_inside(np.array([u, w, -6.0]), planes) == inside
    wall, t = meet_prism(np.array([50.0, -20, -6]), np.array([0.0, 1, 0]), 99.0, planes)
    assert (wall, t) == (2, 20)


def test_a_grey_mosaic_gives_the_grey_back() -> None:
    y, x = np.mgrid[0:20, 0:24]
    grey = np.repeat((0.2 + 0.01 * x + 0.004 * y)[..., None], 3, axis=2).astype(np.float32)
    made = demosaic(take_mosaic(grey))
    assert made[4:-4, 4:-4] == pytest.approx(grey[4:-4, 4:-4], abs=1e-6)


@pytest.mark.parametrize("curve", ["srgb", "scurve", "filmic", "power22"])
def test_tone_curves_rise_from_black_to_white(curve: str) -> None:
    code = encode(np.linspace(0, 1, 4001), curve, 0.4)
    assert (code[0], code[-1]) == (pytest.approx(0, abs=1e-6), pytest.approx(1))
    assert (np.diff(code) > 0).all()


def test_a_fresh_photos_peak_is_held(tmp_path: Path) -> None:
    """One vibration on satin filament, drawn at 15 px/mm and measured from its file."""
    drawn = draw_photo("ringdown", 62, px_per_mm=15.0)
    photo = ReferencePhoto(save_photo(drawn, tmp_path), drawn.truth)
    found = measure_photo(
        photo.path,
        name=photo.name,
        motion=photo.motion,
        layer_height_mm=photo.layer_height_mm,
    ).measurement
    peak = found.metrics["ripple_peak_um"]
    assert peak.low <= photo.truth["ripple_peak_um"] <= peak.high
    assert (found.run, found.axis) == (photo.truth["run"], photo.truth["axis"])
    assert (photo.truth["set"], photo.truth["renderer"]) == ("quoting", "raycast")
