"""The reference photos of the ring-down face: what is fixed by hand, and what a seed draws."""

from dataclasses import replace
from typing import Any

import numpy as np

from reference_images.draw import draw_camera, draw_development, draw_layers, draw_pose
from reference_images.materials import make_material
from reference_images.scene import Lamp, Mode, Motion, Scene, SteadyRipple, set_of

NO_MODES: tuple[Mode, ...] = ()


def _scene(
    seed: int,
    name: str,
    *,
    filament: tuple[str, float, float],
    lamp: Lamp,
    motion: Motion,
    modes: tuple[Mode, ...],
    **camera: Any,
) -> Scene:
    """A scene with its drawn conditions; even seeds are for tuning, odd ones for quoting."""
    rng = np.random.default_rng([seed, 100])
    colour, roughness, specular = filament
    drawn_camera = draw_camera(rng)
    return Scene(
        name=name,
        face="ringdown",
        seed=seed,
        set=set_of(seed),
        motion=motion,
        material=make_material(colour, roughness=roughness, specular=specular),
        lamp=lamp,
        camera=replace(drawn_camera, **camera),
        development=draw_development(rng, colour),
        modes=modes,
        layers=draw_layers(rng),
        pose=draw_pose(rng),
        run=f"REF-{seed}",
        axis="x" if seed % 3 else "y",
    )


def _mode(envelope_um: float, hz: float, damping: float, phase: float) -> tuple[Mode, ...]:
    return (Mode(envelope_um, hz, damping, phase),)


def ringdown_scenes() -> list[Scene]:
    """Every ring-down reference photo, tuning and quoting, in the order of their seeds."""
    left = 180.0
    scenes = [
        _scene(
            200,
            "no-ripple-natural",
            filament=("natural", 0.5, 0.4),
            lamp=Lamp(left, 19, 600, 20),
            motion=Motion(150, 5000),
            modes=NO_MODES,
            turn_deg=2.0,
        ),
        _scene(
            201,
            "small-grey",
            filament=("grey", 0.55, 0.35),
            lamp=Lamp(left - 4, 18, 650, 15, 0.03),
            motion=Motion(150, 2500),
            modes=_mode(4, 48, 0.05, 1.2),
            turn_deg=-5.0,
            tilt_deg=2.0,
        ),
        _scene(
            202,
            "large-orange",
            filament=("orange", 0.45, 0.45),
            lamp=Lamp(left + 3, 21, 550, 25, 0.06),
            motion=Motion(200, 10000),
            modes=_mode(100, 40, 0.07, 2.6),
            turn_deg=178.0,
        ),
        _scene(
            203,
            "two-modes-red",
            filament=("red", 0.4, 0.5),
            lamp=Lamp(left + 2, 20, 700, 20, 0.05),
            motion=Motion(180, 7000),
            modes=(Mode(38, 46, 0.06, 0.4), Mode(14, 88, 0.05, 2.1)),
            turn_deg=4.0,
            k1=-0.05,
            focal_35mm=27.0,
        ),
        _scene(
            204,
            "glossy-blue",
            filament=("blue", 0.27, 0.6),
            lamp=Lamp(left - 2, 17, 600, 30, 0.08),
            motion=Motion(150, 5000),
            modes=_mode(25, 55, 0.05, 0.9),
            turn_deg=-3.0,
        ),
        _scene(
            205,
            "black-near-lamp",
            filament=("black", 0.4, 0.5),
            lamp=Lamp(left + 1, 19, 430, 20, 0.07),
            motion=Motion(150, 8000),
            modes=_mode(45, 62, 0.06, 5.0),
            turn_deg=6.0,
        ),
        _scene(
            206,
            "slow-long-white",
            filament=("white", 0.6, 0.3),
            lamp=Lamp(left, 23, 600, 20, 0.1),
            motion=Motion(200, 20000),
            modes=_mode(150, 25, 0.09, 1.6),
            turn_deg=1.0,
        ),
        _scene(
            207,
            "high-frequency-green",
            filament=("green", 0.5, 0.4),
            lamp=Lamp(left - 6, 18, 600, 12, 0.04),
            motion=Motion(160, 12000),
            modes=_mode(12, 110, 0.04, 3.3),
            turn_deg=183.0,
        ),
        _scene(
            208,
            "turned-dark-grey",
            filament=("dark grey", 0.5, 0.4),
            lamp=Lamp(left + 5, 16, 750, 25, 0.05),
            motion=Motion(120, 1000),
            modes=_mode(16, 38, 0.03, 2.2),
            turn_deg=-12.0,
            tilt_deg=8.0,
        ),
        _scene(
            209,
            "low-lamp-natural",
            filament=("natural", 0.65, 0.3),
            lamp=Lamp(left, 15, 500, 10, 0.02),
            motion=Motion(100, 3000),
            modes=_mode(30, 33, 0.05, 0.2),
            turn_deg=-2.0,
            k1=0.05,
        ),
        _scene(
            210,
            "steady-two-mm-orange",
            filament=("orange", 0.5, 0.4),
            lamp=Lamp(left + 2, 20, 600, 20, 0.05),
            motion=Motion(250, 15000),
            modes=_mode(60, 70, 0.08, 4.1),
            turn_deg=3.0,
        ),
        _scene(
            211,
            "high-lamp-grey",
            filament=("grey", 0.35, 0.5),
            lamp=Lamp(left - 3, 25, 800, 40, 0.12),
            motion=Motion(300, 20000),
            modes=_mode(80, 58, 0.06, 1.0),
            turn_deg=90.0 * 2 - 4,
            tilt_deg=6.0,
        ),
        _scene(
            212,
            "two-modes-natural",
            filament=("natural", 0.45, 0.45),
            lamp=Lamp(left, 19, 550, 20, 0.05),
            motion=Motion(150, 10000),
            modes=(Mode(28, 36, 0.05, 3.6), Mode(18, 64, 0.07, 0.5)),
            turn_deg=-6.0,
        ),
        _scene(
            213,
            "tall-layers-blue",
            filament=("blue", 0.5, 0.4),
            lamp=Lamp(left + 4, 20, 600, 20, 0.06),
            motion=Motion(80, 5000),
            modes=_mode(20, 28, 0.06, 2.9),
            turn_deg=5.0,
        ),
        _scene(
            214,
            "fine-white",
            filament=("white", 0.5, 0.35),
            lamp=Lamp(left - 1, 18, 650, 20, 0.05),
            motion=Motion(150, 5000),
            modes=_mode(1.8, 50, 0.04, 0.7),
            turn_deg=-1.0,
        ),
        _scene(
            215,
            "large-photo-red",
            filament=("red", 0.55, 0.35),
            lamp=Lamp(left + 6, 20, 600, 20, 0.05),
            motion=Motion(220, 6000),
            modes=_mode(55, 75, 0.05, 2.0),
            turn_deg=2.0,
        ),
        _scene(
            216,
            "refuse-too-coarse",
            filament=("orange", 0.5, 0.4),
            lamp=Lamp(left, 20, 600, 20, 0.05),
            motion=Motion(150, 5000),
            modes=_mode(30, 50, 0.06, 1.0),
            turn_deg=2.0,
            width_px=2400,
            height_px=1800,
            face_px_per_mm=10.8,
        ),
        _scene(
            217,
            "refuse-blurred",
            filament=("grey", 0.5, 0.4),
            lamp=Lamp(left, 20, 600, 20, 0.05),
            motion=Motion(150, 5000),
            modes=_mode(30, 50, 0.06, 1.0),
            turn_deg=-3.0,
        ),
        _scene(
            218,
            "refuse-lamp-from-rim",
            filament=("natural", 0.5, 0.4),
            lamp=Lamp(90, 30, 600, 20, 0.05),
            motion=Motion(150, 5000),
            modes=_mode(30, 50, 0.06, 1.0),
            turn_deg=1.0,
        ),
    ]
    return [_amend(scene) for scene in scenes]


def _amend(scene: Scene) -> Scene:
    """What single photos have besides: layer height, hidden markers, resolution, defects."""
    changes: dict[str, dict[str, Any]] = {
        "high-frequency-green": {"camera": replace(scene.camera, face_px_per_mm=19.0)},
        "steady-two-mm-orange": {"steady": SteadyRipple(2.5, 2.0, 0.8)},
        "tall-layers-blue": {"layers": replace(scene.layers, height_mm=0.28, valley_um=40.0)},
        "fine-white": {"layers": replace(scene.layers, height_mm=0.16, valley_um=20.0)},
        "two-modes-natural": {"hidden_markers": (1, 5, 8, 10), "run": None, "table": "wood"},
        "small-grey": {"table": "dark", "hidden_markers": (0, 7)},
        "large-photo-red": {
            "camera": replace(scene.camera, width_px=5200, height_px=3900, face_px_per_mm=23.0)
        },
        "refuse-too-coarse": {"expect": "photo-too-coarse"},
        "refuse-blurred": {
            "expect": "photo-blurred",
            "development": replace(scene.development, blur_px=5.0),
        },
        "refuse-lamp-from-rim": {"expect": "lamp-unsuitable"},
    }
    return replace(scene, **changes.get(scene.name, {}))
