import io
from collections.abc import Callable
from typing import Any

import imagecodecs
import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray
from PIL import Image

from scoring.errors import PhotoUnreadableError
from scoring.photo.tiff import read_tiff

Bytes = NDArray[np.uint8]
Write = Callable[..., bytes]
CODE = np.arange(256) / 255


def tiff(samples: NDArray[np.generic], **options: Any) -> bytes:
    file = io.BytesIO()
    tifffile.imwrite(file, samples, metadata=None, **options)
    return file.getvalue()


@pytest.mark.parametrize(
    "options",
    [
        {},
        {"compression": "lzw", "predictor": True},
        {"compression": "zlib", "tile": (64, 64)},
        {"byteorder": ">"},
        {"bigtiff": True},
    ],
)
@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_rgb(picture: Bytes, options: dict[str, Any], dtype: type) -> None:
    samples: NDArray[np.unsignedinteger[Any]] = picture.astype(dtype) * (
        1 if dtype == np.uint8 else 257
    )
    stored = read_tiff(tiff(samples, photometric="rgb", **options))
    assert np.array_equal(stored.samples, samples)
    assert stored.full_scale == np.iinfo(dtype).max
    assert stored.samples.flags.c_contiguous


def test_planes_apart(picture: Bytes) -> None:
    planes = np.moveaxis(picture, -1, 0)
    stored = read_tiff(tiff(planes, photometric="rgb", planarconfig="separate"))
    assert np.array_equal(stored.samples, picture)


def test_grey_both_ways_round(picture: Bytes) -> None:
    grey = picture[..., 0]
    assert np.array_equal(read_tiff(tiff(grey, photometric="minisblack")).samples, grey)
    assert np.array_equal(read_tiff(tiff(grey, photometric="miniswhite")).samples, 255 - grey)


def test_a_palette_is_refused(picture: Bytes) -> None:
    colours = np.linspace(0, 65535, 3 * 256).astype(np.uint16).reshape(3, 256)
    index = picture[..., 0]
    with pytest.raises(PhotoUnreadableError, match="PALETTE"):
        read_tiff(tiff(index, photometric="palette", colormap=colours))


def test_jpeg_inside_is_rgb_outside(picture: Bytes, write: Write) -> None:
    data = write(picture, "TIFF", compression="jpeg", quality=95)
    expected = np.asarray(Image.open(io.BytesIO(data)))
    assert np.abs(read_tiff(data).samples.astype(int) - expected).max() <= 2


@pytest.mark.parametrize("kind", ["unassalpha", "assocalpha"])
def test_alpha(picture: Bytes, kind: str) -> None:
    rgba = np.dstack([picture // 2, np.full(picture.shape[:2], 128, np.uint8)])
    samples = read_tiff(tiff(rgba, photometric="rgb", extrasamples=[kind])).samples
    if kind == "unassalpha":
        assert np.array_equal(samples, rgba)
    else:
        # Ready-mixed colour lies on white once the white that shows through is added.
        assert np.array_equal(samples, picture // 2 + 127)


def test_unnamed_fourth_channel_is_left_out(picture: Bytes) -> None:
    four = np.dstack([picture, picture[..., 0]])
    stored = read_tiff(tiff(four, photometric="rgb", extrasamples=["unspecified"]))
    assert np.array_equal(stored.samples, picture)


def test_notes_of_the_camera(picture: Bytes, write: Write, exif: Callable[..., bytes]) -> None:
    icc = bytes(imagecodecs.cms_profile("adobergb"))
    data = write(picture, "TIFF", exif=exif(orientation=8, focal_35mm=24), icc_profile=icc)
    stored = read_tiff(data)
    assert (stored.orientation, stored.focal_35mm) == (8, 24.0)
    assert stored.curve(CODE)[:, 1] == pytest.approx(CODE**2.19921875, abs=2e-5)


def test_a_preview_on_top_is_passed_over(picture: Bytes) -> None:
    file = io.BytesIO()
    with tifffile.TiffWriter(file) as writer:
        writer.write(
            np.ascontiguousarray(picture[::8, ::8]),
            photometric="rgb",
            subfiletype=1,
            metadata=None,
        )
        writer.write(picture, photometric="rgb", metadata=None)
    assert np.array_equal(read_tiff(file.getvalue()).samples, picture)


@pytest.mark.parametrize(
    "options", [{}, {"compression": "lzw"}, {"compression": "jpeg", "rowsperstrip": 64}]
)
@pytest.mark.parametrize("cut", [10, 3000])
def test_cut_off_tiff_is_refused(picture: Bytes, options: dict[str, Any], cut: int) -> None:
    data = tiff(picture, photometric="rgb", **options)
    with pytest.raises(PhotoUnreadableError, match="ends after"):
        read_tiff(data[:-cut])


@pytest.mark.parametrize(
    ("samples", "photometric", "words"),
    [
        (np.zeros((20, 20, 3), np.float32), "rgb", "float32"),
        (np.zeros((20, 20, 4), np.uint8), "separated", "SEPARATED"),
        (np.zeros((20, 20, 3), np.uint8), "cielab", "CIELAB"),
    ],
)
def test_values_that_are_not_light_are_refused(
    samples: NDArray[np.generic], photometric: str, words: str
) -> None:
    with pytest.raises(PhotoUnreadableError, match=words):
        read_tiff(tiff(samples, photometric=photometric))


def test_a_header_without_pages_is_refused() -> None:
    with pytest.raises(PhotoUnreadableError, match="no picture"):
        read_tiff(b"II*\0" + bytes(60))
