"""Prints of like settings: repeats of each other, whatever their name and day."""

from collections.abc import Collection, Iterable, Mapping

from scoring.comparing.comparison import Print
from scoring.comparing.factor import setting_key, setting_value, value_order
from scoring.runs.settings import SETTING_NAMES

NOT_SETTINGS = ("name", "printed_on", "notes", "extra")
"""What may differ between repeats: they name, date and describe a print."""
BASE = ("machine", "setup", "axis", "outer_wall_speed_mm_s", "filament")
"""What always tells a group of prints, beside what else differs among the groups."""


def group_alike(
    prints: Iterable[Print], *, but: Collection[str] = ()
) -> tuple[tuple[Mapping[str, object], tuple[Print, ...]], ...]:
    """Prints that share every setting, those of ``but`` and :data:`NOT_SETTINGS` aside.

    Each group comes with what it is told by: the settings of :data:`BASE`, and those that differ
    among the groups. In order of these.
    """
    names = [n for n in SETTING_NAMES if n not in NOT_SETTINGS and n not in but]
    groups: dict[tuple[object, ...], list[Print]] = {}
    for one in prints:
        key = tuple(setting_key(one.settings, name) for name in names)
        groups.setdefault(key, []).append(one)
    differ = {name for place, name in enumerate(names) if len({key[place] for key in groups}) > 1}
    told = [*(name for name in BASE if name not in but)]
    told += [name for name in names if name in differ and name not in told]
    found = [
        ({name: setting_value(members[0].settings, name) for name in told}, tuple(members))
        for members in groups.values()
    ]
    return tuple(sorted(found, key=lambda one: [value_order(value) for value in one[0].values()]))
