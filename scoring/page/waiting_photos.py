"""Panel: photos that wait to be measured; they stay while other pages are looked at."""

from collections.abc import Iterable, MutableMapping
from dataclasses import dataclass, replace
from typing import Any, Protocol

import streamlit as st

from scoring.batch import Failure
from scoring.measurement import Corners
from scoring.page.corner_panel import CORNER_CODES, choose_corners
from scoring.page.photo_preview import preview_jpeg
from scoring.page.plain_text import plain
from scoring.page.refusal import show_refusal
from scoring.store.run_store import hash_photo

MOST_PHOTOS, MOST_MB, MOST_TOGETHER_MB = 40, 100, 600
LIMITS_WORDS = (
    f"Up to {MOST_PHOTOS} photos at a time, {MOST_MB} MB each, {MOST_TOGETHER_MB} MB together."
)
MB = 1_000_000
WAITING, TURNED_AWAY, ROUND = "photos-waiting", "photos-turned-away", "photos-round"


@dataclass(frozen=True)
class Upload:
    """A photo as it came over the wire; ``failure`` says why it was refused, once it was.

    ``corners_px`` are the face's corners, where someone pointed at them.
    """

    name: str
    content: bytes
    failure: Failure | None = None
    corners_px: Corners | None = None


class UploadedFile(Protocol):
    """What Streamlit's upload and camera give."""

    @property
    def name(self) -> str: ...

    def getvalue(self) -> bytes: ...


def within_limits(
    waiting: Iterable[Upload], arrived: Iterable[Upload]
) -> tuple[tuple[Upload, ...], tuple[str, ...]]:
    """``waiting`` with what ``arrived`` and fits, and a sentence for each that does not.

    A photo that waits already, by its content, is left out without a word.
    """
    kept = list(waiting)
    known = {hash_photo(upload.content) for upload in kept}
    refused = []
    for upload in arrived:
        size = len(upload.content)
        together = sum(len(other.content) for other in kept) + size
        sha256 = hash_photo(upload.content)
        if sha256 in known:
            continue
        if size == 0:
            refused.append(f"{upload.name} is empty; copy it again from the camera.")
        elif size > MOST_MB * MB:
            refused.append(
                f"{upload.name} has {size / MB:.0f} MB, more than {MOST_MB} MB; export it as JPEG, "
                "which is smaller."
            )
        elif len(kept) >= MOST_PHOTOS or together > MOST_TOGETHER_MB * MB:
            refused.append(
                f"{upload.name} is one too many. Measure those that wait first, then add the rest."
            )
        else:
            kept.append(upload)
            known.add(sha256)
    return tuple(kept), tuple(refused)


def waiting_photos() -> tuple[Upload, ...]:
    """The photos that wait on this opened page."""
    found: tuple[Upload, ...] = st.session_state.get(WAITING, ())
    return found


def take_in(state: MutableMapping[Any, Any], key: str) -> None:
    """Move what the widget ``key`` holds to those that wait, and empty the widget."""
    held = state.get(key) or []
    files: list[UploadedFile] = held if isinstance(held, list) else [held]
    arrived = [Upload(file.name, file.getvalue()) for file in files]
    waiting, refused = within_limits(state.get(WAITING, ()), arrived)
    # A new key makes a new, empty widget.
    state.update({WAITING: waiting, TURNED_AWAY: refused, ROUND: state.get(ROUND, 0) + 1})


def remove(content: bytes) -> None:
    """Take a photo from those that wait."""
    st.session_state[WAITING] = tuple(u for u in waiting_photos() if u.content != content)


def choose_photos() -> None:
    """Draw the ways in: files, or the camera, in a box of their own."""
    with st.container():
        _draw_ways_in()


def _draw_ways_in() -> None:
    number = st.session_state.get(ROUND, 0)
    files, camera = f"files-{number}", f"camera-{number}"
    st.file_uploader(
        "Photos: JPEG, PNG, TIFF, HEIC or raw", accept_multiple_files=True, key=files,
        max_upload_size=MOST_MB, on_change=take_in, args=(st.session_state, files),
    )  # fmt: skip
    st.caption(
        LIMITS_WORDS + " On a phone, choose its camera in the dialog: it gives full resolution."
    )
    if st.toggle("Take one with this device's camera, here in the page", key="camera"):
        st.camera_input(
            "A photo of the whole card", key=camera, resolution="1080p",
            on_change=take_in, args=(st.session_state, camera),
        )  # fmt: skip
        st.caption(
            "A browser gives 2 megapixels at most, which is often too coarse to measure: then the "
            "photo is refused, and the phone's own camera is the way."
        )
    for sentence in st.session_state.get(TURNED_AWAY, ()):
        st.error(f"Not taken: {plain(sentence)}", icon=":material/block:")


def show_waiting() -> None:
    """Draw the photos that wait, refused ones with why and what to do."""
    waiting = waiting_photos()
    fresh = [upload for upload in waiting if upload.failure is None]
    refused = [upload for upload in waiting if upload.failure is not None]
    if fresh:
        st.markdown(f"**Waiting to be measured: {len(fresh)}**")
        with st.container(horizontal=True, gap="small"):
            for upload in fresh:
                with st.container(width=176, border=True, gap="small"):
                    _show_picture(upload)
                    by_corners = ", by its corners" if upload.corners_px else ""
                    size_mb = len(upload.content) / MB
                    st.caption(f"{plain(upload.name)}, {size_mb:.1f} MB{by_corners}")
                    _offer_removal(upload)
    for upload in refused:
        assert upload.failure is not None
        with st.container(border=True):
            left, right = st.columns([2, 3])
            with left:
                _show_picture(upload)
            with right:
                show_refusal(upload.name, upload.failure)
                _offer_removal(upload)
            if upload.failure.code in CORNER_CODES:
                _offer_corners(upload)


def _offer_corners(upload: Upload) -> None:
    """The last resort: point at the face's corners, then measure again by them."""
    key = hash_photo(upload.content)[:16]
    if not st.toggle("Place it by the face's four corners", key=f"corners-{key}"):
        return
    corners = choose_corners(upload.name, key, upload.content)
    if corners is not None:
        placed = replace(upload, corners_px=corners, failure=None)
        st.session_state[WAITING] = tuple(
            placed if other.content == upload.content else other for other in waiting_photos()
        )
        st.rerun()


def _show_picture(upload: Upload) -> None:
    preview = preview_jpeg(upload.content)
    if preview is None:
        st.caption("No preview: this is no picture that can be read.")
    else:
        st.image(preview, width="stretch", alt=f"Preview of {upload.name}")


def _offer_removal(upload: Upload) -> None:
    st.button(
        "Remove", key=f"remove-{hash_photo(upload.content)}", icon=":material/close:",
        help=f"Remove {plain(upload.name)}", on_click=remove, args=(upload.content,),
    )  # fmt: skip
