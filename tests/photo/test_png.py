import struct
import zlib
from collections.abc import Callable

import imagecodecs
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, PngImagePlugin

from scoring.errors import PhotoUnreadableError
from scoring.photo.png import SIGNATURE, read_png
from scoring.photo.srgb import srgb_curve

Bytes = NDArray[np.uint8]
Write = Callable[..., bytes]
CODE = np.arange(256) / 255


@pytest.mark.parametrize("mode", ["RGB", "L", "RGBA", "LA"])
def test_eight_bits(picture: Bytes, write: Write, mode: str) -> None:
    image = Image.fromarray(picture).convert(mode)
    stored = read_png(write(image, "PNG"))
    assert np.array_equal(stored.samples, np.asarray(image))
    assert (stored.full_scale, stored.clip_level) == (255, 255)


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
def test_sixteen_bits(rng: np.random.Generator, channels: int) -> None:
    samples = rng.integers(0, 65536, (30, 40, channels), dtype=np.uint16).squeeze()
    stored = read_png(bytes(imagecodecs.png_encode(samples)))
    assert np.array_equal(stored.samples, samples)
    assert (stored.full_scale, stored.clip_level) == (65535, 65535)


def test_a_few_colours_are_refused(picture: Bytes, write: Write) -> None:
    """Shades between a palette's colours are gone: a ripple of them would read a third low."""
    for image in (Image.fromarray(picture).quantize(256), Image.fromarray(np.eye(16, dtype=bool))):
        with pytest.raises(PhotoUnreadableError, match="few colours"):
            read_png(write(image, "PNG"))


def test_exif_and_profile(picture: Bytes, write: Write, exif: Callable[..., bytes]) -> None:
    icc = bytes(imagecodecs.cms_profile("adobergb"))
    data = write(picture, "PNG", exif=exif(orientation=3, focal_35mm=28), icc_profile=icc)
    stored = read_png(data)
    assert (stored.orientation, stored.focal_35mm) == (3, 28.0)
    assert stored.curve(CODE)[:, 1] == pytest.approx(CODE**2.19921875, abs=2e-5)


@pytest.mark.parametrize(("gamma", "exponent"), [(100_000, 1.0), (55_556, 1.8)])
def test_gamma_chunk(picture: Bytes, write: Write, gamma: int, exponent: float) -> None:
    # gAMA holds the encoding exponent times 100000 (ISO/IEC 15948, 11.3.3.2).
    chunks = PngImagePlugin.PngInfo()
    chunks.add(b"gAMA", struct.pack(">I", gamma))
    curve = read_png(write(picture, "PNG", pnginfo=chunks)).curve
    assert curve(CODE) == pytest.approx(CODE**exponent, abs=1e-4)


@pytest.mark.parametrize("chunk", [(b"gAMA", struct.pack(">I", 45_455)), (b"sRGB", b"\0")])
def test_chunks_that_mean_srgb(picture: Bytes, write: Write, chunk: tuple[bytes, bytes]) -> None:
    chunks = PngImagePlugin.PngInfo()
    chunks.add(*chunk)
    curve = read_png(write(picture, "PNG", pnginfo=chunks)).curve
    assert np.array_equal(curve(CODE), srgb_curve(CODE))


@pytest.mark.parametrize("cut", [1, 12, 13, 1000, 40_000])
def test_cut_off_png_is_refused(picture: Bytes, write: Write, cut: int) -> None:
    with pytest.raises(PhotoUnreadableError, match="ends before"):
        read_png(write(picture, "PNG")[:-cut])


def test_absurd_size_is_refused_before_decoding(picture: Bytes, write: Write) -> None:
    data = bytearray(write(picture, "PNG"))
    header = b"IHDR" + struct.pack(">II", 20_000, 15_000) + bytes(data[24:29])
    data[12:29] = header
    data[29:33] = struct.pack(">I", zlib.crc32(header))
    with pytest.raises(PhotoUnreadableError, match=r"300000000 pixels.*12 to 50"):
        read_png(bytes(data))


def test_a_signature_alone_is_refused() -> None:
    with pytest.raises(PhotoUnreadableError, match="header"):
        read_png(SIGNATURE)
