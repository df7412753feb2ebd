"""Like with like: prints of both sides that agree in everything else that matters."""

from collections.abc import Sequence

from scoring.comparing.comparison import Confounder, Print, PrintPair, Side
from scoring.comparing.factor import (
    setting_key,
    setting_names,
    setting_value,
    setting_words,
    sorted_values,
    value_order,
)

ALWAYS = ("machine", "axis", "outer_wall_speed_mm_s", "accel_mm_s2", "filament")
"""Pairs share these whatever is compared, the factor aside."""
WHERE_SHARED = (
    "setup", "corner_speed_mm_s", "layer_height_mm", "line_width_mm", "nozzle_mm",
    "nozzle_temp_c", "bed_temp_c", "flow_ratio", "pressure_advance_s", "shaper_type", "shaper_hz",
    "extruder_ratio", "drive_gear_mm",
)  # fmt: skip
"""Pairs share these too where they vary among prints that are otherwise a pair, and the sides have
a value in common.

Else a side would mix, say, two layer heights. What differs from side to side throughout cannot be
paired on without losing every pair: it is a possible confounder instead.
"""


def choose_pairing(factor: str, before: Side, after: Side) -> tuple[str, ...]:
    """The settings that pairs are to share, see :data:`ALWAYS` and :data:`WHERE_SHARED`."""
    least = tuple(name for name in ALWAYS if name != factor)
    pairs, _ = pair_prints(before, after, least)

    def mixed(name: str) -> bool:
        for pair in pairs:
            sides = [
                {setting_key(p.settings, name) for p in prints}
                for prints in (pair.before, pair.after)
            ]
            if sides[0] & sides[1] and len(sides[0] | sides[1]) > 1:
                return True
        return False

    return (*least, *(name for name in WHERE_SHARED if name != factor and mixed(name)))


def pairing_words(paired_on: Sequence[str]) -> str:
    """What pairs share, as a sentence."""
    if not paired_on:
        return "Pairs share nothing: all prints of one side stand against all of the other."
    return f"Pairs share {', '.join(map(setting_words, paired_on))}."


def pair_prints(
    before: Side, after: Side, paired_on: Sequence[str]
) -> tuple[tuple[PrintPair, ...], tuple[Print, ...]]:
    """The pairs, in order of what they share, and the prints that have no counterpart."""
    gathered: dict[tuple[object, ...], tuple[list[Print], list[Print]]] = {}
    for place, side in enumerate((before, after)):
        for one in side.prints:
            key = tuple(setting_key(one.settings, name) for name in paired_on)
            gathered.setdefault(key, ([], []))[place].append(one)
    pairs, alone = [], []
    for sides in gathered.values():
        if all(sides):
            settings = sides[0][0].settings
            on = {name: setting_value(settings, name) for name in paired_on}
            pairs.append(PrintPair(on, tuple(sides[0]), tuple(sides[1])))
        else:
            alone += [*sides[0], *sides[1]]
    pairs.sort(key=lambda pair: [value_order(value) for value in pair.on.values()])
    alone.sort(key=lambda one: one.settings.name)
    return tuple(pairs), tuple(alone)


def find_confounders(
    factor: str,
    before: Side,
    after: Side,
    *,
    paired_on: Sequence[str],
    pairs: Sequence[PrintPair],
) -> tuple[Confounder, ...]:
    """Every setting but the factor, the run's name and what pairs share that differs in a pair.

    Without pairs, every setting whose values are not the same on both sides as a whole.
    """
    sides = [(pair.before, pair.after) for pair in pairs] or [(before.prints, after.prints)]
    ignored = {factor, "name"} | (set(paired_on) if pairs else set())
    found = []
    for name in setting_names((*before.prints, *after.prints)):
        if name in ignored:
            continue
        differ = [
            (olds, news)
            for olds, news in sides
            if {setting_key(p.settings, name) for p in olds}
            != {setting_key(p.settings, name) for p in news}
        ]
        if differ:
            words = [
                sorted_values(name, (setting_value(p.settings, name) for ps in parts for p in ps))
                for parts in zip(*differ, strict=True)
            ]
            count = len(differ) if pairs else 0
            found.append(Confounder(name, setting_words(name), words[0], words[1], count))
    return tuple(sorted(found, key=lambda c: c.name in {"printed_on", "notes"}))
