"""The run store as the page opens it, and errors as the page tells them."""

from collections.abc import Iterator
from contextlib import contextmanager

import streamlit as st

from scoring.errors import ScoringError
from scoring.page.error_words import in_page_words
from scoring.page.plain_text import plain
from scoring.store.database import database_words, is_missing, locate_database
from scoring.store.run_store import RunStore


@contextmanager
def opened_store(*, create: bool = False) -> Iterator[RunStore | None]:
    """The store that ``COUPON_DB`` names, or ``None`` where its file is not there yet.

    Reading alone makes no file. Raises :class:`StoreError` as :meth:`RunStore.open` does.
    """
    if not create and is_missing(locate_database(None)):
        yield None
        return
    with RunStore.open(create=create) as store:
        yield store


def opened_words() -> str:
    """Which database the page reads."""
    return database_words(locate_database(None))


@contextmanager
def told_errors() -> Iterator[None]:
    """Show what this package raises on purpose as a message, and draw nothing after it."""
    try:
        yield
    except ScoringError as error:
        st.error(plain(in_page_words(str(error))))
