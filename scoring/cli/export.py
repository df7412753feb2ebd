"""``coupon export``: the stored numbers as a table file."""

from pathlib import Path
from typing import Any

import click

from scoring.cli.options import database_option, filter_options
from scoring.cli.stored_numbers import read_stored


@click.command(short_help="Write the stored numbers as CSV or Parquet.")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@filter_options
@database_option
def export(file: Path, database: str | None, **wanted: Any) -> None:
    """Write every stored photo's numbers and settings to FILE, .csv or .parquet.

    One row a photo. Each metric has three columns: its value, and the low and high end of its 95 %
    interval.

    \b
    Example:
      coupon export numbers.csv
      coupon export alder.parquet --machine Alder
    """
    from scoring.store.export import photo_table, write_table  # noqa: PLC0415

    table = photo_table(read_stored(database, wanted))
    write_table(table, file)
    click.echo(f"{len(table)} photos written to {file}.")
