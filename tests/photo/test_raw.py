from collections.abc import Callable

import numpy as np
import pytest
import rawpy
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from scoring.photo.exif import ExifFacts
from scoring.photo.raw import read_raw

WriteDng = Callable[..., bytes]


def smooth_light(rng: np.random.Generator) -> NDArray[np.float64]:
    light = gaussian_filter(rng.random((120, 160, 3)), (8, 8, 0))
    return np.asarray(0.05 + 0.8 * (light - light.min()) / np.ptp(light))


def test_a_raw_file_is_linear_light(rng: np.random.Generator, write_dng: WriteDng) -> None:
    light = smooth_light(rng)
    stored = read_raw(write_dng(light), ExifFacts(focal_35mm=26.0))
    assert stored.samples.dtype == np.uint16
    assert stored.focal_35mm == 26.0
    found = stored.samples / stored.full_scale
    # The sensor sees one colour a pixel, in steps of 1/3839; the others are interpolated.
    for rows, cols, channel in ((0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 2)):
        site = (slice(8 + rows, -8, 2), slice(8 + cols, -8, 2), channel)
        assert np.abs(found[site] - light[site]).max() < 1 / 3839
    assert np.abs(found - light)[8:-8, 8:-8].mean() < 0.003
    assert stored.curve(np.array([0.25]))[0] == 0.25


def test_brightness_is_not_stretched(rng: np.random.Generator, write_dng: WriteDng) -> None:
    light = smooth_light(rng)
    bright, dim = (read_raw(write_dng(k * light), ExifFacts()).samples for k in (1.0, 0.5))
    ratio = dim[8:-8, 8:-8].astype(float).mean() / bright[8:-8, 8:-8].mean()
    assert ratio == pytest.approx(0.5, abs=0.002)


def test_saturated_sensor_is_clipped(write_dng: WriteDng) -> None:
    light = np.full((64, 64, 3), 0.5)
    light[:, 32:] = 1.0
    stored = read_raw(write_dng(light), ExifFacts())
    assert (stored.samples[:, 36:] >= stored.clip_level).all()
    assert (stored.samples[:, :28] < stored.clip_level).all()


@pytest.mark.parametrize(("orientation", "turns"), [(1, 0), (3, 2), (6, -1), (8, 1)])
def test_turned_sensor(
    rng: np.random.Generator, write_dng: WriteDng, orientation: int, turns: int
) -> None:
    light = smooth_light(rng)
    turned = read_raw(write_dng(light, orientation=orientation), ExifFacts())
    untouched = read_raw(write_dng(light), ExifFacts())
    assert turned.orientation == 1
    assert np.array_equal(turned.samples, np.rot90(untouched.samples, turns))


@pytest.mark.parametrize("cut", [10, 1000, 20_000])
def test_cut_off_raw_is_refused(write_dng: WriteDng, cut: int) -> None:
    data = write_dng(np.full((120, 160, 3), 0.5))
    with pytest.raises(rawpy.LibRawError):
        read_raw(data[:-cut], ExifFacts())
