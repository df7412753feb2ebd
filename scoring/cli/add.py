"""``coupon add``: measure photos and keep them with their run."""

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scoring.cli.error_words import told
from scoring.cli.options import (
    READ_FILE,
    database_option,
    face_option,
    jobs_option,
    json_option,
    settings_options,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from scoring.adding import AddedPhoto
    from scoring.batch import Failure, MeasureFunction
    from scoring.cli.photo_tasks import GivenItems
    from scoring.runs.settings import RunSettings
    from scoring.store.run_store import RunStore

WHERE_LISTED = "a TOML file names a run's photos as photos = [...], a CSV file in a column photo"
STOPPED = 130
"""The status after Ctrl-C, as shells give it: 128 and the signal's number."""


@click.command(short_help="Measure photos and keep them with their run.")
@click.argument("items", metavar="PHOTO|FILE...", nargs=-1, required=True, type=READ_FILE)
@settings_options
@face_option
@click.option("--update", is_flag=True, help="Take over settings that differ from the stored ones.")
@click.option("--move", is_flag=True, help="Take photos over from the run they were stored under.")
@click.option("--ignore-label", is_flag=True, help="The label is wrong: go by options and files.")
@database_option
@json_option
@jobs_option
@click.pass_obj
def add(
    replacement: "MeasureFunction | None",
    /,
    *,
    items: tuple[Path, ...],
    face: str | None,
    update: bool,
    move: bool,
    ignore_label: bool,
    database: str | None,
    as_json: bool,
    jobs: int | None,
    extra: tuple[str, ...],
    **settings: Any,
) -> None:
    """Measure PHOTOs and keep them, each with the settings of its run.

    A run is one print; it may have several photos of either face. Its settings come from options,
    from a settings FILE (.toml or .csv) that lists runs and their photos, or, for a run that is
    stored or listed already, from the label in the photo. Adding a photo twice does no harm. A
    photo is stored together with its numbers, or not at all; then the status is 1. After --update
    photos that are out of date are measured again; one that cannot be keeps its old numbers, and
    the status is 1, too. Ctrl-C keeps what is added; the same command goes on from there.

    \b
    Example, the label naming the run and the axis:
      coupon add a.jpg --machine Birch --speed 150 --accel "5 m/s^2"
    \b
    Example, everything in a file, then one more photo of a run that it lists:
      coupon add runs.toml
      coupon add another.jpg
    \b
    Example, correcting a stored run's setting:
      coupon add a.jpg --run B7-012 --accel 6000 --update
    """
    from scoring.adding import add_photos  # noqa: PLC0415
    from scoring.cli.photo_tasks import (  # noqa: PLC0415
        measure_function,
        read_extra,
        read_items,
        tasks_for,
    )
    from scoring.cli.progress import watched  # noqa: PLC0415
    from scoring.runs.plan import given_settings  # noqa: PLC0415
    from scoring.store.run_store import RunStore  # noqa: PLC0415

    found = read_items(items)
    given = given_settings({**settings, "extra": read_extra(extra)})
    if found.runs and "name" in given:
        raise click.UsageError("--run names one run, but the settings file lists its own.")
    with RunStore.open(database) as store:
        stored = store.known_settings()
        tasks = tasks_for(found, given, stored=stored, face=face, ignore_label=ignore_label)
        refused, recorded = _record_bare(store, found, given, stored, update=update)
        for name, failure in refused:
            _say_refused(name, failure, as_json=as_json)
        results = add_photos(
            store,
            tasks,
            measure=measure_function(replacement),
            update=update,
            move=move,
            workers=jobs,
            corrected=recorded,
        )
        done: list[AddedPhoto] = []
        try:
            for result in watched(results, total=len(tasks), label="Adding", shown=not as_json):
                done.append(result)
                if as_json:
                    click.echo(_as_json(result))
        except KeyboardInterrupt:
            _say_stopped(done)
            raise SystemExit(STOPPED) from None
    if not as_json:
        _say(done, len(found.runs))
    if not found.photos:
        click.echo(f"No photo is listed: {WHERE_LISTED}.", err=True)
    if refused or any(result.failure for result in done):
        raise SystemExit(1)


def _record_bare(
    store: "RunStore",
    found: "GivenItems",
    given: "Mapping[str, Any]",
    stored: "Mapping[str, RunSettings]",
    *,
    update: bool,
) -> "tuple[list[tuple[str, Failure]], list[str]]":
    """Record the listed runs without photos: those refused, each with why, and those recorded.

    A run with photos is recorded with the first of them, so that none is left behind empty.
    """
    from scoring.batch import Failure  # noqa: PLC0415
    from scoring.errors import ScoringError  # noqa: PLC0415
    from scoring.runs.plan import RunPlan  # noqa: PLC0415

    refused: list[tuple[str, Failure]] = []
    recorded: list[str] = []
    with_photos = {run.name for run in found.listed.values()}
    for run in found.runs:
        if run.name in with_photos:
            continue
        try:
            settings = RunPlan(run, stored, given).choose(None).settings
            assert settings is not None
            store.record_run(settings, update=update)
        except ScoringError as error:
            refused.append((run.name, Failure.of(error)))
        else:
            recorded.append(run.name)
    return refused, recorded


def _say_stopped(done: "list[AddedPhoto]") -> None:
    kept = sum(result.failure is None for result in done)
    photos = "1 photo is" if kept == 1 else f"{kept} photos are"
    click.echo(f"\nStopped: {photos} kept; run the same command again to go on.", err=True)


def _say_refused(run: str, failure: "Failure", *, as_json: bool) -> None:
    import json  # noqa: PLC0415

    failure = told(failure)
    if as_json:
        click.echo(json.dumps({"run": run, "error": failure.to_json()}, ensure_ascii=False))
    else:
        click.echo(f"Run {run}: not recorded ({failure.code})\n  {failure.message}", err=True)


def _as_json(result: "AddedPhoto") -> str:
    import json  # noqa: PLC0415

    said: dict[str, Any] = {"photo": result.name}
    if result.run is not None:
        said["run"] = result.run
    if result.failure is not None:
        said["error"] = told(result.failure).to_json()
    else:
        said["change"] = str(result.change)
        said["measurement"] = result.measurement.to_json() if result.measurement else None
    return json.dumps(said, ensure_ascii=False)


def _say(done: "list[AddedPhoto]", runs: int) -> None:
    from scoring.cli.layout import format_table  # noqa: PLC0415
    from scoring.metrics import FACE_WORDS  # noqa: PLC0415
    from scoring.store.recording import PhotoChange  # noqa: PLC0415

    rows = [
        (r.name, r.run, FACE_WORDS[r.measurement.face] if r.measurement else "", str(r.change))
        for r in done
        if r.failure is None
    ]
    if rows:
        click.echo(format_table(("photo", "run", "face", "result"), rows))
    for result in done:
        if result.failure is not None:
            what = f"{result.name}: not added"
            if result.run is not None:
                what = f"{result.name} of run {result.run}: keeps its old numbers"
            failure = told(result.failure)
            click.echo(f"{what} ({failure.code})\n  {failure.message}", err=True)
    always = {PhotoChange.ADDED, PhotoChange.ALREADY_THERE}
    number = Counter(result.change for result in done)
    counts = [f"{number[c]} {c}" for c in PhotoChange if number[c] or c in always]
    listed = f"{runs} run{'' if runs == 1 else 's'} in the settings file; " if runs else ""
    click.echo(f"{listed}photos: {', '.join(counts)}, {number[None]} failed.")
