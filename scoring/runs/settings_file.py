"""Settings kept in a file beside the photos: TOML with ``[[run]]`` tables, or CSV with one row a
photo or run."""

import csv
import io
import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scoring.errors import SettingsError
from scoring.runs.settings import RunSettings, differences

SETTINGS_SUFFIXES = (".toml", ".csv")


@dataclass(frozen=True)
class ListedRun:
    """A run as a settings file lists it; photo paths are resolved against the file's folder."""

    settings: RunSettings
    photos: tuple[Path, ...]


def settings_from_file(path: Path) -> tuple[ListedRun, ...]:
    """The runs that a ``.toml`` or ``.csv`` file lists. Raises :class:`SettingsError`."""
    match path.suffix.lower():
        case ".toml":
            return settings_from_toml(path)
        case ".csv":
            return settings_from_csv(path)
    raise SettingsError(f"{path}: a settings file ends in .toml or .csv.")


def settings_from_toml(path: Path) -> tuple[ListedRun, ...]:
    """Read ``[[run]]`` tables: a run's settings by their names, ``photos`` a list of files, and
    ``[run.extra]`` for further named values. Runs' names are made capitals, as on labels.

    The photos need not exist yet. Raises :class:`SettingsError` that names file, run and key.
    """
    try:
        raw = tomllib.loads(_text(path))
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"{path}: not valid TOML: {error}.") from error
    for key in raw:
        if key != "run":
            raise SettingsError(f"{path}: {key}: unknown; settings stand in [[run]] tables.")
    tables = raw.get("run", [])
    if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
        raise SettingsError(f"{path}: run: write [[run]] with double brackets, once for each run.")
    listed: list[ListedRun] = []
    for number, table in enumerate(tables, start=1):
        where = f"{path}, run {number}" + (f" ({table['name']})" if "name" in table else "")
        photos = table.pop("photos", [])
        if not isinstance(photos, list) or not all(isinstance(p, str) for p in photos):
            raise SettingsError(f"{where}: photos: must be a list of file names.")
        settings = _checked(table, where)
        listed.append(ListedRun(settings, tuple(path.parent / photo for photo in photos)))
    return _each_once(listed, path)


def settings_from_csv(path: Path) -> tuple[ListedRun, ...]:
    """Read one row a photo, or a row a run with ``photo`` left empty.

    Columns have the settings' names, ``photo`` and ``extra.NAME``; an empty cell means not known.
    Runs' names are made capitals, as on labels; rows that share one must agree. Comma, semicolon or
    tab may part the columns. Raises :class:`SettingsError` that names file, row and column.
    """
    text = _text(path)
    header = text.partition("\n")[0]
    delimiter = max(",;\t", key=header.count)
    rows = csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    found: dict[str, RunSettings] = {}
    photos: dict[str, list[Path]] = {}
    try:
        for row in rows:
            where = f"{path}, row {rows.line_num}"
            if None in row:
                raise SettingsError(f"{where}: more cells than the header has columns.")
            cells = {k.strip(): v.strip() for k, v in row.items() if v is not None and v.strip()}
            if not cells:
                continue
            photo = cells.pop("photo", None)
            settings = _checked(_with_extra(cells), where)
            earlier = found.setdefault(settings.name, settings)
            if changed := differences(earlier, settings):
                raise SettingsError(
                    f"{where}: {changed[0].name}: run {settings.name} has "
                    f"{changed[0].old!s} in an earlier row and {changed[0].new!s} here."
                )
            if photo is not None:
                photos.setdefault(settings.name, []).append(path.parent / photo)
    except csv.Error as error:
        raise SettingsError(f"{path}, row {rows.line_num}: not valid CSV: {error}.") from error
    listed = [ListedRun(settings, tuple(photos.get(name, ()))) for name, settings in found.items()]
    return _each_once(listed, path)


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8-sig")
    except OSError as error:
        raise SettingsError(f"{path}: cannot be read: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise SettingsError(f"{path}: not UTF-8 text; save it as UTF-8.") from error


def _checked(values: Mapping[str, Any], where: str) -> RunSettings:
    name = values.get("name")
    named = {"name": name.upper()} if isinstance(name, str) else {}
    try:
        return RunSettings.model_validate({**values, **named})
    except SettingsError as error:
        raise SettingsError(f"{where}: {error}") from error


def _with_extra(cells: Mapping[str, str]) -> dict[str, Any]:
    """The row with its ``extra.NAME`` columns gathered; numbers among them become numbers."""
    values: dict[str, Any] = {k: v for k, v in cells.items() if not k.startswith("extra.")}
    extra = {k.removeprefix("extra."): v for k, v in cells.items() if k.startswith("extra.")}
    if extra:
        values["extra"] = {name: number_if_one(cell) for name, cell in extra.items()}
    return values


def number_if_one(text: str) -> float | str:
    """``text`` as a number where it is a finite one, else as it stands."""
    try:
        number = float(text)
    except ValueError:
        return text
    return number if math.isfinite(number) else text


def _each_once(listed: list[ListedRun], path: Path) -> tuple[ListedRun, ...]:
    if not listed:
        raise SettingsError(f"{path}: no run in it; see the README for an example.")
    runs: set[str] = set()
    photos: dict[Path, str] = {}
    for run in listed:
        name = run.settings.name
        if name in runs:
            raise SettingsError(f"{path}: name: run {name} stands there twice.")
        runs.add(name)
        for photo in run.photos:
            if photo in photos:
                raise SettingsError(
                    f"{path}: photo: {photo.name} is listed for {photos[photo]} and for {name}."
                )
            photos[photo] = name
    return tuple(listed)
