"""The fast renderer end to end, read back by OpenCV's own detectors."""

import json
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from reference_images.materials import make_material
from reference_images.quick import shoot_quickly
from reference_images.ringdown_set import ringdown_scenes
from reference_images.shade import shade_plastic

BASE = ringdown_scenes()[0]
SMALL = replace(
    BASE,
    name="small",
    camera=replace(BASE.camera, width_px=1840, height_px=1376, face_px_per_mm=8.0),
    layers=replace(BASE.layers, height_mm=0.8),  # few layers: a small mesh
)


def test_photo_and_truth_agree(tmp_path: Path) -> None:
    path = shoot_quickly(SMALL, tmp_path)
    truth = json.loads(path.with_suffix(".json").read_text("utf-8"))
    grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    assert grey is not None
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(grey)
    told = {m["id"]: (m["x_px"], m["y_px"]) for m in truth["picture"]["marker_centres"]}
    found = dict(zip(np.ravel(ids).tolist(), corners, strict=True))
    seen = [ident for ident in told if ident in found]
    assert len(seen) >= 11  # one may lie in the coupon's shadow
    # A square's mean corner is its centre but for perspective, here below a third of a pixel.
    missed = [np.reshape(found[i], (4, 2)).mean(axis=0) - told[i] for i in seen]
    assert np.abs(np.mean(missed, axis=0)).max() < 0.2
    assert np.abs(missed).max() < 1.0
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(grey)
    assert text == f"coupon:{SMALL.run}:{SMALL.axis}:ringdown"


def unit(*xyz: float) -> np.ndarray[tuple[int], np.dtype[np.float32]]:
    return np.asarray(np.array(xyz) / np.linalg.norm(xyz), dtype=np.float32)


def test_mirror_reflection_is_the_fresnel_one() -> None:
    # At normal incidence D = 1 / (pi alpha^2), both shadowing terms are 1, and the reflectance is
    # ((n - 1) / (n + 1))^2 (Fresnel). The model's specular 0.5 stands for n = 1.5, so 4 %.
    plastic = make_material("grey", roughness=0.5, specular=0.5)
    up = unit(0, 0, 1)
    _, gloss = shade_plastic(plastic, up, up.copy(), up, 0.0)
    assert gloss == pytest.approx(0.04 / (np.pi * 0.5**4) / 4, rel=1e-3)


def test_faces_turned_away_are_dark() -> None:
    plastic = make_material("grey", roughness=0.5, specular=0.5)
    diffuse, gloss = shade_plastic(plastic, unit(-1, 0, -0.1), unit(0, 0, 1), unit(0, 0, 1), 0.0)
    assert (float(diffuse), float(gloss)) == (0.0, 0.0)
