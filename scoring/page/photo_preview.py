"""A small copy of an uploaded photo, to be recognised by eye; never measured."""

import io

import streamlit as st
from PIL import Image, ImageOps

PREVIEW_PX = (720, 720)
QUALITY = 80


@st.cache_data(max_entries=80, show_spinner=False)
def preview_jpeg(content: bytes) -> bytes | None:
    """The photo upright, at most 720 px, as JPEG; ``None`` for what cannot be read."""
    try:
        with Image.open(io.BytesIO(content)) as picture:
            picture.draft("RGB", PREVIEW_PX)
            return _small(ImageOps.exif_transpose(picture))
    except Exception:  # readers raise errors of every kind on what is no picture
        return _decoded(content)


def _decoded(content: bytes) -> bytes | None:
    """By the measurement's own readers: HEIC and raw files, which take longer."""
    from scoring.errors import ScoringError  # noqa: PLC0415  loads the imaging libraries
    from scoring.photo.decode import decode_photo  # noqa: PLC0415

    try:
        codes = decode_photo(content, "preview").codes8
    except ScoringError:
        return None
    return _small(Image.fromarray(codes))


def _small(picture: Image.Image) -> bytes:
    small = picture.convert("RGB")
    small.thumbnail(PREVIEW_PX)
    out = io.BytesIO()
    small.save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
