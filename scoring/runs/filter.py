"""Choosing runs by what their settings say."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields

from scoring.errors import SettingsError
from scoring.runs.settings import RunSettings, closest_name


@dataclass(frozen=True)
class RunFilter:
    """The settings that a run must have; ``None`` lets every value through. Case is ignored."""

    machine: str | None = None
    setup: str | None = None
    axis: str | None = None
    filament: str | None = None

    def passes(self, settings: RunSettings) -> bool:
        """Whether a run with ``settings`` is wanted."""
        for field in fields(self):
            wanted, has = getattr(self, field.name), getattr(settings, field.name)
            if wanted is not None and (has is None or has.casefold() != wanted.casefold()):
                return False
        return True

    def check_known(self, runs: Iterable[RunSettings]) -> None:
        """Raise :class:`SettingsError` if no run at all has one of the wanted values, or all.

        A misspelled machine should say so rather than give an empty table.
        """
        runs = tuple(runs)
        for field in fields(self):
            wanted = getattr(self, field.name)
            values = sorted({v for r in runs if (v := getattr(r, field.name)) is not None})
            if wanted is not None and wanted.casefold() not in {v.casefold() for v in values}:
                raise SettingsError(_nothing_has(field.name, wanted, values))
        if runs and not any(map(self.passes, runs)):
            asked = [(field.name, getattr(self, field.name)) for field in fields(self)]
            told = " and ".join(f"{name} {value!r}" for name, value in asked if value is not None)
            raise SettingsError(f"No run has {told} together; leave one of them out.")


def _nothing_has(name: str, wanted: str, values: Sequence[str]) -> str:
    near = closest_name(wanted, values)
    hint = f" Did you mean {near}?" if near else ""
    return f"No run has {name} {wanted!r}; there is {', '.join(values) or 'none'}.{hint}"
