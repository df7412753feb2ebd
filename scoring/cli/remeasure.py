"""``coupon remeasure``: bring stored numbers up to date."""

from typing import TYPE_CHECKING

import click

from scoring.cli.error_words import told
from scoring.cli.options import database_option, jobs_option, json_option
from scoring.cli.stored_numbers import filled_store

if TYPE_CHECKING:
    from scoring.batch import MeasureFunction
    from scoring.remeasuring import Remeasured


@click.command(short_help="Bring stored numbers up to date.")
@click.argument("runs", metavar="[RUN...]", nargs=-1)
@click.option("--all", "everything", is_flag=True, help="Also photos that are up to date.")
@database_option
@json_option
@jobs_option
@click.pass_obj
def remeasure(
    replacement: "MeasureFunction | None",
    /,
    *,
    runs: tuple[str, ...],
    everything: bool,
    database: str | None,
    as_json: bool,
    jobs: int | None,
) -> None:
    """Measure stored photos again whose numbers are out of date: of all runs, or of each RUN.

    A number is out of date once the method, the coupon's geometry or the run's speed, acceleration
    or layer height has changed. A photo that cannot be measured any more keeps its old numbers;
    then the status is 1.

    \b
    Example:
      coupon remeasure
      coupon remeasure B7-012 --all
    """
    from scoring.cli.photo_tasks import measure_function  # noqa: PLC0415
    from scoring.cli.progress import watched  # noqa: PLC0415
    from scoring.remeasuring import remeasure as measure_again  # noqa: PLC0415
    from scoring.remeasuring import stale_photos  # noqa: PLC0415

    with filled_store(database) as store:
        names = [store.run(run).settings.name for run in runs] or None
        photos = stale_photos(store, runs=names, everything=everything)
        if not photos and not as_json:
            click.echo("Every number is up to date.")
            return
        results = measure_again(store, photos, measure=measure_function(replacement), workers=jobs)
        done: list[Remeasured] = []
        for one in watched(results, total=len(photos), label="Measuring", shown=not as_json):
            done.append(one)
            if as_json:
                click.echo(_as_json(one))
    if not as_json:
        _say(done)
    if any(one.failure for one in done):
        raise SystemExit(1)


def _as_json(one: "Remeasured") -> str:
    import json  # noqa: PLC0415

    said = {
        "photo": one.old.photo.name,
        "run": one.old.settings.name,
        "old": one.old.measurement.to_json(),
        "new": one.new.to_json() if one.new else None,
    }
    if one.failure is not None:
        said["error"] = told(one.failure).to_json()
    return json.dumps(said, ensure_ascii=False)


def _say(done: "list[Remeasured]") -> None:
    from scoring.cli.layout import format_table, with_unit  # noqa: PLC0415
    from scoring.metric_words import format_shown  # noqa: PLC0415

    rows = []
    for one in done:
        name = next(iter(one.old.measurement.metrics), None)
        if one.new is None or name is None or name not in one.new.metrics:
            continue
        old, new = one.old.measurement.metrics[name], one.new.metrics[name]
        shown = (format_shown(name, [old])[0][0], format_shown(name, [new])[0][0])
        rows.append((one.old.photo.name, one.old.settings.name, with_unit(name), *shown))
    if rows:
        click.echo(format_table(("photo", "run", "metric", "old", "new"), rows))
    for one in done:
        if one.failure is not None:
            click.echo(
                f"{one.old.photo.name} of run {one.old.settings.name}: keeps its old numbers "
                f"({one.failure.code})\n  {told(one.failure).message}",
                err=True,
            )
    failed = sum(one.failure is not None for one in done)
    click.echo(f"{len(done) - failed} measured again, {failed} kept their old numbers.")
