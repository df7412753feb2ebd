"""Panel: card, blades and labels as files, made when they are asked for."""

import functools
import tempfile
from collections.abc import Sequence
from pathlib import Path

import streamlit as st

from scoring.errors import SettingsError
from scoring.page.plain_text import plain

PDF, SOLID_3MF, SOLID_STL = "application/pdf", "model/3mf", "model/stl"


def make_card_file(paper: str) -> bytes:
    """The card as PDF."""
    from scoring.making.card import write_card_pdf  # noqa: PLC0415  loads the drawing libraries

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "card.pdf"
        write_card_pdf(path, paper=paper)
        return path.read_bytes()


@st.cache_data(show_spinner=False)
def make_blade_files(axis: str, *, check: bool = False) -> tuple[bytes, bytes]:
    """The coupon, or the blade that checks the tool, as 3MF and as STL."""
    from scoring.making.blade import write_blade  # noqa: PLC0415  loads the solid modeller
    from scoring.making.check_blade import write_check_blade  # noqa: PLC0415

    with tempfile.TemporaryDirectory() as folder:
        path_3mf, path_stl = Path(folder) / "blade.3mf", Path(folder) / "blade.stl"
        (write_check_blade if check else write_blade)(path_3mf, path_stl, axis)
        return path_3mf.read_bytes(), path_stl.read_bytes()


def make_blade_file(axis: str, place: int, *, check: bool = False) -> bytes:
    """One of :func:`make_blade_files`."""
    return make_blade_files(axis, check=check)[place]


def make_labels_file(runs: tuple[str, ...], paper: str) -> bytes:
    """Labels as PDF. Raises :class:`SettingsError` for a name that no label can carry."""
    from scoring.making.labels import write_labels_pdf  # noqa: PLC0415

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "labels.pdf"
        write_labels_pdf(path, runs, paper=paper)
        return path.read_bytes()


def offer_card() -> None:
    """Draw the card's downloads."""
    with st.container(horizontal=True):
        for paper, words in (("a4", "A4"), ("letter", "US Letter")):
            st.download_button(
                f"Card on {words}, PDF",
                functools.partial(make_card_file, paper),
                file_name=f"card-{paper}.pdf",
                mime=PDF,
                key=f"card-{paper}",
                icon=":material/download:",
                on_click="ignore",
            )


def offer_blades(axes: Sequence[str] = ("x", "y"), *, check: bool = False) -> None:
    """Draw the downloads of the blades, or of the one that checks the tool."""
    words = "Check blade" if check else "Blade"
    for axis in axes:
        with st.container(horizontal=True):
            for place, (kind, mime) in enumerate((("3mf", SOLID_3MF), ("stl", SOLID_STL))):
                st.download_button(
                    f"{words} {axis}, {kind.upper()}",
                    functools.partial(make_blade_file, axis, place, check=check),
                    file_name=f"{words.lower().replace(' ', '-')}-{axis}.{kind}",
                    mime=mime,
                    key=f"{words}-{axis}-{kind}",
                    icon=":material/download:",
                    on_click="ignore",
                )


def offer_labels() -> None:
    """Draw the field for runs and, once it holds any, the labels' download."""
    written = st.text_input(
        "Runs to make labels for, with blanks between", key="label-runs",
        placeholder="B7-012 B7-013", persist_state="session", autocomplete="off",
    )  # fmt: skip
    runs = tuple(written.upper().replace(",", " ").split())
    if not runs:
        st.caption("A name is 1 to 32 of A to Z, 0 to 9 and “-”; small letters are made capitals.")
        return
    try:
        content = make_labels_file(runs, "a4")
    except SettingsError as error:
        st.error(plain(str(error)))
        return
    st.download_button(
        f"Labels for {len(runs)} runs, PDF", content, file_name="labels.pdf", mime=PDF,
        key="labels", icon=":material/download:", on_click="ignore",
    )  # fmt: skip
