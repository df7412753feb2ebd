"""Photos of the check blade: three to be kept, and any number drawn at random for breadth."""

from dataclasses import replace

import numpy as np

from reference_images.draw import draw_camera, draw_development, draw_layers, draw_pose
from reference_images.materials import make_material
from reference_images.scene import DesignedRipple, Lamp, Motion, Scene, SteadyRipple, set_of
from reference_images.study_set import MAIN, draw_scene

# As the print advice asks: so slowly that the machine adds no ripple.
SLOWLY = Motion(20.0, 500.0)
LIGHT_FILAMENTS = ("white", "natural", "grey")


def _scene(
    seed: int,
    name: str,
    *,
    filament: tuple[str, float, float],
    lamp: Lamp,
    designed: DesignedRipple,
    turn_deg: float,
) -> Scene:
    rng = np.random.default_rng([seed, 300])
    colour, roughness, specular = filament
    return Scene(
        name=name,
        face="ringdown",
        seed=seed,
        set=set_of(seed),
        motion=SLOWLY,
        material=make_material(colour, roughness=roughness, specular=specular),
        lamp=lamp,
        camera=replace(draw_camera(rng), turn_deg=turn_deg),
        development=replace(draw_development(rng, colour), jpeg_quality=82),
        designed=designed,
        layers=draw_layers(rng),
        pose=draw_pose(rng),
        run=f"CHECK-{seed}",
        axis="x" if seed % 3 else "y",
    )


def check_scenes() -> list[Scene]:
    """The kept photos of the check blade; the last one's ripple is 15 % smaller than designed."""
    return [
        _scene(
            500,
            "check-grey",
            filament=("grey", 0.5, 0.4),
            lamp=Lamp(180.0, 20, 600, 20, 0.05),
            designed=DesignedRipple(),
            turn_deg=3.0,
        ),
        _scene(
            501,
            "check-natural",
            filament=("natural", 0.55, 0.4),
            lamp=Lamp(177.0, 18, 550, 20, 0.06),
            designed=DesignedRipple(rounding_mm=0.15),
            turn_deg=-4.0,
        ),
        _scene(
            503,
            "check-white-too-low",
            filament=("white", 0.6, 0.35),
            lamp=Lamp(182.0, 22, 650, 15, 0.04),
            designed=DesignedRipple(scale=0.85),
            turn_deg=179.0,
        ),
    ]


def draw_check_scene(seed: int) -> Scene:
    """A check blade under the study's conditions, in a light filament; one seed, one scene.

    Even seeds are for tuning, odd ones for quoting. Every third print is 15 % too low or too high.
    """
    scene = draw_scene(seed, "ringdown", MAIN)
    rng = np.random.default_rng([seed, 301])
    material = make_material(
        str(rng.choice(LIGHT_FILAMENTS)),
        roughness=float(rng.uniform(0.45, 0.7)),
        specular=float(rng.uniform(0.3, 0.5)),
    )
    scale = float(rng.choice([0.85, 1.15])) if seed % 3 == 0 else 1.0
    return replace(
        scene,
        name=f"check-{seed}",
        material=material,
        development=draw_development(rng, material.name),
        motion=SLOWLY,
        modes=(),
        steady=SteadyRipple(),
        designed=DesignedRipple(scale, float(rng.uniform(0.06, 0.18))),
        run=f"CHECK-{seed}",
    )
