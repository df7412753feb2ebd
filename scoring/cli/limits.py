"""``coupon limits``: how far up the accelerations prints keep within one's own limits."""

from typing import TYPE_CHECKING, Any

import click

from scoring.cli.options import (
    csv_option,
    database_option,
    filter_options,
    json_option,
    limit_option,
)
from scoring.cli.results import put_results
from scoring.cli.stored_numbers import read_stored

if TYPE_CHECKING:
    from scoring.comparing.acceptance import LimitResult


@click.command(short_help="The highest acceleration that keeps within your limits.")
@limit_option
@filter_options
@database_option
@json_option
@csv_option
def limits(
    written: tuple[str, ...],
    database: str | None,
    as_json: bool,
    csv_file: str | None,
    **wanted: Any,
) -> None:
    """Find, for each machine and setup, the highest acceleration that passes your limits.

    An acceleration passes if the upper end of its one-sided 95 % interval is within the limit. The
    answer is the highest one printed up to which all pass.

    \b
    Example:
      coupon limits
      coupon limits --limit ripple_peak_um=15 --limit gap_fraction=1%
      coupon limits --limit "ripple_rms_um=5 um" --machine Alder --json
    """
    from scoring.comparing.limits import find_limits, read_limits  # noqa: PLC0415
    from scoring.comparing.plain import LIMIT_COLUMNS, limit_object, limit_rows  # noqa: PLC0415

    wanted_limits = read_limits(written)
    found = find_limits(read_stored(database, wanted), wanted_limits)
    put_results(
        csv_file=csv_file,
        columns=LIMIT_COLUMNS,
        rows=limit_rows(found),
        as_json=as_json,
        objects=map(limit_object, found),
        text=lambda: limits_text(found),
    )


def limits_text(found: "tuple[LimitResult, ...]") -> str:
    """A table of machine and setup by limit, and each one's sentences beneath."""
    from scoring.cli.layout import format_table  # noqa: PLC0415
    from scoring.comparing.limit_words import (  # noqa: PLC0415
        NOT_REPEATED,
        group_labels,
        group_words,
        limit_words,
        reach_words,
    )

    if not found:
        return "None of these runs has a photo yet."
    head = ["machine, setup", *(limit_words(lad.limit) for lad in found[0].ladders), "all of them"]
    rows = [
        [
            label,
            *(reach_words(lad.reach, lad.highest_mm_s2) for lad in result.ladders),
            reach_words(result.reach, result.highest_mm_s2),
        ]
        for label, result in zip(
            group_labels([result.group for result in found]), found, strict=True
        )
    ]
    lines = ["Highest acceleration that passes with 95 % confidence, mm/s²:", ""]
    lines.append(format_table(head, rows))
    for result in found:
        lines += ["", click.wrap_text(f"{group_words(result.group)}:", 100)]
        lines += [
            click.wrap_text(one.sentence, 100, initial_indent="  ", subsequent_indent="    ")
            for one in result.ladders
        ]
    if not all(lad.between_prints for result in found for lad in result.ladders):
        lines += ["", click.wrap_text(NOT_REPEATED, 100)]
    return "\n".join(lines)
