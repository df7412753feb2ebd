"""Page: adding photos by upload, with the settings they were printed with."""

from typing import Any

import streamlit as st

from scoring.page.error_words import CORRECT_RUN, LABEL_WRONG, MOVE_PHOTO
from scoring.page.opened_store import opened_store, told_errors
from scoring.page.photo_adding import Permissions, Upload, add_with_progress, show_added
from scoring.page.settings_form import check_written, read_further, write_settings
from scoring.runs.settings import RunSettings

DONE = "photos-added"
BY_LABEL, STORED, NEW = "The stored run on each photo's label", "A stored run", "A new run"


def show() -> None:
    """Draw the page."""
    st.title("Add photos")
    with opened_store() as store:
        runs = {record.settings.name: record.settings for record in store.runs()} if store else {}
    kind = st.radio(
        "Which run do the photos show?", [NEW, BY_LABEL, STORED] if runs else [NEW], key="kind"
    )
    pattern: RunSettings | None = None
    if kind == NEW and runs:
        filled = st.selectbox(
            "Fill in from a run", list(runs), index=None, key="pattern", placeholder="none",
            help="Copies its settings into the fields below, to change what differs.", width=344,
        )  # fmt: skip
        pattern = runs[filled] if filled else None
    with st.form("photos"):
        files = st.file_uploader(
            "Photos: JPEG, PNG, TIFF, HEIC or raw", accept_multiple_files=True, key="files"
        )
        written: dict[str, Any] = {}
        if kind == NEW:
            written = write_settings(pattern)
            st.caption(
                "\\* A new run needs these; what is left empty is not known. A number may carry "
                "another unit, such as 9000 mm/min. A label in the photo gives run and axis."
            )
        elif kind == STORED:
            written["name"] = st.selectbox("Run", list(runs), key="stored")
        with st.expander("If something contradicts"):
            may = Permissions(
                ignore_label=st.checkbox(LABEL_WRONG, key="ignore_label"),
                update=st.checkbox(CORRECT_RUN, key="update"),
                move=st.checkbox(MOVE_PHOTO, key="move"),
            )
        sent = st.form_submit_button("Measure and keep", type="primary")
    if sent:
        st.session_state.pop(DONE, None)
        uploads = [Upload(file.name, file.getvalue()) for file in files]
        if not uploads:
            st.error("Choose at least one photo; nothing was recorded.")
            return
        written["extra"] = read_further(written.get("extra", ""))
        st.session_state[DONE] = add_with_progress(uploads, check_written(written), may)
    show_added(st.session_state.get(DONE, ()))


with told_errors():
    show()
