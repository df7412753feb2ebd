"""Page: adding photos by upload or camera, with the settings they were printed with."""

from collections.abc import Mapping
from typing import Any

import streamlit as st

from scoring.page.error_words import CORRECT_RUN, LABEL_WRONG, MOVE_PHOTO
from scoring.page.opened_store import opened_store, told_errors
from scoring.page.photo_adding import (
    Permissions,
    Told,
    add_with_progress,
    show_added,
    still_waiting,
)
from scoring.page.settings_form import check_written, clear_name, read_further, write_settings
from scoring.page.uploaded_settings import choose_settings_file, runs_by_photo
from scoring.page.waiting_photos import WAITING, choose_photos, show_waiting, waiting_photos
from scoring.runs.settings import RunSettings
from scoring.store.records import RunRecord

DONE = "photos-added"
NEW, BY_LABEL = "A new run", "The stored run on each photo's label"
EMPTY = "no run: an empty form"
STORED, FILE = "A stored run", "The runs that a settings file lists"


def show() -> None:
    """Draw the page."""
    st.title("Add photos")
    # In boxes of their own: what comes and goes in them leaves the form beneath in its place, so
    # that a field someone is writing in is not drawn anew.
    with st.container():
        show_added(st.session_state.get(DONE, ()))
    choose_photos()
    with st.container():
        show_waiting()
    st.subheader("Settings")
    with opened_store() as store:
        runs = store.runs() if store else ()
    known = {record.settings.name: record.settings for record in runs}
    kind = st.radio(
        "Which run do the photos show?",
        [NEW, BY_LABEL, STORED, FILE] if runs else [NEW, FILE],
        key="kind",
        persist_state="session",
    )
    written: dict[str, Any] = {}
    listed: Mapping[str, RunSettings] = {}
    if kind == NEW:
        written = write_settings(_choose_pattern(runs))
        st.caption(
            "\\* A new run needs these; what is left empty is not known. A number may carry "
            "another unit, such as 9000 mm/min. A label in the photo gives run and axis."
        )
    elif kind == STORED:
        written["name"] = st.selectbox("Run", list(known), key="stored", persist_state="session")
    elif kind == FILE:
        listed = runs_by_photo(choose_settings_file())
        st.caption(
            "A photo belongs to the run that lists its file name, else to the run on its label."
        )
    with st.expander("If something contradicts"):
        may = Permissions(
            ignore_label=st.checkbox(LABEL_WRONG, key="ignore_label", persist_state="session"),
            update=st.checkbox(CORRECT_RUN, key="update", persist_state="session"),
            move=st.checkbox(MOVE_PHOTO, key="move", persist_state="session"),
        )
    if st.button("Measure and keep", type="primary", key="send"):
        _add(written, listed, may)


def _choose_pattern(runs: tuple[RunRecord, ...]) -> RunSettings | None:
    """The run to fill the form from: the last one that was added, unless another is chosen."""
    if not runs:
        return None
    latest = max(runs, key=lambda record: record.added_at)
    known = {record.settings.name: record.settings for record in runs}
    last = latest.settings.name
    names = [last, EMPTY, *(name for name in known if name != last)]
    filled = st.selectbox(
        "Fill in from a run", names, key="pattern", width=344,
        persist_state="session",
        help="Copies its settings into the fields below, to change what differs. The last run "
        "added comes first.",
    )  # fmt: skip
    return known.get(filled)


def _add(written: dict[str, Any], listed: Mapping[str, RunSettings], may: Permissions) -> None:
    st.session_state.pop(DONE, None)
    uploads = waiting_photos()
    if not uploads:
        st.error("Choose at least one photo above; nothing was recorded.")
        return
    written["extra"] = read_further(written.get("extra", ""))
    done = add_with_progress(uploads, Told(check_written(written), listed), may)
    st.session_state[DONE] = done
    st.session_state[WAITING] = left = still_waiting(uploads, done)
    if not left:
        clear_name()  # the next print has another
    st.rerun()


with told_errors():
    show()
