"""``coupon show``: one run with its settings, photos and numbers."""

from typing import TYPE_CHECKING, Any

import click

from scoring.cli.options import database_option, json_option
from scoring.cli.stored_numbers import filled_store

if TYPE_CHECKING:
    from scoring.ranking.run_numbers import RunNumbers
    from scoring.store.records import MeasurementRecord, RunRecord


@click.command(short_help="Show a run with its settings and numbers.")
@click.argument("run")
@database_option
@json_option
def show(run: str, database: str | None, as_json: bool) -> None:
    """Show a RUN: its settings, its photos, and what was measured on each and on all together.

    \b
    Example:
      coupon show B7-012
      coupon show B7-012 --json
    """
    from scoring.ranking.run_numbers import numbers_by_run  # noqa: PLC0415

    with filled_store(database) as store:
        record = store.run(run)
        photos = store.measurements(run=record.settings.name)
    together = next(iter(numbers_by_run(photos)), None)
    click.echo(_as_json(record, photos) if as_json else _as_text(record, photos, together))


def _as_json(record: "RunRecord", photos: "tuple[MeasurementRecord, ...]") -> str:
    import json  # noqa: PLC0415

    from scoring.store.records import reasons_stale  # noqa: PLC0415

    def photo(one: "MeasurementRecord") -> dict[str, Any]:
        return {
            "sha256": one.photo.sha256,
            "added_at": one.photo.added_at.isoformat(),
            "measured_at": one.measured_at.isoformat(),
            "method_version": one.measurement.method_version,
            "geometry_revision": one.measurement.geometry_revision,
            "out_of_date": list(reasons_stale(one)),
            "measurement": one.measurement.to_json(),
        }

    said = {
        "settings": record.settings.model_dump(mode="json"),
        "added_at": record.added_at.isoformat(),
        "photos": [photo(one) for one in photos],
    }
    return json.dumps(said, ensure_ascii=False)


def _as_text(
    record: "RunRecord",
    photos: "tuple[MeasurementRecord, ...]",
    together: "RunNumbers | None",
) -> str:
    from scoring.cli.layout import format_table  # noqa: PLC0415
    from scoring.cli.measured_text import HEAD, describe_measurement  # noqa: PLC0415
    from scoring.metric_words import format_shown, shown_unit  # noqa: PLC0415
    from scoring.runs.settings import WORDS, format_setting  # noqa: PLC0415
    from scoring.store.records import reasons_stale  # noqa: PLC0415

    settings = record.settings
    known = [(w, format_setting(settings, n)) for n, w in WORDS.items()]
    known += [(name, str(value)) for name, value in settings.extra.items()]
    wide = max(len(words) for words, _ in known)
    parts = [f"Run {settings.name}"]
    parts[0] += "".join(f"\n  {words:<{wide}}  {value}" for words, value in known if value)
    if not photos:
        return "\n\n".join([*parts, "No photo of this run is stored yet."])
    for one in photos:
        text = describe_measurement(one.measurement.photo, one.measurement)
        stale = [f"\n  out of date: {why}; see coupon remeasure" for why in reasons_stale(one)]
        parts.append(text + "".join(stale))
    if together is not None and together.photos > len(together.faces):
        rows = [(n, *format_shown(n, [e])[0], shown_unit(n)) for n, e in together.metrics.items()]
        parts.append(
            f"All {together.photos} photos together (modes: the strongest)\n"
            + format_table(HEAD, rows)
        )
    return "\n\n".join(parts)
