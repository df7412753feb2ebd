"""Tables as people read them, and columns' heads."""

from collections.abc import Iterable, Sequence

from scoring.metric_words import shown_unit


def with_unit(name: str, between: str = ", ") -> str:
    """A metric's or score's name with its unit, for a column's head."""
    unit = shown_unit(name)
    return f"{name}{between}{unit}" if unit else name


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
