"""Putting runs in order, without claiming a difference that is not established."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scoring.errors import SettingsError
from scoring.estimate import Estimate
from scoring.metric_words import closest_metrics
from scoring.metrics import FACE_WORDS, METRICS, MODE_METRICS, FaceName
from scoring.ranking.combine import difference
from scoring.ranking.run_numbers import RunNumbers
from scoring.ranking.score import ScoreTable, score

SCORE = "score"
RANKABLE: dict[str, FaceName | None] = {SCORE: None} | {
    metric.name: metric.face for metric in (*METRICS, *MODE_METRICS)
}
"""Everything runs can be ranked by, with the face it is measured on."""


@dataclass(frozen=True)
class RankedRun:
    """One row of a ranking. ``rank`` and ``value`` are ``None`` where ``unranked`` says why."""

    rank: int | None
    value: Estimate | None
    run: RunNumbers
    unranked: str = ""


def rank_runs(
    runs: Iterable[RunNumbers], *, by: str, table: ScoreTable, face: FaceName | None = None
) -> tuple[RankedRun, ...]:
    """Rank ``runs`` by a metric, lowest first, or by ``score``, highest first.

    The first run of the order leads a group. Each next run shares the leader's rank as long as the
    95 % interval of its difference to the leader includes zero; the first whose does not leads the
    next group, and its rank is its place in the order (so 1, 1, 3). With ``face`` the score takes
    that face's metrics alone. Runs that lack a number follow, unranked. Raises
    :class:`SettingsError` for an unknown ``by``, or one of another face than ``face``.
    """
    check_rankable(by, face)
    wanted = table.of_face(face) if by == SCORE else table
    with_value: list[tuple[Estimate, RunNumbers]] = []
    without: list[RankedRun] = []
    for run in runs:
        missing = wanted.missing(run.metrics) if by == SCORE else _absent(by, run)
        if missing:
            without.append(RankedRun(None, None, run, _why(by, missing, run)))
        else:
            value = score(run.metrics, wanted) if by == SCORE else run.metrics[by]
            with_value.append((value, run))
    sign = -1 if by == SCORE else 1
    with_value.sort(key=lambda pair: (sign * pair[0].value, pair[1].settings.name))
    without.sort(key=lambda row: row.run.settings.name)
    ranks = shared_ranks([value for value, _ in with_value])
    ranked = [RankedRun(rank, *pair) for rank, pair in zip(ranks, with_value, strict=True)]
    return (*ranked, *without)


def shared_ranks(ordered: Sequence[Estimate]) -> tuple[int, ...]:
    """The ranks of values that are in order already, best first (see :func:`rank_runs`)."""
    ranks: list[int] = []
    leader = 0
    for place, value in enumerate(ordered):
        apart = difference(value, ordered[leader])
        if not apart.low <= 0 <= apart.high:
            leader = place
        ranks.append(leader + 1)
    return tuple(ranks)


def check_rankable(by: str, face: FaceName | None = None) -> None:
    """Raise :class:`SettingsError` where runs cannot be ranked by ``by`` (on that ``face``)."""
    if by not in RANKABLE:
        hint = closest_metrics(by, RANKABLE)
        raise SettingsError(f"Runs cannot be ranked by {by!r}; {hint}")
    own = RANKABLE[by]
    if face is not None and own is not None and own is not face:
        raise SettingsError(
            f"{by} is measured on the {FACE_WORDS[own]} face, not on the {FACE_WORDS[face]} face."
        )


def _absent(by: str, run: RunNumbers) -> tuple[str, ...]:
    return () if by in run.metrics else (by,)


def _why(by: str, missing: Sequence[str], run: RunNumbers) -> str:
    needed = {RANKABLE[name] for name in missing} - set(run.faces)
    faces = [FACE_WORDS[face] for face in FaceName if face in needed]
    if faces:
        return f"no photo of the {' or the '.join(faces)} face"
    if by in {metric.name for metric in MODE_METRICS}:
        return "no ripple found"
    return f"no {', '.join(missing)} measured"
