"""The second path tracer's scenes, without Blender: motion, ripple, slots, mesh, lens, seeds."""

import math

import cv2
import numpy as np
import pytest
from scipy import integrate

from reference_images.cycles.conditions import draw_conditions
from reference_images.cycles.ripple import Mode, Motion, find_ripple_truth, ripple_mm, time_s
from reference_images.cycles.scene import draw_scene, seeded
from reference_images.cycles.slots import carve, draw_slots, draw_starvation, find_gap_truth
from reference_images.cycles.solid import build_solid, facets_mm
from reference_images.cycles.view import bend, draw_camera, widen
from tests.reference_photos import read_photos

KEPT = [
    (p.truth["face"], p.truth["seed"])
    for f in ("ringdown", "flow")
    for p in read_photos(f"cycles/{f}")
]
MOTION = Motion(150.0, 4000.0, 6.0)


@pytest.mark.parametrize(("face", "seed"), KEPT)
def test_the_kept_photos_truth_is_their_seeds(face: str, seed: int) -> None:
    photo = next(p for p in read_photos(f"cycles/{face}") if p.truth["seed"] == seed)
    drawn = draw_scene(seeded(face, seed), face, seed).truth
    assert drawn.keys() == photo.truth.keys()
    for key, stated in photo.truth.items():
        same = pytest.approx(stated, rel=1e-5) if isinstance(stated, float) else stated
        assert drawn[key] == same, key


@pytest.mark.parametrize(("face", "seed"), [("ringdown", 18), ("flow", 4)])
def test_seeds_that_the_method_was_mended_by_are_tuning(face: str, seed: int) -> None:
    sets = [draw_scene(seeded(face, s), face, s).truth["set"] for s in (seed, seed + 1)]
    assert sets == ["tuning", "quoting"]


def test_time_is_the_integral_of_one_over_speed() -> None:
    def slowness(u: float) -> float:
        return 1 / min(MOTION.speed_mm_s, math.sqrt(6.0**2 + 2 * 4000.0 * u))

    for u in (0.5, 2.0, 40.0):
        expected, _ = integrate.quad(slowness, 0, u, points=[1e-3, 1e-2, 0.1], limit=400)
        assert time_s(np.array(u), MOTION) == pytest.approx(expected, rel=1e-6)


def test_a_mode_is_a_damped_oscillator() -> None:
    """Against scipy's integration of y'' + 2 zeta w y' + w^2 y = 0."""
    mode = Mode(0.02, 45.0, 0.06, 0.7)
    w, u = 2 * np.pi * 45.0, np.linspace(4, 40, 60)
    t = time_s(u, MOTION)
    start = ripple_mm(np.array([0.0]), MOTION, (mode,))[0]
    turn = w * math.sqrt(1 - 0.06**2)
    rate = -0.02 * (0.06 * w * math.cos(0.7) + turn * math.sin(0.7))
    found = integrate.solve_ivp(
        lambda _, y: [y[1], -2 * 0.06 * w * y[1] - w * w * y[0]],
        (0, t[-1]),
        [start, rate],
        t_eval=t,
        rtol=1e-9,
        atol=1e-12,
    )
    assert ripple_mm(u, MOTION, (mode,)) == pytest.approx(found.y[0], abs=1e-7)


def test_no_mode_is_no_ripple() -> None:
    truth = find_ripple_truth(MOTION, ())
    assert (truth["ripple_peak_um"], truth["modes"]) == (0.0, [])


def test_slot_numbers_against_a_raster() -> None:
    """Open cells of 0.01 by 0.002 mm, counted."""
    rng = np.random.default_rng(3)
    slots = draw_slots(rng, 0.24, draw_starvation(rng, 1))
    u = np.linspace(0, 100, 10001)
    height, depth = carve(slots, u, 100)
    truth = find_gap_truth(height, u, 0.24)
    inside = (u >= 50) & (u < 94)
    w = np.arange(3.001, 21, 0.002)
    layer = (w / 0.24).astype(int)
    raster = (layer + 1) * 0.24 - w < height[layer][:, inside].T
    assert truth["gap_fraction"] == pytest.approx(raster.mean(), rel=0.01)
    assert ((depth > 0) >= (height > 0)).all()


def test_the_mesh_covers_the_face_down_to_the_card_and_has_the_facets() -> None:
    rng = seeded("ringdown", 21)
    made = draw_conditions(rng, "ringdown", 21).made
    solid = build_solid(rng, "ringdown", made, motion=MOTION, modes=(), slots=[], starved=None)
    # Seen from above the quads cover the face but its cut corner once, and walls not at all.
    x, y = np.moveaxis(solid.vertices[solid.quads][..., :2].astype(float), -1, 0)
    area = (x * np.roll(y, -1, axis=1) - y * np.roll(x, -1, axis=1)).sum(axis=1) / 2
    assert area.sum() == pytest.approx(100 * 24 - 6 * 6 / 2, rel=1e-4)
    assert area.min() > -1e-6
    assert solid.vertices[:, 2].min() == -12
    step = facets_mm(np.array([77.0])) - facets_mm(np.array([75.0]))
    assert step[0] / 2 == pytest.approx(math.tan(math.radians(3)))


def test_grooves_walls_are_set_off_with_their_layers() -> None:
    rng = seeded("flow", 7)
    made, starved = draw_conditions(rng, "flow", 7).made, draw_starvation(rng, 7)
    solid = build_solid(rng, "flow", made, motion=MOTION, modes=(), slots=[], starved=starved)
    rows = solid.vertices.reshape(-1, solid.u_mm.size + 2, 3)[1:-1, 1:-1].astype(float)
    near = (solid.u_mm > 30.5) & (solid.u_mm < 31.5)
    walls = [np.interp(0.4, -z, solid.u_mm[near]) for z in rows[:, near, 2]]
    assert np.mean(walls) == pytest.approx(31.0, abs=0.01)
    assert np.std(walls) == pytest.approx(made.offset_mm, rel=0.25)


def test_projection_is_opencvs() -> None:
    camera = draw_camera(np.random.default_rng(8))
    places = np.random.default_rng(9).uniform((-90, -60, -12), (90, 60, 0), (20, 3))
    flip = np.diag([1.0, -1.0, -1.0])
    turn = flip @ camera.axes.T
    width, height = camera.size_px
    matrix = np.array(
        [[camera.focal_px, 0, width / 2], [0, camera.focal_px, height / 2], [0, 0, 1]]
    )
    expected, _ = cv2.projectPoints(
        places,
        cv2.Rodrigues(turn)[0],
        -turn @ camera.centre_mm,
        matrix,
        np.array([camera.k1, 0, 0, 0.0]),
    )
    assert camera.project(places) == pytest.approx(expected[:, 0], abs=1e-6)


def test_the_lens_puts_a_spot_where_it_projects() -> None:
    camera = draw_camera(np.random.default_rng(10))
    pinhole = widen(camera)
    place = np.array([60.0, 40.0, -12.0])
    x, y = pinhole.project(place)[0] - 0.5
    rows, columns = np.mgrid[: pinhole.size_px[1], : pinhole.size_px[0]].astype(np.float32)
    spot = np.exp(-((columns - x) ** 2 + (rows - y) ** 2) / 18).astype(np.float32)
    bent, _ = bend(spot, camera)
    moments = cv2.moments(bent)
    centre = np.array([moments["m10"], moments["m01"]]) / moments["m00"]
    assert centre == pytest.approx(camera.project(place)[0] - 0.5, abs=0.05)
