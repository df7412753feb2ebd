"""Which settings a photo is measured with: from options, a settings file, or its label's run."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from scoring.errors import SettingsError
from scoring.label import require_run_name
from scoring.motion import Motion
from scoring.remedies import GIVE_SETTINGS, LABEL_WRONG, NAME_RUN
from scoring.runs.settings import LIMITS, SETTING_NAMES, RunSettings, closest_name


class LabelText(Protocol):
    """What a plan needs of a label: the run it names and the machine axis it was printed for."""

    @property
    def run(self) -> str: ...

    @property
    def axis(self) -> str | None: ...


class LabelNeededError(SettingsError):
    """Only a label could tell the photo's run, and none was read."""


@dataclass(frozen=True)
class Chosen:
    """What one photo is measured with; ``settings`` is ``None`` where only the motion is known."""

    motion: Motion
    layer_height_mm: float | None
    settings: RunSettings | None


class Plan(Protocol):
    """Chooses once the label is read. Plans travel to worker processes, so they hold plain data."""

    def choose(self, label: LabelText | None) -> Chosen:
        """Raises :class:`SettingsError` where the settings are not known or contradict."""
        ...


@dataclass(frozen=True)
class FixedMotion:
    """The same motion for every photo, whatever its label says."""

    motion: Motion
    layer_height_mm: float | None = None

    def choose(self, label: LabelText | None) -> Chosen:
        return Chosen(self.motion, self.layer_height_mm, None)


@dataclass(frozen=True)
class WrittenMotion:
    """The same motion for every photo, as written; what is wrong with it is told photo by photo.

    ``given`` holds ``outer_wall_speed_mm_s`` and ``accel_mm_s2``, and may hold
    ``corner_speed_mm_s`` and ``layer_height_mm``.
    """

    given: Mapping[str, Any]

    def choose(self, label: LabelText | None) -> Chosen:
        numbers = {name: LIMITS[name].check(written) for name, written in self.given.items()}
        height_mm = numbers.pop("layer_height_mm", None)
        numbers["speed_mm_s"] = numbers.pop("outer_wall_speed_mm_s")
        return Chosen(Motion(**numbers), height_mm, None)


@dataclass(frozen=True)
class RunPlan:
    """Full settings: options given on the spot, over the run the file lists or the label names.

    ``listed`` is the run that a settings file lists this photo under, ``known`` every run that a
    label may name. ``given`` holds single settings as written, which win over both. A label that
    names another run or axis stops the photo, unless ``ignore_label`` says that the label is wrong.
    """

    listed: RunSettings | None
    known: Mapping[str, RunSettings]
    given: Mapping[str, Any]
    ignore_label: bool = False

    def choose(self, label: LabelText | None) -> Chosen:
        told = None if self.ignore_label else label
        settings = self._settings(told)
        if told is not None:
            _refuse_contradiction(told, settings)
        return Chosen(settings.motion, settings.layer_height_mm, settings)

    def _settings(self, label: LabelText | None) -> RunSettings:
        name = self.given.get("name") or (
            self.listed.name if self.listed else label.run if label else None
        )
        if name is None:
            raise LabelNeededError(
                f"no label was read and no run was named; {NAME_RUN}, or list the photo in a "
                "settings file."
            )
        base = self.listed if self.listed and self.listed.name == name else None
        # A label's code holds capitals only, whatever the run is called elsewhere.
        for known in self.known.values() if base is None else ():
            if known.name.casefold() == name.casefold():
                base, name = known, known.name
        values: dict[str, Any] = {} if base is None else base.model_dump(exclude_unset=True)
        if base is None and label is not None and label.axis is not None:
            values["axis"] = label.axis
        extra = {**values.get("extra", {}), **self.given.get("extra", {})}
        values |= {"name": name, **self.given, "extra": extra}
        if base is None and not {"machine", "accel_mm_s2"} <= values.keys():
            raise SettingsError(_unknown_run(name, self.known))
        if base is None:
            require_run_name(name)
        return RunSettings.model_validate(values)


def _unknown_run(name: str, known: Mapping[str, RunSettings]) -> str:
    near = closest_name(name, known)
    return (
        f"nothing is known of run {name!r}"
        + (f" (did you mean {near}?)" if near else "")
        + f"; {GIVE_SETTINGS}."
    )


def _refuse_contradiction(label: LabelText, settings: RunSettings) -> None:
    for what, on_label, here in (
        ("run", label.run, settings.name),
        ("axis", label.axis, settings.axis),
    ):
        if on_label is not None and on_label.casefold() != here.casefold():
            raise SettingsError(
                f"the label says {what} {on_label} but the settings say {here}; "
                f"photograph it with the right label, or {LABEL_WRONG}."
            )


def require_new_names(listed: Iterable[RunSettings], stored: Mapping[str, RunSettings]) -> None:
    """Nothing, where each listed run is stored already or has a name that a label can carry.

    Asked before anything is measured. Raises :class:`SettingsError` for the first that is neither.
    """
    for run in listed:
        if run.name not in stored:
            require_run_name(run.name)


def given_settings(options: Mapping[str, Any]) -> dict[str, Any]:
    """The options that were given: those that name a setting and are neither ``None`` nor empty."""
    return {k: v for k, v in options.items() if k in SETTING_NAMES and v is not None and v != {}}
