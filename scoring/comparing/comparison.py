"""What a comparison of two sides says: plain results, from one print up to the whole."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from scoring.estimate import Estimate
from scoring.flags import Flag
from scoring.runs.settings import RunSettings
from scoring.store.records import MeasurementRecord


class Scale(StrEnum):
    """How a metric compares: ripples as after / before, gaps as after - before."""

    RATIO = "ratio"
    DIFFERENCE = "difference"


class Basis(StrEnum):
    """What an effect's interval stands on.

    ``PRINTS``: the scatter between prints, with everything in it that varies from print to print.
    ``MEASUREMENT``: a single print a side, so only what the photos' own intervals say; how prints
    of the same settings would differ is not known. ``NONE``: there is no interval.
    """

    PRINTS = "prints"
    MEASUREMENT = "measurement"
    NONE = "none"


class Outcome(StrEnum):
    """What the interval allows to say of after against before; ``OPEN``: neither established."""

    LOWER = "lower"
    HIGHER = "higher"
    OPEN = "open"


@dataclass(frozen=True)
class Print:
    """One print: its settings and its numbers, all photos of it averaged first.

    ``metrics`` is as in :class:`scoring.ranking.run_numbers.RunNumbers`; ``records`` has each
    photo's own numbers, trace and hash, in order of adding.
    """

    settings: RunSettings
    metrics: Mapping[str, Estimate]
    records: tuple[MeasurementRecord, ...]
    flags: tuple[Flag, ...]
    stale: bool


@dataclass(frozen=True)
class Side:
    """One side of the comparison: the factor's ``value`` there (``None``: not given), the same in
    ``words`` with its unit, and every print that has it, paired or not."""

    value: object
    words: str
    prints: tuple[Print, ...]


@dataclass(frozen=True)
class PrintPair:
    """The prints of both sides that agree in everything paired ``on``, at least one each.

    ``on`` has the shared settings by name; ``extra.NAME`` for a further named value.
    """

    on: Mapping[str, object]
    before: tuple[Print, ...]
    after: tuple[Print, ...]

    @property
    def accel_mm_s2(self) -> float | None:
        """The shared acceleration, or ``None`` where acceleration is what is compared."""
        accel = self.on.get("accel_mm_s2")
        return float(accel) if isinstance(accel, int | float) else None


@dataclass(frozen=True)
class Confounder:
    """A setting other than the factor that differs between the sides, so may be the true cause.

    ``before`` and ``after`` are the values that occur, as people read them, in order; "not given"
    for one that is not known. ``pairs`` counts the pairs in which it differs.
    """

    name: str
    words: str
    before: tuple[str, ...]
    after: tuple[str, ...]
    pairs: int

    def __str__(self) -> str:
        return f"{self.words}: {', '.join(self.before)} before, {', '.join(self.after)} after"


@dataclass(frozen=True)
class Remark:
    """Something to know before the numbers are believed; ``code`` is stable, for programs."""

    code: str
    sentence: str


@dataclass(frozen=True)
class Effect:
    """What happened to one metric, at one acceleration or (``accel_mm_s2`` ``None``) over all.

    On the ratio scale ``value``, ``low`` and ``high`` are after / before (1 is no change), else
    after - before in the metric's ``unit`` (0 is no change). ``low`` or ``high`` is ``None`` where
    that side of the interval is open: no ripple was found on one of the sides, so only a bound on
    the ratio is known; all three are ``None`` where nothing can be said.
    ``p_exact`` is the two-sided p of the exact permutation test and ``p_least`` the smallest that
    so many prints could give at all. ``smallest_change`` is the change that would have been
    established with a chance of 80 %: a ratio below 1, or a difference above 0.
    ``not_found_before`` and ``not_found_after`` count prints without a ripple among those of
    ``pairs``, or among all where ``pairs`` is 0.
    """

    metric: str
    unit: str
    scale: Scale
    accel_mm_s2: float | None
    value: float | None
    low: float | None
    high: float | None
    basis: Basis
    outcome: Outcome
    p_exact: float | None
    p_least: float | None
    smallest_change: float | None
    pairs: int
    prints_before: int
    prints_after: int
    photos_before: int
    photos_after: int
    not_found_before: int
    not_found_after: int
    sentence: str

    @property
    def no_change(self) -> float:
        """The value that means no change: 1 for a ratio, 0 for a difference."""
        return 1.0 if self.scale is Scale.RATIO else 0.0


@dataclass(frozen=True)
class Comparison:
    """Two sides of one factor set against each other; made by ``compare.compare_sides``.

    Read ``confounders`` and ``remarks`` before the effects. ``paired_on`` names the settings that
    pairs share; ``unpaired`` has the prints without a counterpart, which no effect counts.
    ``overall`` has an effect a metric, ``by_accel`` one a metric and acceleration (empty where
    acceleration is the factor), both in the order asked for. ``verdict`` is one plain sentence that
    says no more than the intervals show.
    """

    factor: str
    factor_words: str
    before: Side
    after: Side
    confounders: tuple[Confounder, ...]
    remarks: tuple[Remark, ...]
    paired_on: tuple[str, ...]
    pairs: tuple[PrintPair, ...]
    unpaired: tuple[Print, ...]
    overall: tuple[Effect, ...]
    by_accel: tuple[Effect, ...]
    verdict: str

    def effect(self, metric: str, accel_mm_s2: float | None = None) -> Effect | None:
        """The effect on ``metric`` over all, or at one acceleration; ``None`` if there is none."""
        among = self.overall if accel_mm_s2 is None else self.by_accel
        return next((e for e in among if (e.metric, e.accel_mm_s2) == (metric, accel_mm_s2)), None)
