"""Drawing how a coupon was printed: layers, motion, ripple, slots. No draw may be moved."""

from dataclasses import replace

import numpy as np

from reference_images.raycast.conditions import GapPlan, Print, Ripple
from reference_images.raycast.decks import deal, draw_log
from reference_images.raycast.motion import Mode, Motion, ripple_mm, speed_mm_s
from reference_images.standard import RIPPLE_ZONE_U_MM

TRIES, SHRINK_AFTER, SHRINK = 6000, 3000, 0.999
"""Motions and modes tried for a ripple of one size, and how it gives way when none fits."""

FREQUENCIES_HZ, DAMPING_RATIOS, APART = (25.0, 120.0), (0.02, 0.12), 1.25
LARGEST_UM = 80.0
SLOPED_FROM_MM = 2.2
"""From here on the ripple is not faded in, and not much steeper than in its zone."""


def draw_print(rng: np.random.Generator, face: str, seed: int) -> Print:
    """Layers, beads, wander, warp and edges at random."""
    layer = deal(face + "lh", [0.2, 0.12, 0.25, 0.2, 0.16, 0.3, 0.2, 0.28, 0.15, 0.24], seed)
    kind = deal(face + "bead", ["arc", "parabola", "cosine", "flat"], seed)
    power = rng.uniform(0.75, 0.93) if kind == "arc" else rng.uniform(5, 10)
    made = Print(
        layer_mm=layer,
        bead_kind=kind,
        bead_power=power,
        bead_um=min(rng.uniform(10, 40), 170 * layer),
        offset_um=rng.uniform(1, 6),
        wander_um=rng.uniform(0.3, 1.8),
        wander_length_mm=rng.uniform(1.0, 4),
        texture_um=rng.uniform(0.15, 1.0),
        texture_u_mm=rng.uniform(0.06, 0.3),
        texture_w_mm=rng.uniform(0.03, 0.06),
        bow_um=rng.uniform(-6, 6),
        lean_um=rng.uniform(-3, 3),
        corner_radius_mm=rng.uniform(0.2, 0.4),
        foot_width_mm=1e-6,
        foot_mm=0.0,
        scatter=0.0,
    )
    if rng.random() < 0.4:
        made = replace(made, foot_width_mm=rng.uniform(0.2, 0.5), foot_mm=rng.uniform(0.03, 0.1))
    return replace(made, scatter=rng.uniform(0.01, 0.06))


def draw_motion(rng: np.random.Generator) -> Motion:
    """Cruise speed, acceleration and speed at the corner."""
    return Motion(
        speed_mm_s=float(round(rng.uniform(80, 300))),
        accel_mm_s2=float(round(draw_log(rng, 1000, 20000), -1)),
        corner_speed_mm_s=float(round(rng.uniform(3, 10), 1)),
    )


def draw_ripple(
    rng: np.random.Generator, face: str, seed: int, *, steady_phase_rad: float
) -> tuple[Motion, Ripple]:
    """Motion and modes; one photo in three has a ripple of constant length, too.

    The largest envelope walks through 1 to 80 um as seeds go on; motions and frequencies are tried
    until no wave is shorter than 1 mm, or 0.8 mm at the zone's start, and no slope steeper than
    drawn. Raises :class:`RuntimeError` where none turns up.
    """
    count = deal(
        face + "modes",
        [1, 2, 1, 0, 1, 2, 1, 3, 1, 2, 1, 0, 2, 1, 1, 2, 1, 2, 1, 0, 1, 2, 1, 2],
        seed,
    )
    share = (seed * 0.6180339887 + 0.31) % 1
    envelope_um = float(np.exp(np.log(1) + np.log(LARGEST_UM) * share))
    steepest = deal(face + "slope", [0.2, 0.16, 0.2, 0.12], seed)
    for tried in range(TRIES):
        motion = draw_motion(rng)
        if count == 0:
            modes: tuple[Mode, ...] = ()
            break
        if tried > SHRINK_AFTER:
            envelope_um *= SHRINK
        modes = _draw_modes(rng, count, envelope_um)
        if _is_printable(modes, motion, steepest):
            break
    else:
        raise RuntimeError("no motion of these ranges turned up")
    is_steady = deal(face + "steady", [0, 1, 0], seed)
    steady_um = rng.uniform(0.5, 3.0) if is_steady else 0.0
    return motion, Ripple(modes, steady_um, steady_phase_rad=steady_phase_rad)


def draw_gaps(rng: np.random.Generator, face: str, seed: int) -> GapPlan:
    """How many slots there should be over the recovery, and what they are like."""
    shares = [
        draw_log(rng, 0.004, 0.015),
        draw_log(rng, 0.001, 0.004),
        draw_log(rng, 0.015, 0.04),
        0.0,
        draw_log(rng, 0.004, 0.02),
        draw_log(rng, 0.001, 0.04),
    ]
    return GapPlan(
        share=deal(face + "gaps", shares, seed),
        decay_mm=draw_log(rng, 3, 20),
        length_mm=draw_log(rng, 0.8, 4),
        height_mm=draw_log(rng, 0.035, 0.10),
        taper_mm=draw_log(rng, 0.15, 1.5),
        end=str(rng.choice(["round", "wedge"])),
        steady_count=int(rng.choice([0, 0, 1, 3])),
        starved_um=rng.uniform(0, 25),
    )


def _draw_modes(rng: np.random.Generator, count: int, envelope_um: float) -> tuple[Mode, ...]:
    modes: list[Mode] = []
    for k in range(count):
        for _ in range(200):
            hz = draw_log(rng, *FREQUENCIES_HZ)
            others = [m.frequency_hz for m in modes]
            if all(max(hz, o) / min(hz, o) > APART for o in others):
                break
        modes.append(
            Mode(
                envelope_um=envelope_um if k == 0 else envelope_um * rng.uniform(0.3, 1),
                frequency_hz=hz,
                damping_ratio=draw_log(rng, *DAMPING_RATIOS),
                phase_rad=rng.uniform(-np.pi, np.pi),
            )
        )
    return tuple(modes)


def _is_printable(modes: tuple[Mode, ...], motion: Motion, steepest: float) -> bool:
    """Whether no wave is too short and no slope (dy/du) too steep."""
    highest_hz = max(m.frequency_hz for m in modes)
    start_mm = RIPPLE_ZONE_U_MM[0]
    if motion.speed_mm_s / highest_hz < 1.0 or speed_mm_s(start_mm, motion) / highest_hz < 0.8:
        return False
    u = np.arange(SLOPED_FROM_MM, 100, 0.01)
    slope = np.abs(np.gradient(ripple_mm(u, modes, motion), u))
    in_zone = slope[u >= start_mm].max() < steepest
    return bool(in_zone and slope.max() < steepest * 1.15)
