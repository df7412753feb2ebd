"""Path tracing with Mitsuba 3: linear light of a scene, before lens and sensor.

The lamp's and the surroundings' light are traced apart and added: each then needs few samples.
"""

import os
from glob import glob
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reference_images.camera import margin_px, place_camera, place_lamp
from reference_images.card_picture import draw_card
from reference_images.mesh import Mesh, face_mesh, slot_mesh, wall_mesh
from reference_images.other_light import (
    ASIDE_DEG,
    OtherLight,
    describe_filament,
    place_bulbs,
    turn_panel,
)
from reference_images.scene import Scene, Stain
from reference_images.stain import paint_stain
from reference_images.standard import CARD
from reference_images.surface import Surface, build_surface

if "DRJIT_LIBLLVM_PATH" not in os.environ:
    # Older LLVM versions fail on new processors.
    for _library in sorted(glob("/usr/lib/*/libLLVM-19.so*"))[:1]:
        os.environ["DRJIT_LIBLLVM_PATH"] = _library

import drjit as dr
import mitsuba as mi

mi.set_variant("llvm_ad_rgb")

TABLES = {"grey": (0.30, 0.30, 0.31), "wood": (0.38, 0.25, 0.14), "dark": (0.05, 0.05, 0.055)}
MAX_DEPTH = 4
SEEDS_APART = 100_000  # between the noise of two shots of one coupon


def _to_mitsuba(name: str, mesh: Mesh, bsdf: object) -> object:
    props = mi.Properties()
    props["mesh_bsdf"] = bsdf
    props["face_normals"] = mesh.normals is None
    shape = mi.Mesh(
        name,
        len(mesh.vertices),
        len(mesh.triangles),
        has_vertex_normals=mesh.normals is not None,
        props=props,
    )
    params = mi.traverse(shape)
    params["vertex_positions"] = mi.Float(mesh.vertices.astype(np.float32).ravel())
    params["faces"] = mi.UInt32(mesh.triangles.astype(np.uint32).ravel())
    if mesh.normals is not None:
        params["vertex_normals"] = mi.Float(mesh.normals.astype(np.float32).ravel())
    params.update()
    return shape


def _stained(mesh: Any, scene: Scene, surface: Surface) -> object:
    """The face's mesh with its colour at every vertex."""
    share = paint_stain(scene, surface).reshape(-1, 1) * np.array(scene.material.rgb)
    mesh.add_attribute("vertex_color", 3, mi.Float(share.astype(np.float32).ravel()))
    return mesh


def _table_picture(scene: Scene) -> NDArray[np.float32]:
    rng = np.random.default_rng([scene.seed, 7])
    colour = np.array(TABLES[scene.table], dtype=np.float32)
    if scene.table == "wood":
        x = np.linspace(0, 60, 512)
        wave = np.cumsum(rng.standard_normal(512)) * 0.15
        rings = 0.75 + 0.25 * np.sin(x[:, None] + wave[:, None] + 0.002 * np.arange(512)[None, :])
    else:
        rings = 0.92 + 0.08 * rng.random((512, 512))
    return np.asarray(np.clip(colour * rings[:, :, None], 0, 1), dtype=np.float32)


def _rectangle(x: float, y: float, w: float, h: float, z: float) -> object:
    """A rectangle over card mm (x, y, w, h) at height z."""
    move = mi.ScalarTransform4f().translate([x + w / 2, -(y + h / 2), z])
    return move @ mi.ScalarTransform4f().scale([w / 2, h / 2, 1.0])


def _painted(picture: NDArray[np.float32]) -> dict[str, object]:
    """A matt picture; row 0 is at the rectangle's far (+Y) edge."""
    bitmap = mi.Bitmap(np.ascontiguousarray(picture[::-1]))
    texture = {"type": "bitmap", "bitmap": bitmap, "raw": True, "filter_type": "bilinear"}
    return {"type": "twosided", "inner": {"type": "diffuse", "reflectance": texture}}


def _props(scene: Scene) -> dict[str, object]:
    """Table, card, and the pieces that hide markers."""
    wide, high = CARD["size_mm"]
    items: dict[str, object] = {
        "table": {
            "type": "rectangle",
            "to_world": _rectangle(wide / 2 - 600, high / 2 - 600, 1200, 1200, -0.3),
            "bsdf": _painted(_table_picture(scene)),
        }
    }
    if scene.card_on_table:
        items["card"] = {
            "type": "rectangle",
            "to_world": _rectangle(0, 0, wide, high, 0.0),
            "bsdf": _painted(draw_card(scene.label_text)[:, :, None]),
        }
    rng = np.random.default_rng([scene.seed, 8])
    for ident in scene.hidden_markers:
        x, y = CARD["markers"]["centre_mm"][ident]
        wide_mm, high_mm = rng.uniform(20, 26, 2)
        items[f"hide{ident}"] = {
            "type": "cube",
            "to_world": mi.ScalarTransform4f().translate([x + 2, -y - 1, 0.8])
            @ mi.ScalarTransform4f().rotate([0, 0, 1], rng.uniform(0, 90))
            @ mi.ScalarTransform4f().scale([wide_mm / 2, high_mm / 2, 0.8]),
            "bsdf": {
                "type": "diffuse",
                "reflectance": {"type": "rgb", "value": [0.04, 0.04, 0.05]},
            },
        }
    return items


def _sensor(scene: Scene, margin: int) -> dict[str, object]:
    view = place_camera(scene.camera)
    wide, high = scene.camera.width_px + 2 * margin, scene.camera.height_px + 2 * margin
    fov = 2 * np.degrees(np.arctan(wide / 2 / view.focal_px))
    right, down, forward = view.axes
    to_world = np.eye(4, dtype=np.float32)
    to_world[:3, 0], to_world[:3, 1], to_world[:3, 2] = -right, -down, forward
    to_world[:3, 3] = view.place
    return {
        "type": "perspective",
        "fov": float(fov),
        "fov_axis": "x",
        "near_clip": 10.0,
        "far_clip": 5000.0,
        "to_world": mi.ScalarTransform4f(to_world),
        "film": {
            "type": "hdrfilm",
            "width": wide,
            "height": high,
            "rfilter": {"type": "box"},
            "pixel_format": "rgb",
            "component_format": "float32",
        },
        "sampler": {"type": "independent"},
    }


def _coupon(scene: Scene, other: OtherLight) -> dict[str, object]:
    surface = build_surface(scene)
    plastic = describe_filament(scene.material, other.filament)
    bsdf = mi.load_dict({"type": "twosided", "inner": plastic})
    painted = plastic | {"base_color": {"type": "mesh_attribute", "name": "vertex_color"}}
    stained = scene.stain != Stain()
    face_bsdf = mi.load_dict({"type": "twosided", "inner": painted}) if stained else bsdf
    face = _to_mitsuba("face", face_mesh(scene, surface), face_bsdf)
    items = {
        "face": _stained(face, scene, surface) if stained else face,
        "walls": _to_mitsuba("walls", wall_mesh(scene, surface), bsdf),
    }
    slots = slot_mesh(scene, surface)
    if slots is not None:
        items["slots"] = _to_mitsuba("slots", slots, bsdf)
    return items


def _accumulate(scene: mi.Scene, *, spp: int, passes: int, seed: int) -> NDArray[np.float32]:
    total: NDArray[np.float32] | None = None
    for k in range(passes):
        image = np.array(
            mi.render(scene, spp=spp, seed=mi.UInt32(seed * 100 + k)), dtype=np.float32
        )
        total = image if total is None else total + image
        dr.flush_malloc_cache()
    assert total is not None
    return np.asarray(total / passes, dtype=np.float32)


def _lamps(scene: Scene, other: OtherLight) -> dict[str, object]:
    """What shines. A sphere of radiance L gives L pi (R / d)^2 sin(elevation), and so does a facing
    panel of its disc's area."""
    centre = place_lamp(scene.lamp)
    distance, radius = scene.lamp.distance_mm, scene.lamp.radius_mm
    sine = np.sin(np.radians(scene.lamp.elevation_deg))
    radiance = (1 - scene.lamp.ambient_share) / (radius / distance) ** 2 / sine
    if other.lamp == "panel aside":
        radiance /= np.cos(np.radians(ASIDE_DEG))
    shining = {
        "type": "area",
        "radiance": {"type": "rgb", "value": [radiance * t for t in scene.lamp.tint]},
    }
    if other.lamp in ("panel", "panel aside"):
        half = radius * np.sqrt(np.pi) / 2
        look = mi.ScalarTransform4f().look_at(
            origin=centre.tolist(), target=turn_panel(centre, other.lamp).tolist(), up=[0, 0, 1]
        )
        to_world = look @ mi.ScalarTransform4f().scale([half, half, 1.0])
        return {"light": {"type": "rectangle", "to_world": to_world, "emitter": shining}}
    return {
        f"light{k}": {"type": "sphere", "center": at.tolist(), "radius": size, "emitter": shining}
        for k, (at, size) in enumerate(place_bulbs(centre, radius, other.lamp))
    }


def trace(
    scene: Scene, *, lamp_spp: int, ambient_spp: int, other: OtherLight | None = None
) -> NDArray[np.float32]:
    """Linear light (H, W, 3), margin included, where white paper squarely under the lamp's light
    at the bay's centre, ambient included, is about its reflectance. Lens and sensor come later.

    ``other`` takes the place of the usual kinds of filament and lamp.
    """
    other = other or OtherLight()
    margin = margin_px(scene)
    base: dict[str, object] = {"type": "scene", "sensor": _sensor(scene, margin)}
    base |= _props(scene) | _coupon(scene, other)
    # A sky of radiance S gives pi S.
    sky = {
        "type": "constant",
        "radiance": {"type": "rgb", "value": [scene.lamp.ambient_share] * 3},
    }
    integrator = {"type": "path", "max_depth": MAX_DEPTH, "hide_emitters": False}
    lit = mi.load_dict(base | {"integrator": integrator} | _lamps(scene, other))
    seed = (scene.seed + SEEDS_APART * scene.shot) * 2
    image = _accumulate(lit, spp=4, passes=lamp_spp // 4, seed=seed)
    del lit
    shaded = mi.load_dict(base | {"integrator": integrator, "light": sky})
    image += _accumulate(shaded, spp=4, passes=ambient_spp // 4, seed=seed + 1)
    return image
