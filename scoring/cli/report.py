"""``coupon report``: a comparison to hand over, as one HTML file or a PDF."""

from pathlib import Path
from typing import Any

import click

from scoring.cli.compare import compared
from scoring.cli.options import (
    database_option,
    filter_options,
    limit_option,
    metric_option,
    out_option,
    side_options,
)
from scoring.cli.stored_numbers import filled_store


@click.command(short_help="Write a comparison as a report, HTML or PDF.")
@side_options
@metric_option
@limit_option
@filter_options
@database_option
@out_option("report.html", "The file to write, .html or .pdf.", "--output")
def report(
    *,
    factor: str,
    before: str | None,
    after: str | None,
    pair_on: str | None,
    metrics: tuple[str, ...],
    written: tuple[str, ...],
    database: str | None,
    out: Path,
    **wanted: Any,
) -> None:
    """Write what coupon compare finds as a report, with photos, charts, limits and settings.

    The HTML report is one file that opens offline and prints well; the PDF has true pages. Both
    name every photo by its hash, and how to repeat the comparison.

    \b
    Example:
      coupon report --factor setup --before stock --after brace -o report.html
      coupon report --before stock --after brace --machine Alder -o brace.pdf
    """
    from scoring.comparing.limits import read_limits  # noqa: PLC0415
    from scoring.reporting.writing import check_output, write_report  # noqa: PLC0415
    from scoring.runs.filter import RunFilter  # noqa: PLC0415
    from scoring.store.database import database_words, locate_database  # noqa: PLC0415

    check_output(out)
    limits = read_limits(written)
    chosen = RunFilter(**wanted)
    options = [("--pair-on", pair_on), *(("--metric", metric) for metric in metrics)]
    options += [(f"--{name}", value) for name, value in wanted.items()]
    options += [("--db", database and database_words(locate_database(database)))]
    with filled_store(database) as store:
        chosen.check_known([r.settings for r in store.runs()])
        records = store.measurements(chosen)
        found = compared(records, factor, before, after, pair_on=pair_on, metrics=metrics)
        write_report(
            found,
            out,
            read_face=store.face_jpeg,
            limits=limits,
            options=[(name, value) for name, value in options if value is not None],
        )
    click.echo(click.wrap_text(found.verdict, 100))
    click.echo(f"\nReport written to {out}.")
