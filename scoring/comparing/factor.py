"""The setting that is compared: its name, its values, and the prints on either side."""

import datetime
from collections import Counter
from collections.abc import Iterable, Sequence

from scoring.comparing.comparison import Print, Side
from scoring.errors import SettingsError, SideNotFoundError
from scoring.runs.quantity import number_text
from scoring.runs.settings import LIMITS, SETTING_NAMES, WORDS, RunSettings, closest_name

EXTRA = "extra."
NOT_GIVEN = "not given"


def setting_value(settings: RunSettings, name: str) -> object:
    """A setting's value by its name, ``extra.NAME`` for a further one; ``None``: not given."""
    if name.startswith(EXTRA):
        return settings.extra.get(name.removeprefix(EXTRA))
    return getattr(settings, name)


def setting_key(settings: RunSettings, name: str) -> object:
    """A setting's value as it tells prints apart: text whatever its case."""
    value = setting_value(settings, name)
    return value.casefold() if isinstance(value, str) else value


def value_order(value: object) -> tuple[int, float, str]:
    """A key to sort a setting's values by: not given, then numbers by size, then texts."""
    if isinstance(value, int | float):
        return (1, float(value), "")
    return (0, 0.0, "") if value is None else (2, 0.0, str(value).casefold())


def setting_words(name: str) -> str:
    """A setting's name as people read it."""
    if name == "name":
        return "run"
    return WORDS.get(name, name.removeprefix(EXTRA).replace("_", " "))


def value_words(name: str, value: object) -> str:
    """A setting's value with its unit, as people read it and :func:`find_side` reads it back."""
    if value is None or value == "":
        return NOT_GIVEN
    if isinstance(value, float) or (isinstance(value, int) and not isinstance(value, bool)):
        return number_text(value) + _unit_words(name)
    return str(value)


def _unit_words(name: str) -> str:
    """The unit behind a setting's number, with the space before it; empty for a pure number."""
    unit = LIMITS[name].unit if name in LIMITS else "1"
    return "" if unit == "1" else f" {unit}"


def setting_names(prints: Iterable[Print]) -> tuple[str, ...]:
    """Every name that a factor may have: the settings, then the prints' further values."""
    extra = sorted({f"{EXTRA}{name}" for p in prints for name in p.settings.extra})
    return (*(name for name in SETTING_NAMES if name != "extra"), *extra)


def check_setting(name: str, prints: Sequence[Print]) -> str:
    """``name`` if it is a setting, else raise :class:`SettingsError` that says what there is."""
    names = setting_names(prints)
    if name in names:
        return name
    near = closest_name(name, names)
    hint = f"did you mean {near}?" if near else f"there are {', '.join(names)}."
    raise SettingsError(f"{name!r} is no setting of a run; {hint}")


def find_side(prints: Sequence[Print], name: str, wanted: object) -> Side:
    """The prints whose setting ``name`` is ``wanted``, case ignored.

    A numeric setting may be given as text with a unit. Raises :class:`SideNotFoundError` that lists
    the values there are, and :class:`SettingsError` for a value that the setting cannot have.
    """
    value = _read_value(name, wanted)
    found = tuple(p for p in prints if _same(setting_value(p.settings, name), value))
    if found:
        own = setting_value(found[0].settings, name)
        return Side(own, value_words(name, own), found)
    there = sorted_values(name, (setting_value(p.settings, name) for p in prints))
    near = closest_name(str(wanted), there)
    hint = f" Did you mean {near}?" if near else ""
    raise SideNotFoundError(
        f"No measured print has {setting_words(name)} {value_words(name, value)!r}; "
        f"there is {', '.join(there) or 'no measured print at all'}.{hint}"
    )


def values_of(prints: Iterable[Print], name: str) -> dict[str, int]:
    """The values that :func:`sorted_values` gives of a setting, with the prints of each."""
    prints = tuple(prints)
    every = [setting_value(p.settings, name) for p in prints]
    counts = Counter(value_words(name, value).casefold() for value in every)
    return {words: counts[words.casefold()] for words in sorted_values(name, every)}


def possible_factors(prints: Iterable[Print]) -> tuple[str, ...]:
    """The settings of which there are two sides at least, name, day and notes aside."""
    prints = tuple(prints)
    names = (n for n in setting_names(prints) if n not in {"name", "printed_on", "notes"})
    return tuple(name for name in names if len(values_of(prints, name)) > 1)


def sorted_values(name: str, values: Iterable[object]) -> tuple[str, ...]:
    """The values that occur, in words: numbers by size, then texts, "not given" last.

    Each stands once whatever its case, as it is first written.
    """
    spelled: dict[str, object] = {}
    for value in values:
        spelled.setdefault(value_words(name, value).casefold(), value)
    ordered = sorted(spelled.values(), key=lambda value: (value is None, value_order(value)))
    return tuple(value_words(name, value) for value in ordered)


def _read_value(name: str, wanted: object) -> object:
    if wanted is None or (isinstance(wanted, str) and wanted.strip() in {"", NOT_GIVEN}):
        return None
    if name in LIMITS:
        # A number in its own unit is taken as it stands: turning units rounds.
        bare = wanted.removesuffix(_unit_words(name)) if isinstance(wanted, str) else wanted
        return LIMITS[name].check(bare)
    return wanted.isoformat() if isinstance(wanted, datetime.date) else wanted


def _same(has: object, wanted: object) -> bool:
    if has is None or wanted is None:
        return has is wanted
    if isinstance(has, bool) or isinstance(wanted, bool):
        return str(has).casefold() == str(wanted).casefold()
    if isinstance(has, int | float):
        try:
            return float(has) == float(str(wanted))
        except ValueError:
            return False
    return str(has).casefold() == str(wanted).strip().casefold()
