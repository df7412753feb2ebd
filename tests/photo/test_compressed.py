import io
from collections.abc import Callable
from typing import Any

import imagecodecs
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from scoring.errors import PhotoUnreadableError
from scoring.photo.compressed import read_jpeg, read_other
from scoring.photo.srgb import srgb_curve
from scoring.photo.stored import MAX_PIXELS
from scoring.photo.tone import power_curve

Bytes = NDArray[np.uint8]
Write = Callable[..., bytes]
CODE = np.arange(256) / 255


@pytest.mark.parametrize("options", [{}, {"progressive": True}, {"subsampling": 0}])
def test_jpeg_pixels_are_what_pillow_decodes(
    picture: Bytes, write: Write, options: dict[str, Any]
) -> None:
    data = write(picture, "JPEG", quality=90, **options)
    stored = read_jpeg(data)
    assert np.array_equal(stored.samples, np.asarray(Image.open(io.BytesIO(data))))
    assert (stored.full_scale, stored.orientation, stored.focal_35mm) == (255, 1, None)
    assert np.array_equal(stored.curve(CODE), srgb_curve(CODE))


def test_grey_jpeg(picture: Bytes, write: Write) -> None:
    data = write(picture[..., 0], "JPEG", quality=90)
    samples = read_jpeg(data).samples
    assert np.array_equal(samples.squeeze(), np.asarray(Image.open(io.BytesIO(data))))


def test_jpeg_exif(picture: Bytes, write: Write, exif: Callable[..., bytes]) -> None:
    stored = read_jpeg(write(picture, "JPEG", exif=exif(orientation=6, focal_35mm=26)))
    assert (stored.orientation, stored.focal_35mm) == (6, 26.0)


def test_broken_exif_is_no_reason_to_refuse(picture: Bytes, write: Write) -> None:
    stored = read_jpeg(write(picture, "JPEG", exif=b"Exif\0\0" + b"garbage" * 4))
    assert (stored.orientation, stored.focal_35mm) == (1, None)


def test_first_of_several_pictures_in_a_jpeg(picture: Bytes, write: Write) -> None:
    # Phones append further pictures to the main one (CIPA DC-007, multi-picture format).
    image = Image.fromarray(picture)
    second = Image.fromarray(255 - picture)
    data = write(image, "MPO", save_all=True, append_images=[second], quality=95)
    assert np.abs(read_jpeg(data).samples.astype(int) - picture).mean() < 3


def test_embedded_profile_is_followed(picture: Bytes, write: Write) -> None:
    icc = bytes(imagecodecs.cms_profile("adobergb"))
    stored = read_jpeg(write(picture, "JPEG", icc_profile=icc))
    assert stored.curve(CODE)[:, 0] == pytest.approx(CODE**2.19921875, abs=2e-5)


def test_dcf_option_without_profile_is_followed(picture: Bytes, write: Write) -> None:
    block = Image.Exif()
    block.get_ifd(0x8769)[0xA001] = 65535  # ColorSpace: uncalibrated
    block.get_ifd(0x8769)[0xA005] = {1: "R03"}
    stored = read_jpeg(write(picture, "JPEG", exif=block.tobytes()))
    assert np.array_equal(stored.curve(CODE), power_curve(563 / 256)(CODE))


@pytest.mark.parametrize("keep", [0.1, 0.5, 0.9])
@pytest.mark.parametrize("progressive", [False, True])
def test_cut_off_jpeg_is_refused(
    picture: Bytes, write: Write, keep: float, progressive: bool
) -> None:
    data = write(picture, "JPEG", quality=90, progressive=progressive)
    with pytest.raises((ValueError, PhotoUnreadableError)):
        read_jpeg(data[: int(keep * len(data))])


@pytest.mark.parametrize("filler", [b"\0", b"\xff", b"\xaa"])
def test_jpeg_whose_tail_was_never_copied_is_refused(
    picture: Bytes, write: Write, filler: bytes
) -> None:
    data = write(picture, "JPEG", quality=90)
    half = len(data) // 2
    with pytest.raises(ValueError, match="JPEG"):
        read_jpeg(data[:half] + filler * (len(data) - half))


def test_jpeg_with_a_hole_is_refused(picture: Bytes, write: Write) -> None:
    data = write(picture, "JPEG", quality=90)
    half = len(data) // 2
    with pytest.raises(ValueError, match="Corrupt JPEG"):
        read_jpeg(data[:half] + bytes(2000) + data[half + 2000 :])


@pytest.mark.parametrize("tail", [b"\0" * 500, b"appended film"])
def test_bytes_after_the_picture_do_no_harm(picture: Bytes, write: Write, tail: bytes) -> None:
    data = write(picture, "JPEG", quality=90)
    assert np.array_equal(read_jpeg(data + tail).samples, read_jpeg(data).samples)


def test_stray_bytes_before_the_end_marker_do_no_harm(picture: Bytes, write: Write) -> None:
    data = write(picture, "JPEG", quality=90)
    stray = data[:-2] + b"\x12\x34\x56" * 9 + data[-2:]
    assert np.array_equal(read_jpeg(stray).samples, read_jpeg(data).samples)


def test_inks_are_refused(picture: Bytes, write: Write) -> None:
    with pytest.raises(PhotoUnreadableError, match="CMYK"):
        read_jpeg(write(Image.fromarray(picture).convert("CMYK"), "JPEG"))


def test_a_claim_of_absurd_size_is_refused_before_decoding(picture: Bytes, write: Write) -> None:
    data = bytearray(write(picture, "JPEG"))
    frame = data.index(b"\xff\xc0")  # SOF0: height and width stand 5 bytes on (ITU-T T.81, B.2.2)
    for side in (30_000, 65_000):
        data[frame + 5 : frame + 9] = side.to_bytes(2, "big") * 2
        assert side**2 > MAX_PIXELS
        with pytest.raises(PhotoUnreadableError, match=r"too large|at most"):
            read_jpeg(bytes(data))


@pytest.mark.parametrize(("kind", "options"), [("WEBP", {"lossless": True}), ("BMP", {})])
def test_other_kinds(picture: Bytes, write: Write, kind: str, options: dict[str, Any]) -> None:
    stored = read_other(write(picture, kind, **options))
    assert np.array_equal(stored.samples, picture)
    assert stored.format == kind


def test_avif(picture: Bytes, write: Write) -> None:
    stored = read_other(write(picture, "AVIF"))
    assert np.abs(stored.samples.astype(int) - picture).mean() < 8


def test_a_picture_of_few_colours_is_refused(picture: Bytes, write: Write) -> None:
    with pytest.raises(PhotoUnreadableError, match="few colours"):
        read_other(write(picture, "GIF"))


def test_transparency_of_other_kinds_is_kept(picture: Bytes, write: Write) -> None:
    data = write(Image.fromarray(picture).convert("RGBA"), "WEBP", lossless=True)
    assert read_other(data).samples.shape[2] in (3, 4)
