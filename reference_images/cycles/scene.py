"""One photo's scene from its seed: conditions, camera, coupon, and the truth to be stated."""

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reference_images.cycles.conditions import FACES, Conditions, draw_conditions
from reference_images.cycles.pictures import draw_desk
from reference_images.cycles.ripple import (
    Mode,
    Motion,
    draw_motion,
    draw_ripple,
    find_ripple_truth,
)
from reference_images.cycles.slots import Slot, draw_slots, draw_starvation, find_gap_truth
from reference_images.cycles.solid import Solid, build_solid
from reference_images.cycles.view import Camera, draw_camera, face_corners
from reference_images.standard import BLADE, CARD

DIGITS = 6
RIPPLE_FREE = (7, 5)
"""One seed in seven has no ripple."""

LOOKED_AT = {"ringdown": 18, "flow": 4}
"""Photos of random seeds up to these belong to the set "tuning", later ones to "quoting"."""


@dataclass(frozen=True)
class Scene:
    """All of one photo but its light, with its truth as every reference photo's file states it."""

    face: str
    conditions: Conditions
    camera: Camera
    desk: tuple[NDArray[np.float32], float]
    solid: Solid
    truth: dict[str, Any]


def draw_scene(rng: np.random.Generator, face: str, seed: int) -> Scene:
    """Draw in this order: a seed's photo is kept, so no draw may be moved."""
    conditions = draw_conditions(rng, face, seed)
    made = conditions.made
    camera = draw_camera(rng)
    slots: list[Slot] = []
    modes: tuple[Mode, ...] = ()
    starved = None
    if face == "ringdown":
        motion, drawn = draw_ripple(rng)
        modes = () if seed % RIPPLE_FREE[0] == RIPPLE_FREE[1] else drawn
    else:
        motion = draw_motion(rng)
        starved = draw_starvation(rng, seed)
        slots = draw_slots(rng, made.layer_mm, starved)
    desk = draw_desk(rng, conditions.laid.desk), float(rng.uniform(0, 6.28))
    solid = build_solid(rng, face, made, motion=motion, modes=modes, slots=slots, starved=starved)
    truth = find_ripple_truth(motion, modes)
    if face == "flow":
        truth |= find_gap_truth(solid.open_mm, solid.u_mm, made.layer_mm)
        truth["gaps"] = [
            {
                "u0_mm": s.u0_mm,
                "u1_mm": s.u0_mm + s.length_mm,
                "w_mm": s.layer * made.layer_mm,
                "height_mm": s.height_mm,
            }
            for s in slots
        ]
    stated = describe(face, seed, conditions, camera, motion=motion, truth=truth)
    return Scene(face, conditions, camera, desk, solid, round_numbers(stated))


def seeded(face: str, seed: int) -> np.random.Generator:
    """The generator of one photo."""
    return np.random.default_rng([seed, 1 + FACES.index(face)])


def describe(
    face: str,
    seed: int,
    conditions: Conditions,
    camera: Camera,
    *,
    motion: Motion,
    truth: dict[str, object],
) -> dict[str, Any]:
    """The truth of one photo, in the form of the other photos'."""
    made, laid = conditions.made, conditions.laid
    width, height = camera.size_px
    return {
        "name": f"{seed:03d}",
        "set": "tuning" if seed <= LOOKED_AT[face] else "quoting",
        "seed": seed,
        "renderer": "cycles",
        "face": face,
        "run": made.run,
        "axis": made.axis,
        "expect": None,
        "geometry_revision": {"card": CARD["revision"], "blade": BLADE["revision"]},
        "motion": asdict(motion),
        **truth,
        "conditions": {
            "layers": {"height_mm": made.layer_mm, **asdict(made)},
            "material": asdict(conditions.filament),
            "lamp": asdict(conditions.light),
            "camera": {
                "width_px": width,
                "height_px": height,
                "focal_35mm": camera.focal_35mm,
                "focal_px": camera.focal_px,
                "tilt_deg": camera.tilt_deg,
                "turn_deg": camera.roll_deg,
                "k1": camera.k1,
            },
            "development": asdict(conditions.development),
            "pose": asdict(laid),
            "hidden_markers": [],
        },
        "picture": {"face_grid": face_corners(camera, laid.coupon_mm, laid.coupon_deg)},
    }


def round_numbers(value: Any) -> Any:
    """``value`` with every number in it rounded to six digits, tuples as lists."""
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}")
    if isinstance(value, dict):
        return {k: round_numbers(v) for k, v in value.items()}
    return [round_numbers(v) for v in value] if isinstance(value, list | tuple) else value
