"""The reference photos of the flow face: what is fixed by hand, and what a seed draws."""

from dataclasses import replace

import numpy as np

from reference_images.draw import draw_camera, draw_development, draw_layers, draw_pose
from reference_images.materials import make_material
from reference_images.scene import Lamp, Mode, Motion, Scene, Starvation, set_of

# seed, name, (colour, roughness, specular), lamp, motion, starvation, turn of the camera
_ROWS: tuple[
    tuple[int, str, tuple[str, float, float], Lamp, Motion, Starvation, float], ...
] = (
    (
        300, "full-natural", ("natural", 0.5, 0.4), Lamp(90, 35, 600, 20, 0.05),
        Motion(150, 2500), Starvation(0.0, 4.0), 2.0,
    ),
    (
        301, "few-gaps-grey", ("grey", 0.5, 0.4), Lamp(94, 33, 550, 20, 0.04),
        Motion(150, 5000), Starvation(0.15, 4.0, 0.12, 8.0), -4.0,
    ),
    (
        302, "many-gaps-orange", ("orange", 0.45, 0.45), Lamp(88, 37, 600, 25, 0.06),
        Motion(200, 10000), Starvation(1.2, 8.0, 0.15, 14.0), 179.0,
    ),
    (
        303, "long-recovery-blue", ("blue", 0.5, 0.4), Lamp(90, 36, 650, 20, 0.05),
        Motion(250, 20000), Starvation(0.8, 14.0, 0.13, 12.0), 4.0,
    ),
    (
        304, "white-gaps", ("white", 0.6, 0.3), Lamp(86, 34, 500, 15, 0.08),
        Motion(120, 3000), Starvation(0.5, 5.0, 0.13, 10.0), -2.0,
    ),
    (
        305, "glossy-red-gaps", ("red", 0.3, 0.6), Lamp(92, 38, 700, 30, 0.07),
        Motion(180, 8000), Starvation(0.9, 6.0, 0.14, 12.0), 6.0,
    ),
    (
        306, "dark-grey-gaps", ("dark grey", 0.45, 0.45), Lamp(91, 32, 600, 20, 0.05),
        Motion(150, 6000), Starvation(0.6, 7.0, 0.15, 12.0), -176.0,
    ),
    (
        307, "tall-layers-green", ("green", 0.5, 0.4), Lamp(95, 40, 600, 20, 0.10),
        Motion(100, 5000), Starvation(0.8, 5.0, 0.15, 10.0), -6.0,
    ),
    (
        308, "gaps-everywhere-natural", ("natural", 0.55, 0.35), Lamp(90, 34, 600, 20, 0.05),
        Motion(300, 15000), Starvation(1.5, 10.0, 0.14, 14.0, steady_gaps=5), 3.0,
    ),
    (
        309, "no-label-orange", ("orange", 0.5, 0.4), Lamp(89, 31, 450, 12, 0.03),
        Motion(150, 1000), Starvation(0.4, 3.0, 0.11, 6.0), 1.0,
    ),
)  # fmt: skip


def flow_scenes() -> list[Scene]:
    """Every flow reference photo; even seeds are for tuning, odd ones for quoting."""
    scenes = []
    for seed, name, (colour, roughness, specular), lamp, motion, starvation, turn in _ROWS:
        rng = np.random.default_rng([seed, 100])
        layers = draw_layers(rng)
        if name.startswith("tall-layers"):
            layers = replace(layers, height_mm=0.28, valley_um=40.0)
        scenes.append(
            Scene(
                name=name,
                face="flow",
                seed=seed,
                set=set_of(seed),
                motion=motion,
                material=make_material(colour, roughness=roughness, specular=specular),
                lamp=lamp,
                camera=replace(draw_camera(rng), turn_deg=turn),
                development=draw_development(rng, colour),
                modes=(Mode(rng.uniform(2, 15), rng.uniform(40, 80), 0.06, 1.0),),
                starvation=starvation,
                layers=layers,
                pose=draw_pose(rng),
                run=None if name.startswith("no-label") else f"REF-{seed}",
                axis="x" if seed % 3 else "y",
                hidden_markers=(6, 9) if seed == 306 else (),
            )
        )
    return scenes
