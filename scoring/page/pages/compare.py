"""Page: before and after a change."""

import streamlit as st

from scoring.comparing.compare import compare_sides
from scoring.comparing.prints import gather_prints
from scoring.page.compare_choice import choose_prints, choose_sides
from scoring.page.comparison_panel import show_effects, show_sides, show_strips, show_verdict
from scoring.page.empty_state import show_empty_state
from scoring.page.opened_store import told_errors
from scoring.page.report_download import offer_report
from scoring.page.stored_numbers import stored_records


def show() -> None:
    """Draw the page."""
    st.title("Before and after")
    records = stored_records()
    if not records:
        show_empty_state()
        return
    wanted = choose_prints(records)
    chosen = [record for record in records if wanted.passes(record.settings)]
    choice = choose_sides(gather_prints(chosen), wanted)
    if choice is None:
        return
    found = compare_sides(
        chosen, factor=choice.factor, before=choice.before, after=choice.after
    )  # fmt: skip
    show_verdict(found)
    show_strips(found)
    show_effects(found)
    show_sides(found)
    offer_report(choice)


with told_errors():
    show()
