"""Acceptance limits and how far up the accelerations prints keep within them: plain results."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from scoring.estimate import Estimate


class Rung(StrEnum):
    """How one acceleration stands to the limits, with 95 % confidence; ``UNSURE``: neither."""

    PASSES = "passes"
    FAILS = "fails"
    UNSURE = "unsure"


class Reach(StrEnum):
    """How the run of accelerations ended.

    ``FOUND``: some pass, the next one up does not. ``NOT_REACHED``: all that were printed pass, so
    the limit lies higher. ``NEVER``: the lowest does not pass. ``UNKNOWN``: nothing was measured.
    """

    FOUND = "found"
    NOT_REACHED = "not reached"
    NEVER = "never passes"
    UNKNOWN = "not measured"


@dataclass(frozen=True)
class AcceptanceLimit:
    """The largest value of ``metric`` that the user accepts, in the metric's unit."""

    metric: str
    most: float


@dataclass(frozen=True)
class LadderRung:
    """One metric at one acceleration: the prints' mean with its 95 % interval (two-sided), the
    one-sided 95 % bounds that judge it, and the judgement."""

    accel_mm_s2: float
    value: Estimate
    least: float
    most: float
    prints: int
    rung: Rung


@dataclass(frozen=True)
class Ladder:
    """One metric of one machine and setup up the accelerations, lowest first.

    ``highest_mm_s2`` is the highest acceleration up to which every one printed passes, ``None``
    where there is none. ``between_prints`` says whether the bounds know how prints differ (some
    acceleration has several prints that show something) or only how well photos measure.
    """

    limit: AcceptanceLimit
    rungs: tuple[LadderRung, ...]
    reach: Reach
    highest_mm_s2: float | None
    between_prints: bool
    sentence: str


@dataclass(frozen=True)
class LimitResult:
    """One machine and setup against all limits together.

    ``group`` has machine, setup, axis, outer-wall speed and filament by setting name. ``ladders``
    has one a limit; ``reach`` and ``highest_mm_s2`` are for all limits at once: as far as the first
    of them that does not hold.
    """

    group: Mapping[str, object]
    ladders: tuple[Ladder, ...]
    reach: Reach
    highest_mm_s2: float | None
    sentence: str
