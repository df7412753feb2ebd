"""``coupon restore``: bring back what was deleted."""

from typing import TYPE_CHECKING

import click

from scoring.cli.options import database_option, photo_option

if TYPE_CHECKING:
    from scoring.store.records import DeletedRecord


@click.command(short_help="Bring back deleted runs or photos, or list them.")
@click.argument("runs", metavar="[RUN...]", nargs=-1)
@photo_option
@database_option
def restore(runs: tuple[str, ...], photos: tuple[str, ...], database: str | None) -> None:
    """Bring back each deleted RUN with the photos that went with it, or with --photo only these
    photos of one RUN. Without a RUN, list what is deleted.

    \b
    Example:
      coupon restore
      coupon restore B7-012
      coupon restore B7-012 --photo b7-012-flow.jpg
    """
    from scoring.cli.photo_choice import choose_photos, one_run  # noqa: PLC0415
    from scoring.errors import RunNotFoundError  # noqa: PLC0415
    from scoring.store.run_store import RunStore  # noqa: PLC0415

    with RunStore.open(database, create=False) as store:
        deleted = store.deleted()
        names = {one.run for one in deleted}
        runs = tuple(run if run in names else run.upper() for run in runs)
        if photos:
            run = one_run(runs)
            there = [(d.photo, d.sha256) for d in deleted if d.run == run and d.photo and d.sha256]
            for name, sha256 in choose_photos(photos, there, f"Deleted of run {run} is"):
                store.restore_photo(sha256)
                click.echo(f"Photo {name} of run {run} is back.")
            return
        if not runs:
            click.echo(_listed(deleted))
            return
        gone = {record.run: record for record in deleted if record.photo is None}
        for run in dict.fromkeys(runs):
            if run not in gone:
                raise RunNotFoundError(
                    f"No run {run!r} is deleted; there is {', '.join(gone) or 'none'} to bring "
                    "back."
                )
        for run in dict.fromkeys(runs):
            store.restore_run(run)
            click.echo(f"Run {run} ({gone[run].photos} photos) is back.")


def _listed(deleted: "tuple[DeletedRecord, ...]") -> str:
    from scoring.cli.layout import format_table  # noqa: PLC0415

    if not deleted:
        return "Nothing is deleted."
    rows = [
        (
            one.run,
            f"{one.photo} ({one.sha256[:8]})" if one.sha256 else f"all {one.photos}",
            one.deleted_at.strftime("%Y-%m-%d %H:%M UTC"),
        )
        for one in deleted
    ]
    return format_table(("run", "photos", "deleted"), rows)
