"""``coupon rank``: put the stored runs in order."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scoring.cli.options import (
    READ_FILE,
    database_option,
    face_option,
    filter_options,
    json_option,
)
from scoring.cli.stored_numbers import read_stored

if TYPE_CHECKING:
    from scoring.ranking.rank import RankedRun


@click.command(short_help="Rank the stored runs, settings beside.")
@click.option(
    "--by", default="score", metavar="METRIC", help="score (default), or a metric such as "
    "ripple_peak_um, ripple_rms_um, frequency_hz, gap_fraction, recovery_mm.",
)  # fmt: skip
@face_option
@filter_options
@click.option(
    "--weights",
    type=READ_FILE,
    metavar="FILE",
    help="The score's weights and references, a .toml file like the package's own score.toml.",
)
@database_option
@json_option
def rank(
    by: str,
    face: str | None,
    weights: Path | None,
    database: str | None,
    as_json: bool,
    **wanted: Any,
) -> None:
    """Rank the stored runs, best first, with their settings beside.

    The score is 100 / (1 + sum of weight * metric / reference): 100 is a flawless print. With
    --face it takes that face's metrics alone. Runs share a rank as long as their difference to the
    first of that rank is not established (its 95 % interval includes zero).

    \b
    Example:
      coupon rank
      coupon rank --by ripple_peak_um --axis x --machine Alder
      coupon rank --face flow --weights my-weights.toml --json
    """
    from scoring.metrics import FaceName  # noqa: PLC0415
    from scoring.ranking.rank import check_rankable, rank_runs  # noqa: PLC0415
    from scoring.ranking.run_numbers import numbers_by_run  # noqa: PLC0415
    from scoring.ranking.score import read_score_table  # noqa: PLC0415

    table = read_score_table(weights)
    one_face = FaceName(face) if face else None
    check_rankable(by, one_face)
    numbers = numbers_by_run(read_stored(database, wanted))
    if one_face is not None:
        numbers = tuple(run for run in numbers if one_face in run.faces)
    ranked = rank_runs(numbers, by=by, table=table, face=one_face)
    if as_json:
        for row in ranked:
            click.echo(_as_json(row, by))
    else:
        click.echo(ranking_text(ranked, by))


def _as_json(row: "RankedRun", by: str) -> str:
    import dataclasses  # noqa: PLC0415
    import json  # noqa: PLC0415

    run = row.run
    said = {
        "rank": row.rank,
        "run": run.settings.name,
        "by": by,
        "value": dataclasses.asdict(row.value) if row.value else None,
        "unranked": row.unranked or None,
        "settings": run.settings.model_dump(mode="json"),
        "photos": run.photos,
        "metrics": {name: dataclasses.asdict(e) for name, e in run.metrics.items()},
        "flags": [flag.value for flag in run.flags],
        "out_of_date": run.stale,
    }
    return json.dumps(said, ensure_ascii=False)


def ranking_text(ranked: "tuple[RankedRun, ...]", by: str) -> str:
    """The ranking as a table, the settings that differ beside, those that do not above."""
    from scoring.cli.layout import format_table, with_unit  # noqa: PLC0415
    from scoring.metric_words import format_shown  # noqa: PLC0415
    from scoring.metrics import METRICS, MODE_METRICS  # noqa: PLC0415
    from scoring.runs.settings import WORDS, format_setting, heading  # noqa: PLC0415
    from scoring.runs.varying import find_variation  # noqa: PLC0415

    if not ranked:
        return "None of these runs has a photo to rank by."
    better = {m.name: m.better for m in (*METRICS, *MODE_METRICS)}.get(by, "higher")
    order = {
        "higher": "higher is better",
        "lower": "lower is better",
        "none": "in order of size; neither is better",
    }[better]
    settings = [row.run.settings for row in ranked]
    varies = find_variation(settings)
    alike = [f"{WORDS[name]} {format_setting(settings[0], name)}" for name in varies.alike]
    lines = [f"Ranked by {with_unit(by)} ({order}). Equal rank: no difference established."]
    if alike:
        lines.append(click.wrap_text(f"Alike in all: {', '.join(alike)}.", width=100))
    head = ["rank", "run", *map(heading, varies.differ), with_unit(by, "\n"), "95 % interval"]
    with_value = [(row, row.value) for row in ranked if row.value is not None]
    shown = format_shown(by, [value for _, value in with_value])
    rows = [
        [
            row.rank,
            row.run.settings.name + ("*" if row.run.stale else ""),
            *(format_setting(row.run.settings, name, unit=False) for name in varies.differ),
            *value,
        ]
        for (row, _), value in zip(with_value, shown, strict=True)
    ]
    if rows:
        lines += ["", format_table(head, rows)]
    if any(row.run.stale for row in ranked):
        lines += ["", "* out of date; bring it up to date with coupon remeasure"]
    without = [row for row in ranked if row.value is None]
    if without:
        lines += ["", "Not ranked:"]
        lines += [f"  {row.run.settings.name}: {row.unranked}" for row in without]
    return "\n".join(lines)
