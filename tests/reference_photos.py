"""The reference photos and their exact truth, from the path tracer that shares no code with us."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scoring.motion import Motion

FOLDER = Path(__file__).parent.parent / "reference_images"


@dataclass(frozen=True)
class ReferencePhoto:
    """One photo beside its truth."""

    path: Path
    truth: dict[str, Any]

    @property
    def name(self) -> str:
        return self.path.stem

    @property
    def motion(self) -> Motion:
        motion = self.truth["motion"]
        return Motion(motion["speed_mm_s"], motion["accel_mm_s2"], motion["corner_speed_mm_s"])

    @property
    def layer_height_mm(self) -> float:
        return float(self.truth["conditions"]["layers"]["height_mm"])


def read_photos(folder: str | Path) -> list[ReferencePhoto]:
    """Every photo under ``reference_images`` / ``folder``, by name."""
    return [
        ReferencePhoto(path.with_suffix(".jpg"), json.loads(path.read_text("utf-8")))
        for path in sorted((FOLDER / folder).glob("*.json"))
    ]


def photo_named(folder: str, name: str) -> ReferencePhoto:
    """The photo called ``name``."""
    return next(p for p in read_photos(folder) if p.name == name)
