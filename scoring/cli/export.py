"""``coupon export``: the stored numbers as a table file."""

from pathlib import Path
from typing import Any

import click

from scoring.cli.options import database_option, filter_options


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
    from scoring.runs.filter import RunFilter  # noqa: PLC0415
    from scoring.store.export import photo_table, write_table  # noqa: PLC0415
    from scoring.store.run_store import RunStore  # noqa: PLC0415

    chosen = RunFilter(**wanted)
    with RunStore.open(database, create=False) as store:
        chosen.check_known([r.settings for r in store.runs()])
        table = photo_table(store.measurements(chosen, traces=False))
    write_table(table, file)
    click.echo(f"{len(table)} photos written to {file}.")
