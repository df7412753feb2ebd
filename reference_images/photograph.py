"""One photo, whole: traced (or taken from a kept trace), developed, written with its truth."""

import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reference_images.develop import develop, write_photo
from reference_images.other_cameras import OtherCamera, develop_otherwise
from reference_images.other_light import OtherLight
from reference_images.scene import Scene
from reference_images.sparks import drop_sparks
from reference_images.surface import Surface, build_surface
from reference_images.truth import tell_truth

SAMPLES = (16, 8)  # a pixel, of the lamp's and of the surround's light
DEMO_SAMPLES = (12, 4)


def write_truth(truth: dict[str, Any], path: Path) -> None:
    """Write the truth: top level a line each, lists of points on one line."""
    lines = [f'  "{key}": {json.dumps(value)}' for key, value in truth.items()]
    path.write_text("{\n" + ",\n".join(lines) + "\n}\n", "utf-8")


def finish_photo(
    scene: Scene,
    straight: NDArray[np.float32],
    folder: Path,
    renderer: str,
    *,
    surface: Surface | None = None,
    camera: OtherCamera | None = None,
) -> Path:
    """Develop traced light into ``FOLDER/NAME.jpg`` and write ``NAME.json`` beside it.

    ``camera`` takes the place of the usual sensor and lens.
    """
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{scene.name}.jpg"
    pixels = develop_otherwise(scene, straight, camera) if camera else develop(scene, straight)
    write_photo(scene, pixels, path)
    truth = tell_truth(scene, surface or build_surface(scene), renderer)
    write_truth(truth, path.with_suffix(".json"))
    return path


def trace_photo(
    scene: Scene,
    folder: Path,
    *,
    kept: Path | None,
    camera: OtherCamera | None = None,
    light: OtherLight | None = None,
) -> Path:
    """Trace and finish a photo; with ``kept``, a folder of earlier traces, trace only once."""
    # The path tracer is an optional install, and slow to load.
    from reference_images.trace import trace  # noqa: PLC0415

    file = None if kept is None else kept / f"{scene.name}.npy"
    if file is not None and file.exists():
        straight = np.load(file).astype(np.float32)
    else:
        lamp_spp, ambient_spp = DEMO_SAMPLES if scene.set == "demo" else SAMPLES
        straight = trace(scene, lamp_spp=lamp_spp, ambient_spp=ambient_spp, other=light)
        if file is not None:
            file.parent.mkdir(parents=True, exist_ok=True)
            np.save(file, straight.astype(np.float16))
    return finish_photo(scene, drop_sparks(straight), folder, "path-tracer", camera=camera)
