"""The ranking as a grid: machine and setup down, acceleration across."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from scoring.estimate import Estimate
from scoring.ranking.combine import combine
from scoring.ranking.rank import RankedRun


@dataclass(frozen=True)
class GridCell:
    """The runs of one machine, setup and acceleration, best rank first, and what they say together.

    ``value`` is their combined estimate, its interval widened where they disagree; runs that differ
    in axis, speed or filament are told apart by filtering before.
    """

    value: Estimate
    runs: tuple[RankedRun, ...]


@dataclass(frozen=True)
class Grid:
    """``cells`` by (machine, setup) and acceleration; a pair without a ranked run has none.

    Names that differ in case alone are one, spelled as the best run has it.
    """

    rows: tuple[tuple[str, str], ...]
    accels_mm_s2: tuple[float, ...]
    cells: Mapping[tuple[tuple[str, str], float], GridCell]


def grid_of(ranked: Iterable[RankedRun]) -> Grid:
    """Arrange a ranking's rows; rows are in order of name, columns in order of acceleration."""
    gathered: dict[tuple[tuple[str, str], float], list[RankedRun]] = {}
    spelled: dict[str, str] = {}
    for row in ranked:
        if row.value is not None:
            settings = row.run.settings
            machine, setup = (
                spelled.setdefault(name.casefold(), name)
                for name in (settings.machine, settings.setup)
            )
            gathered.setdefault(((machine, setup), settings.accel_mm_s2), []).append(row)
    cells = {
        place: GridCell(combine([r.value for r in rows if r.value is not None]), tuple(rows))
        for place, rows in gathered.items()
    }
    return Grid(
        rows=tuple(sorted({row for row, _ in cells}, key=lambda row: [n.casefold() for n in row])),
        accels_mm_s2=tuple(sorted({accel for _, accel in cells})),
        cells=cells,
    )
