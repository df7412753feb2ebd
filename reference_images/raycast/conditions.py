"""What is drawn at random for one photo: print, filament, lamp, paper, table, camera and file."""

from dataclasses import dataclass

from reference_images.raycast.motion import Mode, Motion

FACES = ("ringdown", "flow")
LOOKED_AT = {"ringdown": 48, "flow": 14}
"""Photos of seeds up to these were looked at, so that they belong to the set "tuning"."""

LAMBERT, OREN_NAYAR, LAMBERT_BLINN, GGX_FRESNEL = range(4)
LAWS = ("Lambert", "Oren-Nayar", "Lambert+Blinn", "GGX with Fresnel")
"""The laws by which filament returns light (``reflectance.py``)."""


@dataclass(frozen=True)
class Print:
    """How the coupon was printed; ``scatter`` is how far layers' ripples differ, as a share."""

    layer_mm: float
    bead_kind: str
    bead_power: float
    bead_um: float
    offset_um: float
    wander_um: float
    wander_length_mm: float
    texture_um: float
    texture_u_mm: float
    texture_w_mm: float
    bow_um: float
    lean_um: float
    corner_radius_mm: float
    foot_width_mm: float
    foot_mm: float
    scatter: float

    @property
    def edge_sigma_mm(self) -> float:
        """How far facets' and grooves' edges are smoothed, as a standard deviation."""
        return self.corner_radius_mm * 0.4


@dataclass(frozen=True)
class Ripple:
    """The ring-down face's: damped modes, and a ripple of constant length."""

    modes: tuple[Mode, ...] = ()
    steady_um: float = 0.0
    steady_period_mm: float = 2.0
    steady_phase_rad: float = 0.0


@dataclass(frozen=True)
class GapPlan:
    """What slots the flow face should have: their share, how they thin out, and their shape."""

    share: float
    decay_mm: float
    length_mm: float
    height_mm: float
    taper_mm: float
    end: str
    steady_count: int
    starved_um: float


@dataclass(frozen=True)
class Filament:
    """``rgb`` is linear reflectance; ``law`` indexes :data:`LAWS`; ``gloss`` scales Fresnel's."""

    name: str
    rgb: tuple[float, ...]
    finish: str
    law: int
    roughness: float
    gloss: float
    subsurface_mm: float


@dataclass(frozen=True)
class Light:
    """The lamp, seen from the face's middle, and the room's even light.

    Light falls with the ``beam_exponent``-th power of the cosine off the lamp's axis; 0 is a ball.
    ``ambient_slope`` is the room light's relative change for 100 mm along the card's x and upward.
    """

    distance_mm: float
    elevation_deg: float
    off_axis_deg: float
    size_mm: float
    ambient_share: float
    beam_exponent: float
    lamp_rgb: tuple[float, ...]
    ambient_rgb: tuple[float, ...]
    ambient_slope: tuple[float, float]


@dataclass(frozen=True)
class Paper:
    """The printed card and its label; reflectances linear, ``roughness`` 0 is Lambert's paper."""

    ink: float
    white: float
    spread_mm: float
    line_mm: float
    grey: float
    label_shift_mm: tuple[float, float]
    label_deg: float
    label_quiet: int
    label_ink: float
    label_white: float
    grain: float
    rgb: tuple[float, ...]
    roughness: float


@dataclass(frozen=True)
class Laid:
    """How the coupon lies, off its place in the bay, and on which table."""

    right_mm: float
    up_mm: float
    turned_deg: float
    table: str
    table_rgb: tuple[float, ...]


@dataclass(frozen=True)
class Handling:
    """The camera and how it is held; quarter turns anticlockwise make the picture from the sensor.

    ``exif_orientation`` is the tag by which a viewer turns the stored pixels upright.
    """

    width_px: int
    height_px: int
    focal_35mm: float
    k1: float
    tilt_deg: float
    tilt_direction_deg: float
    roll_deg: float
    quarter_turns: int
    exif_orientation: int


@dataclass(frozen=True)
class Development:
    """Sensor, processing and file. Noise: full well in electrons, read noise over full scale."""

    curve: str
    curve_strength: float
    vignette: float
    veil: float
    blur_px: float
    full_well_e: float
    read_noise: float
    sensor_gain: tuple[float, float, float]
    mosaic: bool
    denoise: float
    sharpen: float
    sharpen_px: float
    jpeg_quality: int
    chroma: int
    exif: bool
    exif_focal: bool
    model: str
    date: str
    paper_level: float


@dataclass(frozen=True)
class Conditions:
    """All that is drawn before the camera is aimed; ``gaps`` is for the flow face alone."""

    face: str
    seed: int
    axis: str
    run: str
    made: Print
    motion: Motion
    ripple: Ripple
    gaps: GapPlan | None
    filament: Filament
    light: Light
    paper: Paper
    laid: Laid
    handling: Handling
    development: Development
