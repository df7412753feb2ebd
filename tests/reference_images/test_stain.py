"""The painted stain against what the scene asks for."""

from dataclasses import replace

import numpy as np
import pytest

from reference_images.quick import trace_quickly
from reference_images.ringdown_set import ringdown_scenes
from reference_images.scene import Camera, Stain
from reference_images.stain import paint_stain
from reference_images.surface import build_surface

BASE = ringdown_scenes()[0]
SCENE = replace(
    BASE,
    camera=Camera(width_px=920, height_px=688, face_px_per_mm=4.0),
    layers=replace(BASE.layers, height_mm=0.8),
)
SURFACE = build_surface(SCENE)


def test_without_a_stain_the_colour_is_the_clean_one() -> None:
    assert (paint_stain(SCENE, SURFACE) == 1).all()


def test_the_wave_has_its_size_period_and_decay() -> None:
    stain = Stain(share=0.02, period_mm=4.0, phase_rad=0.0, decay_mm=20.0)
    painted = paint_stain(replace(SCENE, stain=stain), SURFACE)
    u = SURFACE.u_mm
    crests = [painted[3, 2, int(np.argmin(np.abs(u - at)))] - 1 for at in (0.0, 4.0, 20.0)]
    assert crests == pytest.approx([0.02, 0.02 * np.exp(-0.2), 0.02 * np.exp(-1)], rel=1e-6)
    assert np.ptp(painted, axis=(0, 1)).max() == 0


def test_blotches_have_their_strength_and_are_the_same_in_every_shot() -> None:
    stained = replace(SCENE, stain=Stain(blotch_share=0.03, blotch_mm=1.0))
    painted = paint_stain(stained, SURFACE)
    assert painted.std() == pytest.approx(0.03, rel=0.1)
    assert (paint_stain(replace(stained, shot=1), SURFACE) == painted).all()


def test_a_stain_darkens_the_picture_by_its_share() -> None:
    """Half as bright a filament without gloss returns half the light, lamp's and surround's."""
    grey = replace(SCENE, material=replace(SCENE.material, specular=0.0))
    slow = replace(grey, stain=Stain(share=-0.5, period_mm=1e6))
    clean, dark = (trace_quickly(s, SURFACE) for s in (grey, slow))
    middle = np.s_[clean.shape[0] // 2 - 20 : clean.shape[0] // 2 + 20, 440:480]
    ratio = float(dark[middle].mean() / clean[middle].mean())
    assert ratio == pytest.approx(0.5, abs=1e-3)
