"""Measured against designed: each stretch's size, the scale of heights, and what is lost."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from scoring.estimate import Estimate
from scoring.geometry.check_ripple import CHECK_RIPPLE
from scoring.ripple.light import LitFace
from scoring.ripple.numbers import SD_FLOOR_UM
from scoring.verify.designed import DesignedFit
from scoring.verify.rounding import Rounding

SD_STEP_UM = 0.7
"""What a machine of 12.5 um motor steps makes of a wave of 20 to 100 um: up to 0.69 um RMS over
all phases of wave and steps (``tests/verify/test_scale.py`` counts it out)."""


@dataclass(frozen=True)
class StretchResult:
    """One stretch: its designed amplitude, what a printer that rounds so will have printed, what
    the photo shows, and that over what was printed."""

    designed_um: float
    printed_um: Estimate
    measured_um: Estimate
    ratio: Estimate


@dataclass(frozen=True)
class ScaleResult:
    """All stretches together.

    ``scale`` is measured over printed height, 1 where they agree; ``own_sd`` is the part of its
    standard deviation that this photo has for itself, ``shared_sd`` what photos of one print under
    one lamp share, and ``t`` the factor that makes a 95 % interval of one. ``lost_um`` is what
    every ripple lacks whatever its size. ``flat_um`` is the ripple read where none is, ``shift_mm``
    how far along u the ripple stands from where it was designed.
    """

    stretches: tuple[StretchResult, ...]
    scale: Estimate
    own_sd: float
    shared_sd: float
    t: float
    lost_um: Estimate
    flat_um: Estimate
    shift_mm: float


def scale_heights(fit: DesignedFit, rounding: Rounding, lit: LitFace) -> ScaleResult:
    """Set the fitted amplitudes against the printed ones by generalised least squares.

    Each stretch has the fit's own scatter and the printer's steps for itself, and steeper stretches
    more of the light's doubt; lamp, gloss and rounding act on all alike, so they neither pull the
    scale nor the straightness, only widen the scale's interval.
    """
    turn = _turn(fit)
    all_um, spread = _in_phase(fit, turn)
    rippled = [k for k, s in enumerate(CHECK_RIPPLE.stretches) if s.amplitude_um]
    flat = next(k for k, s in enumerate(CHECK_RIPPLE.stretches) if not s.amplitude_um)
    measured = all_um[rippled]
    spread = spread[np.ix_(rippled, rippled)] + SD_FLOOR_UM**2 * np.eye(len(rippled))
    designed = np.array([CHECK_RIPPLE.stretches[k].amplitude_um for k in rippled])
    kept, kept_sd = rounding.kept(CHECK_RIPPLE.wavelength_mm)
    printed, printed_sd = designed * kept, np.hypot(designed * kept_sd, SD_STEP_UM)
    wave_mm = CHECK_RIPPLE.wavelength_mm
    common = lit.size_sd(contrast=0.0, wave_mm=wave_mm)
    contrast = np.abs(measured) / 1e3 * 2 * np.pi / wave_mm * abs(lit.gain)
    whole = np.array([lit.size_sd(contrast=c, wave_mm=wave_mm) for c in contrast])
    steep = np.sqrt(np.maximum(whole**2 - common**2, 0.0))
    inverse = np.linalg.inv(spread + np.diag((steep * measured) ** 2 + SD_STEP_UM**2))
    t = float(stats.t.ppf(0.975, len(lit.problem.log_light) - 1))

    variance = 1 / float(printed @ inverse @ printed)
    scale = variance * float(printed @ inverse @ measured)
    shared_sd = abs(scale) * float(np.hypot(common, kept_sd / kept))
    columns = np.stack([printed, -np.ones_like(printed)], axis=1)
    line = np.linalg.inv(columns.T @ inverse @ columns)
    lost = float((line @ columns.T @ inverse @ measured)[1])

    own_sd = np.sqrt(np.diag(spread))
    size_sd = np.hypot(own_sd, whole * measured)
    ratio_sd = np.hypot(size_sd / printed, measured / printed**2 * printed_sd)
    flat_um = float(np.hypot(*fit.amplitude_um[flat]))
    flat_sd = np.sqrt(np.diag(fit.covariance_um2)[2 * flat : 2 * flat + 2].mean())
    flat_half = t * float(np.hypot(flat_sd, SD_FLOOR_UM))
    return ScaleResult(
        stretches=tuple(
            StretchResult(
                float(designed[k]),
                Estimate.around(printed[k], t * printed_sd[k]),
                Estimate.around(measured[k], t * size_sd[k]),
                Estimate.around(measured[k] / printed[k], t * ratio_sd[k]),
            )
            for k in range(len(rippled))
        ),
        scale=Estimate.around(scale, t * np.hypot(np.sqrt(variance), shared_sd)),
        own_sd=float(np.sqrt(variance)),
        shared_sd=shared_sd,
        t=t,
        lost_um=Estimate.around(lost, t * np.sqrt(line[1, 1])),
        flat_um=Estimate(flat_um, max(flat_um - flat_half, 0.0), flat_um + flat_half),
        shift_mm=turn / (2 * np.pi) * wave_mm,
    )


def _turn(fit: DesignedFit) -> float:
    """The phase by which the whole ripple leads the design, weighed by the designed sizes."""
    designed = np.array([s.amplitude_um for s in CHECK_RIPPLE.stretches])
    a, b = designed @ fit.amplitude_um
    return float(np.arctan2(-b, a))


def _in_phase(fit: DesignedFit, turn: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Each stretch's amplitude at the common phase, (K,) in um, and their covariance (K, K)."""
    ahead = np.array([np.cos(turn), -np.sin(turn)])
    project = np.kron(np.eye(len(fit.amplitude_um)), ahead)
    return fit.amplitude_um @ ahead, project @ fit.covariance_um2 @ project.T
