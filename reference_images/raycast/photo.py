"""One photo from its seed: drawn, developed, turned, and written with its truth."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from reference_images.raycast.camera import Camera, hold_camera, shrink_camera
from reference_images.raycast.conditions import Development
from reference_images.raycast.develop import develop
from reference_images.raycast.draw_conditions import draw_conditions
from reference_images.raycast.exposure import find_exposure
from reference_images.raycast.frames import lay
from reference_images.raycast.light import FEW_RAYS, RAYS, light_scene
from reference_images.raycast.relief import build_relief
from reference_images.raycast.truth import describe

Codes = NDArray[np.uint8]
TURNS_TO_STORE = {1: 0, 3: 2, 6: 1, 8: -1}
"""Quarter turns anticlockwise from the upright picture to what is stored, by EXIF orientation."""

MODEL, ORIENTATION, EXIF_IFD = 0x0110, 0x0112, 0x8769
FOCAL_35MM, DATE, WIDTH, HEIGHT = 0xA405, 0x9003, 0xA002, 0xA003


@dataclass(frozen=True)
class Photo:
    """The upright ``picture`` (H, W, 3) as a viewer shows it, its camera, and its truth."""

    picture: Codes
    camera: Camera
    development: Development
    truth: dict[str, Any]


def draw_photo(face: str, seed: int, *, px_per_mm: float | None = None) -> Photo:
    """Draw the photo of ``seed``.

    With ``px_per_mm`` it is a try: so fine at the face's coarsest place, and with fewer rays.

    All is drawn from one generator in this order: a photo is its seed's, so no draw may be moved.
    """
    scene, rng = draw_conditions(face, seed)
    pose = lay(scene.laid)
    camera, rays = hold_camera(rng, scene.handling, pose), RAYS[face]
    if px_per_mm is not None:
        camera, rays = shrink_camera(camera, px_per_mm), FEW_RAYS
    relief, gaps = build_relief(rng, scene)
    lit = light_scene(rng, scene, camera, pose, relief, rays=rays)
    how = scene.development
    exposure, paper = find_exposure(lit.light, lit.card, camera, pose, paper_level=how.paper_level)
    codes = develop(rng, lit.light * np.float32(exposure), how)
    picture = np.ascontiguousarray(np.rot90(codes, scene.handling.quarter_turns))
    truth = describe(
        *(scene, camera, pose),
        lamp=lit.lamp,
        gaps=gaps,
        picture=picture,
        paper_clipped=float((paper * exposure >= 0.995).mean()),
    )
    return Photo(picture, camera, how, truth)


def save_photo(photo: Photo, out: Path) -> Path:
    """Write JPEG and truth to ``out``; the JPEG's path."""
    out.mkdir(parents=True, exist_ok=True)
    path = out / f"{photo.truth['name']}.jpg"
    how, held = photo.development, photo.camera.handling
    stored = np.ascontiguousarray(np.rot90(photo.picture, TURNS_TO_STORE[held.exif_orientation]))
    exif = Image.Exif()
    if how.exif:
        height, width = stored.shape[:2]
        exif[MODEL] = how.model
        exif[ORIENTATION] = held.exif_orientation
        tags = exif.get_ifd(EXIF_IFD)
        if how.exif_focal:
            tags[FOCAL_35MM] = round(held.focal_35mm)
        tags[DATE] = how.date
        tags[WIDTH], tags[HEIGHT] = width, height
    Image.fromarray(stored).save(
        path, quality=how.jpeg_quality, subsampling=how.chroma, exif=exif if how.exif else b""
    )
    path.with_suffix(".json").write_text(json.dumps(photo.truth, indent=1) + "\n", "utf-8")
    return path
