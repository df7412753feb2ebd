"""Panel: a run's settings."""

import streamlit as st

from scoring.page.plain_text import plain
from scoring.runs.settings import WORDS, RunSettings, format_setting


def known_settings(settings: RunSettings) -> list[tuple[str, str]]:
    """What is known of a run, in words and with units; its own further values last."""
    known = [
        (words, text)
        for name, words in WORDS.items()
        if name != "notes" and (text := format_setting(settings, name))
    ]
    return known + [(name, str(value)) for name, value in settings.extra.items()]


def unknown_settings(settings: RunSettings) -> list[str]:
    """The settings that nobody gave, in words."""
    return [
        words
        for name, words in WORDS.items()
        if name != "notes" and getattr(settings, name) is None
    ]


def show_settings(settings: RunSettings) -> None:
    """Draw the settings as pairs that wrap to the width there is."""
    with st.container(horizontal=True, gap="medium"):
        for words, value in known_settings(settings):
            with st.container(width="content", gap=None):
                st.caption(plain(words))
                st.text(value)
    if settings.notes:
        st.text(f"Notes: {settings.notes}")
    unknown = unknown_settings(settings)
    if unknown:
        st.caption(f"Not given: {', '.join(unknown)}.")
