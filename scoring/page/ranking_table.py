"""Panel: the ranking as a table, runs of one rank in one band."""

from collections import Counter
from collections.abc import Sequence

import pandas as pd
import streamlit as st

from scoring.metric_words import format_shown
from scoring.page.metric_words import metric_title, setting_title
from scoring.page.plain_text import plain
from scoring.ranking.rank import RankedRun
from scoring.runs.settings import LIMITS, WORDS, RunSettings, format_setting
from scoring.runs.varying import find_variation

BAND = "background-color: rgba(0, 114, 178, 0.12)"
"""Every other rank's rows; see-through, so that it serves a light and a dark page."""

INTERVAL = "95 % interval"
FIRST_SETTINGS = (
    "machine", "setup", "axis", "filament", "accel_mm_s2", "outer_wall_speed_mm_s",
)  # fmt: skip
MOST_ROWS, SCROLLED_PX = 16, 600
"""Longer tables scroll within themselves."""
MOST_STYLED_ROWS = 200
"""Tinting each cell of longer tables would take most of the time to the first paint."""
STALE = "out of date"


def rank_words(ranked: Sequence[RankedRun]) -> list[str]:
    """The ranks of ranked rows; a shared one carries an equals sign."""
    count = Counter(row.rank for row in ranked)
    return [f"{row.rank} =" if count[row.rank] > 1 else f"{row.rank}" for row in ranked]


def band_of(ranked: Sequence[RankedRun]) -> list[int]:
    """0 or 1 for each row, alike within a rank and changing with it."""
    order = {rank: k for k, rank in enumerate(dict.fromkeys(row.rank for row in ranked))}
    return [order[row.rank] % 2 for row in ranked]


def ranking_frame(ranked: Sequence[RankedRun], by: str) -> pd.DataFrame:
    """A row each for rows that have a rank: run, value, interval, and the settings that differ.

    What mostly tells runs apart stands first, so that flags are seen without scrolling.
    """
    settings = [row.run.settings for row in ranked]
    shown = format_shown(by, [row.value for row in ranked if row.value is not None])
    columns: dict[str, list[object]] = {
        "rank": list(rank_words(ranked)),
        "run": [s.name for s in settings],
        metric_title(by): [value for value, _ in shown],
        INTERVAL: [interval for _, interval in shown],
    }
    differ = find_variation(settings).differ
    last = {setting_title(n): _cells(settings, n) for n in differ if n not in FIRST_SETTINGS}
    columns |= {setting_title(n): _cells(settings, n) for n in FIRST_SETTINGS if n in differ}
    columns["flags"] = [", ".join(row.run.flags) for row in ranked]
    columns["photos"] = [row.run.photos for row in ranked]
    if any(row.run.stale for row in ranked):
        columns[STALE] = ["yes" if row.run.stale else "" for row in ranked]
    return pd.DataFrame(columns | last)


def _cells(settings: Sequence[RunSettings], name: str) -> list[object]:
    return [
        getattr(s, name) if name in LIMITS else format_setting(s, name, unit=False)
        for s in settings
    ]


def alike_words(ranked: Sequence[RankedRun]) -> str:
    """The settings that all rows have alike, in one line; empty where there are none."""
    settings = [row.run.settings for row in ranked]
    parts = [
        f"{WORDS[name]} {plain(format_setting(settings[0], name))}"
        for name in find_variation(settings).alike
    ]
    return f"Alike in all: {', '.join(parts)}." if parts else ""


def show_ranking_table(ranked: Sequence[RankedRun], by: str) -> str | None:
    """Draw the table. The name of the run whose row was chosen, or ``None``."""
    frame = ranking_frame(ranked, by)
    bands = band_of(ranked)
    numbers = [setting_title(name) for name in LIMITS if setting_title(name) in frame]

    def tint(row: "pd.Series[str]") -> list[str]:
        return [BAND if bands[int(str(row.name))] else ""] * len(row)

    event = st.dataframe(
        frame.style.apply(tint, axis=1) if len(frame) <= MOST_STYLED_ROWS else frame,
        hide_index=True,
        height="content" if len(frame) <= MOST_ROWS else SCROLLED_PX,
        on_select="rerun",
        selection_mode="single-row",
        key="ranking",
        column_config={
            "rank": st.column_config.TextColumn(pinned=True, width=50),
            "run": st.column_config.TextColumn(pinned=True),
            metric_title(by): st.column_config.TextColumn(alignment="right"),
            **{title: st.column_config.NumberColumn(format="%g") for title in numbers},
        },
        alt=f"Runs ranked by {metric_title(by)}, with intervals and settings",
    )
    rows = event["selection"]["rows"]
    return str(frame["run"].iloc[rows[0]]) if rows else None
