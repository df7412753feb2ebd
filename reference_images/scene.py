"""What a photo is made of: every condition of one picture, as frozen records.

Lengths in mm, angles in degrees, heights of the surface in um, as the names say.
"""

from dataclasses import dataclass, field
from typing import Literal

Face = Literal["ringdown", "flow"]
Tuning = Literal["tuning", "quoting", "demo", "trial"]


@dataclass(frozen=True)
class Motion:
    """How the nozzle leaves the corner: constant acceleration up to the cruise speed."""

    speed_mm_s: float
    accel_mm_s2: float
    corner_speed_mm_s: float = 5.0


@dataclass(frozen=True)
class Mode:
    """One damped vibration; the envelope is the one at u = 4 mm, the frequency the damped one."""

    envelope_um: float
    frequency_hz: float
    damping_ratio: float
    phase_rad: float


@dataclass(frozen=True)
class SteadyRipple:
    """A ripple of constant length that does not die out."""

    amplitude_um: float = 0.0
    period_mm: float = 2.0
    phase_rad: float = 0.0


@dataclass(frozen=True)
class DesignedRipple:
    """The check blade's ripple as it came out: its size over the designed one, and how far the
    printer rounded it (a Gaussian's standard deviation along u, as at the facets' edges)."""

    scale: float = 1.0
    rounding_mm: float = 0.12


@dataclass(frozen=True)
class Starvation:
    """A deficit of material after the details, dying out along u over ``decay_mm``."""

    gaps_per_layer: float = 0.0
    decay_mm: float = 6.0
    largest_height_mm: float = 0.14
    longest_mm: float = 12.0
    steady_gaps: int = 0


@dataclass(frozen=True)
class Layers:
    """How the layers came out: bead shape, jitter from layer to layer, texture."""

    height_mm: float = 0.2
    valley_um: float = 28.0
    offset_um: float = 3.0
    wander_um: float = 2.0
    amplitude_jitter: float = 0.06
    phase_jitter_rad: float = 0.12
    texture_um: float = 1.2
    corner_radius_mm: float = 0.6


@dataclass(frozen=True)
class Stain:
    """Where the filament is lighter or darker: a wave along u, and blotches of a size.

    Shares are of the clean colour. The wave dies out over ``decay_mm``; 0: it does not.
    """

    share: float = 0.0
    period_mm: float = 3.0
    phase_rad: float = 0.0
    decay_mm: float = 0.0
    blotch_share: float = 0.0
    blotch_mm: float = 2.0


@dataclass(frozen=True)
class Material:
    """Filament: linear colour and gloss, as the principled reflection model takes them."""

    name: str
    rgb: tuple[float, float, float]
    roughness: float = 0.45
    specular: float = 0.45


@dataclass(frozen=True)
class Lamp:
    """A small round lamp. Azimuth 180 is the card's -x side, 90 its -y side (the rim's)."""

    azimuth_deg: float
    elevation_deg: float
    distance_mm: float
    radius_mm: float = 20.0
    ambient_share: float = 0.05
    tint: tuple[float, float, float] = (1.0, 0.97, 0.92)


@dataclass(frozen=True)
class Camera:
    """Pinhole with one radial term, ``r (1 + k1 r^2)`` in units of the focal length."""

    width_px: int = 4000
    height_px: int = 3000
    focal_35mm: float = 30.0
    face_px_per_mm: float = 18.0
    tilt_deg: float = 3.0
    tilt_towards_deg: float = 0.0
    turn_deg: float = 0.0
    aim_mm: tuple[float, float] = (105.0, 74.0)
    k1: float = 0.0

    @property
    def focal_px(self) -> float:
        """Focal length in pixels; the 35 mm equivalent is taken over the diagonal."""
        return float(self.focal_35mm * (self.width_px**2 + self.height_px**2) ** 0.5 / 43.2666)


@dataclass(frozen=True)
class Development:
    """From light to file: blur, exposure, noise, tone, JPEG."""

    paper_level: float = 0.8
    blur_px: float = 0.7
    full_well_e: float = 12000.0
    read_e: float = 3.0
    tone_s: float = 0.0
    jpeg_quality: int = 90


@dataclass(frozen=True)
class Pose:
    """How far the hand missed the bay: shift on the card in mm, turn in degrees."""

    dx_mm: float = 0.0
    dy_mm: float = 0.0
    turn_deg: float = 0.0


def set_of(seed: int) -> Tuning:
    """Even seeds are for tuning, odd ones for quoting; that split is never to change."""
    return "tuning" if seed % 2 == 0 else "quoting"


@dataclass(frozen=True)
class Scene:
    """One photo, whole. Photos of one coupon share a seed and differ in ``shot``.

    A ``card_scale`` other than 1, for a card not printed at its size, is the fast renderer's alone.
    """

    name: str
    face: Face
    seed: int
    set: Tuning
    motion: Motion
    material: Material
    lamp: Lamp
    camera: Camera
    development: Development
    modes: tuple[Mode, ...] = ()
    steady: SteadyRipple = field(default_factory=SteadyRipple)
    designed: DesignedRipple | None = None
    starvation: Starvation = field(default_factory=Starvation)
    layers: Layers = field(default_factory=Layers)
    pose: Pose = field(default_factory=Pose)
    run: str | None = None
    axis: Literal["x", "y"] = "x"
    table: Literal["grey", "wood", "dark"] = "grey"
    hidden_markers: tuple[int, ...] = ()
    card_on_table: bool = True
    card_scale: float = 1.0
    expect: str | None = None
    stain: Stain = field(default_factory=Stain)
    shot: int = 0

    @property
    def label_text(self) -> str | None:
        """What the label's code says, or None when no label is laid."""
        return f"coupon:{self.run}:{self.axis}:{self.face}" if self.run else None
