"""Page: one run: its settings, its photos with their traces, and its numbers."""

import datetime

import streamlit as st

from scoring.metrics import FaceName
from scoring.page.empty_state import show_empty_state
from scoring.page.number_table import metric_rows, show_numbers
from scoring.page.opened_store import opened_store, told_errors
from scoring.page.photo_panel import show_photo
from scoring.page.run_deleting import list_deleted, offer_deleting, offer_undo
from scoring.page.run_settings import show_settings
from scoring.page.site import add_page
from scoring.page.stale_address import warn_if_gone
from scoring.ranking.run_numbers import numbers_by_run
from scoring.store.records import DeletedRecord


def show() -> None:
    """Draw the page."""
    st.title("One run")
    offer_undo()
    with opened_store() as store:
        runs = {record.settings.name: record.settings for record in store.runs()} if store else {}
        deleted = store.deleted() if store else ()
        if store is None or not runs:
            show_empty_state()
            list_deleted(deleted)
            return
        warn_if_gone("run", "run", runs)
        name = st.selectbox("Run", list(runs), key="run", bind="query-params")
        photos = sorted(
            store.measurements(run=name), key=lambda r: list(FaceName).index(r.measurement.face)
        )
        faces = [store.face_jpeg(record.photo.sha256) for record in photos]
    show_settings(runs[name])
    if not photos:
        st.info("No photo of this run is stored.")
        st.page_link(add_page(), label="Add photos", icon=":material/add_a_photo:")
    for record, face_jpeg in zip(photos, faces, strict=True):
        st.divider()
        show_photo(record, face_jpeg)
    for together in numbers_by_run(photos):
        if together.photos > len(together.faces):
            st.divider()
            st.subheader(f"All {together.photos} photos together")
            st.caption("Each metric joined over the photos of its face; of modes, the strongest.")
            show_numbers(metric_rows(together.metrics), "Numbers of all photos together")
    st.divider()
    now = datetime.datetime.now(datetime.UTC)
    offer_deleting(f"run {name}", name, DeletedRecord(name, None, None, len(photos), now))
    list_deleted(deleted)


with told_errors():
    show()
