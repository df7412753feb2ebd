"""What repeats say of the spread from photo to photo and from print to print: plain results."""

from dataclasses import dataclass

from scoring.comparing.comparison import Scale


@dataclass(frozen=True)
class Component:
    """One source of spread: its standard deviation with a 95 % interval, and degrees of freedom.

    On the ratio scale the deviation is of the natural logarithm (0.05 is 5 %), else in the
    metric's unit. ``sd`` is ``None`` where there are no repeats to tell it, its interval's ends
    where none can be given. ``share`` is its part of the total variance, 0 to 1.
    """

    name: str
    sd: float | None
    low: float | None
    high: float | None
    df: int
    share: float | None


@dataclass(frozen=True)
class Plan:
    """Half the width of the 95 % interval of a mean to expect from so many prints and photos each.

    A factor on the ratio scale (1.08 is up to 8 % more), else in the metric's unit.
    """

    prints: int
    photos_each: int
    half_width: float


@dataclass(frozen=True)
class Repeatability:
    """One metric's spread: ``photo`` within a print, ``print_`` between prints of like settings,
    ``settings`` between settings, from nested variance components.

    The gauge figures take the prints as parts and the photo as the gauge: ``study_variation`` is
    the photo's share of the total standard deviation, ``contribution`` of the variance, and
    ``categories`` how many classes of prints the photo can tell apart (1.41 parts / gauge, cut to a
    whole number); ``None`` where they cannot be told. ``plans`` compares numbers of prints and
    photos, and ``advice`` says in a sentence which to take more of.
    """

    metric: str
    unit: str
    scale: Scale
    settings_groups: int
    prints: int
    photos: int
    left_out: int
    photo: Component
    print_: Component
    settings: Component
    study_variation: float | None
    contribution: float | None
    categories: int | None
    plans: tuple[Plan, ...]
    advice: str
