"""Stands in for the measurement where a test is about what surrounds it.

A "photo" is a small JSON text that says what the measurement would find. Importable by name, so
that worker processes find it too.
"""

import json
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scoring.errors import CardNotFoundError, PhotoUnreadableError, WrongFaceError
from scoring.estimate import Estimate
from scoring.flags import Flag
from scoring.geometry import GEOMETRY_REVISION
from scoring.measurement import METHOD_VERSION, Corners, Measurement, Mode, Registration, Trace
from scoring.metrics import FACE_WORDS, FaceName
from scoring.motion import Motion
from scoring.runs.plan import LabelText


@dataclass(frozen=True)
class StandInLabel:
    """What a photo's label says."""

    run: str
    axis: str | None


@dataclass(frozen=True)
class StandInMeasured:
    """As the measurement returns it."""

    measurement: Measurement
    face_jpeg: bytes


def photo_text(**says: Any) -> bytes:
    """A photo: ``run``, ``axis``, ``face``, ``peak_um``, ``gaps``, ``method``, ``fails``."""
    return json.dumps(says).encode()


def about(value: float) -> Estimate:
    """The value, a twentieth either way."""
    return Estimate(value, 0.95 * value, 1.05 * value)


def measure(
    source: Path | bytes,
    *,
    name: str,
    motion: Motion | Callable[[LabelText | None], Motion],
    face: FaceName | None = None,
    layer_height_mm: float | None = None,
    corners_px: Corners | None = None,
    picture: bool = True,
) -> StandInMeasured:
    """Give back what the photo says, with the motion and layer height it was measured with."""
    says = _read(source)
    match says.get("fails"):
        case "card" if corners_px is None:
            raise CardNotFoundError("No marker of the card was found. Photograph the whole card.")
        case "crash":
            raise ZeroDivisionError("a fault in the program")
        case "kill":
            os._exit(9)
    label = StandInLabel(says["run"], says.get("axis")) if "run" in says else None
    moved = motion if isinstance(motion, Motion) else motion(label)
    shown = FaceName(says.get("face", "ringdown"))
    if face not in (None, shown):
        raise WrongFaceError(f"The photo shows the {FACE_WORDS[shown]} face.")
    metrics: dict[str, Estimate]
    modes: tuple[Mode, ...] = ()
    if shown is FaceName.RINGDOWN:
        peak = says.get("peak_um", 30.0)
        metrics = {"ripple_peak_um": about(peak), "ripple_rms_um": about(peak / 3)}
        # The frequency depends on the motion, as the real one does.
        hertz = about(moved.speed_mm_s / 3)
        modes = (Mode(about(peak), hertz, about(0.05), about(3.0)),)
    else:
        gaps = says.get("gaps", 0.02)
        height = layer_height_mm or 0.2
        metrics = {"gap_fraction": about(gaps * height / 0.2), "recovery_mm": about(200 * gaps)}
    return StandInMeasured(
        Measurement(
            photo=name,
            face=shown,
            run=label.run if label else None,
            axis=label.axis if label else None,
            registration=Registration(12, 0.021, 0.0331, corners_px),
            metrics=metrics,
            modes=modes,
            flags=() if label else (Flag.LABEL_UNREAD,),
            trace=Trace("µm", (4.0, 5.0), (1.0, -1.0), (0.9, -0.9)),
            method_version=says.get("method", METHOD_VERSION),
            geometry_revision=GEOMETRY_REVISION,
        ),
        b"face of " + name.encode() if picture else b"",
    )


def _read(source: Path | bytes) -> Mapping[str, Any]:
    try:
        content = source if isinstance(source, bytes) else source.read_bytes()
        says: Mapping[str, Any] = json.loads(content)
    except (OSError, ValueError) as error:
        raise PhotoUnreadableError(f"{source!r}: not a picture. Give a photo.") from error
    return says
