"""What two lamps see alike: stains, and whether the two photos show one coupon at all."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import stats
from scipy.ndimage import gaussian_filter1d

from scoring.errors import DifferentCouponsError
from scoring.geometry import BLADE
from scoring.ripple.components import slopes
from scoring.ripple.fit import Solution
from scoring.ripple.light import LitFace
from scoring.ripple.pair import JoinedFaces

GRAIN_MM = (0.1, 0.25)
"""Widths between which the layers' grain is compared: finer is noise, coarser may be ripple."""

STAIN_SHARE, STAIN_OVER_RIPPLE = 0.0025, 0.2
"""Below the one noise, below the other what steep ripples leave in the sum: from tuning pairs."""

SD_LEAK = 0.05
"""How much of a stain may well be left in the difference: gloss and tone curve show it unevenly."""

MIN_LIGHT = 1e-3
FALSE_ALARM = 1e-3
"""Chance that the grains of two coupons are taken for one."""


def require_one_coupon(joined: JoinedFaces) -> None:
    """Raise :class:`DifferentCouponsError` where the layers' grain is not the same in both photos.

    Every print has its own fine roughness. Each strip's, what all strips share taken out, is
    correlated with the same strip of the other photo; the other strips tell what chance would give.
    """
    lit = joined.lit.problem
    step = float(lit.track.u_mm[1] - lit.track.u_mm[0])
    shown = lit.weight > 0

    def grain(log_light: NDArray[np.float64]) -> NDArray[np.float64]:
        own = np.where(lit.valid, log_light, 0.0)
        own = own - own.mean(axis=0)
        fine, coarse = (gaussian_filter1d(own, w / step, axis=1) for w in GRAIN_MM)
        grain = (fine - coarse)[:, shown]
        # Where ripples are steep layers differ most; every column is to say as much.
        return np.asarray(grain / np.maximum(np.sqrt((grain**2).mean(axis=0)), 1e-9))

    a, b = grain(joined.left_log), grain(joined.right_log)
    alike = float(np.sum(a * b))
    by_chance = [float(np.sum(a * np.roll(b, k, axis=0))) for k in range(1, len(a))]
    spread = float(np.sqrt(np.mean(np.square(by_chance))))
    chance = 2 * float(stats.t.sf(abs(alike) / max(spread, 1e-30), len(by_chance)))
    if chance > FALSE_ALARM:
        raise DifferentCouponsError(
            "The layers' fine pattern in one photo is not found in the other: they show different "
            "coupons, or one is too soft to tell. Photograph one coupon twice, in focus, moving "
            "only the lamp; measure different coupons one by one."
        )


@dataclass(frozen=True)
class Stain:
    """How the filament's colour varies along the face, over the clean colour: ``profile`` (N,).

    ``share`` is its RMS over the zone, ``ripple_contrast`` that of the ripple's own light there.
    """

    profile: NDArray[np.float64]
    share: float
    ripple_contrast: float

    @property
    def stands_out(self) -> bool:
        """Whether it is more than noise and what steep ripples leave."""
        return self.share > max(STAIN_SHARE, STAIN_OVER_RIPPLE * self.ripple_contrast)


def find_stain(joined: JoinedFaces, solution: Solution) -> Stain:
    """The stain that all strips share, ``solution`` being the ripple found.

    What slopes leave in the sum is taken out, and so is what is as smooth as the baseline.
    """
    problem = joined.lit.problem
    u = problem.track.u_mm
    slope = problem.facet_slope + slopes(solution.components, problem.track)
    count = np.maximum(problem.valid.sum(axis=0), 1)
    mean = np.where(problem.valid, joined.even_log, 0.0).sum(axis=0) / count
    profile = mean - np.log(np.maximum(joined.even_response.light(slope)[0], MIN_LIGHT))
    root = np.sqrt(problem.weight)
    columns = np.concatenate([problem.base * root[:, None], np.diag(1 / problem.base_sd)])
    target = np.concatenate([profile * root, np.zeros(len(problem.base_sd))])
    profile = profile - problem.base @ np.linalg.lstsq(columns, target, rcond=None)[0]
    low, high = BLADE.ringdown_zone_u_mm
    zone = (u > low) & (u < high) & (problem.weight > 0)
    ripple = joined.lit.gain * (slope - problem.facet_slope)
    share, contrast = (float(np.sqrt((x[zone] ** 2).mean())) for x in (profile, ripple))
    return Stain(profile, share, contrast)


def allow_leak(lit: LitFace, stain: Stain) -> LitFace:
    """``lit`` with a little of ``stain``, more at one end than the other, as part of its baseline.

    The matt share of the light, and the tone curve's slope, are not quite the same in both photos.
    """
    problem = lit.problem
    along = np.linspace(-1, 1, stain.profile.size)
    leak = np.stack([stain.profile, stain.profile * along], axis=1)
    base = np.concatenate([problem.base, leak], axis=1)
    base_sd = np.concatenate([problem.base_sd, np.full(leak.shape[1], SD_LEAK)])
    return replace(lit, problem=replace(problem, base=base, base_sd=base_sd))
