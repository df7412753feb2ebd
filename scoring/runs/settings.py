"""The settings of one run, checked."""

import datetime
import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal, Self

from pydantic import (
    BaseModel,
    ConfigDict,
    ModelWrapValidatorHandler,
    ValidationError,
    ValidationInfo,
    field_validator,
    model_validator,
)

from scoring.errors import SettingsError
from scoring.motion import MAX_ACCEL_MM_S2, MAX_SPEED_MM_S, Motion
from scoring.runs.quantity import number_text, read_quantity

MAX_NAME_LENGTH = 64
"""Of machine and setup, and of run names in stores of earlier versions; a new run's name must fit
on a label (:func:`scoring.label.require_run_name`)."""


@dataclass(frozen=True)
class Limits:
    """What a numeric setting may be: its unit, in words too, and the range a machine can have."""

    words: str
    unit: str
    least: float
    most: float
    open_below: bool = True

    def check(self, written: object) -> float:
        """``written`` as a number in ``unit``. Raises :class:`SettingsError` outside the range."""
        value = read_quantity(written, self.unit)
        below = value <= self.least if self.open_below else value < self.least
        if below or value > self.most:
            raise SettingsError(
                f"{written!r} is not a possible {self.words}; it must be "
                f"{'above' if self.open_below else 'at least'} {self.least:g} and at most "
                f"{self.most:g}{'' if self.unit == '1' else ' ' + self.unit}."
            )
        return value


# The ranges are wide on purpose: they catch slips of unit and of finger, not unusual machines.
LIMITS: dict[str, Limits] = {
    "outer_wall_speed_mm_s": Limits("outer-wall speed", "mm/s", 0, MAX_SPEED_MM_S),
    "accel_mm_s2": Limits("acceleration", "mm/s²", 0, MAX_ACCEL_MM_S2),
    "corner_speed_mm_s": Limits("corner speed", "mm/s", 0, MAX_SPEED_MM_S, open_below=False),
    "layer_height_mm": Limits("layer height", "mm", 0, 3),
    "line_width_mm": Limits("line width", "mm", 0, 10),
    "nozzle_mm": Limits("nozzle diameter", "mm", 0, 10),
    "nozzle_temp_c": Limits("nozzle temperature", "°C", 20, 600),
    "bed_temp_c": Limits("bed temperature", "°C", -20, 300),
    "flow_ratio": Limits("flow ratio", "1", 0, 5),
    "pressure_advance_s": Limits("pressure advance", "s", 0, 10, open_below=False),
    "shaper_hz": Limits("input shaping frequency", "Hz", 0, 1000, open_below=False),
    "extruder_ratio": Limits("extruder gear ratio", "1", 0, 1000),
    "drive_gear_mm": Limits("drive-gear diameter", "mm", 0, 200),
}
WORDS: dict[str, str] = {
    "machine": "machine",
    "setup": "setup",
    "axis": "axis",
    "shaper_type": "input shaping",
    "filament": "filament",
    "printed_on": "printed on",
    "notes": "notes",
} | {name: limits.words for name, limits in LIMITS.items()}


class RunSettings(BaseModel):
    """One print: what machine, fitted with what, made it and how.

    Lengths in mm, speeds in mm/s, accelerations in mm/s², temperatures in °C; a number may be
    given as text with another unit of its kind. ``None`` means not known. ``setup`` names what is
    fitted (``stock``, ``brace``), ``axis`` the machine axis that the coupon's long faces lie along,
    ``extra`` holds further named values. Every way of making one raises :class:`SettingsError`
    that lists all that is wrong.
    """

    model_config = ConfigDict(
        frozen=True, extra="forbid", str_strip_whitespace=True, allow_inf_nan=False
    )

    name: str
    machine: str
    setup: str = "stock"
    axis: Literal["x", "y"]
    outer_wall_speed_mm_s: float
    accel_mm_s2: float
    corner_speed_mm_s: float = 5.0
    layer_height_mm: float | None = None
    line_width_mm: float | None = None
    nozzle_mm: float | None = None
    nozzle_temp_c: float | None = None
    bed_temp_c: float | None = None
    flow_ratio: float | None = None
    pressure_advance_s: float | None = None
    shaper_type: str | None = None
    shaper_hz: float | None = None
    extruder_ratio: float | None = None
    drive_gear_mm: float | None = None
    filament: str | None = None
    printed_on: datetime.date | None = None
    notes: str | None = None
    extra: Mapping[str, bool | int | float | str] = {}

    @field_validator(*LIMITS, mode="before")
    @classmethod
    def _in_range(cls, written: object, info: ValidationInfo) -> float | None:
        limits = LIMITS[str(info.field_name)]
        if written is None:
            return None
        try:
            return limits.check(written)
        except SettingsError as error:
            raise ValueError(str(error)) from error

    @field_validator("axis", mode="before")
    @classmethod
    def _lower_case(cls, written: object) -> object:
        return written.strip().lower() if isinstance(written, str) else written

    @field_validator("name", "machine", "setup")
    @classmethod
    def _short_words(cls, text: str) -> str:
        if not text or len(text) > MAX_NAME_LENGTH or not text.isprintable():
            raise ValueError(f"{text!r} must be 1 to {MAX_NAME_LENGTH} printable characters.")
        return text

    @model_validator(mode="wrap")
    @classmethod
    def _all_wrong_at_once(cls, given: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        try:
            settings = handler(given)
        except ValidationError as error:
            raise SettingsError(_sentences(error)) from None
        _ = settings.motion  # refuses a corner faster than the cruise
        return settings

    @property
    def motion(self) -> Motion:
        """How the nozzle moved along the outer wall after the corner."""
        return Motion(self.outer_wall_speed_mm_s, self.accel_mm_s2, self.corner_speed_mm_s)


SETTING_NAMES: tuple[str, ...] = tuple(RunSettings.model_fields)


FITTING = {"axis": "must be x or y", "printed_on": "a date is written 2026-03-02"}
"""What the settings that are neither numbers nor any text must be."""

_UNIT_SUFFIX = re.compile("_(mm_s2|mm_s|mm|c|s|hz)$")


def closest_name(unknown: str, names: Iterable[str]) -> str | None:
    """The name most like ``unknown``, or ``None`` where none is near.

    A name that lacks only its unit (``accel`` for ``accel_mm_s2``) counts as near.
    """
    spelled = {name.lower(): name for name in names}
    for name in tuple(spelled):
        spelled.setdefault(_UNIT_SUFFIX.sub("", name), spelled[name])
    near = difflib.get_close_matches(unknown.lower(), spelled, n=1, cutoff=0.6)
    return spelled[near[0]] if near else None


def _sentences(error: ValidationError) -> str:
    """What pydantic found wrong, a sentence each that starts with the setting's name."""
    found: dict[str, str] = {}
    for detail in error.errors():
        name = str(detail["loc"][0]) if detail["loc"] else "settings"
        if name == "extra":
            # One sentence, not one for each type the value might have had.
            key = f" {detail['loc'][1]!r}" if len(detail["loc"]) > 1 else ""
            found[name] = f"extra:{key} must be a name with a number, a text, or true or false."
        elif detail["type"] == "extra_forbidden":
            near = closest_name(name, SETTING_NAMES)
            hint = f"did you mean {near}?" if near else f"there are {', '.join(SETTING_NAMES)}."
            found[name] = f"{name}: no such setting; {hint} A value of your own goes under extra."
        elif detail["type"] == "missing":
            found[name] = f"{name}: missing, and every run needs it."
        elif detail["type"] == "value_error":
            found[name] = f"{name}: {detail['ctx']['error']}"
        else:
            fits = FITTING.get(name, "must be a text, in quotation marks")
            found[name] = f"{name}: {fits}, not {detail['input']!r}."
    return " ".join(found.values())


@dataclass(frozen=True)
class Difference:
    """One setting that two versions of a run's settings disagree about."""

    name: str
    old: object
    new: object

    def __str__(self) -> str:
        return f"{self.name} {self.old!s} -> {self.new!s}"


def differences(old: RunSettings, new: RunSettings) -> tuple[Difference, ...]:
    """The settings in which ``new`` differs from ``old``, in the order of the fields."""
    changed = [
        Difference(name, getattr(old, name), getattr(new, name))
        for name in SETTING_NAMES
        if name != "extra" and getattr(old, name) != getattr(new, name)
    ]
    for key in sorted({*old.extra, *new.extra}):
        if old.extra.get(key) != new.extra.get(key):
            changed.append(Difference(f"extra.{key}", old.extra.get(key), new.extra.get(key)))
    return tuple(changed)


def lay_over(old: RunSettings, new: RunSettings) -> RunSettings:
    """``new`` over ``old`` of the same run: what ``new`` leaves out, or has as ``None``, stays.

    Raises :class:`SettingsError` where the two do not go together, such as a corner faster than the
    cruise.
    """
    given = new.model_dump(exclude_unset=True, exclude_none=True)
    extra = {**old.extra, **new.extra}
    return RunSettings.model_validate(old.model_dump(exclude_unset=True) | given | {"extra": extra})


def format_setting(settings: RunSettings, name: str, *, unit: bool = True) -> str:
    """A setting as people read it, with its ``unit`` or without; empty where it is not known.

    Numbers stand in full: a form is filled from this and read again.
    """
    value = getattr(settings, name)
    if value is None:
        return ""
    if name not in LIMITS:
        return str(value)
    shown = LIMITS[name].unit
    return f"{number_text(value)} {shown}" if unit and shown != "1" else number_text(value)


def heading(name: str) -> str:
    """A setting's words and, on a line of its own, its unit: a column's head, a word a line."""
    unit = LIMITS[name].unit if name in LIMITS else "1"
    words = WORDS[name].split()
    return "\n".join(words if unit == "1" else [*words, unit])
