"""Numbers and tables as people read them."""

import math
from collections.abc import Iterable, Sequence

from scoring.estimate import Estimate
from scoring.metrics import METRICS, MODE_METRICS, FaceName

UNITS = {m.name: "" if m.unit == "1" else m.unit for m in (*METRICS, *MODE_METRICS)}
FACE_WORDS = {FaceName.RINGDOWN: "ring-down", FaceName.FLOW: "flow"}


def with_unit(name: str) -> str:
    """A metric's or score's name as a column's head, with its unit."""
    unit = UNITS.get(name, "")
    return f"{name}, {unit}" if unit else name


def format_estimate(estimate: Estimate) -> tuple[str, str]:
    """Value and interval, to two digits of the interval's half-width (GUM, JCGM 100, 7.2.6)."""
    half = estimate.half_width
    decimals = 3 if half == 0 else max(0, 1 - math.floor(math.log10(half)))
    decimals = min(decimals, 9)
    value, low, high = (f"{x:.{decimals}f}" for x in (estimate.value, estimate.low, estimate.high))
    return value, f"{low} to {high}"


def format_table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Columns under a ruled head; columns of numbers to the right. Empty cells stay empty."""
    from tabulate import tabulate  # noqa: PLC0415

    cells = [["" if cell is None else str(cell) for cell in row] for row in rows]
    right = [
        all(_is_number(row[column]) for row in cells if row[column]) for column in range(len(head))
    ]
    return tabulate(
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
