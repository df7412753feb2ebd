"""The demo's photos: two home-built machines, one of them before and after a frame brace.

The ripple grows with acceleration and dies out in time; the gaps follow a lag of constant time.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from reference_images.draw import draw_camera, draw_layers, draw_pose
from reference_images.materials import make_material
from reference_images.ripple_truth import time_at_s
from reference_images.scene import (
    Development,
    Face,
    Lamp,
    Mode,
    Motion,
    Scene,
    Starvation,
    SteadyRipple,
)
from reference_images.standard import RIPPLE_ZONE_U_MM

ACCELS_MM_S2 = (1000, 2500, 5000, 10000, 20000)
SPEED_MM_S = 150.0
CORNER_MM_S = 5.0
FILAMENT = "sand"
FACES: tuple[Face, ...] = ("ringdown", "flow")
# As README asks: ring-down faces with the phone nearer to the label's end, flow faces from above.
TILT_DEG: dict[Face, tuple[float, float]] = {"ringdown": (7.0, 9.5), "flow": (0.3, 3.5)}
FACE_PX_PER_MM: dict[Face, float] = {"ringdown": 16.4, "flow": 17.3}  # a tilted card looks longer


@dataclass(frozen=True)
class Machine:
    """One machine in one setup: how it vibrates and how its feed lags."""

    name: str
    setup: str
    seed: int
    frequency_hz: float
    damping_ratio: float
    corner_envelope_um: float  # at u = 0 and 20000 mm/s^2
    steady_um: float
    lag_s: float
    gaps_per_layer: float  # at 20000 mm/s^2
    settings: str


ALDER = """extruder_ratio = 3.0
drive_gear_mm = 11.0
pressure_advance_s = 0.035
shaper_type = "none"
shaper_hz = 0.0
flow_ratio = 0.98
nozzle_temp_c = 215.0
bed_temp_c = 60.0"""
BIRCH = """extruder_ratio = 1.0
drive_gear_mm = 11.0
pressure_advance_s = 0.0
shaper_type = "none"
shaper_hz = 0.0
flow_ratio = 0.96
nozzle_temp_c = 210.0
bed_temp_c = 60.0"""

MACHINES = (
    Machine("Alder", "stock", 1000, 45.0, 0.055, 115.0, 0.0, 0.035, 0.30, ALDER),
    Machine("Alder", "brace", 1100, 62.0, 0.075, 62.0, 0.0, 0.035, 0.30, ALDER),
    Machine("Birch", "stock", 1200, 71.0, 0.060, 40.0, 1.2, 0.060, 1.10, BIRCH),
)
NOTES = {
    "stock": "as built",
    "brace": "diagonal brace fitted between the uprights",
}


def run_name(machine: Machine, accel_mm_s2: int) -> str:
    """The run's name on its label, such as ALDER-STOCK-1K or ALDER-STOCK-2500."""
    short = f"{accel_mm_s2 // 1000}K" if accel_mm_s2 % 1000 == 0 else str(accel_mm_s2)
    return f"{machine.name}-{machine.setup}-{short}".upper()


def photo_name(machine: Machine, accel_mm_s2: int, face: Face) -> str:
    """The photo's file name without its ending."""
    return f"{run_name(machine, accel_mm_s2)}-{face}".lower()


def _ring_mode(machine: Machine, motion: Motion, rng: np.random.Generator) -> Mode:
    """The mode's envelope at the zone's start: it starts at the corner and decays in time."""
    decay = 2 * np.pi * machine.frequency_hz * machine.damping_ratio
    start_s = float(time_at_s(motion, np.array([RIPPLE_ZONE_U_MM[0]]))[0])
    corner = machine.corner_envelope_um * (motion.accel_mm_s2 / 20000) ** 0.7
    corner *= float(rng.uniform(0.96, 1.04))
    return Mode(
        envelope_um=float(corner * np.exp(-decay * start_s)),
        frequency_hz=float(machine.frequency_hz * rng.uniform(0.99, 1.01)),
        damping_ratio=float(machine.damping_ratio * rng.uniform(0.95, 1.05)),
        phase_rad=float(rng.uniform(0, 2 * np.pi)),
    )


def _starve(machine: Machine, motion: Motion) -> Starvation:
    """A lag of constant time: the way covered in it, and more of it at harder accelerations."""
    fine = np.linspace(0, 40, 4001)
    way = float(np.interp(machine.lag_s, time_at_s(motion, fine), fine))
    hard = motion.accel_mm_s2 / 20000
    return Starvation(
        gaps_per_layer=machine.gaps_per_layer * (0.25 + 0.75 * hard**0.5),
        decay_mm=max(way, 1.0),
        largest_height_mm=0.09 + 0.06 * hard**0.5,
        longest_mm=min(14.0, 3.0 + 1.2 * way),
    )


def _demo_scene(machine: Machine, accel_mm_s2: int, face: Face) -> Scene:
    number = ACCELS_MM_S2.index(accel_mm_s2) * 2 + FACES.index(face)
    seed = machine.seed + number
    rng = np.random.default_rng([seed, 100])
    motion = Motion(SPEED_MM_S, float(accel_mm_s2), CORNER_MM_S)
    upside_down = number % 5 == 3
    camera = draw_camera(rng)
    camera = replace(
        camera,
        width_px=3840,
        height_px=2160,
        face_px_per_mm=FACE_PX_PER_MM[face],
        focal_35mm=float(rng.choice([26.0, 27.0, 50.0])),
        tilt_deg=float(rng.uniform(*TILT_DEG[face])),
        tilt_towards_deg=180.0 if face == "ringdown" else camera.tilt_towards_deg,
        turn_deg=float(rng.uniform(-2, 2)) + (180.0 if upside_down else 0.0),
        aim_mm=(105.0, 74.0),
        k1=float(rng.uniform(-0.03, 0.03)),
    )
    aim, high = (180.0, 19.0) if face == "ringdown" else (90.0, 35.0)
    lamp = Lamp(
        aim + float(rng.uniform(-4, 4)),
        high + float(rng.uniform(-2, 2)),
        float(rng.uniform(540, 640)),
        radius_mm=20.0,
        ambient_share=float(rng.uniform(0.03, 0.07)),
    )
    return Scene(
        name=photo_name(machine, accel_mm_s2, face),
        face=face,
        seed=seed,
        set="demo",
        motion=motion,
        material=replace(make_material("natural", roughness=0.5, specular=0.4), name=FILAMENT),
        lamp=lamp,
        camera=camera,
        development=Development(
            paper_level=float(rng.uniform(0.66, 0.72)),
            blur_px=float(rng.uniform(0.6, 0.8)),
            full_well_e=14000.0,
            tone_s=0.1,
            jpeg_quality=86,
        ),
        modes=(_ring_mode(machine, motion, rng),),
        steady=SteadyRipple(machine.steady_um, 2.0, float(rng.uniform(0, 6))),
        starvation=_starve(machine, motion) if face == "flow" else Starvation(),
        layers=draw_layers(rng),
        pose=draw_pose(rng),
        run=run_name(machine, accel_mm_s2),
        axis="x",
        table="wood" if machine.name == "Alder" else "grey",
    )


def demo_scenes() -> list[Scene]:
    """The thirty photos, ring-down first, so that a part of them is already of use."""
    return [
        _demo_scene(machine, accel, face)
        for face in FACES
        for machine in MACHINES
        for accel in ACCELS_MM_S2
    ]


def _run_table(machine: Machine, accel_mm_s2: int) -> str:
    photos = ", ".join(f'"{photo_name(machine, accel_mm_s2, face)}.jpg"' for face in FACES)
    day = {"Alder": 2, "Birch": 9}[machine.name] + (14 if machine.setup == "brace" else 0)
    return f"""[[run]]
name = "{run_name(machine, accel_mm_s2)}"
machine = "{machine.name}"
setup = "{machine.setup}"
axis = "x"
outer_wall_speed_mm_s = {SPEED_MM_S}
accel_mm_s2 = {float(accel_mm_s2)}
corner_speed_mm_s = {CORNER_MM_S}
layer_height_mm = 0.2
line_width_mm = 0.45
nozzle_mm = 0.4
{machine.settings}
filament = "{FILAMENT}"
printed_on = 2026-03-{day:02d}
notes = "{NOTES[machine.setup]}"
photos = [{photos}]
"""


def write_runs(folder: Path) -> Path:
    """Write ``runs.toml`` beside the photos: the settings of each run."""
    tables = [_run_table(machine, accel) for machine in MACHINES for accel in ACCELS_MM_S2]
    path = folder / "runs.toml"
    path.write_text("# Settings of the demo's runs.\n\n" + "\n".join(tables), "utf-8")
    return path
