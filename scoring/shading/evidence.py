"""What of a photo the account of its light is fitted to."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.registration.rectify import Placement
from scoring.shading.ink import Ink
from scoring.shading.layer_line import LayerLine
from scoring.shading.paper import Paper
from scoring.shading.shadow import Shadow


@dataclass(frozen=True)
class ShadedPaper:
    """Paper in the coupon's shadow: ``light`` (4,), red, green, blue and luma, ``sd`` (4,) of its
    logarithm, and ``off_axis`` as in :class:`Evidence`.
    """

    light: NDArray[np.float64]
    sd: NDArray[np.float64]
    off_axis: float


@dataclass(frozen=True)
class Evidence:
    """What is fitted: nominal linear light of bare paper, of ink and of B blocks of the face.

    ``paper`` may be empty, ``paper_sd`` (P, 4) is of the logarithm of its red, green, blue and
    luma, ``paper_walls`` (P,) the share of its view that the coupon's walls take; ``ink`` may be
    empty as well, its ``ink_sd`` (K, 4) and ``ink_off_axis`` (K,) are as of paper; ``face_u_mm``
    (B,), ``face_slope`` (B,) the designed slope there, ``face`` (B, 4) and ``face_sd`` (B, 4) as of
    paper; ``paper_off_axis`` (P,) and ``face_off_axis`` (B,) are squared distances from the
    picture's middle, 1 at its corners; ``shadow``, ``shaded`` and ``layer_line`` if they were
    measured; ``azimuth_rad`` where the lamp seems to stand.
    """

    paper: Paper
    paper_sd: NDArray[np.float64]
    paper_walls: NDArray[np.float64]
    paper_off_axis: NDArray[np.float64]
    ink: Ink
    ink_sd: NDArray[np.float64]
    ink_off_axis: NDArray[np.float64]
    face_off_axis: NDArray[np.float64]
    face_u_mm: NDArray[np.float64]
    face_slope: NDArray[np.float64]
    face: NDArray[np.float64]
    face_sd: NDArray[np.float64]
    shadow: Shadow | None
    shaded: ShadedPaper | None
    layer_line: LayerLine | None
    azimuth_rad: float


@dataclass(frozen=True)
class Take:
    """A photo's evidence, how the coupon lies, and the camera (3,) in card axes, z up."""

    evidence: Evidence
    placement: Placement
    camera_mm: NDArray[np.float64]
