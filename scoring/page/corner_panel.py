"""Panel: the face's four corners, pointed at or written, where no card was found."""

import io
import math
from collections.abc import Sequence
from typing import Any

import streamlit as st
from PIL import Image

from scoring.errors import ScoringError
from scoring.measurement import Corners
from scoring.page.corner_figure import HEIGHT_PX, PICK, WIDTH_PX, draw_corners
from scoring.page.plain_text import plain

Place = tuple[float, float]
"""x and y in the photo's pixels."""
SHOWN_PX = (1200, 1200)
FIELD_PX = 118
CORNER_CODES = {"card-not-found", "too-few-markers", "corners-wrong", "coupon-not-found"}
"""Refusals after which pointing may help."""


@st.cache_data(max_entries=8, show_spinner=False)
def read_shown(content: bytes) -> tuple[bytes, int, int] | None:
    """The photo as the measurement sees it: a smaller JPEG, and its full width and height in px.

    ``None`` for what cannot be read.
    """
    from scoring.photo.decode import decode_photo  # noqa: PLC0415  loads the imaging libraries

    try:
        picture = Image.fromarray(decode_photo(content, "photo").codes8)
    except ScoringError:
        return None
    width, height = picture.size
    picture.thumbnail(SHOWN_PX)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=85)
    return out.getvalue(), width, height


def place_pick(corners: Sequence[Place | None], pick: Place) -> int:
    """Which of four corners a newly pointed-at place is: the first missing, or else the nearest."""
    away = [-1.0 if corner is None else math.dist(corner, pick) for corner in corners]
    return away.index(min(away))


def choose_corners(name: str, key: str, content: bytes) -> Corners | None:
    """Draw the picture and the fields; the corners once all four are there and meant.

    ``key`` tells this photo's fields from another's.
    """
    shown = read_shown(content)
    if shown is None:
        return None
    jpeg, width, height = shown
    st.markdown(
        "**Without the card**, four corners of the face may place it, less surely. Point at each "
        "of them in the picture, in any order, or write them; of the cut-off corner, at where "
        "its two sides would meet. A millimetre off does no harm: the edges near by are sought."
    )
    corners = _written(key)
    round_key = f"corner-round-{key}"
    number = st.session_state.get(round_key, 0)
    with st.container(width=WIDTH_PX):
        event = st.vega_lite_chart(
            draw_corners(jpeg, width, height, corners),
            key=f"corner-chart-{key}-{number}",
            on_select="rerun",
            height=HEIGHT_PX,
            alt=f"{plain(name)}: point at the face's corners, or write them in the fields below",
        )
    picked = _picked(event)
    if picked is not None:
        place = place_pick(corners, picked)
        st.session_state[f"corner-{key}-{place}-x"] = picked[0]
        st.session_state[f"corner-{key}-{place}-y"] = picked[1]
        st.session_state[round_key] = number + 1  # a new chart, with nothing selected
        st.rerun()
    with st.container(horizontal=True, vertical_alignment="bottom"):
        for place in range(4):
            for axis, most in (("x", width), ("y", height)):
                st.number_input(
                    f"Corner {place + 1}: {axis}, px", min_value=0.0, max_value=float(most - 1),
                    value=None, step=1.0, key=f"corner-{key}-{place}-{axis}", width=FIELD_PX,
                    persist_state="session",
                )  # fmt: skip
    found = tuple(corner for corner in _written(key) if corner is not None)
    ready = len(found) == 4
    if st.button("Use these corners", key=f"corners-use-{key}", disabled=not ready):
        return found
    return None


def _written(key: str) -> list[Place | None]:
    """The four corners in order; ``None`` where not both fields are filled."""
    pairs = [
        tuple(st.session_state.get(f"corner-{key}-{place}-{axis}") for axis in "xy")
        for place in range(4)
    ]
    return [None if x is None or y is None else (float(x), float(y)) for x, y in pairs]


def _picked(event: Any) -> tuple[float, float] | None:
    found = event.get("selection", {}).get(PICK, []) if event else []
    if not found or "x" not in found[0]:
        return None
    return float(found[0]["x"]), float(found[0]["y"])
