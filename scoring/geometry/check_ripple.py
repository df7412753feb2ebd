"""The check blade's designed ripple, the one place that says y(u). Millimetres on the face."""

import tomllib
from dataclasses import dataclass
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class CheckStretch:
    """A stretch of u with ripple of one size; flat where the size is 0."""

    u_mm: tuple[float, float]
    amplitude_um: float


@dataclass(frozen=True)
class CheckRipple:
    """Every number of ``check_ripple.toml``, and the waves that they stand for."""

    revision: int
    wavelength_mm: float
    zero_u_mm: float
    ramp_mm: float
    stretches: tuple[CheckStretch, ...]

    @property
    def rippled(self) -> tuple[CheckStretch, ...]:
        """The stretches that are not flat, along u."""
        return tuple(s for s in self.stretches if s.amplitude_um)

    @property
    def flat(self) -> CheckStretch:
        """The flat stretch."""
        return next(s for s in self.stretches if not s.amplitude_um)

    @property
    def rippled_u_mm(self) -> tuple[float, float]:
        """Where the ripple starts and ends, ramps included."""
        first, last = self.rippled[0], self.rippled[-1]
        return first.u_mm[0] - self.ramp_mm, last.u_mm[1] + self.ramp_mm

    def waves(
        self, stretch: CheckStretch, u_mm: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Heights in mm per mm of amplitude, and their slopes dy/du, both (N, 2).

        The first column is the designed wave within the stretch's window, the second the same a
        quarter wave on: a cosine, which takes up a shift along u.
        """
        window, rate = self._window(stretch, u_mm)
        k = 2 * np.pi / self.wavelength_mm
        turn = k * (u_mm - self.zero_u_mm)
        sine, cosine = np.sin(turn), np.cos(turn)
        height = np.stack([window * sine, window * cosine], axis=-1)
        slope = np.stack(
            [rate * sine + window * k * cosine, rate * cosine - window * k * sine], axis=-1
        )
        return height, slope

    def height_mm(self, u_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """The designed height out of the face at ``u_mm`` (N,), in mm."""
        return np.asarray(
            sum(s.amplitude_um / 1e3 * self.waves(s, u_mm)[0][..., 0] for s in self.rippled)
        )

    def _window(
        self, stretch: CheckStretch, u_mm: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """The stretch's window and its derivative, (N,) each."""
        start, end = stretch.u_mm
        beyond = np.maximum(start - u_mm, u_mm - end)
        share = np.pi * np.clip(beyond / self.ramp_mm, 0.0, 1.0)
        outward = np.where(u_mm < (start + end) / 2, -1.0, 1.0)
        rate = -outward * np.pi / self.ramp_mm * np.sin(share) / 2
        return (1 + np.cos(share)) / 2, rate


def load_check_ripple() -> CheckRipple:
    """Read ``check_ripple.toml`` from the package."""
    raw = tomllib.loads(files("scoring.geometry").joinpath("check_ripple.toml").read_text("utf-8"))
    return CheckRipple(
        revision=raw["revision"],
        wavelength_mm=raw["wavelength_mm"],
        zero_u_mm=raw["zero_u_mm"],
        ramp_mm=raw["ramp_mm"],
        stretches=tuple(
            CheckStretch(tuple(s["u_mm"]), s["amplitude_um"]) for s in raw["stretches"]
        ),
    )


CHECK_RIPPLE = load_check_ripple()
