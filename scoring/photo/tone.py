"""Tone curves: from code values to linear light."""

from collections.abc import Callable

import imagecodecs
import numpy as np
from numpy.typing import NDArray

from scoring.errors import PhotoUnreadableError

Floats = NDArray[np.float64]
ToneCurve = Callable[[Floats], Floats]
"""From code values as fractions of full scale, (L,), to light, (L,) or (L, 3), white being 1."""


def linear_curve(code: Floats) -> Floats:
    """The curve of a file that holds linear light already."""
    return code


def bt709_curve(code: Floats) -> Floats:
    """Rec. ITU-R BT.709 inverted: V / 4.5 below 0.081, else ((V + 0.099) / 1.099)^(1 / 0.45)."""
    return np.where(code < 0.081, code / 4.5, ((code + 0.099) / 1.099) ** (1 / 0.45))


def power_curve(exponent: float) -> ToneCurve:
    """Light as the code value to the power ``exponent``."""

    def curve(code: Floats) -> Floats:
        return np.asarray(code**exponent)

    return curve


def profile_curve(icc: bytes) -> ToneCurve:
    """The tone curve in an embedded ICC profile (ISO 15076-1), one column for each channel.

    Little CMS follows the profile; each channel's ramp is sent through it alone and the luminance
    that comes out is scaled to 0..1. That is exact for a profile of curves and a matrix, which is
    what cameras embed. Raises :class:`PhotoUnreadableError` for a profile that is damaged or not
    of RGB or grey values.
    """

    def curve(code: Floats) -> Floats:
        return _profile_light(icc, code)

    return curve


def _profile_light(icc: bytes, code: Floats) -> Floats:
    # The profile's colour space stands at bytes 16 to 19 of its header (ISO 15076-1, 7.2).
    space = icc[16:20]
    if space == b"GRAY":
        luminance = _luminance(code[np.newaxis], icc, "gray")[0][:, np.newaxis]
    elif space == b"RGB ":
        ramps = np.zeros((3, code.size, 3))
        for channel in range(3):
            ramps[channel, :, channel] = code
        luminance = _luminance(ramps, icc, "rgb").T
    else:
        raise PhotoUnreadableError(
            f"its colour profile is for {space.decode('latin-1').strip()!r} values, not for RGB or "
            "grey. Export the photo as RGB."
        )
    # The ramp runs from 0 to 1: its ends are black and white.
    return np.asarray((luminance - luminance[0]) / (luminance[-1] - luminance[0]))


def _luminance(ramps: Floats, icc: bytes, colorspace: str) -> Floats:
    """CIE Y of each ramp, shape of ``ramps`` without its colour axis."""
    try:
        xyz = imagecodecs.cms_transform(
            ramps,
            icc,
            imagecodecs.cms_profile("xyz"),
            colorspace=colorspace,
            outcolorspace="xyz",
            outdtype="f8",
            intent=imagecodecs.CMS.INTENT.RELATIVE_COLORIMETRIC,
        )
    except imagecodecs.CmsError as error:
        raise PhotoUnreadableError(
            f"its colour profile is damaged ({error}). Export the photo again as sRGB."
        ) from error
    return np.asarray(xyz)[..., 1]
