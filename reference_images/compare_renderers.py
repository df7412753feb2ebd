"""How far the fast renderer agrees with the path tracer, scene by scene, on kept traces.

``python -m reference_images.compare_renderers KEPT [NAME...]`` prints a table for README.
"""

import argparse
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from reference_images.camera import margin_px, place_camera, project_px
from reference_images.flow_set import flow_scenes
from reference_images.mesh import face_to_world
from reference_images.quick import trace_quickly
from reference_images.ringdown_set import ringdown_scenes
from reference_images.scene import Scene
from reference_images.sparks import drop_sparks
from reference_images.standard import BAND_W_MM, HEIGHT_MM, LENGTH_MM
from reference_images.surface import build_surface

Picture = NDArray[np.float32]
PX_PER_MM = 16


@dataclass(frozen=True)
class Agreement:
    """Fast over traced: brightness, contrast in the zone, contrast on the facets or layers."""

    name: str
    brightness: float
    zone_contrast: float
    zone_correlation: float
    anchor_contrast: float


def flatten_face(scene: Scene, light: Picture) -> Picture:
    """The face of a straight picture in face mm, (24 P, 100 P, 3), rim at the top."""
    step = 1 / PX_PER_MM
    u, w = np.meshgrid(
        np.arange(step / 2, LENGTH_MM, step), np.arange(HEIGHT_MM - step / 2, 0, -step)
    )
    view = replace(place_camera(scene.camera), k1=0.0)
    at = (project_px(view, face_to_world(scene, u, w, np.zeros_like(u))) + margin_px(scene)).astype(
        np.float32
    )
    return np.asarray(cv2.remap(light, at[..., 0], at[..., 1], cv2.INTER_LINEAR), np.float32)


def _contrast(line: NDArray[np.float32], first: float, last: float) -> NDArray[np.float64]:
    """A line's relative departure from a smooth run, between two places in mm."""
    part = ndimage.gaussian_filter1d(line.astype(np.float64), 2)
    part = part[round(first * PX_PER_MM) : round(last * PX_PER_MM)]
    x = np.linspace(-1, 1, part.size)
    return np.asarray(part / np.polyval(np.polyfit(x, part, 2), x) - 1)


def _slope(fast: NDArray[np.float64], traced: NDArray[np.float64]) -> float:
    return float((fast @ traced) / (traced @ traced))


def compare(scene: Scene, traced: Picture) -> Agreement:
    """Compare in the filament's brightest channel, over the measured band."""
    channel = int(np.argmax(scene.material.rgb))
    fast_face = flatten_face(scene, trace_quickly(scene, build_surface(scene)))[..., channel]
    true_face = flatten_face(scene, traced)[..., channel]
    rows = slice(
        round((HEIGHT_MM - BAND_W_MM[1]) * PX_PER_MM), round((HEIGHT_MM - BAND_W_MM[0]) * PX_PER_MM)
    )
    fast, true = fast_face[rows], true_face[rows]
    brightness = float(np.median(fast.mean(axis=0) / true.mean(axis=0)))
    if scene.face == "ringdown":
        zone = [_contrast(face.mean(axis=0), 4, 24) for face in (fast, true)]
        anchor = [_contrast(face.mean(axis=0), 68.5, 92.5) for face in (fast, true)]
    else:
        start, end = 51 * PX_PER_MM, 70 * PX_PER_MM
        zone = [
            (face[:, start:end] / np.median(face) - 1).ravel().astype(np.float64)
            for face in (fast, true)
        ]
        start, end = 9 * PX_PER_MM, 29 * PX_PER_MM
        layers = [face[:, start:end].mean(axis=1) for face in (fast, true)]
        anchor = [(layer / layer.mean() - 1).astype(np.float64) for layer in layers]
    return Agreement(
        scene.name,
        brightness,
        _slope(*zone),
        float(np.corrcoef(zone[0], zone[1])[0, 1]),
        _slope(*anchor),
    )


def main() -> None:
    """Print one row a scene."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kept", type=Path, help="folder of linear traces")
    parser.add_argument("names", nargs="*", help="scenes; all that are kept when none is named")
    options = parser.parse_args()
    print("| photo | brightness | zone contrast | correlation | facets, layers |")
    print("|---|---|---|---|---|")
    for scene in (*ringdown_scenes(), *flow_scenes()):
        file = options.kept / f"{scene.name}.npy"
        if not file.exists() or (options.names and scene.name not in options.names):
            continue
        found = compare(scene, drop_sparks(np.load(file).astype(np.float32)))
        print(
            f"| {found.name} | {found.brightness:.3f} | {found.zone_contrast:.3f} "
            f"| {found.zone_correlation:.4f} | {found.anchor_contrast:.3f} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
