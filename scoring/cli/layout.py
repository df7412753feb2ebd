"""Numbers and tables as people read them."""

import math
from collections.abc import Iterable, Sequence

from scoring.estimate import Estimate
from scoring.metrics import METRICS, MODE_METRICS

UNITS = {m.name: "" if m.unit == "1" else m.unit for m in (*METRICS, *MODE_METRICS)}


def with_unit(name: str, between: str = ", ") -> str:
    """A metric's or score's name with its unit, for a column's head."""
    unit = UNITS.get(name, "")
    return f"{name}{between}{unit}" if unit else name


def format_estimate(estimate: Estimate) -> tuple[str, str]:
    """Value and interval, to two digits of the interval's half-width (GUM, JCGM 100, 7.2.6)."""
    return format_estimates([estimate])[0]


def format_estimates(column: Sequence[Estimate]) -> list[tuple[str, str]]:
    """Estimates of one column, all with the decimals that the middle one of them calls for."""
    halves = sorted(e.half_width for e in column if e.half_width > 0)
    decimals = 3
    if halves:
        decimals = min(max(0, 1 - math.floor(math.log10(halves[len(halves) // 2]))), 9)
    return [
        (f"{e.value:.{decimals}f}", f"{e.low:.{decimals}f} to {e.high:.{decimals}f}")
        for e in column
    ]


def format_table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Columns under a ruled head; columns of numbers to the right. Empty cells stay empty."""
    import tabulate  # noqa: PLC0415

    tabulate.MIN_PADDING = 0  # two more columns a head would take wide tables past most terminals
    cells = [["" if cell is None else str(cell) for cell in row] for row in rows]
    right = [
        all(_is_number(row[column]) for row in cells if row[column]) for column in range(len(head))
    ]
    return tabulate.tabulate(
        cells,
        head,
        tablefmt="simple",
        disable_numparse=True,
        colalign=["right" if r else "left" for r in right] if cells else None,
    )


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
