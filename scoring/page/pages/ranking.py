"""Page: runs in order, over acceleration, and by machine and acceleration."""

import streamlit as st

from scoring.page.empty_state import show_empty_state
from scoring.page.error_words import MEASURE_AGAIN
from scoring.page.grid_chart import draw_grid
from scoring.page.interval_chart import MOST_ROWS, draw_intervals
from scoring.page.line_chart import draw_lines
from scoring.page.metric_words import metric_title
from scoring.page.opened_store import told_errors
from scoring.page.plain_text import plain
from scoring.page.ranking_choice import choose_ranking
from scoring.page.ranking_table import alike_words, show_ranking_table
from scoring.page.score_weights import edit_weights
from scoring.page.site import run_page
from scoring.page.stored_numbers import stored_numbers
from scoring.ranking.grid import grid_of
from scoring.ranking.rank import SCORE, RankedRun, rank_runs
from scoring.ranking.score import read_score_table


def show() -> None:
    """Draw the page."""
    st.title("Ranking")
    every = stored_numbers()
    if not every:
        show_empty_state()
        return
    choice = choose_ranking([run.settings for run in every])
    table = read_score_table()
    if choice.by == SCORE:
        table = edit_weights(table)
    numbers = [run for run in every if choice.passes(run)]
    rows = rank_runs(numbers, by=choice.by, table=table, face=choice.face)
    ranked = [row for row in rows if row.value is not None]
    if ranked:
        _show_ranked(ranked, choice.by)
    else:
        st.info(
            "No run has the number to rank by among those chosen. Choose “all” in one of the "
            "fields above, or rank by another number."
        )
    without = [row for row in rows if row.value is None]
    if without:
        with st.expander(f"Not ranked: {len(without)}", expanded=len(without) <= 12):
            st.markdown(
                "\n".join(f"- {plain(row.run.settings.name)}: {row.unranked}" for row in without)
            )


def _show_ranked(ranked: list[RankedRun], by: str) -> None:
    chosen = show_ranking_table(ranked, by)
    if chosen is not None:
        st.switch_page(run_page(), query_params={"run": chosen})
    st.caption(
        "Runs that share a rank (=, one band) are not told apart: the 95 % interval of their "
        "difference to the first of that rank includes zero. Tick a row to open its run. "
        + alike_words(ranked)
    )
    if any(row.run.stale for row in ranked):
        st.warning(f"Some numbers are out of date. {MEASURE_AGAIN}")
    grid = grid_of(ranked)
    left, right = st.columns(2, gap="large")
    with left:
        st.subheader("Over acceleration")
        st.vega_lite_chart(
            draw_lines(grid, by),
            alt=f"{metric_title(by)} over acceleration, a line for each machine and setup",
        )
        st.caption("Points join all runs of one machine, setup and acceleration; bars are 95 %.")
    with right:
        st.subheader("Machine by acceleration")
        st.vega_lite_chart(
            draw_grid(grid, by), alt=f"{metric_title(by)} by machine, setup and acceleration"
        )
        st.caption(
            "Brighter is better. ± is half the 95 % interval's length; a cell joins all its runs, "
            "so choose one axis and one filament above to compare like with like."
        )
    st.subheader("Intervals")
    st.vega_lite_chart(
        draw_intervals(ranked[:MOST_ROWS], by),
        alt=f"Each run's {metric_title(by)} with its interval",
    )
    left_out = len(ranked) - MOST_ROWS
    st.caption(
        "The rank stands before each run; the colour changes with it."
        + (f" The first {MOST_ROWS}; the table has {left_out} more." if left_out > 0 else "")
    )


with told_errors():
    show()
