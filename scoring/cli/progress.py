"""A progress bar on stderr, where a person watches."""

import sys
from collections.abc import Iterable, Iterator
from typing import TypeVar

import click

T = TypeVar("T")


def watched(results: Iterable[T], *, total: int, label: str, shown: bool = True) -> Iterator[T]:
    """Pass ``results`` on, with a bar if ``shown``, stderr is a terminal and there are several."""
    if not (shown and total > 1 and sys.stderr.isatty()):
        yield from results
        return
    bar = click.progressbar(
        results, length=total, label=label, file=sys.stderr, show_pos=True, width=0
    )
    with bar:
        yield from bar
