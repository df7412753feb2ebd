"""The truth of one photo, in the form of the other photos' files; and what it tells of itself."""

from dataclasses import asdict
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from reference_images.raycast.camera import Camera, turn_points
from reference_images.raycast.conditions import LAWS, LOOKED_AT, Conditions, Development
from reference_images.raycast.exposure import spread_face_points
from reference_images.raycast.frames import Pose
from reference_images.raycast.lamp import Lamp
from reference_images.raycast.motion import find_ripple_truth
from reference_images.standard import CARD

Codes = NDArray[np.uint8]
GRID_U_MM, GRID_W_MM = (5, *range(15, 96, 10)), (2, 7, 12, 17, 22)
CURVE_WORDS = {
    "srgb": "plain sRGB",
    "power22": "pure power 1/2.2",
    "scurve": "sRGB, then y += s (3y^2 - 2y^3 - y)",
}


def describe(
    scene: Conditions,
    camera: Camera,
    pose: Pose,
    *,
    lamp: Lamp,
    gaps: dict[str, Any],
    picture: Codes,
    paper_clipped: float,
) -> dict[str, Any]:
    """All that is told of a photo; ``picture`` (H, W, 3) is it upright, as a viewer shows it."""
    peak_um, rms_um = find_ripple_truth(scene.ripple.modes, scene.motion)
    modes = sorted(scene.ripple.modes, key=lambda mode: -mode.envelope_um)
    is_tuning = scene.seed <= LOOKED_AT[scene.face]
    return {
        "name": f"{scene.seed:03d}",
        "set": "tuning" if is_tuning else "quoting",
        "seed": scene.seed,
        "renderer": "raycast",
        "face": scene.face,
        "run": scene.run,
        "axis": scene.axis,
        "expect": None,
        "motion": asdict(scene.motion),
        "modes": [asdict(mode) for mode in modes],
        "ripple_peak_um": peak_um,
        "ripple_rms_um": rms_um,
        "steady_ripple_um": scene.ripple.steady_um,
        "steady_period_mm": scene.ripple.steady_period_mm,
        **gaps,
        "conditions": {
            **_describe_print(scene),
            "lamp": _describe_lamp(scene, lamp),
            "camera": _describe_camera(scene, camera, picture.shape[:2]),
            "development": _describe_development(scene.development),
            "laid": {
                "dx_mm": scene.laid.right_mm,
                "dy_up_mm": scene.laid.up_mm,
                "turned_ccw_deg": scene.laid.turned_deg,
            },
            "table": scene.laid.table,
            "paper_oren_nayar": scene.paper.roughness,
            "hidden_markers": [],
            "markers_found_by_plain_detector": find_markers(picture),
            **_describe_levels(scene, camera, pose, picture),
            "paper_clipped": paper_clipped,
        },
        "picture": {"face_grid": find_face_grid(scene, camera, pose)},
    }


def find_face_grid(scene: Conditions, camera: Camera, pose: Pose) -> list[dict[str, float]]:
    """Where a grid of face points falls in the upright picture."""
    turns, grid = scene.handling.quarter_turns, []
    for w in GRID_W_MM:
        for u in GRID_U_MM:
            x, y = turn_points(camera.project(pose.to_card(u, w)), turns, camera.size_px)
            at = {"x_px": round(float(x), 3), "y_px": round(float(y), 3)}
            grid.append({"u_mm": u, "w_mm": w, **at})
    return grid


def find_markers(picture: Codes) -> list[int]:
    """Numbers of the markers that OpenCV's plain detector finds in an upright picture."""
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    name = CARD["markers"]["dictionary"]
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, name))
    _, numbers, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(grey)
    return sorted(int(n) for n in np.ravel(numbers)) if numbers is not None else []


def _describe_print(scene: Conditions) -> dict[str, Any]:
    made, filament = scene.made, scene.filament
    return {
        "layers": {
            "height_mm": made.layer_mm,
            "bead": made.bead_kind,
            "bead_depth_um": made.bead_um,
            "offset_um": made.offset_um,
            "wander_um": made.wander_um,
            "texture_um": made.texture_um,
            "corner_radius_mm": made.corner_radius_mm,
            "layer_scatter": made.scatter,
            "foot_mm": made.foot_mm,
        },
        "material": {
            "name": filament.name,
            "rgb": list(filament.rgb),
            "roughness": filament.roughness,
            "finish": filament.finish,
            "model": LAWS[filament.law],
            "subsurface_mm": filament.subsurface_mm,
        },
    }


def _describe_lamp(scene: Conditions, lamp: Lamp) -> dict[str, Any]:
    light = scene.light
    x, y, z = (float(v) for v in lamp.place_mm)
    return {
        "elevation_deg": light.elevation_deg,
        "distance_mm": light.distance_mm,
        "ambient_share": light.ambient_share,
        "off_axis_deg": light.off_axis_deg,
        "size_mm": light.size_mm,
        "beam_exponent": light.beam_exponent,
        "position_card_mm": [x, -y, z],
    }


def _describe_camera(scene: Conditions, camera: Camera, shape: tuple[int, ...]) -> dict[str, Any]:
    held, how = camera.handling, scene.development
    return {
        "width_px": shape[1],
        "height_px": shape[0],
        "tilt_deg": held.tilt_deg,
        "k1": held.k1,
        "focal_35mm": held.focal_35mm,
        "focal_px": camera.focal_px,
        "distance_mm": camera.distance_mm,
        "tilt_direction_deg": held.tilt_direction_deg,
        "roll_deg": held.roll_deg,
        "min_px_per_mm": camera.least_px_per_mm,
        "exif_focal": how.exif and how.exif_focal,
        "exif_orientation": held.exif_orientation if how.exif else None,
        "turned_deg_ccw": 90 * held.quarter_turns,
    }


def _describe_development(how: Development) -> dict[str, Any]:
    filmic = f"toe and shoulder, strength {how.curve_strength:.2f}, then sRGB"
    return {
        "blur_px": how.blur_px,
        "tone_s": how.curve_strength if how.curve == "scurve" else 0,
        "curve": CURVE_WORDS.get(how.curve, filmic),
        "jpeg_quality": how.jpeg_quality,
        "subsampling": how.chroma,
        "bayer": how.mosaic,
        "denoise": how.denoise,
        "sharpen": how.sharpen,
        "vignette": how.vignette,
        "veil": how.veil,
        "full_well": how.full_well_e,
    }


def _describe_levels(
    scene: Conditions, camera: Camera, pose: Pose, picture: Codes
) -> dict[str, float]:
    """The face's usual code, and how much of it is at full scale, in the brightest channel."""
    seen = camera.project(pose.to_card(*spread_face_points()))
    at = np.round(turn_points(seen, scene.handling.quarter_turns, camera.size_px)).astype(int)
    codes = picture.max(-1)[at[..., 1], at[..., 0]]
    return {
        "face_level_median": float(np.median(codes)),
        "face_clipped": float((codes >= 254).mean()),
    }
