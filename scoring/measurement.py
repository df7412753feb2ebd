"""One photo's measurement, as every later stage reads it."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from scoring.estimate import Estimate
from scoring.flags import Flag
from scoring.metrics import FaceName

METHOD_VERSION = "15"
"""Raised whenever the same photo could give another number."""


Corners = tuple[tuple[float, float], ...]
"""Four points in a photo, x and y in pixels; (0, 0) is the first pixel's centre."""


@dataclass(frozen=True)
class Registration:
    """How well the photo was placed: markers used, RMS residual and scale on the face.

    ``corners_px`` are the face's corners that someone pointed at, where no card was found.
    """

    markers: int
    residual_mm: float
    mm_per_px: float
    corners_px: Corners | None = None

    @property
    def by(self) -> str:
        """What the photo was placed by, in words."""
        return f"{self.markers} markers" if self.corners_px is None else "four corners"


@dataclass(frozen=True)
class Mode:
    """One damped vibration of the ring-down."""

    envelope_um: Estimate
    frequency_hz: Estimate
    damping_ratio: Estimate
    wavelength_mm: Estimate


@dataclass(frozen=True)
class Trace:
    """What was measured along u, for a plot under the face: all arrays have one length.

    Ring-down: ``measured`` and ``fitted`` are heights in µm. Flow: ``measured`` is the open
    fraction of the band in each column, ``fitted`` its 2 mm moving mean.
    """

    unit: str
    u_mm: tuple[float, ...]
    measured: tuple[float, ...]
    fitted: tuple[float, ...]


@dataclass(frozen=True)
class Measurement:
    """The numbers of one photo, or of a pair; ``run`` and ``axis`` come from the label, if any.

    ``pair`` names the second photo where two were measured together.
    """

    photo: str
    face: FaceName
    run: str | None
    axis: str | None
    registration: Registration
    metrics: Mapping[str, Estimate]
    modes: tuple[Mode, ...]
    flags: tuple[Flag, ...]
    trace: Trace
    method_version: str = METHOD_VERSION
    geometry_revision: str = field(default="")
    pair: str | None = None

    def to_json(self) -> dict[str, Any]:
        """The object that ``coupon measure --json`` prints, without the trace."""

        return {
            "photo": self.photo,
            **({} if self.pair is None else {"pair": self.pair}),
            "face": self.face.value,
            "run": self.run,
            "axis": self.axis,
            "registration": {
                "markers": self.registration.markers,
                "residual_mm": self.registration.residual_mm,
                "mm_per_px": self.registration.mm_per_px,
            },
            "metrics": {name: asdict(e) for name, e in self.metrics.items()},
            "modes": [asdict(mode) for mode in self.modes],
            "flags": [f.value for f in self.flags],
        }
