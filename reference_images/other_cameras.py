"""The same light through cameras that work otherwise than ``develop.py``'s: to cast doubt.

Phones sharpen, flatten contrast and lose light in the corners, and code by curves of their own.
None of that was in the photos that the measurement was tuned on.
"""

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reference_images.develop import LEVELS, Picture, code_light, encode_tone, expose, sense
from reference_images.scene import Scene

Array = NDArray[np.float64]
Curve = Callable[[Array], Array]


@dataclass(frozen=True)
class OtherCamera:
    """What a camera does beside the scene's own lens term, blur and noise; 0 and 1: nothing.

    ``sharpen`` is the share of the difference to the picture blurred by 1 px that is added to its
    codes, ``vignette`` the share of light lost in the corners, ``colour_shift`` by how much red
    is drawn larger and blue smaller than green, ``decentring`` the tangential lens term and ``k2``
    the second radial one in units of the focal length. ``curve`` codes light in place of sRGB and
    the scene's tone curve. ``flatten`` is the power of wide differences of brightness taken out.
    """

    sharpen: float = 0.0
    vignette: float = 0.0
    colour_shift: float = 0.0
    decentring: float = 0.0
    k2: float = 0.0
    white_balance: tuple[float, float, float] = (1.0, 1.0, 1.0)
    curve: Curve | None = None
    flatten: float = 0.0


def code_filmic(linear: Array) -> Array:
    """A film-like curve, a toe and a long shoulder: Hable's rational form, from memory."""

    def rational(x: Array) -> Array:
        return (x * (0.15 * x + 0.05) + 0.004) / (x * (0.15 * x + 0.5) + 0.06) - 0.0667

    light = np.clip(linear, 0, 1) * 4.0
    return encode_tone(np.asarray(rational(light) / rational(np.array(4.0))), 0.0)


def code_by_power(power: float) -> Curve:
    """A plain power curve, code = light^(1 / power)."""
    return lambda linear: np.asarray(np.clip(linear, 0, 1) ** (1 / power))


CAMERAS = {
    "sharpening": OtherCamera(sharpen=1.5),
    "vignetting": OtherCamera(vignette=0.3),
    "colour-fringes": OtherCamera(colour_shift=0.0006),
    "decentred": OtherCamera(decentring=0.004),
    "wavy-lens": OtherCamera(k2=0.08),
    "warm": OtherCamera(white_balance=(1.15, 1.0, 0.8)),
    "filmic": OtherCamera(curve=code_filmic),
    "power-1.8": OtherCamera(curve=code_by_power(1.8)),
    "power-2.6": OtherCamera(curve=code_by_power(2.6)),
    "flattening": OtherCamera(flatten=0.3),
    "all-at-once": OtherCamera(
        sharpen=0.8,
        vignette=0.25,
        colour_shift=0.0003,
        k2=0.03,
        white_balance=(1.05, 1.0, 0.92),
        curve=code_filmic,
        flatten=0.2,
    ),
}


def lose_light(picture: Picture, share: float) -> Picture:
    """Darken (H, W, 3) away from the middle as a cosine's fourth power, by ``share`` in corners."""
    high, wide = picture.shape[:2]
    y, x = np.mgrid[:high, :wide] + 0.5
    away2 = ((x - wide / 2) ** 2 + (y - high / 2) ** 2) / ((wide / 2) ** 2 + (high / 2) ** 2)
    tan2 = (1 - share) ** -0.5 - 1
    return np.asarray(picture * (1 + tan2 * away2)[..., None].astype(np.float32) ** -2)


def _warp(scene: Scene, picture: Picture, camera: OtherCamera) -> Picture:
    """Apply the lens terms that the scene lacks, about the picture's middle."""
    high, wide = picture.shape[:2]
    focal = scene.camera.focal_px
    x, y = np.meshgrid(np.arange(wide) + 0.5 - wide / 2, np.arange(high) + 0.5 - high / 2)
    x, y = x / focal, y / focal
    r2, p = x**2 + y**2, camera.decentring
    channels = []
    for k, shift in enumerate((camera.colour_shift, 0.0, -camera.colour_shift)):
        grow = (1 + camera.k2 * r2**2) / (1 + shift)
        from_x = (x * grow + p * (r2 + 2 * x**2)) * focal + wide / 2 - 0.5
        from_y = (y * grow + 2 * p * x * y) * focal + high / 2 - 0.5
        channel = np.ascontiguousarray(picture[..., k])
        places = from_x.astype(np.float32), from_y.astype(np.float32)
        channels.append(
            cv2.remap(channel, *places, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
        )
    return np.maximum(np.stack(channels, axis=-1), 0)


def develop_otherwise(scene: Scene, straight: Picture, camera: OtherCamera) -> NDArray[np.uint8]:
    """The photo's pixels (H, W, 3) from the traced picture; noise is seeded by the scene."""
    rng = np.random.default_rng([scene.seed, 33])
    lit = lose_light(_warp(scene, expose(scene, straight), camera), camera.vignette)
    image = sense(scene, lit, rng)
    image *= np.array(camera.white_balance, np.float32)
    if camera.flatten:
        luma = np.maximum(image, 0) @ np.array([0.299, 0.587, 0.114], np.float32)
        level = np.maximum(cv2.GaussianBlur(luma, (0, 0), len(luma) / 12), 1e-3)
        image *= ((level.mean() / level) ** camera.flatten)[..., None]
    curve = camera.curve or (lambda linear: encode_tone(linear, scene.development.tone_s))
    coded = code_light(image, (curve(LEVELS) * 255).astype(np.float32))
    if camera.sharpen:
        coded += camera.sharpen * (coded - cv2.GaussianBlur(coded, (0, 0), 1.0))
    return np.asarray(np.clip(np.round(coded), 0, 255), np.uint8)
