"""Panel: one photo: its face with the trace beneath, its numbers, and what to know about them."""

import streamlit as st

from scoring.flags import SENTENCES
from scoring.measurement import Measurement
from scoring.metrics import FACE_WORDS, FaceName
from scoring.page.error_words import MEASURE_AGAIN
from scoring.page.face_figure import draw_face_figure
from scoring.page.number_table import metric_rows, mode_rows, show_numbers
from scoring.page.opened_store import opened_store, told_errors
from scoring.page.plain_text import plain
from scoring.page.run_deleting import offer_deleting
from scoring.page.spectrum_chart import draw_spectrum
from scoring.store.records import DeletedRecord, MeasurementRecord, reasons_stale

LEGEND = {
    FaceName.RINGDOWN: (
        "Above, the face straightened to millimetres: u from the corner, w from the plate up. Blue "
        "frames where the ripple is measured, green the facets of known slope that give its scale. "
        "Beneath, on the same axis, the heights read from the shading, and what the fit leaves of "
        "them."
    ),
    FaceName.FLOW: (
        "Above, the face straightened to millimetres: u from the left edge, w from the plate up. "
        "Green frames the steady zone, blue the recovery zone after the grooves; open gaps are "
        "tinted pink. Beneath, on the same axis, the open share of the height."
    ),
}


def describe_placing(measurement: Measurement) -> str:
    """How well the photo was placed, and what its label said."""
    placed = measurement.registration
    label = (
        f"Its label says run {plain(measurement.run)}, axis {plain(measurement.axis)}."
        if measurement.run
        else "No label was read."
    )
    return (
        f"{label} Placed by {placed.by} to {placed.residual_mm:.3f} mm (RMS), "
        f"{1 / placed.mm_per_px:.1f} px/mm. Method {measurement.method_version}, geometry "
        f"{measurement.geometry_revision}."
    )


def show_photo(record: MeasurementRecord, face_jpeg: bytes) -> None:
    """Draw the panel."""
    measurement = record.measurement
    face = measurement.face
    st.subheader(f"{FACE_WORDS[face].capitalize()} face: {plain(record.photo.name)}")
    with told_errors():
        st.vega_lite_chart(
            draw_face_figure(face, measurement.trace, face_jpeg),
            key=f"figure-{record.photo.sha256}",
            alt=f"The straightened {FACE_WORDS[face]} face of {record.photo.name} and, on the same "
            "millimetre axis, what was measured and fitted along it",
        )
        st.caption(LEGEND[face])
    if face is FaceName.RINGDOWN and measurement.trace.u_mm:
        st.vega_lite_chart(
            draw_spectrum(measurement, record.motion),
            key=f"spectrum-{record.photo.sha256}",
            alt="Spectrum of the measured and the fitted ring-down in hertz, with the fitted modes",
        )
        st.caption(
            "The same heights over time instead of length, as a spectrum: acceleration is taken "
            "out. Green: the fitted modes, each as wide as its 95 % interval."
        )
    for reason in reasons_stale(record):
        st.warning(f"Out of date: {reason}. {MEASURE_AGAIN}")
    left, right = st.columns([3, 2], gap="large")
    with left:
        rows = metric_rows(measurement.metrics) + mode_rows(measurement.modes)
        show_numbers(rows, f"Numbers of {record.photo.name} with 95 % intervals")
    with right:
        if face is FaceName.RINGDOWN and not measurement.modes:
            st.markdown("**Modes:** none found.")
        st.markdown("**To know about this photo**")
        if not measurement.flags:
            st.markdown("No flag: nothing about it widened the intervals.")
        for flag in measurement.flags:
            st.markdown(f":orange-badge[{flag.value}] {SENTENCES[flag]}")
        st.caption(describe_placing(measurement))
        st.download_button(
            f"Original photo, {record.photo.size_bytes / 1e6:.1f} MB",
            lambda: read_original(record.photo.sha256),
            file_name=record.photo.name,
            key=f"original-{record.photo.sha256}",
            icon=":material/download:",
            on_click="ignore",
        )
        gone = DeletedRecord(
            record.photo.run, record.photo.sha256, record.photo.name, 1, record.photo.added_at
        )
        offer_deleting("this photo", record.photo.sha256, gone)


def read_original(sha256: str) -> bytes:
    """A stored photo's bytes as they came. Raises :class:`StoreError` if it is not there."""
    with opened_store(create=True) as store:
        assert store is not None
        return store.photo_bytes(sha256)
