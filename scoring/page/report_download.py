"""Panel: the comparison as a report to hand over, HTML or PDF, made when it is asked for."""

import functools
from collections.abc import Mapping

import streamlit as st

from scoring.comparing.compare import compare_sides
from scoring.page.compare_choice import ComparisonChoice
from scoring.page.opened_store import opened_store
from scoring.runs.filter import RunFilter

MIMES: Mapping[str, str] = {"html": "text/html", "pdf": "application/pdf"}


def make_report(choice: ComparisonChoice, kind: str) -> bytes:
    """The report as ``"html"`` or ``"pdf"``, from the store as it is now.

    Raises :class:`StoreError` for the database, :class:`SettingsError` where the sides are gone.
    """
    from scoring.reporting.writing import report_bytes  # noqa: PLC0415  loads the PDF library

    with opened_store(create=True) as store:
        assert store is not None
        found = compare_sides(
            store.measurements(choice.wanted),
            factor=choice.factor,
            before=choice.before,
            after=choice.after,
        )
        options = command_options(choice.wanted)
        return report_bytes(found, kind, read_face=store.face_jpeg, options=options)


def command_options(wanted: RunFilter) -> tuple[tuple[str, str], ...]:
    """The filters as the command line writes them, for the report's line that repeats it."""
    names = ("machine", "setup", "axis", "filament")
    return tuple((f"--{name}", value) for name in names if (value := getattr(wanted, name)))


def offer_report(choice: ComparisonChoice) -> None:
    """Draw the downloads."""
    st.subheader("Report")
    st.markdown(
        "All of this to hand over, with limits, how it was measured and how far to trust "
        "it: one file that opens offline, or a PDF to print."
    )
    with st.container(horizontal=True):
        for kind, mime in MIMES.items():
            st.download_button(
                f"Report as {kind.upper()}",
                functools.partial(make_report, choice, kind),
                file_name=f"report.{kind}",
                mime=mime,
                key=f"report-{kind}",
                icon=":material/download:",
                on_click="ignore",
            )
