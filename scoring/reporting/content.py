"""The whole report of a comparison, before it is written as HTML or PDF."""

import datetime
import shlex
from collections.abc import Sequence

from scoring.comparing.acceptance import AcceptanceLimit
from scoring.comparing.comparison import Comparison
from scoring.comparing.factor import setting_key
from scoring.comparing.limits import find_limits
from scoring.comparing.verdict import side_words
from scoring.reporting.blocks import Document, Section
from scoring.reporting.number_sections import answer_section, effect_section, limit_section
from scoring.reporting.photo_figures import ReadFace, show_photos
from scoring.reporting.record_sections import (
    caution_section,
    repeat_section,
    settings_section,
    trust_section,
)
from scoring.runs.quantity import number_text


def compose_report(
    found: Comparison,
    read_face: ReadFace,
    *,
    limits: Sequence[AcceptanceLimit],
    made_at: datetime.datetime,
    options: Sequence[tuple[str, str]] = (),
    output: str = "report.html",
    note: str = "",
) -> Document:
    """Everything there is to hand over about ``found``.

    ``read_face`` gives a photo's rectified face by its hash (the store's ``face_jpeg``).
    ``options`` are further command-line options that chose what was compared, and ``output`` the
    file asked for, for the line that repeats it; ``note`` stands under the title. Limits are judged
    for the two sides' prints on the machines of the pairs, or on all machines without a pair.
    """
    prints = (*found.before.prints, *found.after.prints)
    paired = [p for pair in found.pairs for p in (*pair.before, *pair.after)]
    machines = {setting_key(p.settings, "machine") for p in paired}
    records = [
        record
        for p in prints
        if not machines or setting_key(p.settings, "machine") in machines
        for record in p.records
    ]
    old, new = side_words(found.factor, found.before), side_words(found.factor, found.after)
    return Document(
        title=f"{new[0].upper()}{new[1:]} against {old}",
        made=f"Coupon scoring report, {made_at:%Y-%m-%d %H:%M} UTC. {note}".strip(),
        sections=(
            answer_section(found),
            Section("Photos", show_photos(found, read_face)),
            effect_section(found, limits),
            limit_section(find_limits(records, limits)),
            settings_section(found),
            trust_section(found),
            caution_section(),
            repeat_section(found, _command(found, limits, options, output)),
        ),
    )


def _command(
    found: Comparison,
    limits: Sequence[AcceptanceLimit],
    options: Sequence[tuple[str, str]],
    output: str,
) -> str:
    words = ["coupon", "report", "--factor", found.factor]
    words += ["--before", found.before.words if found.before.value is not None else ""]
    words += ["--after", found.after.words if found.after.value is not None else ""]
    for name, value in options:
        words += [name, value]
    for limit in limits:
        words += ["--limit", f"{limit.metric}={number_text(limit.most)}"]
    return shlex.join([*words, "-o", output])
