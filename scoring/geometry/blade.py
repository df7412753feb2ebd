"""The blade coupon: its outline, zones, facets and grooves. Millimetres on the face (u, w)."""

import math
import tomllib
from dataclasses import dataclass
from importlib.resources import files

from scoring.metrics import FaceName


@dataclass(frozen=True)
class Facet:
    """A flat facet of known slope dy/du on the ring-down face."""

    u_mm: tuple[float, float]
    slope_deg: float

    @property
    def slope(self) -> float:
        """dy/du, dimensionless."""
        return math.tan(math.radians(self.slope_deg))


@dataclass(frozen=True)
class Ticks:
    """The short grooves that tell the X blade (one) from the Y blade (two)."""

    u_mm: tuple[float, float]
    w_mm: tuple[float, float]
    width_mm: float
    depth_mm: float


@dataclass(frozen=True)
class Grooves:
    """The vertical grooves of the flow face."""

    first_u_mm: float
    pitch_mm: float
    count: int
    width_mm: float
    depth_mm: float

    @property
    def centres_u_mm(self) -> tuple[float, ...]:
        """Groove centres along u; ``first_u_mm`` is the first groove's centre."""
        return tuple(self.first_u_mm + k * self.pitch_mm for k in range(self.count))


@dataclass(frozen=True)
class Blade:
    """Every length of ``blade.toml``."""

    revision: int
    length_mm: float
    height_mm: float
    thickness_mm: float
    nominal_layer_mm: float
    measured_band_w_mm: tuple[float, float]
    ringdown_zone_u_mm: tuple[float, float]
    facets: tuple[Facet, ...]
    ticks: Ticks
    steady_zone_u_mm: tuple[float, float]
    detail_zone_u_mm: tuple[float, float]
    recovery_zone_u_mm: tuple[float, float]
    grooves: Grooves
    chamfer_leg_mm: float

    def outline_uw_mm(self, face: FaceName) -> tuple[tuple[float, float], ...]:
        """The face's outline as five (u, w) corners, counter-clockwise from u = 0, w = 0."""
        long, high, leg = self.length_mm, self.height_mm, self.chamfer_leg_mm
        if face is FaceName.RINGDOWN:
            return ((0, 0), (long, 0), (long, high - leg), (long - leg, high), (0, high))
        return ((0, 0), (long, 0), (long, high), (leg, high), (0, high - leg))


def load_blade() -> Blade:
    """Read ``blade.toml`` from the package."""
    raw = tomllib.loads(files("scoring.geometry").joinpath("blade.toml").read_text("utf-8"))
    ring, flow = raw["faces"]["ringdown"], raw["faces"]["flow"]
    ticks, grooves = ring["ticks"], flow["grooves"]
    return Blade(
        revision=raw["revision"],
        length_mm=raw["length_mm"],
        height_mm=raw["height_mm"],
        thickness_mm=raw["thickness_mm"],
        nominal_layer_mm=raw["nominal_layer_mm"],
        measured_band_w_mm=tuple(raw["measured_band_w_mm"]),
        ringdown_zone_u_mm=tuple(ring["zone_u_mm"]),
        facets=tuple(Facet(tuple(f["u_mm"]), f["slope_deg"]) for f in ring["facets"]),
        ticks=Ticks(
            tuple(ticks["u_mm"]), tuple(ticks["w_mm"]), ticks["width_mm"], ticks["depth_mm"]
        ),
        steady_zone_u_mm=tuple(flow["steady_zone_u_mm"]),
        detail_zone_u_mm=tuple(flow["detail_zone_u_mm"]),
        recovery_zone_u_mm=tuple(flow["recovery_zone_u_mm"]),
        grooves=Grooves(
            grooves["first_u_mm"],
            grooves["pitch_mm"],
            grooves["count"],
            grooves["width_mm"],
            grooves["depth_mm"],
        ),
        chamfer_leg_mm=raw["chamfer"]["leg_mm"],
    )


BLADE = load_blade()
