"""From gaps to metrics, each with its 95 % interval."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scoring.estimate import Z95, Estimate
from scoring.gaps.boundaries import Boundaries
from scoring.gaps.closed import JUDGE_MM
from scoring.gaps.columns import Columns
from scoring.gaps.dim import measure_dim_mm2
from scoring.gaps.extent import measure_lengths_mm
from scoring.gaps.gain import MUCH_CLIPPED
from scoring.gaps.gaps import USUAL_RISE, Evidence, Gaps, choose_open, find_dark, list_gaps
from scoring.gaps.recovery import PEAK_SHARE, OpenProfile, find_recovery_mm, profile_openness
from scoring.gaps.stretches import Stretches
from scoring.geometry import BLADE
from scoring.registration.grooves import SD_OUTLINE_MM

LOOSE, TIGHT = 0.65, 1.5
"""Gaps are also judged at these multiples of the threshold: what changes with it is uncertain."""

TIGHT_GROW_SHARE = 0.65
"""In the tight judgement a gap also ends earlier, so that two in a row fall apart."""

ZONE_MM = BLADE.recovery_zone_u_mm[1] - BLADE.recovery_zone_u_mm[0]
END_LOST_MM, TIGHT_LOST_MM, END_SD_MM = 0.15, 0.63, 0.25
"""Slots narrow towards their ends, so that both together lie so far within the true ones where the
dark falls to ``GROW_SHARE`` or to ``TIGHT_GROW_SHARE`` (medians over gaps of 2 mm and more, traced
and drawn alike); how slots end differs, hence the rest."""

FAINT_RATIO, FADING_GROW_SHARE, FADING_TAIL_SHARE = 2.0, 0.3, 0.35
"""A gap that nowhere tops the threshold twofold may run on through a fainter stretch."""

PEAK_SHARES = (0.85 * PEAK_SHARE, PEAK_SHARE, 1.18 * PEAK_SHARE)
RECOVERY_SD_MM = 0.15
COUNT_SHARE, CLIPPED_COUNT = 0.05, 0.5
UNSEEN_SHARE, UNSEEN_SIZE, MOST_UNSEEN = 0.45, 0.5, 3.0
"""By traced tuning photos: 198 missed, 432 between once and twice the threshold. A missed one is
half as large as one of those; there may be up to three times as many (by drawn photos)."""

MOST_DIM = 2.0
"""Gaps below the threshold may fill so much more than what of them is clearly dark."""

LEAST_FAINT = 0.1
"""No faint gap is taken for so much smaller than one just to be seen: it lies at the zone's end."""

MISSED_GAPS = 3.0
"""With no gap found, up to three are not excluded at 95 % (Poisson)."""

BLIND_DEPTH, BLIND_GAPS = 0.25, 30.0
"""Where gaps must be darker than this to be seen, as under glints, finding none says little."""

UNSURE = {"gap_fraction": (0.1, 0.003), "gap_longest_mm": (0.15, 1.0), "recovery_mm": (0.0, 1.0)}
"""Sizes are unsure where an interval reaches over this share of the value and this amount."""

LIMIT_LENGTH_MM = 2.4
WINDOW_DOUBT_MM = 2.0


@dataclass(frozen=True)
class Reading:
    """Every number at one strictness.

    ``sure`` gaps in the recovery zone top the usual threshold, ``faint`` ones of them by less than
    twice; these fill ``faint_mm2``. ``lost_mm`` is what marking leaves out at a gap's two ends.
    """

    profile: OpenProfile
    fraction: float
    steady_fraction: float
    lengths_mm: NDArray[np.float64]
    sure: int
    faint: int
    faint_mm2: float
    lost_mm: float


@dataclass(frozen=True)
class GapNumbers:
    """The metrics, and what else a caller draws from.

    ``unsure`` tells that an interval of theirs is wider than ``UNSURE`` allows.
    """

    metrics: dict[str, Estimate]
    profile: OpenProfile
    gaps: Gaps
    unsure: bool


def estimate_numbers(
    open_mm: NDArray[np.float64],
    usual: Stretches,
    evidence: Evidence,
    boundaries: Boundaries,
    columns: Columns,
    *,
    spread: float,
    sd_log_gain: float,
    lamp_rise: float = USUAL_RISE,
    sd_u_mm: float = SD_OUTLINE_MM,
) -> GapNumbers:
    """Metrics with intervals from noise, gain, and a looser and a tighter judgement of gaps.

    ``open_mm`` (K, C) is the open height, ``usual`` what may be gaps (:func:`find_dark`),
    ``spread`` the height's scatter in layer pitches where layers touch, ``sd_log_gain`` the
    uncertainty of its scale, ``sd_u_mm`` that of u.
    """

    def judge(dark: Stretches, strictness: float, lost_mm: float) -> tuple[Gaps, Reading]:
        member = choose_open(dark, evidence, columns, strictness=strictness)
        gaps = list_gaps(member, open_mm, columns, lamp_rise=lamp_rise)
        profile = profile_openness(open_mm, gaps, boundaries, columns)
        lengths_mm = measure_lengths_mm(gaps, boundaries, columns, lost_mm=lost_mm)
        reading = Reading(
            profile,
            profile.mean_over(BLADE.recovery_zone_u_mm),
            profile.mean_over(BLADE.steady_zone_u_mm),
            lengths_mm[lengths_mm > 0],
            *_grade(gaps, open_mm, evidence, boundaries, columns),
            lost_mm,
        )
        return gaps, reading

    apart = find_dark(evidence, columns, grow_share=TIGHT_GROW_SHARE)
    gaps, best = judge(usual, 1.0, END_LOST_MM)
    tight = max(TIGHT, evidence.most)
    loose = min(LOOSE, evidence.least)
    readings = (
        judge(apart, tight, TIGHT_LOST_MM)[1],
        best,
        judge(usual, loose, END_LOST_MM)[1],
    )
    dim_mm2 = MOST_DIM * measure_dim_mm2(gaps, open_mm, evidence, boundaries, columns)
    need = evidence.need
    blind = need > BLIND_DEPTH and not best.lengths_mm.size
    limit = (
        (BLIND_GAPS if need > BLIND_DEPTH else MISSED_GAPS)
        * need
        * boundaries.pitch_mm
        * LIMIT_LENGTH_MM
    )
    metrics = {
        "gap_longest_mm": _longest(
            readings,
            blind=blind,
            fading_mm=_longest_fading_mm(open_mm, evidence, boundaries, columns, lamp_rise),
        ),
        "gap_count": _count(
            readings,
            blind=blind,
            clipped_share=columns.clipped_share,
            dim_mm2=dim_mm2,
            least_mm2=need * boundaries.pitch_mm * LIMIT_LENGTH_MM,
        ),
        "recovery_mm": _recovery(
            readings,
            blind=blind,
            unseen_mm=need * boundaries.pitch_mm,
            sd_u_mm=sd_u_mm,
        ),
    }
    low, high = BLADE.measured_band_w_mm
    unseen_mm2 = UNSEEN_SHARE * UNSEEN_SIZE * best.faint_mm2
    for name, zone, values, unseen, most in (
        (
            "gap_fraction",
            BLADE.recovery_zone_u_mm,
            [r.fraction for r in readings],
            unseen_mm2,
            max(MOST_UNSEEN * unseen_mm2, dim_mm2),
        ),
        (
            "steady_gap_fraction",
            BLADE.steady_zone_u_mm,
            [r.steady_fraction for r in readings],
            0.0,
            0.0,
        ),
    ):
        area = (high - low) * (zone[1] - zone[0])
        open_ = (gaps.member > 0) & boundaries.in_band[:, None] & columns.inside(zone)
        length = float(open_.sum()) * columns.width_mm
        noise = spread * boundaries.pitch_mm * float(np.sqrt(length * JUDGE_MM)) / area
        metrics[name] = _fraction(
            values, (unseen / area, most / area), noise, sd_log_gain, limit / area
        )
    unsure = any(metrics[name].is_unsure(*limits) for name, limits in UNSURE.items())
    return GapNumbers(metrics, best.profile, gaps, unsure)


def _fraction(
    values: list[float],
    unseen: tuple[float, float],
    noise: float,
    sd_log: float,
    limit: float,
) -> Estimate:
    """The open area found and that of the gaps likely missed: none, or as much as there may be.

    ``unseen`` are these two.
    """
    tight, best, loose = values
    likely, most = unseen
    scale = float(np.exp(Z95 * sd_log))
    low = best / scale - Z95 * noise - max(best - tight, limit) / 2
    high = best * scale + Z95 * noise + max(loose - best, most) + limit
    # What the tight judgement leaves out altogether may not be there.
    return Estimate(best + likely, max(0.0, min(low, tight)), min(1.0, high))


def _longest(readings: tuple[Reading, ...], *, blind: bool, fading_mm: float) -> Estimate:
    """The longest gap, or as long as a faint one may be if it runs on (``fading_mm``)."""
    tight, best, loose = (float(r.lengths_mm.max(initial=0.0)) for r in readings)
    reach = Z95 * END_SD_MM
    low = min(tight, best) - reach
    high = ZONE_MM if blind else min(ZONE_MM, max(best, loose, fading_mm) + reach)
    return Estimate(best, max(0.0, low), high)


def _longest_fading_mm(
    open_mm: NDArray[np.float64],
    evidence: Evidence,
    boundaries: Boundaries,
    columns: Columns,
    lamp_rise: float,
) -> float:
    """Length of the longest faint gap as far as anything is seen of it; 0 where none is faint."""
    dark = find_dark(evidence, columns, grow_share=FADING_GROW_SHARE, tail_share=FADING_TAIL_SHARE)
    member = choose_open(dark, evidence, columns)
    gaps = list_gaps(member, open_mm, columns, lamp_rise=lamp_rise)
    darkest = _find_darkest(gaps, evidence, np.flatnonzero(gaps.member > 0))
    lengths_mm = measure_lengths_mm(gaps, boundaries, columns, lost_mm=0.0)
    return float(lengths_mm[darkest[1:] < FAINT_RATIO].max(initial=0.0))


def _find_darkest(gaps: Gaps, evidence: Evidence, places: NDArray[np.intp]) -> NDArray[np.float64]:
    """Depth over the threshold at each gap's darkest of flat ``places``, by its number, (G + 1,).

    0 for a gap that has none of them, and for number 0.
    """
    darkest = np.zeros(gaps.row.size + 1)
    np.maximum.at(darkest, gaps.member.ravel()[places], evidence.ratio.ravel()[places])
    return darkest


def _grade(
    gaps: Gaps,
    open_mm: NDArray[np.float64],
    evidence: Evidence,
    boundaries: Boundaries,
    columns: Columns,
) -> tuple[int, int, float]:
    """How many gaps of the recovery zone top the usual threshold; how many by less than twice.

    Last comes the open area of these, in mm^2.
    """
    zone = boundaries.in_band[:, None] & columns.inside(BLADE.recovery_zone_u_mm)
    inside = np.flatnonzero((gaps.member > 0) & zone)
    top = _find_darkest(gaps, evidence, inside)
    open_mm2 = open_mm.ravel()[inside] * columns.width_mm
    area = np.bincount(gaps.member.ravel()[inside], weights=open_mm2, minlength=top.size)
    faint = (top >= 1) & (top < FAINT_RATIO)
    return int((top >= 1).sum()), int(faint.sum()), max(0.0, float(area[faint].sum()))


def _count(
    readings: tuple[Reading, ...],
    *,
    blind: bool,
    clipped_share: float,
    dim_mm2: float,
    least_mm2: float,
) -> Estimate:
    """The gaps found and those likely missed.

    Depths of gaps thin out towards nothing: below the threshold lie about ``UNSEEN_SHARE`` as many
    as between once and twice it; there may be as many as fill what is dark without being a gap,
    ``dim_mm2``. A gap just to be seen is ``least_mm2`` large, where no faint one says otherwise.
    """
    counts = [r.lengths_mm.size for r in readings]
    found, best = counts[1], readings[1]
    unseen = UNSEEN_SHARE * best.faint
    value = float(max(found, round(best.sure + unseen)))
    low = (min(counts) - 1) * (1 - COUNT_SHARE)
    faint_mm2 = best.faint_mm2 / best.faint if best.faint else least_mm2
    dim = dim_mm2 / (UNSEEN_SIZE * max(faint_mm2, LEAST_FAINT * least_mm2))
    most = max(*counts, best.sure + MOST_UNSEEN * unseen, best.sure + dim, value)
    most *= 1 + CLIPPED_COUNT * float(np.interp(clipped_share, MUCH_CLIPPED, (0, 1)))
    high = (most + (BLIND_GAPS if blind else 2)) * (1 + COUNT_SHARE)
    return Estimate(value, float(max(0, np.floor(low))), float(np.ceil(high)))


def _recovery(
    readings: tuple[Reading, ...], *, blind: bool, unseen_mm: float, sd_u_mm: float
) -> Estimate:
    """Where gaps end; one as high as ``unseen_mm``, too faint to be seen, may be the last."""

    def end_mm(reading: Reading, peak_share: float = PEAK_SHARE) -> float:
        end = find_recovery_mm(reading.profile, peak_share=peak_share)
        return end + reading.lost_mm / 2 if end > 0 else 0.0

    value = end_mm(readings[1])
    ends = [end_mm(r, s) for r in readings for s in PEAK_SHARES]
    reach = Z95 * float(np.hypot(RECOVERY_SD_MM, sd_u_mm))
    if value == 0:
        most = max(WINDOW_DOUBT_MM, max(ends) + reach)
        return Estimate(0.0, 0.0, ZONE_MM if blind else min(most, ZONE_MM))
    low, high = BLADE.measured_band_w_mm
    loose = readings[-1]
    share = loose.profile.share + unseen_mm / (high - low)
    more = replace(loose, profile=replace(loose.profile, share=share))
    ends.append(min(end_mm(more), value + LIMIT_LENGTH_MM))
    return Estimate(value, max(0.0, min(ends) - reach), min(ZONE_MM, max(ends) + reach))
