"""Other cameras do what they say."""

import numpy as np
import pytest

from reference_images.camera import margin_px
from reference_images.develop import develop
from reference_images.other_cameras import (
    CAMERAS,
    OtherCamera,
    code_by_power,
    code_filmic,
    develop_otherwise,
    lose_light,
)
from reference_images.scene import Camera, Development, Lamp, Material, Motion, Scene

SCENE = Scene(
    name="card",
    face="ringdown",
    seed=2,
    set="tuning",
    motion=Motion(150.0, 5000.0),
    material=Material("grey", (0.3, 0.3, 0.3)),
    lamp=Lamp(180.0, 20.0, 500.0),
    camera=Camera(width_px=320, height_px=240, face_px_per_mm=1.4),
    development=Development(full_well_e=1e6, read_e=0.0),
)


def _straight(level: float = 0.3) -> np.ndarray:
    """A dark square, off the middle, in an even picture."""
    margin = margin_px(SCENE)
    picture = np.full((240 + 2 * margin, 320 + 2 * margin, 3), level, np.float32)
    picture[60:120, 80:160] = level / 3
    return picture


def test_corners_lose_the_share_and_the_middle_none() -> None:
    lit = lose_light(np.ones((301, 401, 3), np.float32), 0.3)
    assert lit[150, 200] == pytest.approx([1.0] * 3, abs=1e-4)
    assert lit[0, 0] == pytest.approx([0.7] * 3, abs=0.003)


@pytest.mark.parametrize("curve", [code_filmic, code_by_power(1.8)])
def test_curves_rise_from_black_to_white(curve: object) -> None:
    assert callable(curve)
    code = curve(np.linspace(0, 1, 200))
    assert code[0] == pytest.approx(0.0, abs=0.02)
    assert code[-1] == pytest.approx(1.0)
    assert (np.diff(code) > 0).all()


def test_a_camera_that_does_nothing_else_is_the_usual_one_but_for_noise() -> None:
    usual = develop(SCENE, _straight()).astype(int)
    other = develop_otherwise(SCENE, _straight(), OtherCamera()).astype(int)
    assert np.abs(usual - other).max() <= 2


@pytest.mark.parametrize("name", CAMERAS)
def test_each_camera_changes_the_picture(name: str) -> None:
    usual = develop_otherwise(SCENE, _straight(), OtherCamera()).astype(int)
    changed = develop_otherwise(SCENE, _straight(), CAMERAS[name]).astype(int)
    assert np.abs(usual - changed).max() > 1  # the noise is the same
