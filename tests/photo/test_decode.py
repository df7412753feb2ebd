import io
import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import pillow_heif
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image, ImageOps

from scoring.errors import PhotoUnreadableError
from scoring.photo.decode import decode_photo, read_photo

Bytes = NDArray[np.uint8]
Write = Callable[..., bytes]
KINDS = ("JPEG", "PNG", "TIFF", "HEIF", "raw")
SIGNATURES = (
    b"",
    b"\xff\xd8\xff",
    b"\x89PNG\r\n\x1a\n",
    b"II*\0\x08\0\0\0",
    b"MM\0*",
    b"\0\0\0\x18ftypheic",
    b"\0\0\0\x18ftypcrx ",
    b"RIFF\x10\0\0\0WEBP",
    b"GIF89a",
    b"BM",
)


@pytest.fixture(scope="module")
def files(picture: Bytes, write: Write, write_dng: Write) -> dict[str, bytes]:
    """One file of each kind that holds ``picture``."""
    heic = io.BytesIO()
    pillow_heif.from_pillow(Image.fromarray(picture)).save(heic, quality=90)
    return {
        "JPEG": write(picture, "JPEG", quality=90),
        "PNG": write(picture, "PNG"),
        "TIFF": write(picture, "TIFF"),
        "HEIF": heic.getvalue(),
        "raw": write_dng(picture / 255),
    }


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_told_from_its_contents(
    files: dict[str, bytes], picture: Bytes, tmp_path: Path, kind: str
) -> None:
    source = tmp_path / "photo.misnamed"
    source.write_bytes(files[kind])
    photo = read_photo(source)
    assert (photo.name, photo.format) == ("photo.misnamed", kind)
    assert photo.pixels.shape == picture.shape
    assert photo.to_linear.shape == (np.iinfo(photo.pixels.dtype).max + 1, 3)
    code = photo.pixels.astype(float) / np.iinfo(photo.pixels.dtype).max * 255
    assert np.abs(code - picture).mean() < 6


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_light_of_known_code_values(write: Write, kind: str) -> None:
    # IEC 61966-2-1, code -> light, computed with colour-science: see test_tone.py.
    codes = {10: 0.003035270, 64: 0.051269458, 118: 0.181164244, 200: 0.577580440}
    row = np.repeat(np.array([[*codes]], np.uint8)[..., np.newaxis], 3, axis=2)
    photo = decode_photo(write(row, kind), "row")
    for channel in range(3):
        light = photo.linear(slice(None), slice(None), channel)
        assert light[0] == pytest.approx([*codes.values()], abs=1e-7)


def test_sixteen_bits_follow_the_same_curve() -> None:
    row = np.array([[[k * 257] * 3 for k in (10, 64, 118, 200)]], np.uint16)
    photo = decode_photo(bytes(imagecodecs.png_encode(row)), "row")
    light = photo.linear(slice(None), slice(None), 0)[0]
    assert light == pytest.approx([0.003035270, 0.051269458, 0.181164244, 0.577580440], abs=1e-7)


def test_raw_is_linear_already(files: dict[str, bytes]) -> None:
    photo = decode_photo(files["raw"], "a.dng")
    assert photo.to_linear[:, 1] == pytest.approx(np.arange(65536) / 65535, abs=1e-6)


def test_ten_bit_heif_reaches_one() -> None:
    white = pillow_heif.from_bytes("RGB;16", (64, 64), b"\xff" * (64 * 64 * 6))
    file = io.BytesIO()
    white.save(file, quality=-1)
    photo = decode_photo(file.getvalue(), "a.heic")
    assert all(photo.linear(slice(None), slice(None), k).min() == 1.0 for k in range(3))
    assert photo.clipped(slice(None), slice(None)).all()


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF"])
def test_orientation_agrees_with_pillow(
    picture: Bytes, write: Write, exif: Callable[..., bytes], kind: str, orientation: int
) -> None:
    data = write(picture, kind, exif=exif(orientation=orientation))
    upright = ImageOps.exif_transpose(Image.open(io.BytesIO(data)))
    photo = decode_photo(data, "a")
    assert np.array_equal(photo.pixels, np.asarray(upright))
    assert photo.pixels.flags.c_contiguous


def test_focal_length(picture: Bytes, write: Write, exif: Callable[..., bytes]) -> None:
    assert decode_photo(write(picture, "JPEG"), "a").focal_35mm is None
    data = write(picture, "JPEG", exif=exif(focal_35mm=26))
    assert decode_photo(data, "a").focal_35mm == 26.0


@pytest.mark.parametrize(("mode", "kind"), [("L", "JPEG"), ("LA", "PNG"), ("RGBA", "PNG")])
def test_every_mode_becomes_rgb(picture: Bytes, write: Write, mode: str, kind: str) -> None:
    data = write(Image.fromarray(picture).convert(mode), kind)
    expected = Image.open(io.BytesIO(data)).convert("RGB")
    assert np.array_equal(decode_photo(data, "a").pixels, np.asarray(expected))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("keep", [0.03, 0.3, 0.6, 0.95])
def test_a_cut_off_file_is_refused(files: dict[str, bytes], kind: str, keep: float) -> None:
    data = files[kind]
    with pytest.raises(PhotoUnreadableError, match=r"^cut\.file: ") as caught:
        decode_photo(data[: int(keep * len(data))], "cut.file")
    assert caught.value.code == "photo-unreadable"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"speed = 150\naccel = 5000\n", "not a picture"),
        (b"%PDF-1.7 " * 50, "not a picture"),
        (b"\0\0\0\x18ftypmp42\0\0\0\0mp42isom", "film"),
        (b"\xff\xd8\xff\xe0" + bytes(200), "broken"),
        (b"II*\0" + bytes(200), "no picture"),
    ],
)
def test_what_is_no_picture_is_refused(data: bytes, words: str) -> None:
    with pytest.raises(PhotoUnreadableError, match=words):
        decode_photo(data, "a")


@settings(deadline=None, max_examples=60)
@given(start=st.sampled_from(SIGNATURES), tail=st.binary(max_size=300))
def test_no_bytes_raise_anything_else(start: bytes, tail: bytes) -> None:
    with suppress(PhotoUnreadableError):
        assert decode_photo(start + tail, "a").pixels.shape[2] == 3


@settings(deadline=None, max_examples=60)
@given(kind=st.sampled_from(KINDS), at=st.floats(0, 1), noise=st.binary(min_size=1, max_size=40))
def test_damage_gives_a_picture_or_the_typed_error(
    files: dict[str, bytes], kind: str, at: float, noise: bytes
) -> None:
    data = bytearray(files[kind])
    start = int(at * (len(data) - len(noise)))
    data[start : start + len(noise)] = noise
    with suppress(PhotoUnreadableError):
        assert decode_photo(bytes(data), "a").pixels.shape[2] == 3


def test_files_that_cannot_be_opened(tmp_path: Path) -> None:
    with pytest.raises(PhotoUnreadableError, match="no such file"):
        read_photo(tmp_path / "absent.jpg")
    with pytest.raises(PhotoUnreadableError, match="cannot be opened"):
        read_photo(tmp_path)


def test_a_huge_file_is_not_even_read(tmp_path: Path) -> None:
    source = tmp_path / "film.jpg"
    source.touch()
    os.truncate(source, 2 << 30)  # sparse: takes no room on the disk
    with pytest.raises(PhotoUnreadableError, match=r"2\.1 GB"):
        read_photo(source)


def test_brightness_order_survives(picture: Bytes, write: Write) -> None:
    options: dict[str, Any] = {"quality": 95}
    light = decode_photo(write(picture, "JPEG", **options), "a").to_linear
    assert (np.diff(light, axis=0) > 0).all()
    assert light[0].tolist() == [0, 0, 0]
    assert light[-1].tolist() == [1, 1, 1]
