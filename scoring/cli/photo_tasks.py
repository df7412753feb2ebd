"""From what stands on the command line to photos to measure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scoring.batch import Measured, MeasureFunction, PhotoTask
from scoring.cli.error_words import escaped
from scoring.errors import SettingsError
from scoring.metrics import FaceName
from scoring.runs.plan import plan_photos
from scoring.runs.settings import RunSettings
from scoring.runs.settings_file import SETTINGS_SUFFIXES, number_if_one, settings_from_file

if TYPE_CHECKING:
    from scoring.measure import measure_photo as _own

    _FITS: MeasureFunction = _own
    """What :func:`measure_installed` passes on unchecked."""


@dataclass(frozen=True)
class GivenItems:
    """Photos in order, each once, and the run that a settings file lists each under, if any."""

    photos: tuple[Path, ...]
    listed: Mapping[Path, RunSettings]
    runs: tuple[RunSettings, ...]


def read_items(items: Sequence[Path]) -> GivenItems:
    """Part photos from settings files, and add the photos that these list.

    Raises :class:`SettingsError` as :func:`settings_from_file` does, and where two files list the
    same photo or run differently.
    """
    listed: dict[Path, RunSettings] = {}
    runs: dict[str, RunSettings] = {}
    photos: dict[Path, Path] = {}
    for item in items:
        if item.suffix.lower() not in SETTINGS_SUFFIXES:
            photos.setdefault(item.resolve(), item)
            continue
        for run in settings_from_file(item):
            if runs.setdefault(run.settings.name, run.settings) != run.settings:
                raise SettingsError(f"{item}: run {run.settings.name} stands in another file too.")
            for photo in run.photos:
                key = photo.resolve()
                if listed.setdefault(key, run.settings) != run.settings:
                    raise SettingsError(f"{item}: {photo.name} is listed for two runs.")
                photos.setdefault(key, photo)
    return GivenItems(
        tuple(photos.values()),
        {path: listed[key] for key, path in photos.items() if key in listed},
        tuple(runs.values()),
    )


def tasks_for(
    items: GivenItems,
    given: Mapping[str, Any],
    *,
    stored: Mapping[str, RunSettings],
    face: str | None,
    ignore_label: bool,
) -> list[PhotoTask]:
    """A task a photo, its settings chosen as :func:`plan_photos` says, which also raises."""
    plans = plan_photos(
        [items.listed.get(photo) for photo in items.photos],
        runs=items.runs,
        stored=stored,
        given=given,
        ignore_label=ignore_label,
    )
    wanted = FaceName(face) if face else None
    return [
        PhotoTask(photo_name(photo), photo, plan, wanted)
        for photo, plan in zip(items.photos, plans, strict=True)
    ]


def photo_name(path: Path) -> str:
    """What a photo is called in results and in the store."""
    return escaped(str(path))


def read_extra(pairs: Sequence[str]) -> dict[str, float | str]:
    """``NAME=VALUE`` texts as named values; numbers among them become numbers."""
    extra: dict[str, float | str] = {}
    for pair in pairs:
        name, equals, value = pair.partition("=")
        if not equals or not name.strip():
            raise SettingsError(f"--extra: {pair!r} is not of the form NAME=VALUE.")
        extra[name.strip()] = number_if_one(value.strip())
    return extra


def measure_function(replacement: MeasureFunction | None) -> MeasureFunction:
    """What measures photos: ``replacement`` if there is one, else the package's own."""
    return measure_installed if replacement is None else replacement


def measure_installed(source: Path | bytes, **asked: Any) -> Measured:
    """The package's own measurement; only the process that measures loads the imaging libraries."""
    from scoring.measure import measure_photo  # noqa: PLC0415

    return measure_photo(source, **asked)
