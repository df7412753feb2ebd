"""The camera against OpenCV's own projection, the lamp against geometry on paper."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from reference_images.camera import bay_centre, place_camera, place_lamp, project_px, undistort
from reference_images.mesh import face_to_world
from reference_images.ringdown_set import ringdown_scenes
from reference_images.scene import Camera, Lamp, Pose
from reference_images.shade import light_lamp

CAMERA = Camera(focal_35mm=30, tilt_deg=7, tilt_towards_deg=40, turn_deg=160, k1=-0.05)


def test_projection_agrees_with_opencv() -> None:
    # cv2.projectPoints: the same pinhole with the radial term k1 alone.
    view = place_camera(CAMERA)
    rng = np.random.default_rng(1)
    world = rng.uniform([0, -148, 0], [210, 0, 14], (50, 3))
    inner = np.array(
        [[view.focal_px, 0, view.centre_px[0]], [0, view.focal_px, view.centre_px[1]], [0, 0, 1]]
    )
    turn, _ = cv2.Rodrigues(view.axes)
    shift = -view.axes @ view.place
    lens = np.array([view.k1, 0, 0, 0])
    expected, _ = cv2.projectPoints(world, turn, shift, inner, lens)
    assert project_px(view, world) == pytest.approx(expected.reshape(-1, 2), abs=1e-6)


def test_axes_are_right_handed_and_look_down() -> None:
    view = place_camera(CAMERA)
    assert view.axes @ view.axes.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(view.axes) == pytest.approx(1.0)
    assert view.axes[2, 2] < -0.9


@pytest.mark.parametrize("k1", [-0.08, 0.0, 0.08])
def test_lens_is_undone(k1: float) -> None:
    view = place_camera(replace(CAMERA, k1=k1))
    rng = np.random.default_rng(2)
    pixels = rng.uniform([0, 0], [3999, 2999], (200, 2))
    flat = undistort(view, pixels)
    rays = np.concatenate([flat, np.ones((200, 1))], axis=1)
    back = project_px(view, view.place + 100 * rays @ view.axes)
    assert back == pytest.approx(pixels, abs=2e-3)


def test_scale_on_the_face_is_the_one_asked_for() -> None:
    view = place_camera(replace(CAMERA, tilt_deg=0, k1=0.0))
    a, b = project_px(view, np.array([[100.0, -74, 12], [101.0, -74, 12]]))
    assert np.linalg.norm(b - a) == pytest.approx(CAMERA.face_px_per_mm)


def test_coupon_lies_in_the_bay() -> None:
    scene = replace(ringdown_scenes()[0], pose=Pose())
    corner = face_to_world(scene, np.array(0.0), np.array(24.0), np.array(0.0))
    assert corner == pytest.approx([55.0, -62.0, 12.0])


def test_lamp_stands_on_the_labels_side() -> None:
    lamp = place_lamp(Lamp(180, 20, 600))
    assert lamp[0] < 0
    away = lamp - bay_centre()
    assert np.degrees(np.arcsin(away[2] / np.linalg.norm(away))) == pytest.approx(20)
    rim = place_lamp(Lamp(90, 35, 600))
    assert rim[1] > 0  # world Y is up the card


def test_lamp_and_surround_give_white_paper_its_reflectance() -> None:
    # Irradiance pi on a matt surface of reflectance 1 gives radiance 1: P sin(e) / d^2 + sky.
    lamp = Lamp(180, 20, 600, ambient_share=0.07)
    light = light_lamp(lamp)
    irradiance = light.strength * np.sin(np.radians(20)) / 600**2
    assert irradiance / np.pi + lamp.ambient_share == pytest.approx(1.0)
