"""Scenes drawn at random from stated ranges, for breadth: one seed, one scene.

Even seeds are for tuning, odd ones for quoting; that split is never to change.
"""

from dataclasses import dataclass, replace

import numpy as np

from reference_images.draw import PAPER_LEVEL, draw_layers
from reference_images.materials import COLOURS, make_material
from reference_images.ripple_truth import steepest_slope
from reference_images.scene import (
    Camera,
    Development,
    Face,
    Lamp,
    Layers,
    Mode,
    Motion,
    Pose,
    Scene,
    Starvation,
    SteadyRipple,
    set_of,
)

Range = tuple[float, float]


@dataclass(frozen=True)
class Ranges:
    """Lowest and highest of every drawn condition."""

    amplitude_um: Range = (1.0, 150.0)
    frequency_hz: Range = (25.0, 110.0)
    damping_ratio: Range = (0.03, 0.12)
    most_modes: int = 2
    speed_mm_s: Range = (80.0, 300.0)
    accel_mm_s2: Range = (1000.0, 20000.0)
    lamp_elevation_deg: Range = (15.0, 25.0)
    lamp_off_axis_deg: float = 6.0
    lamp_distance_mm: Range = (400.0, 800.0)
    tilt_deg: Range = (0.0, 7.0)
    k1: float = 0.06
    face_px_per_mm: Range = (16.0, 19.0)
    blur_px: Range = (0.5, 1.2)
    tone_s: Range = (0.0, 0.4)
    jpeg_quality: Range = (80, 95)
    shift_mm: float = 2.0
    askew_deg: float = 3.0
    layer_height_mm: Range = (0.16, 0.28)
    most_hidden_markers: int = 4


MAIN = Ranges()
WIDE = Ranges(
    amplitude_um=(1.0, 200.0),
    frequency_hz=(20.0, 140.0),
    damping_ratio=(0.02, 0.15),
    most_modes=3,
    speed_mm_s=(60.0, 400.0),
    accel_mm_s2=(500.0, 40000.0),
    lamp_elevation_deg=(10.0, 30.0),
    lamp_off_axis_deg=15.0,
    lamp_distance_mm=(250.0, 800.0),
    tilt_deg=(0.0, 12.0),
    k1=0.08,
    face_px_per_mm=(15.5, 36.0),
    blur_px=(0.4, 1.6),
    tone_s=(0.0, 0.5),
    jpeg_quality=(70, 98),
    shift_mm=3.0,
    askew_deg=4.0,
    layer_height_mm=(0.12, 0.32),
    most_hidden_markers=6,
)
STEEPEST = 0.85  # of the lamp's tangent; steeper ripples throw shadows on themselves
RIPPLE_FREE = 0.12  # share of scenes without any ripple


def _log(rng: np.random.Generator, span: Range) -> float:
    return float(np.exp(rng.uniform(np.log(span[0]), np.log(span[1]))))


def _draw_modes(
    rng: np.random.Generator, ranges: Ranges, motion: Motion, lamp: Lamp
) -> tuple[Mode, ...]:
    """Modes at least a fifth apart in frequency, scaled down where they would shade themselves."""
    if rng.random() < RIPPLE_FREE:
        return ()
    envelope = _log(rng, ranges.amplitude_um)
    modes: list[Mode] = []
    for k in range(int(rng.integers(1, ranges.most_modes + 1))):
        hertz = float(rng.uniform(*ranges.frequency_hz))
        if any(abs(np.log(hertz / m.frequency_hz)) < 0.2 for m in modes):
            continue
        share = 1.0 if k == 0 else float(rng.uniform(0.25, 0.8))
        damping = float(rng.uniform(*ranges.damping_ratio))
        modes.append(Mode(envelope * share, hertz, damping, float(rng.uniform(0, 2 * np.pi))))
    limit = STEEPEST * np.tan(np.radians(lamp.elevation_deg))
    scale = min(1.0, limit / steepest_slope(tuple(modes), motion))
    return tuple(
        Mode(m.envelope_um * scale, m.frequency_hz, m.damping_ratio, m.phase_rad) for m in modes
    )


def draw_lamp(rng: np.random.Generator, ranges: Ranges, face: Face) -> Lamp:
    """A lamp on the side that the face asks for."""
    off = float(rng.uniform(-ranges.lamp_off_axis_deg, ranges.lamp_off_axis_deg))
    elevation = rng.uniform(*ranges.lamp_elevation_deg) + (0 if face == "ringdown" else 15)
    return Lamp(
        azimuth_deg=(180.0 if face == "ringdown" else 90.0) + off,
        elevation_deg=float(elevation),
        distance_mm=float(rng.uniform(*ranges.lamp_distance_mm)),
        radius_mm=float(rng.uniform(10, 40)),
        ambient_share=float(rng.uniform(0.02, 0.12)),
        tint=(1.0, float(rng.uniform(0.93, 1.0)), float(rng.uniform(0.85, 1.0))),
    )


def draw_camera(rng: np.random.Generator, ranges: Ranges) -> Camera:
    """A phone with the whole card in view, any way up, whatever its resolution."""
    scale = float(rng.uniform(*ranges.face_px_per_mm))
    return Camera(
        width_px=round(scale * 230 / 16) * 16,
        height_px=round(scale * 172 / 16) * 16,
        focal_35mm=float(rng.uniform(24, 52)),
        face_px_per_mm=scale,
        tilt_deg=float(rng.uniform(*ranges.tilt_deg)),
        tilt_towards_deg=float(rng.uniform(0, 360)),
        turn_deg=float(rng.uniform(-8, 8)) + 180.0 * float(rng.random() < 0.3),
        aim_mm=(105.0 + float(rng.uniform(-2, 2)), 74.0 + float(rng.uniform(-3, 3))),
        k1=float(rng.uniform(-ranges.k1, ranges.k1)),
    )


def _draw_development(rng: np.random.Generator, ranges: Ranges, colour: str) -> Development:
    worst, best = (int(quality) for quality in ranges.jpeg_quality)
    return Development(
        paper_level=PAPER_LEVEL.get(colour, 0.8) * float(rng.uniform(0.85, 1.08)),
        blur_px=float(rng.uniform(*ranges.blur_px)),
        full_well_e=float(rng.uniform(4000, 16000)),
        read_e=float(rng.uniform(2, 6)),
        tone_s=float(rng.uniform(*ranges.tone_s)),
        jpeg_quality=int(rng.integers(worst, best + 1)),
    )


def _draw_layers(rng: np.random.Generator, ranges: Ranges) -> Layers:
    height_mm = float(rng.uniform(*ranges.layer_height_mm))
    layers = draw_layers(rng, deepest_um=40)
    return replace(layers, height_mm=height_mm, valley_um=layers.valley_um * height_mm / 0.2)


def draw_pose(rng: np.random.Generator, ranges: Ranges) -> Pose:
    """The hand's aim."""
    return Pose(
        float(rng.uniform(-ranges.shift_mm, ranges.shift_mm)),
        float(rng.uniform(-ranges.shift_mm, ranges.shift_mm)),
        float(rng.uniform(-ranges.askew_deg, ranges.askew_deg)),
    )


def draw_scene(seed: int, face: Face, ranges: Ranges = MAIN) -> Scene:
    """The scene of one seed. Its name is ``FACE-SEED``."""
    rng = np.random.default_rng([seed, 200])
    colour = str(rng.choice(list(COLOURS)))
    motion = Motion(_log(rng, ranges.speed_mm_s), _log(rng, ranges.accel_mm_s2))
    lamp = draw_lamp(rng, ranges, face)
    hidden = int(rng.integers(0, ranges.most_hidden_markers + 1)) if rng.random() < 0.3 else 0
    steady = float(rng.uniform(0.5, 3)) if rng.random() < 0.25 else 0.0
    starvation = Starvation()
    if face == "flow" and rng.random() > RIPPLE_FREE:
        starvation = Starvation(
            gaps_per_layer=_log(rng, (0.1, 1.5)),
            decay_mm=_log(rng, (2.0, 14.0)),
            largest_height_mm=float(rng.uniform(0.08, 0.15)),
            longest_mm=float(rng.uniform(5, 15)),
            steady_gaps=int(rng.integers(0, 4)) if rng.random() < 0.3 else 0,
        )
    return Scene(
        name=f"{face}-{seed}",
        face=face,
        seed=seed,
        set=set_of(seed),
        motion=motion,
        material=make_material(
            colour,
            roughness=float(rng.uniform(0.25, 0.7)),
            specular=float(rng.uniform(0.3, 0.6)),
        ),
        lamp=lamp,
        camera=draw_camera(rng, ranges),
        development=_draw_development(rng, ranges, colour),
        modes=_draw_modes(rng, ranges, motion, lamp),
        steady=SteadyRipple(steady, 2.0, float(rng.uniform(0, 2 * np.pi))),
        starvation=starvation,
        layers=_draw_layers(rng, ranges),
        pose=draw_pose(rng, ranges),
        run=f"STUDY-{seed}",
        axis="x" if rng.random() < 0.5 else "y",
        table=("grey", "wood", "dark")[int(rng.integers(3))],
        hidden_markers=tuple(int(i) for i in rng.choice(12, hidden, replace=False)),
    )
