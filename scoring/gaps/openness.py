"""How far each boundary between layers stands open, column by column."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_banded
from scipy.special import erfc

from scoring.gaps.closed import JUDGE_MM, Darkness
from scoring.gaps.columns import Columns

USUAL_SPILL_UP, USUAL_SPILL_DOWN = 0.03, 0.0
MAX_SPILL = 0.25
STRONG_SD, STRONG_SHARE = 6.0, 0.15
PRIOR_MM, PRIOR_SHARE = 10.0, 0.3


@dataclass(frozen=True)
class Openness:
    """Open height of every boundary in layer pitches, ``share`` (K, C): 0 on average where closed.

    ``spill_down`` is the share of a gap's dark found in the pitch below; below 0 where glints
    brighten the lip there.
    """

    share: NDArray[np.float64]
    spill_down: float


def measure_openness(darkness: Darkness, columns: Columns, *, blur_pitch: float) -> Openness:
    """Open height of every boundary.

    ``darkness`` is of the mean light over a pitch. That integral does not ask how deep the valley
    between two beads is, nor how the lens spread it: an open slot takes its own height out of the
    lit surface, whatever it is seen through. What the lens and the flanks beside a slot spill
    into neighbouring pitches is measured on the strongest gaps of the photo and taken back.
    ``blur_pitch`` is the blur's standard deviation in pitches.
    """
    up, down = _measure_spill(darkness.share, columns, darkness.sd, blur_pitch)
    bands = np.zeros((3, darkness.share.shape[0]))
    bands[0, 1:], bands[1], bands[2, :-1] = down, 1 - up - down, up
    inverse = solve_banded((1, 1), bands, np.eye(darkness.share.shape[0]))
    return Openness(np.asarray(inverse @ darkness.share), down)


def _measure_spill(
    share: NDArray[np.float64], columns: Columns, sd: float, blur_pitch: float
) -> tuple[float, float]:
    """Share of a gap's dark that falls into the pitch above, and below.

    Ratios of closed neighbours to strong gaps, drawn to what the photo's blur foretells with the
    weight of ``PRIOR_MM`` of a gap of ``PRIOR_SHARE`` pitches.
    """
    smooth = columns.smooth(share, JUDGE_MM)
    middle = smooth[1:-1]
    strong = middle > max(STRONG_SD * sd, STRONG_SHARE)
    here = middle[strong]
    lost = 0.5 * float(erfc(0.5 / np.sqrt(2) / max(blur_pitch, 1e-3)))
    usual = np.array([lost + USUAL_SPILL_UP, lost + USUAL_SPILL_DOWN])
    prior = PRIOR_MM / columns.width_mm * PRIOR_SHARE**2
    ratios = []
    for neighbour, begin in zip((smooth[2:], smooth[:-2]), usual / (1 - usual.sum()), strict=True):
        there, ratio = neighbour[strong], float(begin)
        for _ in range(5):
            shut = np.abs(there - ratio * here) < 2.5 * sd + 0.03 * here
            ratio = float(
                ((here * there)[shut].sum() + prior * begin) / ((here**2)[shut].sum() + prior)
            )
        ratios.append(ratio)
    up, down = np.clip(np.array(ratios) / (1 + sum(ratios)), -MAX_SPILL / 2, MAX_SPILL)
    return float(up), float(down)
