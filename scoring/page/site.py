"""The pages there are. A new page is a script under ``pages`` and an entry in :func:`pages`."""

from pathlib import Path

import streamlit as st
from streamlit.navigation.page import StreamlitPage

SCRIPTS = Path(__file__).parent / "pages"


def ranking_page() -> StreamlitPage:
    """Runs in order, and by machine and acceleration."""
    return st.Page(SCRIPTS / "ranking.py", title="Ranking", url_path="ranking", default=True)


def run_page() -> StreamlitPage:
    """One run: settings, photos with their traces, numbers."""
    return st.Page(SCRIPTS / "run.py", title="One run", url_path="run")


def compare_page() -> StreamlitPage:
    """Before and after a change."""
    return st.Page(SCRIPTS / "compare.py", title="Before and after", url_path="compare")


def add_page() -> StreamlitPage:
    """Adding photos."""
    return st.Page(SCRIPTS / "add.py", title="Add photos", url_path="add")


def print_page() -> StreamlitPage:
    """Things to print, and how to lay, light and shoot."""
    return st.Page(SCRIPTS / "print.py", title="Things to print", url_path="print")


def pages() -> list[StreamlitPage]:
    """Every page, in the order of the menu."""
    return [ranking_page(), compare_page(), run_page(), add_page(), print_page()]


def show_site() -> None:
    """Draw the menu and the page that the address names."""
    st.set_option("client.toolbarMode", "viewer")  # a workshop's own page has no use for the rest
    st.set_page_config(page_title="Coupon scores", layout="wide")
    st.navigation(pages(), position="top").run()
