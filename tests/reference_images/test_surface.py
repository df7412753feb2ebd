"""The built surface against the standard's own numbers."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from reference_images.mesh import face_mesh, slot_mesh, surface_normals
from reference_images.ringdown_set import ringdown_scenes
from reference_images.ripple_truth import mode_signal_um
from reference_images.scene import Layers, Mode, Scene, Starvation
from reference_images.standard import BLADE, CHAMFER_MM, HEIGHT_MM, LENGTH_MM
from reference_images.surface import build_surface, design_height_mm

RINGDOWN = ringdown_scenes()[0]
FLOW = replace(RINGDOWN, face="flow", starvation=Starvation(0.8, 6.0))
COARSE_MM = 0.25


@pytest.mark.parametrize("facet", BLADE["faces"]["ringdown"]["facets"])
def test_facets_have_their_slopes(facet: dict[str, Any]) -> None:
    u0, u1 = facet["u_mm"]
    u = np.array([u0 + 0.8, u1 - 0.8])
    rise = np.diff(design_height_mm(RINGDOWN, u))[0] / (u[1] - u[0])
    assert np.degrees(np.arctan(rise)) == pytest.approx(facet["slope_deg"], abs=0.005)


def test_facets_close() -> None:
    u = np.array([40.0, 70.0, 94.5])
    assert design_height_mm(RINGDOWN, u) == pytest.approx([0, 0, 0], abs=1e-4)


def test_grooves_have_their_depth() -> None:
    grooves = BLADE["faces"]["flow"]["grooves"]
    centres = grooves["first_u_mm"] + grooves["pitch_mm"] * np.arange(grooves["count"])
    assert design_height_mm(FLOW, centres) == pytest.approx(-grooves["depth_mm"], abs=1e-3)
    between = centres[:-1] + grooves["pitch_mm"] / 2
    assert design_height_mm(FLOW, between) == pytest.approx(0, abs=1e-6)


def test_jitter_leaves_the_bands_mean_ripple_exact() -> None:
    mode = Mode(40.0, 50.0, 0.06, 0.5)
    jitter = Layers(amplitude_jitter=0.2, phase_jitter_rad=0.5)
    scene = replace(RINGDOWN, modes=(mode,), layers=jitter)
    surface = build_surface(scene, step_u_mm=COARSE_MM)
    zone = (surface.u_mm >= 4) & (surface.u_mm <= 64)
    expected = mode_signal_um(mode, scene.motion, surface.u_mm[zone]).real
    assert surface.mean_ripple_um[zone] == pytest.approx(expected, abs=1e-9)


def test_valleys_lie_between_layers() -> None:
    quiet = Layers(0.2, 30.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    scene = replace(RINGDOWN, modes=(), layers=quiet)
    surface = build_surface(scene, step_u_mm=COARSE_MM)
    depth_um = -1000 * surface.y_mm[30:90, 0, 100]
    assert depth_um.min() >= 27  # 30 um, a tenth more or less by layer
    assert depth_um.max() <= 33
    assert surface.w_mm[30, -1, 100] == pytest.approx(31 * 0.2)


def test_same_seed_same_surface() -> None:
    first, second = (build_surface(FLOW, step_u_mm=COARSE_MM) for _ in range(2))
    assert np.array_equal(first.y_mm, second.y_mm)
    other = build_surface(replace(FLOW, seed=FLOW.seed + 1), step_u_mm=COARSE_MM)
    assert not np.array_equal(first.slots_mm, other.slots_mm)


def test_layers_stand_apart_by_their_slots() -> None:
    surface = build_surface(FLOW, step_u_mm=COARSE_MM)
    apart = surface.w_mm[1:, 0] - surface.w_mm[:-1, -1]
    assert apart == pytest.approx(surface.slots_mm[1:-1], abs=1e-12)


@pytest.mark.parametrize(("scene", "end"), [(RINGDOWN, "right"), (FLOW, "left")])
def test_mesh_covers_the_outline(scene: Scene, end: str) -> None:
    bare = replace(scene, starvation=Starvation(), pose=type(scene.pose)())
    mesh = face_mesh(bare, build_surface(bare, step_u_mm=COARSE_MM))
    a, b, c = (mesh.vertices[mesh.triangles[:, k], :2] for k in range(3))
    area = np.abs(np.cross(np.pad(b - a, ((0, 0), (0, 1))), np.pad(c - a, ((0, 0), (0, 1)))))
    expected = LENGTH_MM * HEIGHT_MM - CHAMFER_MM**2 / 2
    assert area[:, 2].sum() / 2 == pytest.approx(expected, rel=1e-4)
    rim = mesh.vertices[mesh.vertices[:, 1] > mesh.vertices[:, 1].max() - 1e-6]
    left, right = rim[:, 0].min() - 55.0, 155.0 - rim[:, 0].max()
    assert (left, right) == pytest.approx((0, 6) if end == "right" else (6, 0), abs=1e-6)


def test_normals_are_unit_and_look_up() -> None:
    normals = surface_normals(build_surface(RINGDOWN, step_u_mm=COARSE_MM))
    assert np.linalg.norm(normals, axis=-1) == pytest.approx(1.0)
    assert (normals[..., 2] > 0).all()


def test_slots_are_walled_only_where_they_are() -> None:
    surface = build_surface(FLOW, step_u_mm=COARSE_MM)
    mesh = slot_mesh(FLOW, surface)
    assert mesh is not None
    assert mesh.vertices[:, 2].min() < 12 - 0.5
    whole = replace(FLOW, starvation=Starvation())
    assert slot_mesh(whole, build_surface(whole, step_u_mm=COARSE_MM)) is None
