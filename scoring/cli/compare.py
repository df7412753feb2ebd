"""``coupon compare``: before against after."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from scoring.cli.options import (
    csv_option,
    database_option,
    filter_options,
    json_option,
    metric_option,
    side_options,
)
from scoring.cli.results import put_results
from scoring.cli.stored_numbers import read_stored

if TYPE_CHECKING:
    from scoring.comparing.comparison import Comparison
    from scoring.store.records import MeasurementRecord


@click.command(short_help="Did a change help, by how much, and how sure is that?")
@side_options
@metric_option
@filter_options
@database_option
@json_option
@csv_option
def compare(
    *,
    factor: str,
    before: str | None,
    after: str | None,
    pair_on: str | None,
    metrics: tuple[str, ...],
    database: str | None,
    as_json: bool,
    csv_file: str | None,
    **wanted: Any,
) -> None:
    """Compare the prints on two sides of a setting, like with like.

    Prints are paired on all else that matters; several photos of one print are averaged first.
    Ripples compare as a ratio, gaps as a difference, each with its 95 % interval. Other settings
    that differ too are listed first, since the change may be theirs.

    \b
    Example:
      coupon compare --factor setup --before stock --after brace
      coupon compare --factor extruder_ratio --before 3 --after 10 --machine Alder
      coupon compare --before stock --after brace --metric ripple_peak_um --csv effects.csv
    """
    from scoring.comparing.plain import (  # noqa: PLC0415
        EFFECT_COLUMNS,
        comparison_object,
        effect_rows,
    )

    records = read_stored(database, wanted)
    found = compared(records, factor, before, after, pair_on=pair_on, metrics=metrics)
    put_results(
        csv_file=csv_file,
        columns=EFFECT_COLUMNS,
        rows=effect_rows(found),
        as_json=as_json,
        objects=[comparison_object(found)] if as_json else (),
        text=lambda: comparison_text(found, every=bool(metrics)),
    )


def compared(
    records: "Sequence[MeasurementRecord]",
    factor: str,
    before: str | None,
    after: str | None,
    *,
    pair_on: str | None,
    metrics: Sequence[str],
) -> "Comparison":
    """The comparison that the options ask for.

    Raises :class:`scoring.errors.SideNotFoundError` that lists the values there are where a side
    is not named.
    """
    from scoring.comparing.compare import compare_sides  # noqa: PLC0415
    from scoring.comparing.factor import check_setting, setting_words, values_of  # noqa: PLC0415
    from scoring.comparing.prints import gather_prints  # noqa: PLC0415
    from scoring.errors import SideNotFoundError  # noqa: PLC0415

    if before is None or after is None:
        prints = gather_prints(records)
        there = values_of(prints, check_setting(factor, prints))
        listed = ", ".join(f"{value} ({count} prints)" for value, count in there.items())
        raise SideNotFoundError(
            f"Name the two sides of {setting_words(factor)} with --before and --after; "
            f"there is {listed or 'no measured print yet'}."
        )
    return compare_sides(
        records,
        factor=factor,
        before=before,
        after=after,
        metrics=metrics or None,
        pair_on=None if pair_on is None else [name.strip() for name in pair_on.split(",")],
    )


def comparison_text(found: "Comparison", *, every: bool) -> str:
    """The comparison as people read it, what casts doubt first.

    ``every`` metric is told at each acceleration, else those that the verdict is about.
    """
    from scoring.cli.layout import format_table  # noqa: PLC0415
    from scoring.comparing.effect_words import HOW_TO_READ, effect_cells  # noqa: PLC0415
    from scoring.comparing.pairing import pairing_words  # noqa: PLC0415
    from scoring.comparing.verdict import HEADLINES  # noqa: PLC0415

    def wrapped(text: str) -> str:
        return click.wrap_text(text, 100, initial_indent="  ", subsequent_indent="    ")

    words = found.factor_words
    lines = [
        f"{words[0].upper()}{words[1:]}: {found.after.words} against {found.before.words}.",
        "",
    ]
    if found.confounders:
        lines.append("Differs too, so may be the cause:")
        lines += [wrapped(str(one)) for one in found.confounders]
    else:
        lines.append("Nothing else that is given differs between the sides.")
    if found.remarks:
        lines += ["", "Know first:"]
        lines += [wrapped(remark.sentence) for remark in found.remarks]
    lines += ["", click.wrap_text(found.verdict, 100)]
    if not found.overall:
        return "\n".join(lines)
    shared = pairing_words(found.paired_on)
    lines += ["", click.wrap_text(f"{shared} Ratios are after / before.", 100), ""]
    head = ["metric", "change (95 % interval)", "p", "pairs", "prints", "would\nhave shown"]
    lines.append(format_table(head, [effect_cells(effect) for effect in found.overall]))
    told = [e for e in found.by_accel if every or e.metric in HEADLINES]
    if told:
        head = ["metric", "acceleration\nmm/s²", *head[1:]]
        rows = [
            [cells[0], f"{e.accel_mm_s2:g}", *cells[1:]]
            for e in told
            for cells in [effect_cells(e)]
        ]
        lines += ["", format_table(head, rows)]
    lines += ["", click.wrap_text(HOW_TO_READ, 100)]
    return "\n".join(lines)
