"""``coupon runs``: list the stored runs."""

from typing import Any

import click

from scoring.cli.options import database_option, filter_options, json_option
from scoring.cli.stored_numbers import filled_store


@click.command(short_help="List the stored runs.")
@filter_options
@database_option
@json_option
def runs(database: str | None, as_json: bool, **wanted: Any) -> None:
    """List the stored runs with what they were printed on.

    \b
    Example:
      coupon runs
      coupon runs --machine Alder --setup brace
      coupon runs --json
    """
    import json  # noqa: PLC0415

    from scoring.cli.layout import format_table  # noqa: PLC0415
    from scoring.metrics import FACE_WORDS  # noqa: PLC0415
    from scoring.runs.filter import RunFilter  # noqa: PLC0415
    from scoring.runs.settings import format_setting, heading  # noqa: PLC0415

    chosen = RunFilter(**wanted)
    with filled_store(database) as store:
        every = store.runs()
    chosen.check_known([r.settings for r in every])
    found = [r for r in every if chosen.passes(r.settings)]
    if as_json:
        for run in found:
            faces = [face.value for face in run.faces]
            said = {"settings": run.settings.model_dump(mode="json"), "photos": run.photos}
            click.echo(json.dumps({**said, "faces": faces, "added_at": run.added_at.isoformat()}))
        return
    names = ("machine", "setup", "axis", "outer_wall_speed_mm_s", "accel_mm_s2", "filament")
    rows = [
        (
            r.settings.name,
            *(format_setting(r.settings, name, unit=False) for name in names),
            r.photos,
            ", ".join(FACE_WORDS[face] for face in r.faces),
        )
        for r in found
    ]
    click.echo(format_table(("run", *map(heading, names), "photos", "faces"), rows))
