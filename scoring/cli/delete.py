"""``coupon delete``: hide runs or photos, until they are brought back."""

import click

from scoring.cli.options import database_option, photo_option
from scoring.cli.stored_numbers import filled_store


@click.command(short_help="Delete runs or photos; it can be undone.")
@click.argument("runs", metavar="RUN...", nargs=-1, required=True)
@photo_option
@database_option
def delete(runs: tuple[str, ...], photos: tuple[str, ...], database: str | None) -> None:
    """Delete each RUN with its photos, or with --photo only these photos of one RUN.

    What is deleted is hidden everywhere, and nothing of it is lost: coupon restore brings it back
    at any time. Where something named is not there, nothing is deleted.

    \b
    Example:
      coupon delete B7-012
      coupon delete B7-012 --photo b7-012-flow.jpg
      coupon restore B7-012
    """
    import shlex  # noqa: PLC0415

    from scoring.cli.photo_choice import choose_photos, one_run  # noqa: PLC0415

    with filled_store(database) as store:
        records = [store.run(run) for run in dict.fromkeys(runs)]
        at = f" --db {shlex.quote(database)}" if database else ""
        if photos:
            one_run(runs)
            run = records[0].settings.name
            there = [(r.photo.name, r.photo.sha256) for r in store.measurements(run=run)]
            for name, sha256 in choose_photos(photos, there, f"Run {run} has"):
                store.delete_photo(sha256)
                click.echo(
                    f"Photo {name} of run {run} is deleted. To undo it: "
                    f"coupon restore {shlex.quote(run)} --photo {sha256[:8]}{at}"
                )
            return
        for record in records:
            run = record.settings.name
            store.delete_run(run)
            click.echo(
                f"Run {run} ({record.photos} photos) is deleted. To undo it: "
                f"coupon restore {shlex.quote(run)}{at}"
            )
