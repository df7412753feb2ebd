"""``coupon repeatability``: more photos, or more coupons?"""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scoring.cli.options import (
    csv_option,
    database_option,
    filter_options,
    json_option,
    metric_option,
)
from scoring.cli.results import put_results
from scoring.cli.stored_numbers import read_stored

if TYPE_CHECKING:
    from scoring.comparing.spread import Plan, Repeatability


@click.command(short_help="More photos, or more coupons? The spread that each contributes.")
@metric_option
@click.option(
    "--persons",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    metavar="FILE",
    help="A CSV with the columns photo and person: a study of several persons (or phones) that "
    "each photographed the same prints again and again.",
)
@filter_options
@database_option
@json_option
@csv_option
def repeatability(
    metrics: tuple[str, ...],
    persons: Path | None,
    database: str | None,
    as_json: bool,
    csv_file: str | None,
    **wanted: Any,
) -> None:
    """Tell the spread from photo to photo from that between prints of the same settings.

    It needs repeats: some prints photographed more than once, the card laid anew, and some coupons
    printed more than once, each as a run of its own with the same settings.

    \b
    Example:
      coupon repeatability
      coupon repeatability --metric ripple_peak_um --machine Alder
      coupon repeatability --metric gap_fraction --persons who.csv --json
    """
    from scoring.comparing.persons import read_persons, study_persons  # noqa: PLC0415
    from scoring.comparing.plain import (  # noqa: PLC0415
        SPREAD_COLUMNS,
        STUDY_COLUMNS,
        spread_object,
        spread_rows,
        study_rows,
    )
    from scoring.comparing.repeatability import find_repeatability  # noqa: PLC0415

    records = read_stored(database, wanted)
    if persons is not None:
        studies = study_persons(records, read_persons(persons), metrics or ("ripple_peak_um",))
        rows = list(study_rows(studies))
        put_results(
            csv_file=csv_file,
            columns=STUDY_COLUMNS,
            rows=rows,
            as_json=as_json,
            objects=rows,
            text=lambda: "\n".join(study.sentence(name) for name, study in studies.items()),
        )
        return
    found = find_repeatability(records, metrics or None)
    put_results(
        csv_file=csv_file,
        columns=SPREAD_COLUMNS,
        rows=spread_rows(found),
        as_json=as_json,
        objects=map(spread_object, found),
        text=lambda: spread_text(found),
    )


def spread_text(found: "tuple[Repeatability, ...]") -> str:
    """Spreads as a table, what to do beneath."""
    from scoring.cli.layout import format_table  # noqa: PLC0415
    from scoring.comparing.effect_words import spoken  # noqa: PLC0415
    from scoring.comparing.spread_words import sd_words  # noqa: PLC0415

    if not found:
        return "None of these runs has a photo with this number."

    def share(part: float | None) -> str:
        return "" if part is None else f"{100 * part:.0f} %"

    head = [
        "metric", "photos", "prints", "photo\nto photo", "print\nto print",
        "photo's share\nof deviation", "photo's share\nof variance", "distinct\ncategories",
    ]  # fmt: skip
    rows = [
        [
            spoken(one.metric),
            one.photos,
            one.prints,
            sd_words(one.metric, one.photo.sd),
            sd_words(one.metric, one.print_.sd),
            share(one.study_variation),
            share(one.contribution),
            one.categories,
        ]
        for one in found
    ]
    lines = ["Standard deviations; shares are of all prints' spread (gauge study).", ""]
    lines += [format_table(head, rows), ""]
    lines += [
        click.wrap_text(one.advice, 100, initial_indent="  ", subsequent_indent="    ")
        for one in found
    ]
    planned = [one for one in found if one.plans]
    if planned:
        lines += ["", "95 % interval to expect, either way:", ""]
        head = ["prints", "photos\nof each", *(spoken(one.metric) for one in planned)]
        rows = [
            [
                plan.prints,
                plan.photos_each,
                *(_half_words(one, one.plans[place]) for one in planned),
            ]
            for place, plan in enumerate(planned[0].plans)
        ]
        lines.append(format_table(head, rows))
    return "\n".join(lines)


def _half_words(found: "Repeatability", plan: "Plan") -> str:
    import math  # noqa: PLC0415

    from scoring.comparing.comparison import Scale  # noqa: PLC0415
    from scoring.comparing.spread_words import sd_words  # noqa: PLC0415

    ratio = found.scale is Scale.RATIO
    return sd_words(found.metric, math.log(plan.half_width) if ratio else plan.half_width)
