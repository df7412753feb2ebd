"""How results leave a command: as CSV for a spreadsheet, as JSON, or as text to read."""

from collections.abc import Callable, Iterable, Mapping, Sequence

import click


def put_results(
    *,
    csv_file: str | None,
    columns: Sequence[str],
    rows: Iterable[Mapping[str, object]],
    as_json: bool,
    objects: Iterable[object],
    text: Callable[[], str],
) -> None:
    """Give results as ``--csv`` and ``--json`` ask: JSON one of ``objects`` a line, else ``text``.

    ``csv_file`` is a file beside which the rest is still printed, ``-`` for CSV in its place, or
    ``None`` for no CSV.
    """
    import json  # noqa: PLC0415

    if csv_file is not None:
        put_csv(csv_file, columns, rows)
    if as_json:
        for one in objects:
            click.echo(json.dumps(one, ensure_ascii=False))
    elif csv_file != "-":
        click.echo(text())


def put_csv(target: str, columns: Sequence[str], rows: Iterable[Mapping[str, object]]) -> None:
    """Write ``rows`` to the file ``target``, or print them where it is ``-``.

    An existing file is replaced only once the new one is whole. Raises
    :class:`scoring.errors.SettingsError` where it cannot be written.
    """
    from pathlib import Path  # noqa: PLC0415

    from scoring.spreadsheet import FILE_ENCODING, csv_text  # noqa: PLC0415
    from scoring.whole_file import write_file  # noqa: PLC0415

    text = csv_text(columns, rows)
    if target == "-":
        click.echo(text, nl=False)
        return
    write_file(Path(target), text.encode(FILE_ENCODING))
    click.echo(f"{max(text.count(chr(10)) - 1, 0)} rows written to {target}.", err=True)
