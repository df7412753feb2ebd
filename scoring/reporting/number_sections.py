"""The report's numbers: what was asked, answered, and within which limits."""

from collections.abc import Sequence

from reportlab.graphics.shapes import Drawing

from scoring.comparing.acceptance import AcceptanceLimit, LimitResult
from scoring.comparing.comparison import Comparison, Effect, Print
from scoring.comparing.effect_words import (
    HOW_TO_READ,
    effect_cells,
    spoken,
)
from scoring.comparing.limit_words import (
    NOT_REPEATED,
    group_labels,
    group_words,
    limit_words,
    reach_words,
)
from scoring.comparing.pairing import pairing_words
from scoring.comparing.verdict import HEADLINES, side_words
from scoring.estimate import Estimate
from scoring.metric_words import FRACTIONS, shown_unit
from scoring.reporting.blocks import Block, Bullets, Chart, MakeDrawing, Section, Table, Text
from scoring.reporting.charts import Point, draw_effects, draw_values, same_scale


def answer_section(found: Comparison) -> Section:
    """The question, the verdict, and at once what casts doubt on it."""
    old, new = side_words(found.factor, found.before), side_words(found.factor, found.after)
    question = f"Does {new}, instead of {old}, change ghosting and gaps, by how much, and how sure "
    question += "is that?"
    blocks: list[Block] = [Text(question), Text(found.verdict, "verdict")]
    if found.confounders:
        blocks.append(Text("Differs between the sides too, so may be the cause:", "warning"))
        blocks.append(Bullets(tuple(map(str, found.confounders))))
    else:
        blocks.append(Text("Nothing else that is given differs between the sides of a pair."))
    if found.remarks:
        blocks.append(Text("Know first:", "warning"))
        blocks.append(Bullets(tuple(remark.sentence for remark in found.remarks)))
    return Section("Question and answer", tuple(blocks))


def effect_section(found: Comparison, limits: Sequence[AcceptanceLimit]) -> Section:
    """Effects over all, values over acceleration, and effects at each acceleration."""
    if not found.overall:
        return Section("Effects", (Text("There is no pair, so there is no effect to tell."),))
    blocks: list[Block] = [
        Text(
            f"{pairing_words(found.paired_on)} Several photos of one print are averaged and count "
            "once. Ripples, frequency and damping compare as ratio, gaps as difference."
        ),
        Table(
            ("metric", "change (95 % interval)", "p", "pairs", "prints", "would have shown"),
            tuple(effect_cells(effect) for effect in found.overall),
            (0.17, 0.40, 0.10, 0.07, 0.09, 0.17),
        ),
        Text(HOW_TO_READ, "note"),
    ]
    groups = same_scale(found.overall)
    for group in groups:
        if len(group) == 1 and len(groups) > 1:
            continue  # the table says as much
        blocks.append(
            Chart(
                _effect_drawer(group),
                "Over all pairs, with 95 % intervals; filled where a change is established.",
                " ".join(effect.sentence for effect in group),
            )
        )
    for metric in _headlines(found):
        blocks += _by_accel(found, metric, limits)
    return Section("Effects", tuple(blocks))


ROWS = 25
"""More effects than this in one drawing would not fit a page."""


def limit_section(results: Sequence[LimitResult]) -> Section:
    """The highest acceleration within the limits, and why it ends there."""
    if not results or not results[0].ladders:
        return Section("Limits", (Text("No limit was set."),))
    columns = len(results[0].ladders) + 1
    labels = group_labels([result.group for result in results])
    blocks: list[Block] = [
        Text(
            "The highest acceleration, mm/s², up to which all that were printed keep within the "
            "limit with 95 % confidence (one-sided). Nothing is claimed between the steps."
        ),
        Table(
            ("machine, setup", *(limit_words(lad.limit) for lad in results[0].ladders), "all"),
            tuple(
                (
                    label,
                    *(reach_words(lad.reach, lad.highest_mm_s2) for lad in r.ladders),
                    reach_words(r.reach, r.highest_mm_s2),
                )
                for label, r in zip(labels, results, strict=True)
            ),
            (0.3, *[0.7 / columns] * columns),
        ),
    ]
    for result in results:
        blocks.append(Text(f"{group_words(result.group)}:"))
        blocks.append(Bullets(tuple(ladder.sentence for ladder in result.ladders)))
    if not all(ladder.between_prints for r in results for ladder in r.ladders):
        blocks.append(Text(NOT_REPEATED, "note"))
    return Section("Limits", tuple(blocks))


def _headlines(found: Comparison) -> tuple[str, ...]:
    there = {effect.metric for effect in found.by_accel if effect.value is not None}
    return tuple(name for name in HEADLINES if name in there) or tuple(sorted(there))[:1]


def _by_accel(
    found: Comparison, metric: str, limits: Sequence[AcceptanceLimit]
) -> tuple[Block, ...]:
    effects = [e for e in found.by_accel if e.metric == metric and e.value is not None]
    name = spoken(metric)
    unit = shown_unit(metric)
    title = f"{name}, {unit}" if unit else name
    limit = next((one.most for one in limits if one.metric == metric), None)
    words = (found.before.words, found.after.words)
    return (
        Chart(
            _value_drawer(found, metric, title, limit),
            f"{name[0].upper()}{name[1:]} over acceleration; each print with the 95 % interval of "
            "its photos.",
            f"{name} of {words[0]} and {words[1]} over acceleration, with intervals.",
        ),
        *(
            Chart(
                _effect_drawer(some),
                f"Change of the {name} at each acceleration, with 95 % intervals.",
                " ".join(effect.sentence for effect in some),
            )
            for some in (effects[k : k + ROWS] for k in range(0, len(effects), ROWS))
        ),
    )


def _effect_drawer(effects: Sequence[Effect]) -> MakeDrawing:
    def draw(font: str) -> Drawing:
        return draw_effects(effects, font=font)

    return draw


def _value_drawer(found: Comparison, metric: str, title: str, limit: float | None) -> MakeDrawing:
    times = 100.0 if metric in FRACTIONS else 1.0

    def points(prints: Sequence[Print]) -> list[Point]:
        numbers = [(p.settings.accel_mm_s2, p.metrics.get(metric)) for p in prints]
        return [
            Point(accel, Estimate(times * e.value, times * e.low, times * e.high))
            for accel, e in numbers
            if e is not None
        ]

    sides = (
        points([p for pair in found.pairs for p in pair.before]),
        points([p for pair in found.pairs for p in pair.after]),
    )
    names = (f"before: {found.before.words}", f"after: {found.after.words}")
    line = None if limit is None else times * limit

    def draw(font: str) -> Drawing:
        return draw_values(sides, names=names, title=title, limit=line, font=font)

    return draw
