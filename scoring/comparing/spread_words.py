"""What the spread of repeats means for the next coupons, in words."""

import math

from scoring.comparing.comparison import Scale
from scoring.comparing.effect_words import spoken
from scoring.comparing.samples import scale_of
from scoring.comparing.spread import Component
from scoring.metric_words import FRACTIONS, metric_unit


def advise(metric: str, photo: Component, print_: Component, *, photos_each: float) -> str:
    """Whether to take more photos or to print more coupons, in a sentence or two.

    ``photos_each`` is how many photos a print has now, on average.
    """
    name = spoken(metric)
    name = name[0].upper() + name[1:]
    if photo.sd is None and print_.sd is None:
        return (
            f"{name}: nothing was repeated. Photograph a print again, the card laid anew, "
            "and print one coupon twice."
        )
    if photo.sd is None:
        return (
            f"{name}: prints of like settings spread by {sd_words(metric, print_.sd)}, the photo's "
            "own part in it. Photograph some prints twice to tell the two apart."
        )
    if print_.sd is None:
        return (
            f"{name}: photos of one print spread by {sd_words(metric, photo.sd)}; no settings were "
            "printed twice, so what printing adds is not known. Print one coupon again."
        )
    told = f"{name}: {sd_words(metric, photo.sd)} from photo to photo, "
    told += f"{sd_words(metric, print_.sd)} from print to print. "
    variance = print_.sd**2 + photo.sd**2 / photos_each
    if variance == 0:
        return f"{told}Repeats agree fully; take no more of either."
    photos = 1 - math.sqrt((print_.sd**2 + photo.sd**2 / (2 * photos_each)) / variance)
    prints = 1 - math.sqrt(1 / 2)
    effect = f"twice the photos of each print narrow the interval by {100 * photos:.0f} %, twice "
    effect += f"the prints by {100 * prints:.0f} %"
    if photos < prints / 2:
        return f"{told}Print more coupons rather than taking more photos: {effect}."
    return f"{told}Photos are the cheaper help: {effect}."


def sd_words(metric: str, sd: float | None) -> str:
    """A standard deviation as people read it: percent for a ratio, else with the unit."""
    if sd is None:
        return "unknown"
    if scale_of(metric) is Scale.RATIO:
        return f"{_two(100 * math.expm1(sd))} %"
    if metric in FRACTIONS:
        return f"{_two(100 * sd)} percentage points"
    unit = metric_unit(metric)
    return f"{_two(sd)} {unit}" if unit else _two(sd)


def _two(value: float) -> str:
    """Two significant digits, none after the point from 10 up."""
    if value <= 0:
        return "0"
    return f"{value:.{min(max(0, 1 - math.floor(math.log10(value))), 6)}f}"
