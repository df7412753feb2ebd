"""The camera: where it is held, what its lens does, and how light becomes a file.

World axes, mm: origin at the middle of the face as it should lie, x along u, y along w, z up.
"""

import math
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from reference_images.cycles.conditions import Conditions
from reference_images.standard import CARD, HEIGHT_MM, LENGTH_MM, THICKNESS_MM

Array = NDArray[np.float64]
Picture = NDArray[np.float32]
SIZES_PX = (
    (4032, 3024),
    (4032, 3024),
    (4080, 3060),
    (4160, 3120),
    (4160, 3120),
    (4608, 3456),
    (4624, 3468),
)
FOCAL_35MM = (26, 27, 28, 35, 40, 48, 50, 52, 65, 70, 77)
LEAST_PX_PER_MM, DISTANCE_MM = 18.0, (230.0, 520.0)
TRIES = 5000
HALF_CARD_MM = np.array(CARD["size_mm"]) / 2
CARD_CORNERS_MM = np.array(
    [
        [sx * HALF_CARD_MM[0], sy * HALF_CARD_MM[1], -THICKNESS_MM]
        for sx, sy in ((-1, 1), (1, 1), (1, -1), (-1, -1))
    ]
)
FOCAL_TAG, FOCAL_35MM_TAG, EXIF_IFD = 37386, 41989, 0x8769


@dataclass(frozen=True)
class Camera:
    """A camera at ``centre_mm`` (3,); ``axes`` (3, 3) has its right, up and backward as columns."""

    axes: Array
    centre_mm: Array
    focal_px: float
    focal_35mm: float
    k1: float
    size_px: tuple[int, int]
    tilt_deg: float
    roll_deg: float

    def project(self, world_mm: Array) -> Array:
        """Pixels (P, 2) of the photo for world places (P, 3); x right, y down from its corner."""
        at = (np.atleast_2d(world_mm) - self.centre_mm) @ self.axes
        x, y = at[:, 0] / -at[:, 2], at[:, 1] / -at[:, 2]
        bent = 1 + self.k1 * (x * x + y * y)
        width, height = self.size_px
        right, up = self.focal_px * x * bent, self.focal_px * y * bent
        return np.stack([width / 2 + right, height / 2 - up], axis=-1)


def draw_camera(rng: np.random.Generator) -> Camera:
    """A hand-held camera that has the whole card in view. Raises :class:`RuntimeError` as ripples.

    It is as near as the card allows, and sees the face at 18 px/mm at least.
    """
    for _ in range(TRIES):
        size = SIZES_PX[rng.integers(len(SIZES_PX))]
        focal_35mm = float(rng.choice(FOCAL_35MM) + rng.uniform(-0.4, 0.4))
        focal_px = focal_35mm * math.hypot(*size) / math.hypot(36, 24)
        k1 = float(rng.uniform(-0.06, 0.06))
        tilt = math.radians(12 * math.sqrt(rng.uniform()))
        towards, roll = rng.uniform(0, 2 * math.pi), math.radians(rng.uniform(-4, 4))
        margin = rng.uniform(0.015, 0.05)
        target = np.array([rng.uniform(-3, 3), rng.uniform(-3, 3), -THICKNESS_MM])
        lean = math.sin(tilt)
        back = np.array([lean * math.cos(towards), lean * math.sin(towards), math.cos(tilt)])
        right = np.array([math.cos(roll), math.sin(roll), 0])
        right = right - back * (right @ back)
        right /= np.linalg.norm(right)
        axes = np.stack([right, np.cross(back, right), back], axis=1)
        optics = (focal_px, focal_35mm, k1, size, math.degrees(tilt), math.degrees(roll))
        near, far = 120.0, 900.0
        for _ in range(40):
            middle = (near + far) / 2
            camera = Camera(axes, target + back * middle, *optics)
            seen = camera.project(CARD_CORNERS_MM) / np.array(size)
            inside = seen.min() > margin and seen.max() < 1 - margin
            near, far = (near, middle) if inside else (middle, far)
        camera = Camera(axes, target + back * far, *optics)
        ends = np.array([[x, 0.0, 0.0] for x in (-50, -49, 0, 1, 49, 50)])
        seen = camera.project(ends)
        fine = min(float(np.linalg.norm(seen[i + 1] - seen[i])) for i in (0, 2, 4))
        if fine >= LEAST_PX_PER_MM and DISTANCE_MM[0] < far < DISTANCE_MM[1]:
            return camera
    raise RuntimeError("no camera of these ranges turned up")


def widen(camera: Camera) -> Camera:
    """The pinhole camera of the same place that sees all of what the lens bends into the photo."""
    width, height = camera.size_px
    corner = math.hypot(width, height) / 2 / camera.focal_px
    straight = corner
    for _ in range(50):
        straight = corner / (1 + camera.k1 * straight * straight)
    more = max(1.0, straight / corner) * 1.004
    size = (math.ceil(width * more / 2) * 2, math.ceil(height * more / 2) * 2)
    return replace(camera, k1=0.0, size_px=size)


def bend(light: Picture, camera: Camera) -> tuple[Picture, Picture]:
    """The pinhole's ``light`` (M, N, 3) through the lens, and squared distances off the axis."""
    (width, height), focal = camera.size_px, np.float32(camera.focal_px)
    x = ((np.arange(width, dtype=np.float32) + 0.5 - width / 2) / focal)[None, :]
    y = ((np.arange(height, dtype=np.float32) + 0.5 - height / 2) / focal)[:, None]
    off_axis = (x * x + y * y).astype(np.float32)
    straight: Picture = np.ones_like(off_axis)
    for _ in range(12):
        straight = np.float32(1) / (1 + np.float32(camera.k1) * off_axis * straight * straight)
    rows, columns = light.shape[:2]
    at_x = (x * straight * focal + columns / 2 - 0.5).astype(np.float32)
    at_y = (y * straight * focal + rows / 2 - 0.5).astype(np.float32)
    bent = np.asarray(cv2.remap(light, at_x, at_y, cv2.INTER_CUBIC), np.float32)
    return np.maximum(bent, 0), off_axis


def develop(
    rng: np.random.Generator, light: Picture, camera: Camera, conditions: Conditions
) -> NDArray[np.uint8]:
    """Code values (H, W, 3) of the photo from the pinhole's linear ``light``."""
    how = conditions.development
    photo, off_axis = bend(light, camera)
    photo *= (1 - how.vignetting * off_axis / off_axis.max()).astype(np.float32)[..., None]
    lamp = np.array(conditions.light.lamp_rgb)
    red, blue = how.white_balance_off
    photo *= (lamp[1] / lamp * np.array([1 + red, 1, 1 + blue])).astype(np.float32)
    photo = cv2.GaussianBlur(photo, (0, 0), how.blur_px).astype(np.float32)
    mask = np.zeros(photo.shape[:2], np.uint8)
    cv2.fillPoly(mask, [np.round(camera.project(CARD_CORNERS_MM)).astype(np.int32)], (1,))
    bright = float(np.percentile(photo[::4, ::4][mask[::4, ::4] > 0].max(axis=1), 99.7))
    x = np.linspace(0, 1, 4097)
    coded = np.where(x <= 0.0031308, 12.92 * x, 1.055 * x ** (1 / 2.4) - 0.055)
    coded = (1 - how.tone_s) * coded + how.tone_s * coded * coded * (3 - 2 * coded)
    photo *= np.float32(np.interp(how.peak_code, coded, x) / bright)
    noise = np.sqrt(np.maximum(photo, 0) / how.full_well_e + how.read_noise**2)
    photo += noise * rng.standard_normal(photo.shape, dtype=np.float32)
    luminance = (photo @ np.array([0.2126, 0.7152, 0.0722], np.float32))[..., None]
    photo = luminance + (photo - luminance) * np.float32(how.saturation)
    codes = np.interp(np.clip(photo, 0, 1), x, coded).astype(np.float32)
    if how.sharpening:
        codes += how.sharpening * (codes - cv2.GaussianBlur(codes, (0, 0), how.sharpening_px))
    return np.asarray(np.clip(np.rint(codes * 255), 0, 255), np.uint8)


def save(path: Path, codes: NDArray[np.uint8], camera: Camera, conditions: Conditions) -> None:
    """Write the photo as JPEG; its 35 mm equivalent is over the diagonal, if it is stated."""
    exif = Image.Exif()
    tags = exif.get_ifd(EXIF_IFD)
    tags[FOCAL_TAG] = round(camera.focal_35mm / 7.0, 2)
    if conditions.development.exif:
        tags[FOCAL_35MM_TAG] = round(camera.focal_35mm)
    Image.fromarray(codes).save(
        path,
        quality=conditions.development.jpeg_quality,
        subsampling=conditions.development.chroma,
        exif=exif,
    )


def face_corners(camera: Camera, coupon_mm: tuple[float, float], turn_deg: float) -> list[object]:
    """Where the face's four corners fall, in the form of the other photos' ``face_grid``.

    There pixel centres lie at whole numbers.
    """
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    stated: list[object] = []
    for u, w in ((0.0, 0.0), (LENGTH_MM, 0.0), (LENGTH_MM, HEIGHT_MM), (0.0, HEIGHT_MM)):
        a, b = u - LENGTH_MM / 2, w - HEIGHT_MM / 2
        world = np.array([cos * a - sin * b + coupon_mm[0], sin * a + cos * b + coupon_mm[1], 0.0])
        x, y = camera.project(world)[0] - 0.5
        stated.append({"u_mm": u, "w_mm": w, "x_px": float(x), "y_px": float(y)})
    return stated
