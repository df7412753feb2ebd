"""Panel: adding uploaded photos to the store, and what became of each."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import streamlit as st

from scoring.adding import AddedPhoto, add_photos
from scoring.batch import MeasureFunction, PhotoTask
from scoring.metrics import FACE_WORDS
from scoring.page.error_words import in_page_words
from scoring.page.opened_store import opened_store
from scoring.page.site import run_page
from scoring.remeasuring import remeasure, stale_photos
from scoring.runs.plan import RunPlan
from scoring.store.run_store import PhotoChange, RunStore


@dataclass(frozen=True)
class Upload:
    """A photo as it came over the wire."""

    name: str
    content: bytes


@dataclass(frozen=True)
class Permissions:
    """What adding may do beyond recording what is new."""

    ignore_label: bool = False
    update: bool = False
    move: bool = False


def load_measure() -> MeasureFunction:
    """What measures photos; loading it brings in the imaging libraries."""
    from scoring.measure import measure_photo  # noqa: PLC0415

    return measure_photo


def add_uploads(
    store: RunStore,
    uploads: Sequence[Upload],
    given: Mapping[str, Any],
    may: Permissions,
    *,
    measure: MeasureFunction,
) -> Iterator[AddedPhoto]:
    """Measure and record photos one by one, a result each.

    In this process: worker processes would start the page's server script again. Photos of a run
    whose settings ``may.update`` has corrected are measured again.
    """
    known = {record.settings.name: record.settings for record in store.runs()}
    plan = RunPlan(None, known, given, may.ignore_label)
    tasks = [PhotoTask(upload.name, upload.content, plan) for upload in uploads]
    touched: set[str] = set()
    for result in add_photos(
        store, tasks, measure=measure, update=may.update, move=may.move, workers=1
    ):
        touched |= {result.run} if result.run else set()
        yield result
    if may.update and touched:
        for again in remeasure(
            store, stale_photos(store, runs=touched), measure=measure, workers=1
        ):
            if again.failure is not None:
                name, run = again.old.photo.name, again.old.settings.name
                yield AddedPhoto(name, run, None, None, again.failure)


def describe_added(result: AddedPhoto) -> str:
    """One sentence on what became of a photo."""
    if result.failure is not None:
        why = in_page_words(result.failure.message).removeprefix(f"{result.name}: ")
        return f"{result.name}: not added. {why[0].upper()}{why[1:]}"
    if result.change is PhotoChange.ALREADY_THERE:
        return f"{result.name}: already there, in run {result.run}; nothing was measured again."
    face = f", {FACE_WORDS[result.measurement.face]} face" if result.measurement else ""
    return f"{result.name}: {result.change} to run {result.run}{face}."


def add_with_progress(
    uploads: Sequence[Upload], given: Mapping[str, Any], may: Permissions
) -> tuple[AddedPhoto, ...]:
    """Add photos while a bar tells how far it is. Raises :class:`StoreError` for the database."""
    bar = st.progress(0.0, f"Measuring {len(uploads)} photos …")
    done: list[AddedPhoto] = []
    with opened_store(create=True) as store:
        assert store is not None
        for result in add_uploads(store, uploads, given, may, measure=load_measure()):
            done.append(result)
            share = min(len(done) / len(uploads), 1.0)
            bar.progress(share, f"{len(done)} of {len(uploads)} photos done")
    bar.empty()
    return tuple(done)


def show_added(done: Sequence[AddedPhoto]) -> None:
    """Draw what became of each photo, with a way to every run that took one."""
    for result in done:
        text = describe_added(result)
        if result.failure is not None:
            st.error(text, icon=":material/block:")
        elif result.change is PhotoChange.ALREADY_THERE:
            st.info(text, icon=":material/check:")
        else:
            st.success(text, icon=":material/check:")
    for run in sorted({result.run for result in done if result.run and result.failure is None}):
        st.page_link(
            run_page(), label=f"Open run {run}", icon=":material/arrow_forward:",
            query_params={"run": run},
        )  # fmt: skip
