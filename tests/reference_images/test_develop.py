"""Sensor and file: the tone curve against IEC 61966-2-1, noise against its statistics."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import ExifTags, Image

from reference_images.camera import margin_px
from reference_images.develop import PAPER_AT_BAY, develop, encode_tone, write_photo
from reference_images.ringdown_set import ringdown_scenes
from reference_images.sparks import drop_sparks

BASE = ringdown_scenes()[0]
SMALL = replace(
    BASE,
    camera=replace(BASE.camera, width_px=160, height_px=120),
    development=replace(BASE.development, paper_level=PAPER_AT_BAY, tone_s=0.0, read_e=0.0),
)


def test_tone_is_srgb() -> None:
    # IEC 61966-2-1; linear values recomputed with colour-science and scikit-image.
    linear = np.array([0.003035270, 0.051269458, 0.215860500, 0.577580440])
    assert encode_tone(linear, 0.0) * 255 == pytest.approx([10, 64, 128, 200], abs=1e-5)


def test_s_curve_keeps_black_middle_and_white() -> None:
    middle = 0.21404114  # linear light of code 0.5
    assert encode_tone(np.array([0.0, middle, 1.0]), 0.4) == pytest.approx([0, 0.5, 1], abs=1e-6)


def flat_light(level: float) -> np.ndarray[tuple[int, int, int], np.dtype[np.float32]]:
    edge = 2 * margin_px(SMALL)
    return np.full((120 + edge, 160 + edge, 3), level, dtype=np.float32)


def test_shot_noise_follows_the_square_root() -> None:
    # N electrons scatter by sqrt(N): at half of 8000, 1.58 %.
    scene = replace(SMALL, development=replace(SMALL.development, full_well_e=8000))
    coded = develop(scene, flat_light(0.5)) / 255
    linear = ((coded + 0.055) / 1.055) ** 2.4
    assert linear.mean() == pytest.approx(0.5, rel=2e-3)
    assert linear.std() / linear.mean() == pytest.approx(4000**-0.5, rel=0.05)


def test_same_seed_same_photo() -> None:
    assert np.array_equal(develop(SMALL, flat_light(0.3)), develop(SMALL, flat_light(0.3)))


def test_file_carries_the_focal_length(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    write_photo(SMALL, develop(SMALL, flat_light(0.3)), path)
    with Image.open(path) as image:
        inner = image.getexif().get_ifd(ExifTags.IFD.Exif)
        assert image.size == (160, 120)
    assert inner[ExifTags.Base.FocalLengthIn35mmFilm] == round(SMALL.camera.focal_35mm)


def test_sparks_are_dropped_and_edges_kept() -> None:
    light = np.full((20, 20, 3), 0.2, dtype=np.float32)
    light[:, 10:] = 0.8
    sparked = light.copy()
    sparked[5, 5] = 7.0
    cleaned = drop_sparks(sparked)
    assert cleaned[5, 5] == pytest.approx(0.2 * 1.15)
    cleaned[5, 5] = 0.2
    assert np.array_equal(cleaned, light)
