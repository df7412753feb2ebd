"""What is drawn at random for one photo: print, filament, lamp, room, and what the camera does."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

COLOURS = {
    "white": (0.78, 0.77, 0.74),
    "grey": (0.22, 0.22, 0.225),
    "black": (0.018, 0.018, 0.02),
    "red": (0.52, 0.025, 0.03),
    "orange": (0.75, 0.2, 0.02),
    "blue": (0.03, 0.1, 0.42),
    "green": (0.05, 0.33, 0.08),
}
"""Linear reflectances."""

FACES = ("ringdown", "flow")


@dataclass(frozen=True)
class Print:
    """How the coupon was printed."""

    layer_mm: float
    axis: str
    run: str
    edge_radius_mm: float
    bead_depth_um: float
    bead_power: float
    jitter_um: float
    offset_mm: float
    amplitude_scatter: float
    texture_um: float
    texture_length_mm: float


@dataclass(frozen=True)
class Filament:
    """A principled surface; ``rgb`` is linear, ``specular`` 0.5 is plastic's 0.04."""

    name: str
    rgb: tuple[float, ...]
    finish: str
    roughness: float
    specular: float
    coat: float
    coat_roughness: float
    subsurface: float
    subsurface_mm: float


@dataclass(frozen=True)
class Laid:
    """How the coupon and the label lie, off their places on the card; and on which desk."""

    coupon_mm: tuple[float, float]
    coupon_deg: float
    label_mm: tuple[float, float]
    label_deg: float
    desk: str


@dataclass(frozen=True)
class Light:
    """The lamp, seen from the face's middle, and the room. ``ambient_share`` is over the lamp's."""

    elevation_deg: float
    off_axis_deg: float
    distance_mm: float
    width_mm: float
    shape: str
    ambient_share: float
    ambient_side: tuple[float, float]
    lamp_rgb: tuple[float, ...]
    ambient_rgb: tuple[float, ...]


@dataclass(frozen=True)
class Development:
    """From light to file."""

    white_balance_off: tuple[float, float]
    vignetting: float
    blur_px: float
    full_well_e: float
    read_noise: float
    tone_s: float
    saturation: float
    sharpening: float
    sharpening_px: float
    peak_code: float
    jpeg_quality: int
    chroma: str
    exif: bool


@dataclass(frozen=True)
class Conditions:
    """All of it."""

    made: Print
    filament: Filament
    laid: Laid
    light: Light
    development: Development


def draw_conditions(rng: np.random.Generator, face: str, seed: int) -> Conditions:
    """Draw in this order: a seed's photo is kept, so no draw may be moved."""
    made = Print(
        layer_mm=float(rng.choice([0.12, 0.16, 0.2, 0.2, 0.24, 0.28, 0.32])),
        axis=str(rng.choice(["x", "y"])),
        run=_draw_run(rng),
        edge_radius_mm=float(rng.uniform(0.2, 0.4)),
        bead_depth_um=float(rng.uniform(10, 30)),
        bead_power=float(rng.uniform(2, 3.2)),
        jitter_um=float(rng.uniform(1, 5)),
        offset_mm=float(rng.uniform(0.01, 0.05)),
        amplitude_scatter=float(rng.uniform(0, 0.05)),
        texture_um=float(rng.uniform(0.4, 1.5)),
        texture_length_mm=float(rng.uniform(0.06, 0.2)),
    )
    filament = _draw_filament(rng, face, seed)
    laid = Laid(
        coupon_mm=_pair(rng.uniform(-1.8, 1.8, 2)),
        coupon_deg=float(rng.uniform(-2.5, 2.5)),
        label_mm=_pair(rng.uniform(-0.8, 0.8, 2)),
        label_deg=float(rng.uniform(-3, 3)),
        desk=str(rng.choice(["wood", "wood", "dark", "grey", "white", "blue", "green"])),
    )
    light = _draw_light(rng, face)
    development = Development(
        white_balance_off=_pair(rng.uniform(-0.06, 0.06, 2)),
        vignetting=float(rng.uniform(0, 0.3)),
        blur_px=float(rng.uniform(0.45, 1.0)),
        full_well_e=float(rng.uniform(3000, 15000)),
        read_noise=float(rng.uniform(0.0005, 0.002)),
        tone_s=float(rng.uniform(0, 0.5)),
        saturation=float(rng.uniform(1, 1.12)),
        sharpening=float(rng.choice([0, 0, 0.3, 0.6])),
        sharpening_px=float(rng.uniform(0.8, 1.6)),
        peak_code=float(rng.uniform(0.72, 0.9)),
        jpeg_quality=int(rng.integers(80, 98)),
        chroma=str(rng.choice(["4:2:0", "4:4:4"])),
        exif=bool(rng.uniform() < 0.85),
    )
    return Conditions(made, filament, laid, light, development)


def _draw_run(rng: np.random.Generator) -> str:
    letter = rng.choice(list("ABCDEFGHKMRT"))
    return f"{letter}{rng.integers(1, 10)}-{rng.integers(1, 400):03d}"


def _draw_filament(rng: np.random.Generator, face: str, seed: int) -> Filament:
    name = list(COLOURS)[(seed * 3 + (0 if face == "ringdown" else 2)) % 7]
    shade = rng.uniform(0.8, 1.2)
    rgb = tuple(float(min(0.85, v * shade * rng.uniform(0.93, 1.07))) for v in COLOURS[name])
    finish = str(rng.choice(["plain", "plain", "coat", "sss", "matt"]))
    if name == "white" and finish == "coat":
        finish = "sss"
    return Filament(
        name=name,
        rgb=rgb,
        finish=finish,
        roughness=float(rng.uniform(0.6, 0.7) if finish == "matt" else rng.uniform(0.25, 0.6)),
        specular=0.15 if finish == "matt" else 0.5,
        coat=float(rng.uniform(0.2, 0.7)) if finish == "coat" else 0.0,
        coat_roughness=float(rng.uniform(0.2, 0.4)),
        subsurface=float(rng.uniform(0.2, 0.6)) if finish == "sss" else 0.0,
        subsurface_mm=float(rng.uniform(0.2, 1.0)),
    )


def _draw_light(rng: np.random.Generator, face: str) -> Light:
    elevation = rng.uniform(15, 25) if face == "ringdown" else rng.uniform(30, 40)
    drawn = {
        "elevation_deg": float(elevation),
        "off_axis_deg": float(rng.uniform(-15, 15)),
        "distance_mm": float(rng.uniform(300, 800)),
        "width_mm": float(rng.uniform(20, 80)),
    }
    shape = str(rng.choice(["disk", "sphere"]))
    ambient = float(np.exp(rng.uniform(np.log(0.03), np.log(0.2))))
    side = _pair(rng.uniform(-0.35, 0.35, 2))
    warm, cold = rng.uniform(0, 1), rng.uniform(0, 1)
    return Light(
        **drawn,
        shape=shape,
        ambient_share=ambient,
        ambient_side=side,
        lamp_rgb=(1.0, float(1 - 0.25 * warm), float(1 - 0.55 * warm)),
        ambient_rgb=(float(1 - 0.2 * cold), float(1 - 0.05 * cold), 1.0),
    )


def _pair(values: NDArray[np.float64]) -> tuple[float, float]:
    return float(values[0]), float(values[1])
