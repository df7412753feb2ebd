"""Panel: adding photos to the store, and what became of each."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import streamlit as st

from scoring.adding import AddedPhoto, add_photos
from scoring.batch import MeasureFunction, PhotoTask
from scoring.metrics import FACE_WORDS
from scoring.page.error_words import in_page_words
from scoring.page.opened_store import opened_store
from scoring.page.plain_text import plain
from scoring.page.site import ranking_page, run_page
from scoring.page.waiting_photos import Upload
from scoring.runs.plan import plan_photos
from scoring.runs.settings import RunSettings
from scoring.store.recording import PhotoChange
from scoring.store.run_store import RunStore


@dataclass(frozen=True)
class Permissions:
    """What adding may do beyond recording what is new."""

    ignore_label: bool = False
    update: bool = False
    move: bool = False


@dataclass(frozen=True)
class Told:
    """Where the settings come from: written ones, and the runs that a file lists by photo."""

    given: Mapping[str, Any] = field(default_factory=dict)
    listed: Mapping[str, RunSettings] = field(default_factory=dict)


def load_measure() -> MeasureFunction:
    """What measures photos; loading it brings in the imaging libraries."""
    from scoring.measure import measure_photo  # noqa: PLC0415

    return measure_photo


def add_uploads(
    store: RunStore,
    uploads: Sequence[Upload],
    told: Told,
    may: Permissions,
    *,
    measure: MeasureFunction,
) -> Iterator[AddedPhoto]:
    """Measure and record photos one by one, a result each, as :func:`add_photos` does.

    In this process: worker processes would start the page's server script again. Raises
    :class:`SettingsError`, before anything is measured, as :func:`plan_photos` does.
    """
    plans = plan_photos(
        [told.listed.get(upload.name.casefold()) for upload in uploads],
        runs=told.listed.values(),
        stored=store.known_settings(),
        given=told.given,
        ignore_label=may.ignore_label,
    )
    tasks = [
        PhotoTask(upload.name, upload.content, plan, corners_px=upload.corners_px)
        for upload, plan in zip(uploads, plans, strict=True)
    ]
    return add_photos(store, tasks, measure=measure, update=may.update, move=may.move, workers=1)


def describe_added(result: AddedPhoto) -> str:
    """One sentence on what became of a photo."""
    if result.failure is not None:
        why = in_page_words(result.failure.message).removeprefix(f"{result.name}: ")
        what = "not added" if result.run is None else "kept its old numbers"
        return f"{result.name}: {what}. {why[0].upper()}{why[1:]}"
    if result.change is PhotoChange.ALREADY_THERE:
        return f"{result.name}: already there, in run {result.run}; nothing was measured again."
    if result.change is PhotoChange.MEASURED_AGAIN:
        return f"{result.name} of run {result.run}: measured again; its numbers were out of date."
    face = f", {FACE_WORDS[result.measurement.face]} face" if result.measurement else ""
    return f"{result.name}: {result.change} to run {result.run}{face}."


def add_with_progress(
    uploads: Sequence[Upload], told: Told, may: Permissions
) -> tuple[AddedPhoto, ...]:
    """Add photos; a bar tells how far it is, and a line each what is done with it.

    Raises :class:`StoreError` for the database.
    """
    bar = st.progress(0.0, f"Measuring {len(uploads)} photos …")
    lines = [st.empty() for _ in uploads]
    for line, upload in zip(lines, uploads, strict=True):
        line.markdown(f":material/hourglass_empty: {plain(upload.name)}: waits")
    done: list[AddedPhoto] = []
    with opened_store(create=True) as store:
        assert store is not None
        adding = add_uploads(store, uploads, told, may, measure=load_measure())
        lines[0].markdown(f":material/straighten: {plain(uploads[0].name)}: being measured …")
        for result in adding:
            done.append(result)
            bar.progress(
                min(len(done) / len(uploads), 1.0), f"{len(done)} of {len(uploads)} photos done"
            )
            if len(done) <= len(lines):
                mark = "block" if result.failure else "check"
                lines[len(done) - 1].markdown(f":material/{mark}: {plain(describe_added(result))}")
            if len(done) < len(lines):
                name = plain(uploads[len(done)].name)
                lines[len(done)].markdown(f":material/straighten: {name}: being measured …")
    return tuple(done)


def still_waiting(uploads: Sequence[Upload], done: Sequence[AddedPhoto]) -> tuple[Upload, ...]:
    """The photos that were not added, each with why; ``done`` begins with a result for each."""
    return tuple(
        replace(upload, failure=result.failure)
        for upload, result in zip(uploads, done, strict=False)
        if result.failure is not None
    )


def show_added(done: Sequence[AddedPhoto]) -> None:
    """Draw what became of the photos that were added, with a way to every run that took one."""
    for result in done:
        if result.failure is None:
            text = plain(describe_added(result))
            known = result.change is PhotoChange.ALREADY_THERE
            (st.info if known else st.success)(text, icon=":material/check:")
        elif result.run is not None:  # measured again, in vain, with corrected settings
            st.error(plain(describe_added(result)), icon=":material/block:")
    runs = sorted({result.run for result in done if result.run and result.failure is None})
    for run in runs:
        st.page_link(
            run_page(), label=f"Open run {plain(run)}", icon=":material/arrow_forward:",
            query_params={"run": run},
        )  # fmt: skip
    if runs:
        st.page_link(ranking_page(), label="See the ranking", icon=":material/arrow_forward:")
