"""The check blade: the blade coupon with ripple of known size on its ring-down face."""

from pathlib import Path

import numpy as np
from manifold3d import Manifold  # type: ignore[import-not-found]
from numpy.typing import NDArray

from scoring.geometry.check_ripple import CHECK_RIPPLE
from scoring.making.blade import make_blade, ringdown_profile_mm, write_solid

STEP_MM = 0.06
"""Chords this long stay within 0.25 um of a 100 um wave of 3 mm and take 0.13 % off it, yet at
20 mm/s they are few enough a second for any firmware."""


def check_profile_mm() -> NDArray[np.float64]:
    """Where the check blade's ring-down face bends: rows of u and y (out of the face), in mm."""
    start, end = CHECK_RIPPLE.rippled_u_mm
    u = np.linspace(start, end, round((end - start) / STEP_MM) + 1)
    wave = np.stack([u, CHECK_RIPPLE.height_mm(u)], axis=1)
    plain = ringdown_profile_mm()
    before, after = plain[plain[:, 0] < start], plain[plain[:, 0] > end]
    return np.concatenate([before, wave, after])


def make_check_blade(axis: str) -> Manifold:
    """The check blade for ``axis``, placed as :func:`scoring.making.blade.make_blade` places it.

    Raises :class:`SettingsError` for another axis than x or y.
    """
    return make_blade(axis, check_profile_mm())


def write_check_blade(path_3mf: Path, path_stl: Path, axis: str) -> None:
    """Write the check blade as 3MF and as binary STL.

    Raises :class:`SettingsError` for an unknown axis or where a path cannot be written.
    """
    write_solid(path_3mf, path_stl, make_check_blade(axis), f"Check blade, {axis.upper()}")
