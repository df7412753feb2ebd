"""CSV to a file, or to the terminal."""

from collections.abc import Iterable, Mapping, Sequence

import click


def put_csv(target: str, columns: Sequence[str], rows: Iterable[Mapping[str, object]]) -> None:
    """Write ``rows`` to the file ``target``, or print them where it is ``-``.

    An existing file is replaced only once the new one is whole.
    """
    import os  # noqa: PLC0415
    from pathlib import Path  # noqa: PLC0415

    from scoring.spreadsheet import csv_text  # noqa: PLC0415

    text = csv_text(columns, rows)
    if target == "-":
        click.echo(text, nl=False)
        return
    path = Path(target)
    part = path.with_name(path.name + ".part")
    # utf-8-sig: spreadsheets take a file without the mark for the system's old code page.
    part.write_text(text, encoding="utf-8-sig", newline="")
    os.replace(part, path)
    click.echo(f"{max(text.count(chr(10)) - 1, 0)} rows written to {target}.", err=True)
