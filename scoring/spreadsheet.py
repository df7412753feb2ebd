"""Text for spreadsheets, which take a cell that starts like a formula for one and run it."""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What spreadsheets read as a formula's start (OWASP, "CSV Injection")."""

FILE_ENCODING = "utf-8-sig"
"""Spreadsheets take a file without the byte-order mark for the system's old code page."""


def defuse(value: object) -> object:
    """``value`` as it may stand in a CSV cell: text that starts like a formula gets a ``'`` before.

    A text that is a plain number stays as it is, so do numbers themselves.
    """
    if not isinstance(value, str) or not value.lstrip(" ").startswith(FORMULA_STARTS):
        return value
    try:
        float(value)
    except ValueError:
        return f"'{value}"
    return value


def csv_text(columns: Sequence[str], rows: Iterable[Mapping[str, object]]) -> str:
    """The rows as CSV with a head, formulas defused; what a row lacks is empty."""
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\n")
    writer.writerow([defuse(name) for name in columns])
    for row in rows:
        writer.writerow([defuse(row.get(name)) for name in columns])
    return written.getvalue()
