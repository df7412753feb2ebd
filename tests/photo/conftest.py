"""Pictures as files of every kind, written by the libraries themselves."""

import io
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray
from PIL import Image
from skimage import data as pictures

Bytes = NDArray[np.uint8]


@pytest.fixture(scope="session")
def picture() -> Bytes:
    """(192, 256, 3) uint8: a crop of scikit-image's own photo, unlike itself turned or mirrored."""
    return np.ascontiguousarray(
        pictures.astronaut()[  # type: ignore[no-untyped-call]
            :192, :256
        ]
    )


@pytest.fixture(scope="session")
def write() -> Callable[..., bytes]:
    """``write(samples, "PNG", **options)``: the file Pillow writes for them."""

    def write(samples: NDArray[np.generic] | Image.Image, kind: str, **options: Any) -> bytes:
        image = samples if isinstance(samples, Image.Image) else Image.fromarray(samples)
        file = io.BytesIO()
        image.save(file, kind, **options)
        return file.getvalue()

    return write


@pytest.fixture(scope="session")
def exif() -> Callable[..., bytes]:
    """``exif(orientation=6, focal_35mm=26)``: an EXIF block, written by Pillow."""

    def exif(*, orientation: int = 1, focal_35mm: int | None = None) -> bytes:
        block = Image.Exif()
        block[0x0112] = orientation
        if focal_35mm is not None:
            block.get_ifd(0x8769)[0xA405] = focal_35mm
        return block.tobytes()

    return exif


@pytest.fixture(scope="session")
def write_dng() -> Callable[..., bytes]:
    """``write_dng(light)``: a raw file of a sensor under a red, green, green, blue filter mosaic.

    ``light`` is (M, N, 3) in 0..1, M and N even; black level 256, white level 4095. Tags after
    Adobe's DNG specification 1.4 (numbers from memory; LibRaw reading the file bears them out).
    """

    def write_dng(light: NDArray[np.float64], *, orientation: int = 1) -> bytes:
        mosaic = light[..., 1].copy()
        mosaic[0::2, 0::2] = light[0::2, 0::2, 0]
        mosaic[1::2, 1::2] = light[1::2, 1::2, 2]
        samples = np.rint(256 + mosaic * (4095 - 256)).astype(np.uint16)
        unit_matrix = [v for k in range(9) for v in (int(k % 4 == 0), 1)]
        tags = [
            (271, "s", 0, "Maker", True),
            (272, "s", 0, "Model", True),
            (274, "H", 1, orientation, True),
            (33421, "H", 2, (2, 2), True),  # CFARepeatPatternDim
            (33422, "B", 4, bytes([0, 1, 1, 2]), True),  # CFAPattern
            (50706, "B", 4, bytes([1, 4, 0, 0]), True),  # DNGVersion
            (50708, "s", 0, "Maker Model", True),  # UniqueCameraModel
            (50714, "H", 1, 256, True),  # BlackLevel
            (50717, "H", 1, 4095, True),  # WhiteLevel
            (50721, "2i", 9, unit_matrix, True),  # ColorMatrix1
            (50728, "2I", 3, (1, 1, 1, 1, 1, 1), True),  # AsShotNeutral
            (50778, "H", 1, 21, True),  # CalibrationIlluminant1
        ]
        file = io.BytesIO()
        with tifffile.TiffWriter(file) as tiff:
            tiff.write(samples, photometric=32803, extratags=tags, metadata=None, software=False)
        return file.getvalue()

    return write_dng


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(20240607)
