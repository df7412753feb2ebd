"""Drawing one photo's conditions from its seed. A photo is its seed's: no draw may be moved."""

import numpy as np

from reference_images.raycast.conditions import (
    GGX_FRESNEL,
    LAMBERT,
    LAMBERT_BLINN,
    OREN_NAYAR,
    Conditions,
    Development,
    Filament,
    GapPlan,
    Handling,
    Laid,
    Light,
    Paper,
    Ripple,
)
from reference_images.raycast.decks import deal, draw_log
from reference_images.raycast.draw_print import draw_gaps, draw_motion, draw_print, draw_ripple

COLOURS = {
    "white": (0.80, 0.79, 0.74),
    "ivory": (0.74, 0.69, 0.55),
    "light grey": (0.42, 0.42, 0.41),
    "mid grey": (0.21, 0.215, 0.22),
    "dark grey": (0.085, 0.085, 0.09),
    "black": (0.026, 0.026, 0.028),
    "orange": (0.74, 0.22, 0.035),
    "red": (0.52, 0.04, 0.035),
    "blue": (0.04, 0.13, 0.46),
    "green": (0.09, 0.33, 0.10),
    "beige": (0.60, 0.45, 0.31),
    "yellow": (0.76, 0.54, 0.06),
    "teal": (0.04, 0.29, 0.30),
    "violet": (0.24, 0.09, 0.36),
}
"""Linear reflectances of filament."""

COLOUR_DECK = (
    *("light grey", "orange", "white", "black", "blue", "mid grey", "red", "beige"),
    *("green", "ivory", "dark grey", "yellow", "teal", "violet", "white", "light grey"),
)
FINISHES = ("matt", "satin", "rough matt", "glossy", "waxy", "satin GGX")
TABLES = ("wood", "plain", "cloth", "speckle", "wood", "plain")
SIZES_PX = (
    (4032, 3024),
    (4624, 3472),
    (4000, 3000),
    (4160, 3120),
    (4608, 3456),
    (4032, 3024),
    (4608, 2592),
)
FOCAL_35MM = (26, 24, 28, 35, 26, 42, 27, 50)
TURNS = (
    *((0, 1), (0, 1), (2, 1), (0, 1), (0, 6), (1, 1), (0, 1), (0, 1)),
    *((3, 6), (0, 3), (0, 1), (3, 1), (0, 8), (0, 1), (2, 3), (0, 1)),
)
"""Quarter turns of the picture, and EXIF orientation of what is stored."""

CURVES = ("srgb", "scurve", "filmic", "srgb", "power22", "scurve")
RUN_LETTERS = "ABCDEFGHKLMNPRSTUVWXYZ"


def draw_conditions(face: str, seed: int) -> tuple[Conditions, np.random.Generator]:
    """The conditions of ``seed``, and the generator with which the photo goes on."""
    rng = np.random.default_rng([4242, seed, 0 if face == "ringdown" else 1])
    axis = "x" if rng.random() < 0.6 else "y"
    run = f"{''.join(rng.choice(list(RUN_LETTERS), 2))}-{rng.integers(10, 9999)}"
    made = draw_print(rng, face, seed)
    steady_phase_rad = rng.uniform(0, 6.28)
    gaps: GapPlan | None = None
    if face == "ringdown":
        motion, ripple = draw_ripple(rng, face, seed, steady_phase_rad=steady_phase_rad)
    else:
        motion, ripple = draw_motion(rng), Ripple()
        gaps = draw_gaps(rng, face, seed)
    filament = draw_filament(rng, face, seed)
    light = draw_light(rng, face)
    paper = draw_paper(rng)
    laid = draw_laid(rng, face, seed)
    handling = draw_handling(rng, face, seed)
    conditions = Conditions(
        face=face,
        seed=seed,
        axis=axis,
        run=run,
        made=made,
        motion=motion,
        ripple=ripple,
        gaps=gaps,
        filament=filament,
        light=light,
        paper=paper,
        laid=laid,
        handling=handling,
        development=draw_development(rng, face, seed, handling),
    )
    return conditions, rng


def draw_filament(rng: np.random.Generator, face: str, seed: int) -> Filament:
    """A colour and a finish; the numbers of every finish are drawn, whichever is taken."""
    name = deal(face + "colour", COLOUR_DECK, seed)
    rgb = np.clip(np.array(COLOURS[name]) * rng.uniform(0.9, 1.1, 3), 0.015, 0.85)
    finish = deal(face + "finish", FINISHES, seed)
    law, roughness, gloss = {
        "matt": (LAMBERT, 0.0, 0.0),
        "rough matt": (OREN_NAYAR, rng.uniform(0.25, 0.5), 0.0),
        "satin": (LAMBERT_BLINN, rng.uniform(0.52, 0.65), rng.uniform(0.6, 1)),
        "glossy": (GGX_FRESNEL, rng.uniform(0.42, 0.52), rng.uniform(0.8, 1)),
        "satin GGX": (GGX_FRESNEL, rng.uniform(0.55, 0.7), rng.uniform(0.7, 1)),
        "waxy": (LAMBERT_BLINN, rng.uniform(0.6, 0.7), rng.uniform(0.5, 0.8)),
    }[finish]
    subsurface_mm = rng.uniform(0.03, 0.06) if finish == "waxy" else 0.0
    colour = tuple(float(c) for c in rgb)
    return Filament(name, colour, finish, law, roughness, gloss, subsurface_mm)


def draw_light(rng: np.random.Generator, face: str) -> Light:
    """A lamp 15 to 25 degrees up (flow face: 30 to 40), and the room's light."""
    elevation = (15, 25) if face == "ringdown" else (30, 40)
    warm, cool = np.array([1, 0, -1]), np.array([-1, 0, 1])
    return Light(
        distance_mm=draw_log(rng, 300, 900) if rng.random() < 0.35 else draw_log(rng, 400, 900),
        elevation_deg=rng.uniform(*elevation),
        off_axis_deg=rng.uniform(-12, 12),
        size_mm=rng.uniform(15, 60),
        ambient_share=draw_log(rng, 0.01, 0.10),
        beam_exponent=float(rng.choice([0, 0, 1, 1, 2])),
        lamp_rgb=_floats((1 + warm * rng.uniform(-0.03, 0.09)) * rng.uniform(0.98, 1.02, 3)),
        ambient_rgb=_floats(1 + cool * rng.uniform(-0.05, 0.25)),
        ambient_slope=(rng.uniform(-0.15, 0.15), rng.uniform(-0.15, 0.15)),
    )


def draw_paper(rng: np.random.Generator) -> Paper:
    """How the card was printed and the label laid; two in five are on rough paper."""
    return Paper(
        ink=rng.uniform(0.025, 0.06),
        white=rng.uniform(0.76, 0.88),
        spread_mm=rng.uniform(0.02, 0.06),
        line_mm=rng.uniform(0.15, 0.3),
        grey=rng.uniform(0.35, 0.6),
        label_shift_mm=(rng.uniform(-0.7, 0.7), rng.uniform(-0.7, 0.7)),
        label_deg=rng.uniform(-3, 3),
        label_quiet=int(rng.integers(2, 4)),
        label_ink=rng.uniform(0.03, 0.07),
        label_white=rng.uniform(0.7, 0.88),
        grain=rng.uniform(0.003, 0.012),
        rgb=_floats(1 + np.array([-1, 0, 1]) * rng.uniform(-0.03, 0.02)),
        roughness=rng.uniform(0.15, 0.35) if rng.random() < 0.4 else 0.0,
    )


def draw_laid(rng: np.random.Generator, face: str, seed: int) -> Laid:
    """The table, then the hand's aim; every table's colour is drawn, whichever is taken."""
    table = deal(face + "table", TABLES, seed)
    colour = {
        "wood": np.array([0.42, 0.25, 0.13]) * rng.uniform(0.4, 1.3),
        "plain": np.array([1, 1, 1]) * rng.uniform(0.05, 0.5),
        "cloth": np.array([0.2, 0.25, 0.2]) * rng.uniform(0.3, 1.5),
        "speckle": np.array([1, 1, 1.05]) * rng.uniform(0.1, 0.4),
    }[table]
    return Laid(
        right_mm=float(np.clip(rng.normal(0, 0.8), -2, 2)),
        up_mm=float(np.clip(rng.normal(0, 0.8), -2, 2)),
        turned_deg=float(np.clip(rng.normal(0, 1.2), -3, 3)),
        table=table,
        table_rgb=_floats(colour),
    )


def draw_handling(rng: np.random.Generator, face: str, seed: int) -> Handling:
    """Camera and lens, and how it is tilted; aiming it (``camera.py``) may change that."""
    width, height = deal(face + "size", SIZES_PX, seed)
    focal = deal(face + "f", FOCAL_35MM, seed)
    if focal < 27 and width < 4500:
        focal = int(rng.choice([27, 28, 30]))
    k1 = rng.uniform(-0.03, 0.03) if rng.random() < 0.85 else 0.0
    tilt = rng.uniform(5, 10) if rng.random() < 0.7 else rng.uniform(0, 12)
    direction = rng.uniform(0, 360)
    roll = float(np.clip(rng.normal(0, 2), -5, 5))
    turns, orientation = deal(face + "turn", TURNS, seed)
    return Handling(width, height, float(focal), k1, tilt, direction, roll, turns, orientation)


def draw_development(
    rng: np.random.Generator, face: str, seed: int, handling: Handling
) -> Development:
    """Sensor, processing and file; every curve's strength is drawn, whichever is taken."""
    curve = deal(face + "curve", CURVES, seed)
    strengths = {"srgb": 0.0, "power22": 0.0}
    strengths |= {"scurve": rng.uniform(0.1, 0.45), "filmic": rng.uniform(0.2, 0.8)}
    vignette, veil = rng.uniform(0, 0.2), max(0.0, rng.uniform(-0.006, 0.01))
    blur_px = rng.uniform(0.4, 1.2)
    full_well_e = draw_log(rng, 2500, 15000)
    denoise = float(deal(face + "nr", [0, 0.4, 0, 0.7, 0.3], seed))
    is_tagged = deal(face + "exif", [1, 1, 1, 1, 1, 1, 1, 0], seed)
    return Development(
        curve=curve,
        curve_strength=strengths[curve],
        vignette=vignette,
        veil=veil,
        blur_px=blur_px,
        # Grain this coarse is never left as it is.
        full_well_e=5000.0 if denoise == 0 and full_well_e < 4000 else full_well_e,
        read_noise=rng.uniform(0.0006, 0.002),
        sensor_gain=(rng.uniform(1.4, 2.0), 1.0, rng.uniform(1.3, 1.9)),
        mosaic=rng.random() < 0.5,
        denoise=denoise,
        sharpen=float(deal(face + "sh", [0, 0.3, 0, 0.5, 0.2, 0], seed)),
        sharpen_px=rng.uniform(0.8, 1.5),
        jpeg_quality=int(rng.integers(75, 98)),
        chroma=int(rng.choice([0, 1, 2, 2])),
        # What is stored turned must say so.
        exif=bool(is_tagged or handling.exif_orientation != 1),
        exif_focal=bool(deal(face + "foc", [1, 1, 1, 0, 1, 1], seed)),
        model=f"Model {rng.integers(2, 19)}",
        date=_draw_date(rng),
        paper_level=rng.uniform(0.82, 0.98),
    )


def _draw_date(rng: np.random.Generator) -> str:
    bounds = ((1, 13), (1, 29), (0, 9), (0, 60), (0, 60))
    month, day, hour, minute, second = (int(rng.integers(low, high)) for low, high in bounds)
    return f"2024:{month:02d}:{day:02d} 1{hour}:{minute:02d}:{second:02d}"


def _floats(values: np.ndarray) -> tuple[float, ...]:
    return tuple(float(v) for v in values)
