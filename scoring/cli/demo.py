"""``coupon demo``: the whole chain on the photos that come with the package."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from scoring.cli.error_words import told
from scoring.cli.options import jobs_option

if TYPE_CHECKING:
    from scoring.batch import MeasureFunction


@click.command(short_help="Measure the photos that come with it and rank them.")
@click.option(
    "--db",
    "database",
    default="coupon-demo.db",
    show_default=True,
    metavar="FILE|URL",
    help="The run store to fill.",
)
@click.option(
    "--photos",
    type=click.Path(path_type=Path, file_okay=False, exists=True),
    help="Another folder with a runs.toml and its photos.",
)
@click.option(
    "--report",
    "report_file",
    type=click.Path(path_type=Path, dir_okay=False),
    default="coupon-demo-report.html",
    show_default=True,
    help="Where to write the report on the brace, .html or .pdf.",
)
@jobs_option
@click.pass_obj
def demo(
    replacement: "MeasureFunction | None",
    /,
    *,
    database: str,
    photos: Path | None,
    report_file: Path,
    jobs: int | None,
) -> None:
    """Measure the demo's photos into a database of its own, rank its runs and report on the brace.

    Two home-built machines, Alder and Birch, over several accelerations, Alder before and after a
    frame brace was fitted. The photos are computed, not taken: no photo of a real print is among
    them. It can be run again at any time; photos that are there already are not measured again.

    \b
    Example:
      coupon demo
      coupon demo --db /tmp/demo.db
    """
    from scoring.cli.photo_tasks import measure_function  # noqa: PLC0415
    from scoring.cli.progress import watched  # noqa: PLC0415
    from scoring.cli.rank import ranking_text  # noqa: PLC0415
    from scoring.demo import (  # noqa: PLC0415
        COMPUTED,
        add_demo_photos,
        find_demo_photos,
        rank_demo_runs,
        report_demo,
    )
    from scoring.errors import SideNotFoundError  # noqa: PLC0415
    from scoring.reporting.writing import check_output  # noqa: PLC0415
    from scoring.store.database import database_words, locate_database  # noqa: PLC0415
    from scoring.store.run_store import RunStore  # noqa: PLC0415

    check_output(report_file)
    folder = photos or find_demo_photos()
    with RunStore.open(database) as store:
        total, results = add_demo_photos(
            store, folder, measure=measure_function(replacement), workers=jobs
        )
        click.echo(f"Measuring {total} photos into {database} ...", err=True)
        done = list(watched(results, total=total, label="Measuring"))
        ranked = rank_demo_runs(store)
        try:
            # Of another folder's photos nobody here knows how they were made.
            note = COMPUTED if photos is None else ""
            named = [("--db", database_words(locate_database(database)))]
            verdict = report_demo(store, report_file, note=note, options=named)
            reported = f"{click.wrap_text(verdict, 100)}\n\nThe report on that: {report_file}"
        except SideNotFoundError as error:
            reported = f"No report was written. {error}"
    failed = [one for one in done if one.failure is not None]
    click.echo(ranking_text(ranked, "score"))
    click.echo(
        f"\nThe page shows this with the photos:   coupon page --db {database}"
        f"\nOne run with all its numbers:          coupon show "
        f"{ranked[0].run.settings.name if ranked else 'RUN'} --db {database}"
        f"\nOne metric, one machine:               coupon rank --by ripple_peak_um --machine Alder "
        f"--db {database}"
        f"\n\n{reported}"
    )
    for one in failed:
        assert one.failure is not None
        click.echo(f"{one.name}: {told(one.failure).message}", err=True)
    if failed:
        raise SystemExit(1)
