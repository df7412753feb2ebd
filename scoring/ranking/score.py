"""One number over several metrics, from a table that the user can see and change."""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from scoring.errors import SettingsError
from scoring.estimate import Estimate
from scoring.metric_words import closest_metrics
from scoring.metrics import METRICS, FaceName


@dataclass(frozen=True)
class ScoreTerm:
    """One metric's part in the score: at ``reference``, in its own unit, it adds ``weight``."""

    metric: str
    face: FaceName
    weight: float
    reference: float


@dataclass(frozen=True)
class ScoreTable:
    """The metrics that make the score; each has a weight above zero."""

    terms: tuple[ScoreTerm, ...]

    def of_face(self, face: FaceName | None) -> "ScoreTable":
        """The table for one face alone, or the whole one for ``None``.

        Raises :class:`SettingsError` where no metric of that face has a weight.
        """
        terms = tuple(t for t in self.terms if face is None or t.face is face)
        if not terms:
            raise SettingsError(f"No metric of the {face} face has a weight in the score's table.")
        return ScoreTable(terms)

    def missing(self, metrics: Mapping[str, Estimate]) -> tuple[str, ...]:
        """The metrics that the score needs and ``metrics`` lacks."""
        return tuple(t.metric for t in self.terms if t.metric not in metrics)


def read_score_table(path: Path | None = None) -> ScoreTable:
    """The table in ``path``, or the one that comes with the package.

    Raises :class:`SettingsError` naming file and key for what is no table of weights at or above
    zero and references above zero, for metrics that have no better or worse.
    """
    where = str(path) if path else "score.toml"
    try:
        source = path or files("scoring.ranking").joinpath("score.toml")
        raw = tomllib.loads(source.read_text(encoding="utf-8"))
    except OSError as error:
        raise SettingsError(f"{where}: cannot be read: {error.strerror}.") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise SettingsError(f"{where}: not valid TOML: {error}.") from error
    if set(raw) != {"metrics"} or not isinstance(raw["metrics"], dict):
        raise SettingsError(f"{where}: must hold [metrics.NAME] tables and nothing else.")
    terms = [_term(name, row, f"{where}: {name}") for name, row in raw["metrics"].items()]
    weighted = tuple(term for term in terms if term.weight > 0)
    if not weighted:
        raise SettingsError(f"{where}: no metric has a weight above zero.")
    return ScoreTable(weighted)


def _term(name: str, row: Any, where: str) -> ScoreTerm:
    judged = {metric.name: metric for metric in METRICS if metric.better == "lower"}
    if name not in judged:
        hint = closest_metrics(name, judged)
        raise SettingsError(f"{where}: not a metric that is better lower; {hint}")
    if not isinstance(row, dict) or set(row) != {"weight", "reference"}:
        raise SettingsError(f"{where}: needs a weight and a reference, and nothing else.")
    numbers: dict[str, float] = {}
    for key, value in row.items():
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if not number or not math.isfinite(value) or value < 0:
            raise SettingsError(f"{where}: {key}: {value!r} must be a number, not below zero.")
        numbers[key] = float(value)
    if numbers["reference"] == 0:
        raise SettingsError(f"{where}: reference: must be above zero.")
    return ScoreTerm(name, judged[name].face, numbers["weight"], numbers["reference"])


def score(metrics: Mapping[str, Estimate], table: ScoreTable) -> Estimate:
    """100 / (1 + sum of weight * metric / reference), 100 at best, toward 0 at worst.

    The sum's interval joins the metrics' in quadrature, side by side, as if independent; its two
    ends give the score's, since the score falls steadily with the sum. Raises ``KeyError`` where a
    metric is missing (see :meth:`ScoreTable.missing`).
    """
    parts = [(t.weight / t.reference, metrics[t.metric]) for t in table.terms]
    total = math.fsum(k * e.value for k, e in parts)
    below = math.hypot(*(k * (e.value - e.low) for k, e in parts))
    above = math.hypot(*(k * (e.high - e.value) for k, e in parts))

    def at(x: float) -> float:
        return 100 / (1 + max(x, 0.0))

    return Estimate(at(total), at(total + above), at(total - below))
