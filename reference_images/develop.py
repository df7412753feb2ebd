"""From linear light to a photo: lens, blur, exposure, noise, tone curve, JPEG, EXIF."""

from pathlib import Path
from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image

from reference_images.camera import margin_px, place_camera, undistort
from reference_images.scene import Scene

Picture = NDArray[np.float32]
Code = TypeVar("Code", np.uint8, np.float32)
LEVELS = np.arange(65536) / 65535  # 16-bit light: fine enough for 8-bit codes
PAPER_AT_BAY = 0.82  # linear light of white paper at the bay in a traced picture, about


def bend(scene: Scene, straight: Picture) -> Picture:
    """Apply the lens: the traced picture (H + 2 m, W + 2 m, 3) becomes the bent one (H, W, 3)."""
    camera, margin = scene.camera, margin_px(scene)
    view = place_camera(camera)
    x, y = np.meshgrid(np.arange(camera.width_px), np.arange(camera.height_px))
    flat = undistort(view, np.stack([x, y], axis=-1).astype(np.float64))
    source = (flat * view.focal_px + np.array(view.centre_px) + margin).astype(np.float32)
    bent = cv2.remap(straight, source[..., 0], source[..., 1], cv2.INTER_CUBIC)
    return np.maximum(np.asarray(bent, dtype=np.float32), 0)


def encode_tone(linear: NDArray[np.float64], tone_s: float) -> NDArray[np.float64]:
    """sRGB (IEC 61966-2-1), then an S-curve of strength ``tone_s``: 0 leaves it as it is."""
    clipped = np.clip(linear, 0, 1)
    coded = np.where(clipped <= 0.0031308, 12.92 * clipped, 1.055 * clipped ** (1 / 2.4) - 0.055)
    smooth = coded * coded * (3 - 2 * coded)
    return np.asarray(coded + tone_s * (smooth - coded))


def develop(scene: Scene, straight: Picture) -> NDArray[np.uint8]:
    """The photo's pixels (H, W, 3) uint8 from the traced picture; seeded by scene and shot."""
    rng = np.random.default_rng([scene.seed, 3] + [scene.shot] * (scene.shot > 0))
    image = sense(scene, expose(scene, straight), rng)
    table = np.round(encode_tone(LEVELS, scene.development.tone_s) * 255).astype(np.uint8)
    return np.asarray(code_light(image, table))


def expose(scene: Scene, straight: Picture) -> Picture:
    """The bent picture (H, W, 3), white paper at the bay at the scene's level."""
    image = bend(scene, straight)
    image *= scene.development.paper_level / PAPER_AT_BAY
    return image


def sense(scene: Scene, image: Picture, rng: np.random.Generator) -> Picture:
    """``image`` (H, W, 3) through the scene's blur, with shot and read noise."""
    settings = scene.development
    image = np.asarray(cv2.GaussianBlur(image, (0, 0), settings.blur_px), dtype=np.float32)
    full = settings.full_well_e
    spread = np.sqrt(image * full + settings.read_e**2) / full
    spread *= rng.standard_normal(image.shape, dtype=np.float32)
    image += spread
    return image


def code_light(image: Picture, table: NDArray[Code]) -> NDArray[Code]:
    """Light (H, W, 3), cut off at 0 and 1, looked up in ``table``, the codes of ``LEVELS``."""
    return np.asarray(table[np.clip(image * 65535 + 0.5, 0, 65535).astype(np.uint16)])


def write_photo(scene: Scene, pixels: NDArray[np.uint8], path: Path) -> None:
    """Write the JPEG with a plain EXIF block: 35 mm equivalent focal length, date, a maker."""
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "Workshop"
    exif[ExifTags.Base.Model] = "Bench camera"
    exif[ExifTags.Base.Orientation] = 1
    inner = exif.get_ifd(ExifTags.IFD.Exif)
    inner[ExifTags.Base.FocalLengthIn35mmFilm] = round(scene.camera.focal_35mm)
    inner[ExifTags.Base.ColorSpace] = 1
    Image.fromarray(pixels).save(
        path, quality=scene.development.jpeg_quality, subsampling="4:2:0", exif=exif, optimize=True
    )
