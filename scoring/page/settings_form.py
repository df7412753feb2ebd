"""Panel: the settings of a run, written by hand."""

from collections.abc import Mapping
from typing import Any

import streamlit as st

from scoring.errors import SettingsError
from scoring.page.metric_words import setting_title
from scoring.runs.settings import LIMITS, WORDS, RunSettings, format_setting
from scoring.runs.settings_file import number_if_one

FIELD_PX = 164
"""Two fields side by side on a phone, inside the form's frame."""

GROUPS: Mapping[str, tuple[str, ...]] = {
    "The print": ("name", "machine", "setup", "axis", "filament", "printed_on"),
    "How the outer wall moved": ("outer_wall_speed_mm_s", "accel_mm_s2", "corner_speed_mm_s"),
    "Size, heat and feed": (
        "layer_height_mm", "line_width_mm", "nozzle_mm", "nozzle_temp_c", "bed_temp_c",
        "flow_ratio", "pressure_advance_s", "extruder_ratio", "drive_gear_mm", "shaper_type",
        "shaper_hz",
    ),
}  # fmt: skip
NEEDED = ("machine", "outer_wall_speed_mm_s", "accel_mm_s2")
HINTS = {
    "name": "as the label says",
    "machine": "such as Birch",
    "setup": "stock if empty",
    "filament": "such as PLA grey",
    "corner_speed_mm_s": "5 if empty",
    "shaper_type": "such as none",
}
AS_LABELLED = "as the label says"


def read_further(text: str) -> dict[str, float | str]:
    """Lines of ``name = value``; numbers among the values become numbers.

    Raises :class:`SettingsError` for a line of another form.
    """
    further: dict[str, float | str] = {}
    for line in filter(None, map(str.strip, text.splitlines())):
        name, equals, value = (part.strip() for part in line.partition("="))
        if not (name and equals and value):
            raise SettingsError(f"Further values: {line!r} is not of the form name = value.")
        further[name] = number_if_one(value)
    return further


def check_written(written: Mapping[str, Any]) -> dict[str, Any]:
    """The settings that were written, empty fields left out.

    Raises :class:`SettingsError` naming every number that no machine can have, so that this is
    told before photos are measured.
    """
    given = {
        name: value for name, value in written.items() if value not in (None, "", AS_LABELLED, {})
    }
    wrong = []
    for name in LIMITS.keys() & given.keys():
        try:
            LIMITS[name].check(given[name])
        except SettingsError as error:
            wrong.append((list(LIMITS).index(name), f"{WORDS[name].capitalize()}: {error}"))
    if wrong:
        raise SettingsError(" ".join(sentence for _, sentence in sorted(wrong)))
    return given


CLEARED = "run-name-cleared"


def clear_name() -> None:
    """Have the run's name empty when the form is drawn next."""
    st.session_state[CLEARED] = True


def write_settings(pattern: RunSettings | None) -> dict[str, Any]:
    """Draw the fields, filled from ``pattern`` but for the run's name, and give what they hold."""
    written: dict[str, Any] = {}
    mark = pattern.name if pattern else ""
    if st.session_state.pop(CLEARED, False):
        st.session_state[f"name/{mark}"] = ""
    for title, names in GROUPS.items():
        st.markdown(f"**{title}**")
        with st.container(horizontal=True, vertical_alignment="bottom"):
            for name in names:
                written[name] = _field(name, pattern, f"{name}/{mark}")
    known = pattern.extra if pattern else {}
    written["notes"] = st.text_area(
        "Notes", key=f"notes/{mark}", height=68, persist_state="session"
    )
    written["extra"] = st.text_area(
        "Further values of your own, one a line: name = value",
        "\n".join(f"{name} = {value}" for name, value in known.items()),
        key=f"extra/{mark}", height=68, placeholder="belt_hz = 92", persist_state="session",
    )  # fmt: skip
    return written


def _field(name: str, pattern: RunSettings | None, key: str) -> Any:
    title = "run" if name == "name" else setting_title(name)
    title = title[0].upper() + title[1:] + (" \\*" if name in NEEDED else "")
    if name == "axis":
        options = [AS_LABELLED, "x", "y"]
        return st.selectbox(
            title,
            options,
            options.index(pattern.axis) if pattern else 0,
            key=key,
            width=FIELD_PX,
            persist_state="session",
        )
    if name == "printed_on":
        return st.date_input(
            title, value=None, key=key, width=FIELD_PX, format="YYYY-MM-DD", persist_state="session"
        )
    filled = "" if pattern is None or name == "name" else format_setting(pattern, name, unit=False)
    return st.text_input(
        title,
        filled,
        key=key,
        width=FIELD_PX,
        placeholder=HINTS.get(name),
        autocomplete="off",
        persist_state="session",
    ).strip()
