"""Every flag a measurement may carry, each defined once.

A flag marks a defect that did not prevent measuring but widened the interval, or a fact the
reader of a number should know.
"""

from collections.abc import Mapping
from enum import StrEnum


class Flag(StrEnum):
    """Name of a flag as it stands in the JSON output; :data:`SENTENCES` says what it means."""

    NO_RIPPLE_FOUND = "no-ripple-found"
    LOW_RESOLUTION = "low-resolution"
    SOFT_FOCUS = "soft-focus"
    CLIPPED = "clipped"
    MARKERS_HIDDEN = "markers-hidden"
    OUTLINE_UNSURE = "outline-unsure"
    CARD_MISSING = "card-missing"
    CARD_OFF_SIZE = "card-off-size"
    LAMP_FROM_FAR_SIDE = "lamp-from-far-side"
    LAMP_UNCERTAIN = "lamp-uncertain"
    LAMP_LOW = "lamp-low"
    WEAK_SHADING = "weak-shading"
    STEEP_RIPPLE = "steep-ripple"
    SIZE_UNSURE = "size-unsure"
    GLOSSY = "glossy"
    STEADY_RIPPLE = "steady-ripple"
    STAIN = "stain"
    CLOSE_MODES = "close-modes"
    MODE_UNSURE = "mode-unsure"
    LABEL_UNREAD = "label-unread"
    NO_GAPS_FOUND = "no-gaps-found"


SENTENCES: dict[Flag, str] = {
    Flag.NO_RIPPLE_FOUND: "No ring-down ripple stands out; the upper bound is the detection limit.",
    Flag.LOW_RESOLUTION: "Under 16 px/mm on the face: intervals are wider. Go closer.",
    Flag.SOFT_FOCUS: "Edges are soft; short wavelengths were corrected for it and are less sure.",
    Flag.CLIPPED: "Part of the face is at full scale, where light is cut off; intervals are wider.",
    Flag.MARKERS_HIDDEN: "Three or more of the card's markers were not recognised.",
    Flag.OUTLINE_UNSURE: "Places may be 0.05 mm off: an edge hard to see, or the lens unsure.",
    Flag.CARD_MISSING: "Placed by four corners without the card; gain comes from facets alone.",
    Flag.CARD_OFF_SIZE: "Card and coupon differ in size; the coupon counts. Print at 100 %.",
    Flag.LAMP_FROM_FAR_SIDE: "The lamp stood opposite the label's side; measured all the same.",
    Flag.LAMP_UNCERTAIN: "The lamp's place could not be told from the card; gain is less sure.",
    Flag.LAMP_LOW: "The lamp is under 28 degrees: layers' shadows may pass for gaps, or hide them.",
    Flag.WEAK_SHADING: "The facets differ little in brightness: a high lamp or diffuse light.",
    Flag.STEEP_RIPPLE: "The ripple is steeper than the facets vouch for; size is extrapolated.",
    Flag.SIZE_UNSURE: "Peak, gap fraction, recovery or longest gap is unsure; see its interval.",
    Flag.GLOSSY: "Glossy, or so dark that gloss counts: brightness tells less surely.",
    Flag.STEADY_RIPPLE: "A ripple of constant length (belt, motor steps) is present; kept apart.",
    Flag.STAIN: "The filament's colour varies along the face; two lamps told it from ripple.",
    Flag.CLOSE_MODES: "Two modes lie too close to tell their dampings apart well.",
    Flag.MODE_UNSURE: "A frequency or damping is unsure; see its interval.",
    Flag.LABEL_UNREAD: "No label was read; run and axis are unknown unless given.",
    Flag.NO_GAPS_FOUND: "No open gap was found; recovery is zero.",
}


def raised(found: Mapping[Flag, bool]) -> tuple[Flag, ...]:
    """The flags of ``found`` that are set, in its order."""
    return tuple(flag for flag, is_set in found.items() if is_set)


def each_once(*found: tuple[Flag, ...]) -> tuple[Flag, ...]:
    """The flags of all ``found``, in the order they come first."""
    return tuple(dict.fromkeys(flag for flags in found for flag in flags))
