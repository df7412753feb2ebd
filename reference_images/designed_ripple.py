"""The check blade's ripple: as the standard's file describes it, and as a printer rounds it."""

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from reference_images.scene import DesignedRipple
from reference_images.standard import CHECK_RIPPLE

Array = NDArray[np.float64]
FINE_MM = 0.01


def designed_um(u_mm: Array) -> Array:
    """The designed height in um: one wave whose size is blended from stretch to stretch."""
    ramp = CHECK_RIPPLE["ramp_mm"]
    size = np.zeros_like(u_mm)
    for stretch in CHECK_RIPPLE["stretches"]:
        start, end = stretch["u_mm"]
        up = np.clip((u_mm - start + ramp) / ramp, 0, 1)
        down = np.clip((end + ramp - u_mm) / ramp, 0, 1)
        size += stretch["amplitude_um"] * np.sin(np.pi / 2 * up * down) ** 2
    turns = (u_mm - CHECK_RIPPLE["zero_u_mm"]) / CHECK_RIPPLE["wavelength_mm"]
    return np.asarray(size * np.sin(2 * np.pi * turns))


def printed_um(ripple: DesignedRipple, u_mm: Array) -> Array:
    """The height in um as printed: scaled, and smoothed along u."""
    fine = np.arange(u_mm.min() - 2, u_mm.max() + 2, FINE_MM)
    smooth = ndimage.gaussian_filter1d(designed_um(fine), ripple.rounding_mm / FINE_MM)
    return np.asarray(ripple.scale * np.interp(u_mm, fine, smooth))


def printed_amplitudes_um(ripple: DesignedRipple) -> list[float]:
    """What is left of every stretch's designed amplitude, by projection on the designed wave."""
    found = []
    for stretch in CHECK_RIPPLE["stretches"]:
        u = np.arange(stretch["u_mm"][0], stretch["u_mm"][1], FINE_MM)
        turns = (u - CHECK_RIPPLE["zero_u_mm"]) / CHECK_RIPPLE["wavelength_mm"]
        found.append(float(2 * np.mean(printed_um(ripple, u) * np.sin(2 * np.pi * turns))))
    return found
