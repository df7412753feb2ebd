"""Shadows on the relief against plane trigonometry."""

from dataclasses import replace

import numpy as np
import pytest

from reference_images.camera import bay_centre, place_lamp
from reference_images.flow_set import flow_scenes
from reference_images.relief_shadow import fine_rows_mm, place_fine_rows, see_lamp
from reference_images.scene import Pose, Scene
from reference_images.standard import HEIGHT_MM, LENGTH_MM
from reference_images.surface import Surface

BASE = flow_scenes()[0]
SCENE: Scene = replace(
    BASE, pose=Pose(), lamp=replace(BASE.lamp, azimuth_deg=90, distance_mm=5000, radius_mm=200)
)


def stepped(step_mm: float, *, slot_mm: float = 0.0) -> Surface:
    """Layers a millimetre high, the upper half of the face ``step_mm`` over the lower."""
    layers, rows = round(HEIGHT_MM), 26
    u = np.linspace(0, LENGTH_MM, 401)
    slots = np.zeros((layers + 1, u.size))
    slots[6] = slot_mm
    share = np.linspace(0, 1, rows)[None, :, None]
    low = np.arange(layers)[:, None] + slots[:-1] / 2
    high = np.arange(1, layers + 1)[:, None] - slots[1:] / 2
    y = np.zeros((layers, rows, u.size))
    y[layers // 2 :] = step_mm
    w = low[:, None] + share * (high - low)[:, None]
    return Surface(u, w, y, slots, np.zeros(u.size))


def see(surface: Surface) -> np.ndarray[tuple[int], np.dtype[np.float32]]:
    seen = see_lamp(SCENE, surface, place_fine_rows(surface))
    return np.asarray(seen[:, 200])


def lamp_elevation() -> float:
    x, y, z = place_lamp(SCENE.lamp) - bay_centre()
    return float(np.arctan2(z, np.hypot(x, y)))


def test_a_step_hides_half_the_lamp_at_its_shadow_s_trigonometric_end() -> None:
    seen, w = see(stepped(0.3)), fine_rows_mm()
    below = w < HEIGHT_MM / 2
    end = np.interp(0.5, seen[below][::-1], w[below][::-1])
    assert HEIGHT_MM / 2 - end == pytest.approx(0.3 / np.tan(lamp_elevation()), abs=0.015)
    assert seen[~below].min() == 1.0


def test_the_edge_is_as_soft_as_the_lamp_is_wide() -> None:
    seen, w = see(stepped(0.3)), fine_rows_mm()
    below = w < HEIGHT_MM / 2
    dark, light = (np.interp(q, seen[below][::-1], w[below][::-1]) for q in (0.01, 0.99))
    radius = np.arcsin(SCENE.lamp.radius_mm / SCENE.lamp.distance_mm)
    near, far = (0.3 / np.tan(lamp_elevation() + s * radius) for s in (1, -1))
    # A disc shows its last hundredth over the outer tenth of its breadth.
    assert (dark - light) == pytest.approx(far - near, rel=0.15, abs=0.01)


def test_a_step_a_thousandth_higher_changes_next_to_nothing() -> None:
    assert np.abs(see(stepped(0.301)) - see(stepped(0.3))).max() < 0.05


def test_an_open_slot_throws_no_shadow_and_takes_its_own_height() -> None:
    surface = stepped(0.0, slot_mm=0.137)
    fine = place_fine_rows(surface)
    assert fine.slot[:, 200].sum() * 0.01 == pytest.approx(0.137, abs=1e-9)
    assert see(surface).min() == 1.0
    inside = fine.slot[:, 200] == 1
    assert fine.from_lip_mm[inside, 200].min() > 0
    assert fine.from_lip_mm[inside, 200].max() < 0.137
