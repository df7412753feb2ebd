"""Pairs of photos of one coupon, lamp left and lamp right: one seed, one coupon.

Even seeds are for tuning, odd ones for quoting; that split is never to change.
"""

from dataclasses import replace

import numpy as np

from reference_images.draw import draw_development, draw_layers
from reference_images.materials import make_material
from reference_images.scene import Mode, Motion, Scene, Stain, set_of
from reference_images.study_set import MAIN, Ranges, draw_camera, draw_lamp, draw_pose, draw_scene

STAINED = 0.7  # share of coupons with stains
PERIODIC = 0.4  # share of stained ones whose stain repeats along u
LAMP_TURNED_DEG = 180.0


def draw_pair(seed: int, ranges: Ranges = MAIN) -> tuple[Scene, Scene]:
    """The study's scene of ``seed`` with a stain, and the same coupon with the lamp opposite.

    Phone, lamp and filament stay; the coupon is laid anew, the phone held anew, the lamp set down
    within 2 degrees of the same height and a tenth of the same distance.
    """
    left = draw_scene(seed, "ringdown", ranges)
    rng = np.random.default_rng([seed, 300])
    left = replace(left, name=f"pair-{seed}-left", stain=_draw_stain(rng))
    return left, turn_lamp(left, rng, ranges, name=f"pair-{seed}-right")


def turn_lamp(left: Scene, rng: np.random.Generator, ranges: Ranges, *, name: str) -> Scene:
    """The second photo of the coupon of ``left``."""
    held, off = draw_camera(rng, ranges), draw_lamp(rng, ranges, "ringdown").azimuth_deg
    camera = replace(
        left.camera,
        tilt_deg=held.tilt_deg,
        tilt_towards_deg=held.tilt_towards_deg,
        turn_deg=held.turn_deg,
        aim_mm=held.aim_mm,
        face_px_per_mm=left.camera.face_px_per_mm * float(rng.uniform(0.98, 1.0)),
    )
    lamp = replace(
        left.lamp,
        azimuth_deg=off - LAMP_TURNED_DEG,
        elevation_deg=left.lamp.elevation_deg + float(rng.uniform(-2, 2)),
        distance_mm=left.lamp.distance_mm * float(rng.uniform(0.9, 1.1)),
    )
    level = left.development.paper_level * float(rng.uniform(0.92, 1.05))
    return replace(
        left,
        name=name,
        shot=1,
        camera=camera,
        lamp=lamp,
        development=replace(left.development, paper_level=level),
        pose=draw_pose(rng, ranges),
    )


def _draw_stain(rng: np.random.Generator) -> Stain:
    if rng.random() > STAINED:
        return Stain()
    periodic = bool(rng.random() < PERIODIC)
    return Stain(
        share=float(rng.uniform(0.008, 0.03)) if periodic else 0.0,
        period_mm=float(rng.uniform(1.5, 5)),
        phase_rad=float(rng.uniform(0, 2 * np.pi)),
        decay_mm=float(rng.uniform(8, 25)) if rng.random() < 0.5 else 0.0,
        blotch_share=float(rng.uniform(0.003, 0.03)),
        blotch_mm=float(rng.uniform(0.8, 4)),
    )


def pair_scenes() -> list[Scene]:
    """The traced pairs in the repository: each left photo, then its right one."""
    fooled = _traced(
        310,
        "stained-grey",
        filament=("grey", 0.55, 0.35),
        motion=Motion(150, 5000),
        modes=(),
        stain=Stain(share=0.02, period_mm=3.0, decay_mm=15.0, blotch_share=0.01, blotch_mm=2.0),
    )
    hidden = _traced(
        311,
        "stained-orange",
        filament=("orange", 0.5, 0.4),
        motion=Motion(150, 8000),
        modes=(Mode(9.0, 52.0, 0.06, 0.8),),
        stain=Stain(share=0.02, period_mm=3.4, phase_rad=1.0, blotch_share=0.015, blotch_mm=1.5),
    )
    return [*fooled, *hidden]


def _traced(
    seed: int,
    name: str,
    *,
    filament: tuple[str, float, float],
    motion: Motion,
    modes: tuple[Mode, ...],
    stain: Stain,
) -> tuple[Scene, Scene]:
    rng = np.random.default_rng([seed, 100])
    colour, roughness, specular = filament
    left = Scene(
        name=f"{name}-left",
        face="ringdown",
        seed=seed,
        set=set_of(seed),
        motion=motion,
        material=make_material(colour, roughness=roughness, specular=specular),
        lamp=draw_lamp(rng, MAIN, "ringdown"),
        camera=draw_camera(rng, MAIN),
        development=replace(draw_development(rng, colour), jpeg_quality=85),
        modes=modes,
        layers=draw_layers(rng),
        pose=draw_pose(rng, MAIN),
        run=f"PAIR-{seed}",
        stain=stain,
    )
    return left, turn_lamp(left, rng, MAIN, name=f"{name}-right")
