"""An estimate as people read it: as many digits as its interval is worth."""

import math
from collections.abc import Sequence

from scoring.estimate import Estimate


def format_estimate(estimate: Estimate) -> tuple[str, str]:
    """Value and interval, to two digits of the interval's half-width (GUM, JCGM 100, 7.2.6)."""
    return format_estimates([estimate])[0]


def format_estimates(column: Sequence[Estimate]) -> list[tuple[str, str]]:
    """Estimates of one column, all with the decimals that the middle one of them calls for."""
    halves = sorted(e.half_width for e in column if e.half_width > 0)
    decimals = 3
    if halves:
        decimals = min(max(0, 1 - math.floor(math.log10(halves[len(halves) // 2]))), 9)
    return [
        (f"{e.value:.{decimals}f}", f"{e.low:.{decimals}f} to {e.high:.{decimals}f}")
        for e in column
    ]
