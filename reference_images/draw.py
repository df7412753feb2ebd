"""Conditions that a seed draws: the camera's stand, the sensor, the layers, the hand's aim."""

import numpy as np

from reference_images.scene import Camera, Development, Layers, Pose

SIZES_PX = ((4000, 3000), (3840, 2560), (4032, 3024), (3840, 2400))
# Dark filaments are exposed longer, up to clipped paper; bright ones must not clip themselves.
PAPER_LEVEL = {"black": 1.25, "dark grey": 1.05, "white": 0.66, "natural": 0.7}


def draw_camera(rng: np.random.Generator) -> Camera:
    """A phone held over the card: 24 to 52 mm equivalent, up to 7 degrees off the vertical."""
    width, height = SIZES_PX[rng.integers(len(SIZES_PX))]
    return Camera(
        width_px=width,
        height_px=height,
        focal_35mm=float(rng.choice([24.0, 26.0, 27.0, 35.0, 50.0, 52.0])),
        face_px_per_mm=float(rng.uniform(16.4, 17.3)),
        tilt_deg=float(rng.uniform(0.5, 6.0)),
        tilt_towards_deg=float(rng.uniform(0, 360)),
        aim_mm=(105.0 + float(rng.uniform(-2, 2)), 74.0 + float(rng.uniform(-3, 3))),
        k1=float(rng.uniform(-0.06, 0.06)),
    )


def draw_development(rng: np.random.Generator, colour: str) -> Development:
    """Sensor and file: 4000 to 16000 electrons at full scale, tone curves up to a firm S."""
    return Development(
        paper_level=PAPER_LEVEL.get(colour, 0.8) * float(rng.uniform(0.9, 1.08)),
        blur_px=float(rng.uniform(0.5, 1.1)),
        full_well_e=float(rng.uniform(5000, 16000)),
        read_e=float(rng.uniform(2, 5)),
        tone_s=float(rng.choice([0.0, 0.0, 0.15, 0.3, 0.4])),
        jpeg_quality=int(rng.choice([82, 85, 88, 90])),
    )


def draw_layers(rng: np.random.Generator, *, deepest_um: float = 38) -> Layers:
    """How neatly layers of 0.2 mm came out; no valley between them is deeper than told."""
    return Layers(
        valley_um=float(rng.uniform(20, deepest_um)),
        offset_um=float(rng.uniform(1.5, 5)),
        wander_um=float(rng.uniform(1, 3)),
        amplitude_jitter=float(rng.uniform(0.03, 0.1)),
        phase_jitter_rad=float(rng.uniform(0.05, 0.2)),
        texture_um=float(rng.uniform(0.6, 2.0)),
        corner_radius_mm=float(rng.uniform(0.4, 0.9)),
    )


def draw_pose(rng: np.random.Generator) -> Pose:
    """The hand's aim: within 2 mm and 3 degrees."""
    return Pose(
        dx_mm=float(rng.uniform(-2, 2)),
        dy_mm=float(rng.uniform(-2, 2)),
        turn_deg=float(rng.uniform(-3, 3)),
    )
