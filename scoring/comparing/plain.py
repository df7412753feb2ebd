"""Comparisons, limits and spreads as plain values, for JSON and for tables."""

import dataclasses
from collections.abc import Iterable, Mapping
from typing import Any

from scoring.comparing.acceptance import LimitResult
from scoring.comparing.comparison import Comparison, Effect, Print
from scoring.comparing.crossed import CrossedStudy
from scoring.comparing.spread import Repeatability

EFFECT_COLUMNS = ("factor", "before", "after", *(f.name for f in dataclasses.fields(Effect)))
LIMIT_COLUMNS = (
    "machine", "setup", "axis", "outer_wall_speed_mm_s", "filament", "metric", "limit",
    "accel_mm_s2", "value", "low", "high", "least", "most", "prints", "rung", "reach",
    "highest_mm_s2", "highest_of_all_limits_mm_s2", "sentence",
)  # fmt: skip
SPREAD_COLUMNS = (
    "metric", "unit", "scale", "settings_groups", "prints", "photos", "left_out",
    *(f"{part}_{end}" for part in ("photo", "print", "settings")
      for end in ("sd", "low", "high", "df", "share")),
    "study_variation", "contribution", "categories", "advice",
)  # fmt: skip

STUDY_COLUMNS = ("metric", *(f.name for f in dataclasses.fields(CrossedStudy)))


def comparison_object(found: Comparison) -> dict[str, Any]:
    """The comparison as JSON takes it; what casts doubt comes first."""
    return {
        "confounders": [dataclasses.asdict(c) for c in found.confounders],
        "remarks": [dataclasses.asdict(r) for r in found.remarks],
        "verdict": found.verdict,
        "factor": found.factor,
        "before": {"value": found.before.words, "prints": [_name(p) for p in found.before.prints]},
        "after": {"value": found.after.words, "prints": [_name(p) for p in found.after.prints]},
        "paired_on": list(found.paired_on),
        "pairs": [
            {
                "on": {name: _plain(value) for name, value in pair.on.items()},
                "before": [_name(p) for p in pair.before],
                "after": [_name(p) for p in pair.after],
            }
            for pair in found.pairs
        ],
        "unpaired": [_name(p) for p in found.unpaired],
        "overall": [dataclasses.asdict(e) for e in found.overall],
        "by_accel": [dataclasses.asdict(e) for e in found.by_accel],
    }


def effect_rows(found: Comparison) -> Iterable[dict[str, object]]:
    """A row an effect, over all first; columns as in :data:`EFFECT_COLUMNS`."""
    sides = {"factor": found.factor, "before": found.before.words, "after": found.after.words}
    for effect in (*found.overall, *found.by_accel):
        yield sides | dataclasses.asdict(effect)


def limit_object(result: LimitResult) -> dict[str, Any]:
    """One machine and setup's limits as JSON takes them."""
    return {
        "group": {name: _plain(value) for name, value in result.group.items()},
        "reach": result.reach,
        "highest_mm_s2": result.highest_mm_s2,
        "sentence": result.sentence,
        "ladders": [dataclasses.asdict(ladder) for ladder in result.ladders],
    }


def limit_rows(results: Iterable[LimitResult]) -> Iterable[dict[str, object]]:
    """A row an acceleration and limit; columns as in :data:`LIMIT_COLUMNS`."""
    for result in results:
        group = {name: _plain(value) for name, value in result.group.items()}
        for ladder in result.ladders:
            shared = group | {
                "metric": ladder.limit.metric,
                "limit": ladder.limit.most,
                "reach": ladder.reach,
                "highest_mm_s2": ladder.highest_mm_s2,
                "highest_of_all_limits_mm_s2": result.highest_mm_s2,
                "sentence": ladder.sentence,
            }
            for rung in ladder.rungs:
                yield shared | dataclasses.asdict(rung) | dataclasses.asdict(rung.value)
            if not ladder.rungs:
                yield shared


def spread_object(found: Repeatability) -> dict[str, Any]:
    """One metric's spread as JSON takes it."""
    plain = dataclasses.asdict(found)
    plain["print"] = plain.pop("print_")
    return plain


def spread_rows(results: Iterable[Repeatability]) -> Iterable[dict[str, object]]:
    """A row a metric; columns as in :data:`SPREAD_COLUMNS`."""
    for found in results:
        row = dataclasses.asdict(found)
        for name, part in (
            ("photo", found.photo), ("print", found.print_), ("settings", found.settings)
        ):  # fmt: skip
            row |= {f"{name}_{key}": value for key, value in dataclasses.asdict(part).items()}
        yield row


def study_rows(studies: Mapping[str, CrossedStudy]) -> Iterable[dict[str, object]]:
    """A row a metric; columns as in :data:`STUDY_COLUMNS`."""
    for metric, study in studies.items():
        yield {"metric": metric} | dataclasses.asdict(study)


def _name(one: Print) -> str:
    return one.settings.name


def _plain(value: object) -> object:
    return value if value is None or isinstance(value, bool | int | float | str) else str(value)
