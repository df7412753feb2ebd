"""From linear light to code values: lens, sensor, mosaic, noise, processing, tone curve."""

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from reference_images.raycast.conditions import Development

Picture = NDArray[np.float32]


def develop(rng: np.random.Generator, light: Picture, how: Development) -> NDArray[np.uint8]:
    """Code values (H, W, 3) of exposed linear ``light`` (H, W, 3), which is written over."""
    _vignette(light, how.vignette)
    if how.veil > 0:
        light += how.veil * light[::16, ::16].mean(axis=(0, 1))
    photo = np.asarray(cv2.GaussianBlur(light, (0, 0), how.blur_px), np.float32)
    gain = np.array(how.sensor_gain, np.float32)  # the channels' own, undone after the noise
    photo = photo / gain
    if how.mosaic:
        raw = take_mosaic(photo)
        raw += _draw_noise(rng, raw, how)
        photo = demosaic(np.clip(raw, -0.01, 1.0))
    else:
        photo += _draw_noise(rng, photo, how)
    photo = np.clip(photo * gain, 0, 1).astype(np.float32)
    if how.denoise > 0:
        photo = _denoise(photo, how.denoise)
    codes = np.empty(photo.shape, np.uint8)
    for c in range(3):
        code = encode(photo[..., c], how.curve, how.curve_strength).astype(np.float32)
        if how.sharpen > 0:
            code = code + how.sharpen * (code - cv2.GaussianBlur(code, (0, 0), how.sharpen_px))
        codes[..., c] = np.clip(code * 255 + 0.5, 0, 255).astype(np.uint8)
    return codes


def encode(
    light: NDArray[np.floating[Any]], curve: str, strength: float
) -> NDArray[np.floating[Any]]:
    """Code values 0 to 1 of linear light, any shape.

    ``srgb`` is IEC 61966-2-1; ``scurve`` deepens its contrast; ``filmic`` puts a toe and a shoulder
    before it, in linear light; ``power22`` is a plain power of 1/2.2.
    """
    x = np.clip(light, 0, 1)
    if curve == "power22":
        return np.asarray(x ** (1 / 2.2))
    if curve == "filmic":
        toe, shoulder = 0.004 * strength, 1.0 + 2.2 * strength
        x = x * x / (x + toe) * (1 + toe)
        x = x * shoulder / (1 + (shoulder - 1) * x)
    curved = 1.055 * np.power(np.maximum(x, 1e-9), 1 / 2.4) - 0.055
    code = np.asarray(np.where(x <= 0.0031308, 12.92 * x, curved))
    if curve == "scurve":
        code = code + strength * (code * code * (3 - 2 * code) - code)
    return code


def take_mosaic(photo: Picture) -> Picture:
    """What a sensor with one colour a pixel keeps (H, W): of four, red top left, blue opposite."""
    raw = photo[..., 1].copy()
    raw[0::2, 0::2] = photo[0::2, 0::2, 0]
    raw[1::2, 1::2] = photo[1::2, 1::2, 2]
    return raw


def demosaic(raw: Picture) -> Picture:
    """All three colours (H, W, 3) of a mosaic (H, W), as Malvar, He and Cutler (2004) do it.

    A red or blue pixel takes green from its neighbours and the opposite colour from the corners; a
    green one takes one colour from its row, the other from its column.
    """
    green = [
        [0, 0, -1, 0, 0],
        [0, 0, 2, 0, 0],
        [-1, 2, 4, 2, -1],
        [0, 0, 2, 0, 0],
        [0, 0, -1, 0, 0],
    ]
    beside = [
        [0, 0, 0.5, 0, 0],
        [0, -1, 0, -1, 0],
        [-1, 4, 5, 4, -1],
        [0, -1, 0, -1, 0],
        [0, 0, 0.5, 0, 0],
    ]
    across = [
        [0, 0, -1.5, 0, 0],
        [0, 2, 0, 2, 0],
        [-1.5, 0, 6, 0, -1.5],
        [0, 2, 0, 2, 0],
        [0, 0, -1.5, 0, 0],
    ]
    row_mates, column_mates = _filter(raw, np.array(beside)), _filter(raw, np.array(beside).T)
    greens, opposites = _filter(raw, np.array(green)), _filter(raw, np.array(across))
    at_red, at_blue = np.s_[0::2, 0::2], np.s_[1::2, 1::2]
    in_red_row, in_blue_row = np.s_[0::2, 1::2], np.s_[1::2, 0::2]
    photo = np.empty((*raw.shape, 3), np.float32)
    photo[..., 1] = raw
    for at, own, other in ((at_red, 0, 2), (at_blue, 2, 0)):
        photo[(*at, 1)] = greens[at]
        photo[(*at, own)] = raw[at]
        photo[(*at, other)] = opposites[at]
    for at, own, other in ((in_red_row, 0, 2), (in_blue_row, 2, 0)):
        photo[(*at, own)] = row_mates[at]
        photo[(*at, other)] = column_mates[at]
    return photo


def _vignette(light: Picture, strength: float) -> None:
    height, width = light.shape[:2]
    y, x = np.ogrid[0:height, 0:width]
    r2 = ((x - width / 2) ** 2 + (y - height / 2) ** 2) / (width * width / 4 + height * height / 4)
    light *= (1 - strength * (0.8 * r2 + 0.2 * r2 * r2)).astype(np.float32)[..., None]


def _draw_noise(rng: np.random.Generator, light: Picture, how: Development) -> Picture:
    """Shot and read noise, the shape of ``light``."""
    variance = np.maximum(light, 0) / how.full_well_e + how.read_noise**2
    return np.sqrt(variance).astype(np.float32) * rng.standard_normal(light.shape, dtype=np.float32)


def _denoise(photo: Picture, strength: float) -> Picture:
    """An edge-keeping filter on brightness, a blur on colour; both on square roots of light."""
    parts = cv2.cvtColor(np.sqrt(photo), cv2.COLOR_RGB2YCrCb)
    bright = parts[..., 0]
    kept = (1 - strength) * bright
    parts[..., 0] = kept + strength * cv2.bilateralFilter(bright, 5, 0.03, 1.2)
    for c in (1, 2):
        parts[..., c] = cv2.GaussianBlur(parts[..., c], (0, 0), 1.5)
    return np.square(np.clip(cv2.cvtColor(parts, cv2.COLOR_YCrCb2RGB), 0, 1)).astype(np.float32)


def _filter(raw: Picture, eighths: NDArray[np.floating[Any]]) -> Picture:
    """Correlate with a kernel (5, 5) that is told in eighths."""
    kernel = np.ascontiguousarray(eighths / 8, np.float32)
    return np.asarray(cv2.filter2D(raw, -1, kernel, borderType=cv2.BORDER_REFLECT_101), np.float32)
