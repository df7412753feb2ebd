"""Panel: a settings file, TOML or CSV, whose runs list the photos by name."""

import tempfile
from collections.abc import Mapping
from pathlib import Path

import streamlit as st

from scoring.errors import SettingsError
from scoring.page.plain_text import plain
from scoring.runs.settings import RunSettings
from scoring.runs.settings_file import SETTINGS_SUFFIXES, ListedRun, settings_from_file

HELD = "settings-file-held"
MOST_MB = 2


def read_settings_upload(name: str, content: bytes) -> tuple[ListedRun, ...]:
    """The runs that an uploaded file lists. Raises :class:`SettingsError` naming the file."""
    suffix = Path(name).suffix.lower()
    if suffix not in SETTINGS_SUFFIXES:
        raise SettingsError(f"{name}: a settings file ends in .toml or .csv.")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"settings{suffix}"
        path.write_bytes(content)
        try:
            return settings_from_file(path)
        except SettingsError as error:
            raise SettingsError(str(error).replace(str(path), name)) from error


def runs_by_photo(listed: tuple[ListedRun, ...]) -> Mapping[str, RunSettings]:
    """The run of each listed photo, by the photo's bare name in small letters.

    An upload has no folder. Raises :class:`SettingsError` where two runs list photos of one name.
    """
    found: dict[str, RunSettings] = {}
    for run in listed:
        for photo in run.photos:
            other = found.setdefault(photo.name.casefold(), run.settings)
            if other is not run.settings:
                raise SettingsError(
                    f"{photo.name} is listed for {other.name} and for {run.settings.name}. "
                    "Uploaded photos are told apart by their names alone, not by folders: rename "
                    "one of them, in the settings file too."
                )
    return found


def choose_settings_file() -> tuple[ListedRun, ...]:
    """Draw the upload; what was given stays until another file takes its place.

    Empty where none was given. Raises :class:`SettingsError` for a file that is wrong.
    """
    given = st.file_uploader(
        "Settings file: TOML or CSV, as the README describes", type=["toml", "csv"],
        key="settings-file", max_upload_size=MOST_MB,
    )  # fmt: skip
    if given is not None:
        st.session_state[HELD] = (given.name, given.getvalue())
    held: tuple[str, bytes] | None = st.session_state.get(HELD)
    if held is None:
        st.info("Choose a file; it lists runs with their settings and the names of their photos.")
        return ()
    listed = read_settings_upload(*held)
    photos = sum(len(run.photos) for run in listed)
    st.caption(f"{plain(held[0])} lists {len(listed)} runs with {photos} photos.")
    return listed
