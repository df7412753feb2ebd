"""Layer lines of drawn faces: pitch, place, and what happens without any."""

import numpy as np
import pytest

from scoring.gaps.columns import average_columns
from scoring.gaps.layers import find_layer_lines
from tests.gaps.drawn_face import Look, draw_face, draw_slots


@pytest.mark.parametrize(
    ("layer_mm", "px_per_mm", "blur_mm"),
    [(0.12, 30, 0.03), (0.16, 20, 0.04), (0.2, 20, 0.06), (0.28, 24, 0.05), (0.32, 20, 0.05)],
)
def test_pitch_is_read_from_the_photo(layer_mm: float, px_per_mm: int, blur_mm: float) -> None:
    look = Look(layer_mm=layer_mm, px_per_mm=px_per_mm, blur_mm=blur_mm)
    rng = np.random.default_rng(1)
    drawn = draw_face(look, draw_slots(look, rng, count=40), rng)
    columns = average_columns(drawn.face)
    pitch = 24 / round(24 / layer_mm)
    for stated in (None, layer_mm):
        lines = find_layer_lines(columns, layer_height_mm=stated)
        assert lines.found
        assert lines.pitch_mm == pytest.approx(pitch, rel=2e-3)


def test_boundaries_follow_the_lines_over_the_face() -> None:
    look = Look(lift_mm=0.03, tilt_mm=0.08)
    drawn = draw_face(look, (), np.random.default_rng(2))
    lines = find_layer_lines(average_columns(drawn.face), layer_height_mm=0.2)
    u = np.array([10.0, 30.0, 50.0, 70.0, 90.0])
    numbers = np.arange(20, 100, 10)
    expected = numbers[:, None] * 0.2 + look.lift_mm + look.tilt_mm * (u - 50) / 50
    assert lines.boundaries_mm(numbers, u) == pytest.approx(expected, abs=0.02)
    assert lines.phase(expected, np.broadcast_to(u, expected.shape)) == pytest.approx(
        np.broadcast_to(numbers[:, None], expected.shape), abs=0.1
    )


def test_a_wrongly_stated_layer_height_does_not_mislead() -> None:
    drawn = draw_face(Look(layer_mm=0.28), (), np.random.default_rng(3))
    lines = find_layer_lines(average_columns(drawn.face), layer_height_mm=0.2)
    assert lines.pitch_mm == pytest.approx(24 / 86, rel=2e-3)


def test_without_layer_lines_the_stated_or_nominal_height_is_assumed() -> None:
    drawn = draw_face(Look(contrast=0.0, banding=0.0), (), np.random.default_rng(4))
    columns = average_columns(drawn.face)
    for stated, expected in ((None, 0.2), (0.16, 0.16)):
        lines = find_layer_lines(columns, layer_height_mm=stated)
        assert not lines.found
        assert lines.pitch_mm == expected
