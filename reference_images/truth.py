"""The truth beside a photo: what was built into it, and where it falls in the picture."""

from dataclasses import asdict
from typing import Any

import numpy as np

from reference_images.camera import place_camera, project_px
from reference_images.designed_ripple import printed_amplitudes_um
from reference_images.gap_truth import find_gap_truth
from reference_images.mesh import face_to_world
from reference_images.ripple_truth import find_ripple_truth
from reference_images.scene import Scene, Stain
from reference_images.standard import (
    BLADE,
    CARD,
    CHAMFER_MM,
    CHECK_RIPPLE,
    HEIGHT_MM,
    LENGTH_MM,
)
from reference_images.surface import Surface


def _rounded(value: Any) -> Any:
    """The same structure with every number to six significant digits."""
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(item) for item in value]
    if isinstance(value, float | np.floating):
        return float(f"{value:.6g}")
    return value


def outline_uw_mm(scene: Scene) -> list[tuple[float, float]]:
    """The face's five corners (u, w), counter-clockwise from the foot at u = 0."""
    long, high, leg = LENGTH_MM, HEIGHT_MM, CHAMFER_MM
    if scene.face == "ringdown":
        return [(0, 0), (long, 0), (long, high - leg), (long - leg, high), (0, high)]
    return [(0, 0), (long, 0), (long, high), (leg, high), (0, high - leg)]


def _pixels(scene: Scene) -> dict[str, Any]:
    """Where face points and marker centres fall: x right, y down, pixel centres whole numbers."""
    view = place_camera(scene.camera)

    def at(points: list[tuple[float, float]]) -> list[list[float]]:
        uw = np.array(points, dtype=np.float64)
        world = face_to_world(scene, uw[:, 0], uw[:, 1], np.zeros(len(uw)))
        return [[round(float(x), 3), round(float(y), 3)] for x, y in project_px(view, world)]

    corners = outline_uw_mm(scene)
    grid = [(float(u), float(w)) for w in (2, 7, 12, 17, 22) for u in range(5, 100, 10)]
    grid = [(u, w) for u, w in grid if not (w > HEIGHT_MM - CHAMFER_MM and not 6 < u < 94)]
    middle_mm = np.array(CARD["size_mm"]) / 2
    printed = (np.array(CARD["markers"]["centre_mm"]) - middle_mm) * scene.card_scale + middle_mm
    centres = np.array([[x, -y, 0.0] for x, y in printed])
    middle = np.array(at([(49.5, 12.0), (50.5, 12.0), (50.0, 11.5), (50.0, 12.5)]))
    scale = (np.linalg.norm(middle[1] - middle[0]) + np.linalg.norm(middle[3] - middle[2])) / 2
    return {
        "face_corners": [
            {"u_mm": u, "w_mm": w, "x_px": p[0], "y_px": p[1]}
            for (u, w), p in zip(corners, at(corners), strict=True)
        ],
        "face_grid": [
            {"u_mm": u, "w_mm": w, "x_px": p[0], "y_px": p[1]}
            for (u, w), p in zip(grid, at(grid), strict=True)
        ],
        "marker_centres": [
            {"id": i, "x_px": round(float(x), 3), "y_px": round(float(y), 3)}
            for i, (x, y) in enumerate(project_px(view, centres))
        ],
        "face_px_per_mm": _rounded(scale),
    }


def tell_truth(scene: Scene, surface: Surface, renderer: str) -> dict[str, Any]:
    """Everything true about a photo, ready for JSON; lengths in mm, heights in um."""
    ripple = find_ripple_truth(scene.modes, scene.motion)
    told: dict[str, Any] = {
        "name": scene.name,
        "set": scene.set,
        "seed": scene.seed,
        "renderer": renderer,
        "face": scene.face,
        "run": scene.run,
        "axis": scene.axis,
        "expect": scene.expect,
        "geometry_revision": {"card": CARD["revision"], "blade": BLADE["revision"]},
        "motion": asdict(scene.motion),
        "modes": [asdict(mode) for mode in scene.modes],
        "ripple_peak_um": ripple.ripple_peak_um,
        "ripple_rms_um": ripple.ripple_rms_um,
        "steady_ripple_um": scene.steady.amplitude_um,
        "steady_period_mm": scene.steady.period_mm,
    }
    if scene.designed is not None:
        told["designed_ripple"] = {
            **asdict(scene.designed),
            "designed_um": [s["amplitude_um"] for s in CHECK_RIPPLE["stretches"]],
            "printed_um": printed_amplitudes_um(scene.designed),
        }
    if scene.face == "flow":
        gaps = asdict(find_gap_truth(surface.slots_mm, surface.u_mm))
        gaps["gaps"] = [{k: round(v, 4) for k, v in gap.items()} for gap in gaps["gaps"]]
        told |= gaps
    conditions: dict[str, Any] = {
        key: asdict(getattr(scene, key))
        for key in ("layers", "starvation", "material", "lamp", "camera", "development", "pose")
    }
    if scene.face == "ringdown":
        del conditions["starvation"]
    conditions["camera"]["focal_px"] = scene.camera.focal_px
    conditions["table"] = scene.table
    if scene.stain != Stain():
        conditions["stain"] = asdict(scene.stain)
    conditions["hidden_markers"] = list(scene.hidden_markers)
    conditions["card_on_table"] = scene.card_on_table
    if scene.card_scale != 1:
        conditions["card_scale"] = scene.card_scale
    told["conditions"] = conditions
    return {**_rounded(told), "picture": _pixels(scene)}
