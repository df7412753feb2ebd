"""Stored numbers as one flat table, for spreadsheets and statistics."""

import io
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scoring.errors import SettingsError
from scoring.metrics import METRICS, MODE_METRICS
from scoring.runs.settings import SETTING_NAMES
from scoring.spreadsheet import FILE_ENCODING, defuse
from scoring.store.records import MeasurementRecord, reasons_stale
from scoring.whole_file import write_file

if TYPE_CHECKING:
    import pandas as pd

MODES = 3
"""A measurement has at most this many modes; each has its columns whether it is there or not."""


def photo_table(records: Iterable[MeasurementRecord]) -> "pd.DataFrame":
    """One row a photo: its run's settings, what it was measured with, and its numbers.

    A metric fills three columns (``NAME``, ``NAME_low``, ``NAME_high``), a mode's ``mode1_NAME``
    and so on; a further named value ``extra.NAME``. What a photo does not have stays empty. All
    columns are there for every table, those of further named values aside.
    """
    import pandas as pd  # noqa: PLC0415  slow to load

    rows = [_row(record) for record in records]
    extra = sorted({name for row in rows for name in row if name.startswith("extra.")})
    columns = [*_columns(), *extra]
    table = pd.DataFrame(rows, columns=columns)
    for name in extra:
        table[name] = _of_one_kind(table[name])
    return table


def write_table(table: "pd.DataFrame", path: Path) -> None:
    """Write ``.csv`` or ``.parquet``; an existing file is replaced only once the new one is whole.

    In CSV, text that a spreadsheet would run as a formula is defused (``scoring/spreadsheet.py``).
    Raises :class:`SettingsError` for another suffix, and where ``path`` cannot be written.
    """
    import pandas as pd  # noqa: PLC0415

    content = io.BytesIO()
    match path.suffix.lower():
        case ".csv":
            table = table.rename(columns=defuse)
            for name in table.columns:
                if not pd.api.types.is_numeric_dtype(table[name]):
                    table[name] = table[name].map(defuse, na_action="ignore")
            table.to_csv(content, index=False, encoding=FILE_ENCODING)
        case ".parquet":
            table.to_parquet(content, index=False)
        case _:
            raise SettingsError(f"{path}: a table is written as .csv or .parquet.")
    write_file(path, content.getvalue())


def _of_one_kind(column: "pd.Series[Any]") -> "pd.Series[Any]":
    """``column`` as a column file needs it: truths alone, or else numbers alone, or else text."""
    values = column.dropna()
    truths = [isinstance(value, bool) for value in values]
    if all(truths):
        return column
    if not any(truths) and all(isinstance(value, int | float) for value in values):
        try:
            return column.astype(float)
        except OverflowError:  # a whole number too large for one
            pass
    return column.map(str, na_action="ignore")


def _row(record: MeasurementRecord) -> dict[str, Any]:
    measured, settings = record.measurement, record.settings
    row: dict[str, Any] = {
        "run": settings.name,
        "photo": record.photo.name,
        "face": measured.face.value,
        **{name: getattr(settings, name) for name in SETTING_NAMES if name != "extra"},
        "sha256": record.photo.sha256,
        "added_at": record.photo.added_at,
        "measured_at": record.measured_at,
        "method_version": measured.method_version,
        "geometry_revision": measured.geometry_revision,
        "out_of_date": "; ".join(reasons_stale(record)),
        "markers": measured.registration.markers,
        "residual_mm": measured.registration.residual_mm,
        "mm_per_px": measured.registration.mm_per_px,
        "flags": " ".join(flag.value for flag in measured.flags),
    }
    numbers = {name: e for name, e in measured.metrics.items()}
    for place, mode in enumerate(measured.modes, start=1):
        numbers |= {f"mode{place}_{m.name}": getattr(mode, m.name) for m in MODE_METRICS}
    for name, estimate in numbers.items():
        row |= {name: estimate.value, f"{name}_low": estimate.low, f"{name}_high": estimate.high}
    return row | {f"extra.{name}": value for name, value in settings.extra.items()}


def _columns() -> list[str]:
    settings = [name for name in SETTING_NAMES if name not in {"name", "extra"}]
    fixed = "sha256 added_at measured_at method_version geometry_revision out_of_date markers"
    fixed += " residual_mm mm_per_px flags"
    names = [metric.name for metric in METRICS]
    names += [f"mode{n}_{m.name}" for n in range(1, MODES + 1) for m in MODE_METRICS]
    numbers = [name + end for name in names for end in ("", "_low", "_high")]
    return ["run", "photo", "face", *settings, *fixed.split(), *numbers]
