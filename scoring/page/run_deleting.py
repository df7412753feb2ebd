"""Panels: deleting a run or a photo after a question, and bringing it back."""

from collections.abc import Callable

import streamlit as st

from scoring.page.opened_store import opened_store, told_errors
from scoring.page.plain_text import plain
from scoring.store.records import DeletedRecord
from scoring.store.run_store import RunStore

ASKED, UNDO = "delete-asked", "delete-undo"


def offer_deleting(what: str, key: str, gone: DeletedRecord) -> None:
    """Draw a button that asks first; ``what`` is shown as it stands.

    ``gone`` says which run or photo: what would be listed once it is deleted.
    """
    if st.session_state.get(ASKED) != key:
        st.button(
            f"Delete {plain(what)} …", key=f"ask-{key}", icon=":material/delete:",
            on_click=st.session_state.update, kwargs={ASKED: key},
        )  # fmt: skip
        return
    photos = "" if gone.photo else f" with its photos ({gone.photos})"
    st.warning(f"Delete {plain(what)}{photos}? It is hidden at once, and can be brought back.")
    with st.container(horizontal=True):
        yes = st.button("Yes, delete", key=f"yes-{key}", type="primary")
        st.button("Keep", key=f"keep-{key}", on_click=st.session_state.update, kwargs={ASKED: None})
    if yes:
        change_store(
            lambda store: (
                store.delete_run(gone.run)
                if gone.sha256 is None
                else store.delete_photo(gone.sha256)
            )
        )
        st.session_state.update({ASKED: None, UNDO: gone})
        st.rerun()


def offer_undo() -> None:
    """Draw what was deleted last since the page was opened, with the way back; else nothing."""
    gone: DeletedRecord | None = st.session_state.get(UNDO)
    if gone is None:
        return
    st.success(f"{_words(gone)} is deleted. Nothing of it is lost.", icon=":material/delete:")
    st.button("Undo", key="undo", icon=":material/undo:", on_click=bring_back, args=(gone,))


def list_deleted(deleted: tuple[DeletedRecord, ...]) -> None:
    """Draw everything that can be brought back."""
    if not deleted:
        return
    with st.expander(f"Deleted: {len(deleted)}"):
        for gone in deleted:
            with st.container(horizontal=True, vertical_alignment="center"):
                when = gone.deleted_at.strftime("%Y-%m-%d %H:%M UTC")
                st.markdown(f"{_words(gone)}, {when}", width="content")
                key = gone.sha256 or gone.run
                st.button(
                    "Bring back", key=f"back-{key}", icon=":material/undo:",
                    on_click=bring_back, args=(gone,),
                )  # fmt: skip


def bring_back(gone: DeletedRecord) -> None:
    """Restore it and choose its run; for a button's ``on_click``."""
    with told_errors():
        change_store(
            lambda store: (
                store.restore_run(gone.run)
                if gone.sha256 is None
                else store.restore_photo(gone.sha256)
            )
        )
        st.session_state.update({UNDO: None, "run": gone.run})


def change_store(change: Callable[[RunStore], None]) -> None:
    """Open the store and change it. Raises :class:`StoreError`."""
    with opened_store(create=True) as store:
        assert store is not None
        change(store)


def _words(gone: DeletedRecord) -> str:
    if gone.photo is None:
        return f"Run {plain(gone.run)} ({gone.photos} photos)"
    return f"Photo {plain(gone.photo)} of run {plain(gone.run)}"
