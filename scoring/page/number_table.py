"""Panel: metrics and modes with their intervals."""

from collections.abc import Iterable, Mapping, Sequence

import pandas as pd
import streamlit as st

from scoring.estimate import Estimate
from scoring.measurement import Mode
from scoring.metric_words import format_shown
from scoring.metrics import MODE_METRICS
from scoring.page.metric_words import KNOWN, metric_words, with_unit

NO_BREAK = "\u00a0"
Row = tuple[str, str, Estimate]
"""A metric's name, its words, and its number."""


def metric_rows(metrics: Mapping[str, Estimate]) -> list[Row]:
    """A row for each metric, in order."""
    return [(name, metric_words(name), estimate) for name, estimate in metrics.items()]


def mode_rows(modes: Sequence[Mode]) -> list[Row]:
    """A row for each number of each mode; modes are numbered where there are several."""
    return [
        (metric.name, f"{metric_words(metric.name)}{f', mode {k}' if len(modes) > 1 else ''}",
         getattr(mode, metric.name))
        for k, mode in enumerate(modes, start=1)
        for metric in MODE_METRICS
    ]  # fmt: skip


def number_frame(rows: Iterable[Row]) -> pd.DataFrame:
    """The rows as text: name, value with unit, interval, and what it means."""
    table = []
    for name, words, estimate in rows:
        value, interval = format_shown(name, [estimate])[0]
        meaning = KNOWN[name].sentence if name in KNOWN else ""
        value, interval = (
            with_unit(text, name).replace(" ", NO_BREAK) for text in (value, interval)
        )
        # One break within the interval, or the meaning has no room on a phone.
        table.append((words, value, interval.replace(f"to{NO_BREAK}", "to "), meaning))
    return pd.DataFrame(table, columns=["", "value", "95 % interval", "meaning"])


def show_numbers(rows: Iterable[Row], alt: str) -> None:
    """Draw the rows as a table."""
    st.table(number_frame(rows), hide_index=True, border="horizontal", alt=alt)
