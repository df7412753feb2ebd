"""Which settings a photo is measured with: from options, a settings file, or its label's run."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol

from scoring.errors import LabelNeededError, SettingsError
from scoring.label import require_run_name
from scoring.motion import Motion
from scoring.remedies import GIVE_SETTINGS, LABEL_WRONG, NAME_RUN
from scoring.runs.settings import LIMITS, SETTING_NAMES, RunSettings, closest_name, lay_over


class LabelText(Protocol):
    """What a plan needs of a label: the run it names and the machine axis it was printed for."""

    @property
    def run(self) -> str: ...

    @property
    def axis(self) -> str | None: ...


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
    """Full settings: those given on the spot, over what a file says of the run, over what is known.

    ``listed`` is the run that a settings file lists this photo under, ``in_file`` has every run of
    that file and ``known`` every run that is stored: a label may name any of these. ``given`` holds
    single settings as written. A label that names another run or axis stops the photo, unless
    ``ignore_label`` says that the label is wrong.
    """

    listed: RunSettings | None
    known: Mapping[str, RunSettings]
    given: Mapping[str, Any]
    ignore_label: bool = False
    in_file: Mapping[str, RunSettings] = field(default_factory=dict)

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
        # A stored run keeps its name: earlier versions took small letters, which no label carries.
        name = _like_named(name, self.known) or name.upper()
        base = self._told_of(name)
        values: dict[str, Any] = {} if base is None else base.model_dump(exclude_unset=True)
        if base is None and label is not None and label.axis is not None:
            values["axis"] = label.axis
        extra = {**values.get("extra", {}), **self.given.get("extra", {})}
        values |= {**self.given, "name": name, "extra": extra}
        if base is None and not {"machine", "accel_mm_s2"} <= values.keys():
            raise SettingsError(_unknown_run(name, (*self.known, *self.in_file)))
        if base is None:
            require_run_name(name)
        return RunSettings.model_validate(values)

    def _told_of(self, name: str) -> RunSettings | None:
        """What the file says of a run over what is known of it; ``None`` for neither."""
        listed = {} if self.listed is None else {self.listed.name: self.listed}
        in_file = next(
            (runs[near] for runs in (listed, self.in_file) if (near := _like_named(name, runs))),
            None,
        )
        known = self.known.get(name)
        return lay_over(known, in_file) if known and in_file else in_file or known


def _like_named(name: str, runs: Collection[str]) -> str | None:
    """The one of ``runs`` that is called ``name``, in letters small or large; ``None`` for none."""
    if name in runs:
        return name
    return next((run for run in runs if run.casefold() == name.casefold()), None)


def _unknown_run(name: str, known: Iterable[str]) -> str:
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


def plan_photos(
    listed: Iterable[RunSettings | None],
    *,
    runs: Iterable[RunSettings],
    stored: Mapping[str, RunSettings],
    given: Mapping[str, Any],
    ignore_label: bool = False,
) -> list[RunPlan]:
    """A plan for each photo, ``listed`` being the run that a settings file lists it under, if any.

    A label may name any run of ``runs``, all that the file lists, or of ``stored``. Raises
    :class:`SettingsError`, before anything is measured, for a new run in the file whose name no
    label can carry.
    """
    in_file = {run.name: run for run in runs}
    for name in in_file:
        if _like_named(name, stored) is None:
            require_run_name(name)
    return [RunPlan(run, stored, given, ignore_label, in_file) for run in listed]


def given_settings(options: Mapping[str, Any]) -> dict[str, Any]:
    """The options that were given: those that name a setting and are neither ``None`` nor empty."""
    return {k: v for k, v in options.items() if k in SETTING_NAMES and v is not None and v != {}}
