"""Fit the account of a photo's light to all that card and face show of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy import special

from scoring.least_squares import SOFT, fit_robust
from scoring.registration.rectify import Placement
from scoring.shading.account import Shading
from scoring.shading.evidence import Evidence, Take
from scoring.shading.misfit import PhotoMisfit
from scoring.shading.priors import (
    SHARED,
    USUAL_BEAM,
    USUAL_STRAY,
    begin_shared,
    misfit_shared,
    read_shared,
)

CHANNELS = 3

DARK_ALBEDO, SMOOTH, BETWEEN, ROUGH = 0.2, 0.35, 0.6, 0.8
"""Where the face is darker than so much of the paper (as coded) much of its light is gloss, and
facets and falloff often fit a rough one as well as a smooth one: two accounts, a third of a
ripple's size apart. Beside one whose roughness is on one side the other's is sought."""

LOG_ALBEDOS = (-12.0, 2.0)
"""A saturated colour's darkest channel says so little that a step may run off with it; nothing
hangs on it out there."""

TOLERANCE, DAMPING = 1e-4, 1e-4
"""Under unusual light a fit creeps: ten times the first left one 20 short of the best cost, and a
ripple's size 11 % away; a hundred times the second takes half as many steps again."""

ROUGHNESS = [prior.name for prior in SHARED].index("roughness")
LAMP, COMMON, EXPOSURE = 7, len(SHARED) + CHANNELS, CHANNELS
"""Parameters: of each lamp, of coupon and camera (``SHARED``, then the albedo), of each photo's
exposure; in that order."""


@dataclass(frozen=True)
class Calibration:
    """The best account, and its doubt.

    ``ahead`` are V shadings in one, each a standard deviation away along a direction of its own,
    and ``behind`` as many on the other side; the last leads to another account that fits nearly as
    well, if there is one, and has no other side. Any number that hangs on the shading has the root
    sum of squares of its changes, each to the farther side, as its standard deviation.
    """

    shading: Shading
    ahead: Shading
    behind: Shading


def calibrate(
    evidence: Evidence, placement: Placement, camera_mm: NDArray[np.float64]
) -> Calibration:
    """Least squares over lamp, stray light, tone curve, filament, ink, lens and walls, with priors.

    The paper (matt, of known place), the shadow and the paper in it tell lamp, stray light and
    exposure; the ink, one black under all strengths of light, the tone curve's dark end; the face's
    falloff and facets in three channels tell tone curve and gloss: the tone curve acts by code
    value, gloss is white and shifts with the view. ``camera_mm`` (3,) is the camera in card axes,
    z up.
    """
    return calibrate_together((Take(evidence, placement, camera_mm),))[0]


def calibrate_together(takes: Sequence[Take]) -> tuple[Calibration, ...]:
    """As :func:`calibrate`, for photos of one coupon by one camera; one calibration a photo.

    Filament, gloss and tone curve are one; lamp, stray light and exposure are each photo's own. The
    k-th steps of all photos are one step of the whole.
    """
    sides = [PhotoMisfit.of(take) for take in takes]
    common_from = LAMP * len(takes)

    def unpack(p: NDArray[np.float64], k: int) -> Shading:
        lamp, common = p[..., LAMP * k :], p[..., common_from : common_from + COMMON]
        exposure = p[..., common_from + COMMON + EXPOSURE * k :][..., :EXPOSURE]
        return Shading(
            lamp_mm=sides[k].lamp_mm(lamp),
            stray=np.exp(lamp[..., 3]),
            beam=lamp[..., 4],
            lean=lamp[..., 5:7],
            albedo=np.exp(np.clip(common[..., len(SHARED) :], *LOG_ALBEDOS)),
            exposure=np.exp(exposure),
            **read_shared(common),
        )

    def misfit(p: NDArray[np.float64]) -> NDArray[np.float64]:
        off, priors = [], []
        for k, side in enumerate(sides):
            shading = unpack(p, k)
            off.append(side.misfit(shading))
            priors.append(side.priors(shading, p[..., LAMP * k :]))
        priors.append(misfit_shared(p[..., common_from:]))
        return np.concatenate([*off, *priors], axis=-1)

    albedo, levels = [], []
    for take in takes:
        paper = take.evidence.paper
        level = np.median(paper.light[:, :3], axis=0) if paper.enough else np.full(3, 0.8)
        levels.append(np.log(level))
        face = np.median(take.evidence.face[:, :3], axis=0)
        albedo.append(np.log(np.clip(face / level, 1e-3, None)))
    lamps = [[0.0, 0.0, 0.0, np.log(USUAL_STRAY), USUAL_BEAM, 0.0, 0.0] for _ in takes]
    begin = np.concatenate([*lamps, begin_shared(), np.mean(albedo, axis=0), *levels])
    priors = LAMP * len(takes) + len(SHARED)
    fit_on = partial(fit_robust, misfit, priors=priors, tolerance=TOLERANCE, damping=DAMPING)
    fit, covariance = fit_on(begin)
    to_other = np.zeros_like(fit)
    if np.exp(np.mean(albedo, axis=0)).max() < DARK_ALBEDO:
        begin = fit.copy()
        roughness = common_from + ROUGHNESS
        begin[roughness] = np.log(ROUGH if fit[roughness] < np.log(BETWEEN) else SMOOTH)
        other, other_covariance = fit_on(begin)
        farther = _cost(misfit(other), priors) - _cost(misfit(fit), priors)
        if farther < 0:
            fit, covariance, other = other, other_covariance, fit
        to_other = np.sqrt(special.expit(-abs(farther) / 2)) * (other - fit)
    values, directions = np.linalg.eigh(covariance)
    steps = (directions * np.sqrt(np.maximum(values, 0.0))).T
    ahead, behind = np.vstack([fit + steps, fit + to_other]), np.vstack([fit - steps, fit])
    return tuple(
        Calibration(unpack(fit, k), unpack(ahead, k), unpack(behind, k)) for k in range(len(takes))
    )


def _cost(misfit: NDArray[np.float64], priors: int) -> float:
    """Twice the negative logarithm of how likely residuals (R,) are, by the fit's own law.

    That is Cauchy's for data and the normal one for the last ``priors``.
    """
    data, of_priors = misfit[:-priors], misfit[-priors:]
    return float(SOFT**2 * np.log1p((data / SOFT) ** 2).sum() + of_priors @ of_priors)
