"""The reference photos and their exact truth, from the path tracer that shares no code with us."""

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment

from scoring.estimate import Estimate
from scoring.measurement import Mode
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

    def read_face_grid(
        self,
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """u (N,) and w (N,) of points on the face, and where they are seen, (N, 2) in pixels."""
        grid = self.truth["picture"]["face_grid"]
        u, w, x, y = np.array([[g["u_mm"], g["w_mm"], g["x_px"], g["y_px"]] for g in grid]).T
        return u, w, np.stack([x, y], axis=1)

    def pair_modes(self, found: Sequence[Mode]) -> list[tuple[str, Estimate, float]]:
        """Name, estimate and truth of each number of each mode, paired by nearest frequency.

        The truth states the damped frequency, a measurement the undamped one. A mode too many or
        too few is left out; without a ripple there is none.
        """
        true = self.truth["modes"] if self.truth["ripple_peak_um"] else []
        natural_hz = [m["frequency_hz"] / math.sqrt(1 - m["damping_ratio"] ** 2) for m in true]
        found_hz = np.array([m.frequency_hz.value for m in found])
        apart = np.abs(np.log(found_hz[:, None] / np.array(natural_hz)))
        pairs = []
        for k, i in zip(*linear_sum_assignment(apart), strict=True):
            mode, known = found[int(k)], true[int(i)]
            pairs.append(("envelope_um", mode.envelope_um, known["envelope_um"]))
            pairs.append(("frequency_hz", mode.frequency_hz, natural_hz[int(i)]))
            pairs.append(("damping_ratio", mode.damping_ratio, known["damping_ratio"]))
        return pairs


def read_photos(folder: str | Path) -> list[ReferencePhoto]:
    """Every photo under ``reference_images`` / ``folder``, by name."""
    return [
        ReferencePhoto(path.with_suffix(".jpg"), json.loads(path.read_text("utf-8")))
        for path in sorted((FOLDER / folder).glob("*.json"))
    ]


def photo_named(folder: str, name: str) -> ReferencePhoto:
    """The photo called ``name``."""
    return next(p for p in read_photos(folder) if p.name == name)
