"""The drawn check blade against the package's own y(u), which it shares no code with."""

from dataclasses import replace

import numpy as np
import pytest

from reference_images.check_set import check_scenes, draw_check_scene
from reference_images.designed_ripple import designed_um, printed_amplitudes_um, printed_um
from reference_images.scene import DesignedRipple
from reference_images.surface import design_height_mm
from scoring.geometry.check_ripple import CHECK_RIPPLE

U = np.linspace(0.0, 100.0, 4001)


def test_two_readings_of_one_file_agree() -> None:
    assert designed_um(U) == pytest.approx(1e3 * CHECK_RIPPLE.height_mm(U), abs=1e-9)


def test_a_printer_leaves_what_a_gaussian_leaves_of_a_wave() -> None:
    """Fourier transform of a Gaussian: exp(-(2 pi s / L)^2 / 2)."""
    kept = 0.9 * np.exp(-((2 * np.pi * 0.12 / 3) ** 2) / 2)
    found = printed_amplitudes_um(DesignedRipple(0.9, 0.12))
    assert found == pytest.approx([20 * kept, 50 * kept, 100 * kept, 0], rel=2e-3, abs=1e-3)


def test_the_surface_carries_it_beside_the_facets() -> None:
    scene = check_scenes()[0]
    assert scene.designed is not None
    more = design_height_mm(scene, U) - design_height_mm(replace(scene, designed=None), U)
    assert 1e3 * more == pytest.approx(printed_um(scene.designed, U), abs=0.02)


def test_drawn_scenes_are_light_slow_and_split_by_seed() -> None:
    for seed in range(12):
        scene = draw_check_scene(seed)
        assert scene == draw_check_scene(seed)
        assert scene.set == ("tuning" if seed % 2 == 0 else "quoting")
        assert not scene.modes
        assert max(scene.material.rgb) > 0.2
