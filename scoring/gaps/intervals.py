"""From gaps to metrics, each with its 95 % interval."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.estimate import Estimate
from scoring.gaps.boundaries import Boundaries
from scoring.gaps.closed import JUDGE_MM
from scoring.gaps.columns import Columns
from scoring.gaps.extent import measure_lengths_mm
from scoring.gaps.gaps import GROW_SHARE, Evidence, Gaps, list_gaps, mark_open
from scoring.gaps.recovery import PEAK_SHARE, OpenProfile, find_recovery_mm, profile_openness
from scoring.geometry import BLADE

LOOSE, TIGHT = 0.65, 1.5
"""Gaps are also judged at these multiples of the threshold: what changes with it is uncertain."""

TIGHT_GROW_SHARE = 0.65
"""In the tight judgement a gap also ends earlier, so that two in a row fall apart."""

NORMAL_95 = 1.96
ZONE_MM = BLADE.recovery_zone_u_mm[1] - BLADE.recovery_zone_u_mm[0]
END_SD_MM = 0.45
PEAK_SHARES = (0.85 * PEAK_SHARE, PEAK_SHARE, 1.18 * PEAK_SHARE)
RECOVERY_SD_MM = 0.3
COUNT_SHARE = 0.1
MISSED_GAPS = 3.0
"""With no gap found, up to three are not excluded at 95 % (Poisson)."""

BLIND_DEPTH, BLIND_GAPS = 0.25, 30.0
"""Where gaps must be darker than this to be seen, as under glints, finding none says little."""

LIMIT_LENGTH_MM = 2.4
WINDOW_DOUBT_MM = 2.0


@dataclass(frozen=True)
class Reading:
    """Every number at one strictness."""

    profile: OpenProfile
    fraction: float
    steady_fraction: float
    lengths_mm: NDArray[np.float64]


@dataclass(frozen=True)
class GapNumbers:
    """The metrics, and what else a caller draws from."""

    metrics: dict[str, Estimate]
    profile: OpenProfile
    gaps: Gaps


def estimate_numbers(
    open_mm: NDArray[np.float64],
    evidence: Evidence,
    boundaries: Boundaries,
    columns: Columns,
    *,
    spread: float,
    sd_log_gain: float,
) -> GapNumbers:
    """Metrics with intervals from noise, gain, and a looser and a tighter judgement of gaps.

    ``open_mm`` (K, C) is the open height, ``spread`` its scatter in layer pitches where layers
    touch, ``sd_log_gain`` the uncertainty of its scale.
    """

    def judge(strictness: float, grow_share: float = GROW_SHARE) -> tuple[Gaps, Reading]:
        member = mark_open(evidence, columns, strictness=strictness, grow_share=grow_share)
        gaps = list_gaps(member, open_mm, columns)
        profile = profile_openness(open_mm, gaps, boundaries, columns)
        reading = Reading(
            profile,
            profile.mean_over(BLADE.recovery_zone_u_mm),
            profile.mean_over(BLADE.steady_zone_u_mm),
            measure_lengths_mm(gaps, boundaries, columns),
        )
        return gaps, reading

    gaps, best = judge(1.0)
    readings = judge(TIGHT, TIGHT_GROW_SHARE)[1], best, judge(LOOSE)[1]
    need = evidence.need
    unsure = need > BLIND_DEPTH and not best.lengths_mm.size
    limit = (
        (BLIND_GAPS if need > BLIND_DEPTH else MISSED_GAPS)
        * need
        * boundaries.pitch_mm
        * LIMIT_LENGTH_MM
    )
    metrics = {
        "gap_longest_mm": _longest(readings, blind=unsure),
        "gap_count": _count(readings, blind=unsure),
        "recovery_mm": _recovery(readings, blind=unsure),
    }
    low, high = BLADE.measured_band_w_mm
    for name, zone, values in (
        ("gap_fraction", BLADE.recovery_zone_u_mm, [r.fraction for r in readings]),
        ("steady_gap_fraction", BLADE.steady_zone_u_mm, [r.steady_fraction for r in readings]),
    ):
        area = (high - low) * (zone[1] - zone[0])
        open_ = (gaps.member > 0) & boundaries.in_band[:, None] & columns.inside(zone)
        length = float(open_.sum()) * columns.width_mm
        noise = spread * boundaries.pitch_mm * float(np.sqrt(length * JUDGE_MM)) / area
        metrics[name] = _fraction(values, noise, sd_log_gain, limit / area)
    return GapNumbers(metrics, best.profile, gaps)


def _fraction(values: list[float], noise: float, sd_log: float, limit: float) -> Estimate:
    tight, best, loose = values
    scale = float(np.exp(NORMAL_95 * sd_log))
    low = best / scale - NORMAL_95 * noise - max(best - tight, limit) / 2
    high = best * scale + NORMAL_95 * noise + max(loose - best, 0.0) + limit
    return Estimate(best, max(0.0, min(low, best)), min(1.0, high))


def _longest(readings: tuple[Reading, ...], *, blind: bool) -> Estimate:
    longest = [float(r.lengths_mm.max(initial=0.0)) for r in readings]
    reach = NORMAL_95 * END_SD_MM
    low = min(longest) - reach if longest[1] > 0 else 0.0
    high = ZONE_MM if blind else min(ZONE_MM, max(longest) + reach)
    return Estimate(longest[1], max(0.0, low), high)


def _count(readings: tuple[Reading, ...], *, blind: bool) -> Estimate:
    counts = [r.lengths_mm.size for r in readings]
    low = (min(counts) - 1) * (1 - COUNT_SHARE)
    high = (max(counts) + (BLIND_GAPS if blind else 2)) * (1 + COUNT_SHARE)
    return Estimate(float(counts[1]), float(max(0, np.floor(low))), float(np.ceil(high)))


def _recovery(readings: tuple[Reading, ...], *, blind: bool) -> Estimate:
    value = find_recovery_mm(readings[1].profile)
    if value == 0:
        return Estimate(0.0, 0.0, ZONE_MM if blind else WINDOW_DOUBT_MM)
    ends = [
        find_recovery_mm(r.profile, peak_share=share)
        for r in readings
        for share in PEAK_SHARES
        if r.lengths_mm.size
    ]
    reach = NORMAL_95 * RECOVERY_SD_MM
    return Estimate(value, max(0.0, min(ends) - reach), min(ZONE_MM, max(ends) + reach))
