"""Everything that Blender does: materials, lamp, room, and the light that the pinhole sees."""

import math
import os
import tempfile
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENCV_IO_ENABLE_OPENEXR", "1")  # before OpenCV is loaded

import bpy
import cv2
import numpy as np
from mathutils import Matrix, Vector
from numpy.typing import NDArray

from reference_images.cycles.conditions import Conditions, Filament, Light
from reference_images.cycles.pictures import draw_card, draw_label
from reference_images.cycles.solid import Solid
from reference_images.cycles.view import Camera
from reference_images.standard import CARD, THICKNESS_MM

Picture = NDArray[np.float32]
FACE_SAMPLES, CARD_SAMPLES, LEVEL_SAMPLES = 12, 2, 256
LAMP_POWER = 4e6
BESIDE_PX = 4


def light_scene(
    face: str,
    conditions: Conditions,
    solid: Solid,
    pinhole: Camera,
    *,
    desk: tuple[Picture, float],
) -> Picture:
    """Linear light (M, N, 3) that ``pinhole`` sees: the whole frame, the face in more samples.

    ``desk`` is its texture and by how much it is turned, in radians.
    """
    _start()
    room = _make_room(conditions.light)
    lamp, eye = _hang_lamp(face, conditions.light), _make_eye()
    _level(lamp, room, eye, conditions.light.ambient_share)
    laid = conditions.laid
    wood = _matt("desk", desk[0])
    _lay("desk", (2400, 2400), -THICKNESS_MM - 0.25, wood, turn_rad=desk[1])
    wide, high = CARD["size_mm"]
    _lay("card", (wide, high), -THICKNESS_MM, _matt("card", draw_card()))
    text = f"coupon:{conditions.made.run}:{conditions.made.axis}:{face}"
    (left, top), (side, tall) = CARD["label"]["origin_mm"], CARD["label"]["size_mm"]
    middle = np.array([left + side / 2 - wide / 2, high / 2 - top - tall / 2]) + laid.label_mm
    _lay(
        "label",
        (side, tall),
        -THICKNESS_MM + 0.1,
        _matt("label", draw_label(text)),
        middle_mm=(float(middle[0]), float(middle[1])),
        turn_rad=math.radians(laid.label_deg),
    )
    coupon = _make_mesh("coupon", solid.vertices, solid.quads, _make_filament(conditions.filament))
    coupon.location = (*laid.coupon_mm, 0)
    coupon.rotation_euler = (0, 0, math.radians(laid.coupon_deg))
    width, height = pinhole.size_px
    eye.data.lens = pinhole.focal_px * 36 / width
    matrix = np.eye(4)
    matrix[:3, :3], matrix[:3, 3] = pinhole.axes, pinhole.centre_mm
    eye.matrix_world = Matrix(matrix.tolist())
    light = _render((width, height), CARD_SAMPLES)
    box = _face_box(coupon, pinhole)
    fine = _render((width, height), FACE_SAMPLES, box)
    return _put(light, fine, box)


def _start() -> None:
    bpy.ops.wm.read_factory_settings(use_empty=True)
    scene = bpy.context.scene
    scene.render.engine = "CYCLES"
    cycles = scene.cycles
    cycles.device = "CPU"
    cycles.use_adaptive_sampling = cycles.use_denoising = cycles.use_light_tree = False
    cycles.max_bounces = cycles.diffuse_bounces = cycles.glossy_bounces = 1
    cycles.transmission_bounces = 0
    cycles.caustics_reflective = cycles.caustics_refractive = False
    cycles.sample_clamp_indirect = cycles.sample_clamp_direct = 0
    cycles.filter_width = 1.2
    scene.view_settings.view_transform = "Raw"
    image = scene.render.image_settings
    image.file_format, image.color_depth, image.color_mode = "OPEN_EXR", "32", "RGB"
    image.exr_codec = "NONE"


def _make_room(light: Light) -> Any:
    """A surround brighter on one side; the node whose second input is its strength."""
    world = bpy.data.worlds.new("room")
    bpy.context.scene.world = world
    world.cycles.sampling_method = "NONE"
    world.use_nodes = True
    tree = world.node_tree
    background = tree.nodes["Background"]
    background.inputs["Color"].default_value = (*light.ambient_rgb, 1)
    places = tree.nodes.new("ShaderNodeTexCoord")
    dot = tree.nodes.new("ShaderNodeVectorMath")
    dot.operation = "DOT_PRODUCT"
    dot.inputs[1].default_value = (*light.ambient_side, 0.3)
    more, times = (tree.nodes.new("ShaderNodeMath") for _ in range(2))
    more.operation, times.operation = "ADD", "MULTIPLY"
    more.inputs[1].default_value = 0.8
    tree.links.new(places.outputs["Generated"], dot.inputs[0])
    tree.links.new(dot.outputs["Value"], more.inputs[0])
    tree.links.new(more.outputs[0], times.inputs[0])
    tree.links.new(times.outputs[0], background.inputs["Strength"])
    return times


def _hang_lamp(face: str, light: Light) -> Any:
    """A disc aimed at the face, or a sphere: left of the ring-down face, above the flow face."""
    up, aside = math.radians(light.elevation_deg), math.radians(light.off_axis_deg)
    azimuth = (math.pi if face == "ringdown" else math.pi / 2) + aside
    way = (math.cos(up) * math.cos(azimuth), math.cos(up) * math.sin(azimuth), math.sin(up))
    at = Vector(way) * light.distance_mm
    disc = light.shape == "disk"
    lamp = bpy.data.lights.new("lamp", "AREA" if disc else "POINT")
    if disc:
        lamp.shape, lamp.size = "DISK", light.width_mm
    else:
        lamp.shadow_soft_size, lamp.use_soft_falloff = light.width_mm / 2, False
    lamp.color = light.lamp_rgb
    hung = bpy.data.objects.new("lamp", lamp)
    bpy.context.scene.collection.objects.link(hung)
    hung.location, hung.rotation_euler = at, (-at).to_track_quat("-Z", "Y").to_euler()
    hung.visible_camera = False
    return lamp


def _make_eye() -> Any:
    data = bpy.data.cameras.new("eye")
    data.clip_start, data.clip_end = 1, 20000
    data.sensor_fit, data.sensor_width = "HORIZONTAL", 36
    eye = bpy.data.objects.new("eye", data)
    bpy.context.scene.collection.objects.link(eye)
    bpy.context.scene.camera = eye
    return eye


def _level(lamp: Any, room: Any, eye: Any, ambient_share: float) -> None:
    """Set lamp and room to 1 and ``ambient_share`` on a bare level surface at the face."""
    bare = _lay("bare", (4000, 4000), 0.0, _matt("bare", np.full((2, 2), 0.5, np.float32)))
    eye.matrix_world, eye.data.lens = Matrix.Translation((0, 0, 100)), 3600
    strength = room.inputs[1]
    lamp.energy, strength.default_value = LAMP_POWER, 0
    by_lamp = float(_render((16, 16), LEVEL_SAMPLES).mean())
    lamp.energy, strength.default_value = 0, 1
    by_room = float(_render((16, 16), LEVEL_SAMPLES).mean())
    lamp.energy, strength.default_value = LAMP_POWER / by_lamp, ambient_share / by_room
    bpy.data.objects.remove(bare)


def _make_filament(filament: Filament) -> Any:
    material = bpy.data.materials.new("filament")
    material.use_nodes = True
    inputs = material.node_tree.nodes["Principled BSDF"].inputs
    values = {
        "Base Color": (*filament.rgb, 1),
        "Roughness": filament.roughness,
        "IOR": 1.46,
        "Specular IOR Level": filament.specular,
        "Coat Weight": filament.coat,
        "Coat Roughness": filament.coat_roughness,
        "Subsurface Weight": filament.subsurface,
        "Subsurface Scale": filament.subsurface_mm,
        "Subsurface Radius": (1, 0.8, 0.7),
    }
    for name, value in values.items():
        inputs[name].default_value = value
    return material


def _matt(name: str, reflectance: Picture) -> Any:
    """A matt material of a picture (H, W) or (H, W, 3)."""
    colour = reflectance if reflectance.ndim == 3 else np.repeat(reflectance[..., None], 3, axis=2)
    high, wide = colour.shape[:2]
    image = bpy.data.images.new(name, wide, high, alpha=False, float_buffer=True)
    image.colorspace_settings.name = "Non-Color"
    pixels = np.ones((high, wide, 4), np.float32)
    pixels[..., :3] = colour[::-1]
    image.pixels.foreach_set(pixels.ravel())
    image.update()
    material = bpy.data.materials.new(name)
    material.use_nodes = True
    tree = material.node_tree
    tree.nodes.clear()
    out, matt, texture = (
        tree.nodes.new(f"ShaderNode{kind}")
        for kind in ("OutputMaterial", "BsdfDiffuse", "TexImage")
    )
    texture.image, texture.interpolation = image, "Linear"
    tree.links.new(texture.outputs["Color"], matt.inputs["Color"])
    tree.links.new(matt.outputs[0], out.inputs[0])
    return material


def _lay(
    name: str,
    size_mm: tuple[float, float],
    z_mm: float,
    material: Any,
    *,
    middle_mm: tuple[float, float] = (0.0, 0.0),
    turn_rad: float = 0.0,
) -> Any:
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]], np.float32)
    vertices = np.concatenate([corners * np.array(size_mm) / 2, np.zeros((4, 1))], axis=1)
    quad = np.arange(4, dtype=np.int32)[None]
    sheet = _make_mesh(name, vertices.astype(np.float32), quad, material, (corners + 1) / 2)
    sheet.location, sheet.rotation_euler = (*middle_mm, z_mm), (0, 0, turn_rad)
    return sheet


def _make_mesh(
    name: str,
    vertices: Picture,
    quads: NDArray[np.int32],
    material: Any,
    places: NDArray[Any] | None = None,
) -> Any:
    mesh = bpy.data.meshes.new(name)
    mesh.vertices.add(len(vertices))
    mesh.vertices.foreach_set("co", vertices.ravel())
    mesh.loops.add(quads.size)
    mesh.loops.foreach_set("vertex_index", quads.ravel())
    mesh.polygons.add(len(quads))
    mesh.polygons.foreach_set("loop_start", np.arange(0, quads.size, 4, dtype=np.int32))
    if places is not None:
        mesh.uv_layers.new(name="places").data.foreach_set("uv", places.astype(np.float32).ravel())
    mesh.update(calc_edges=True)
    mesh.polygons.foreach_set("use_smooth", np.zeros(len(quads), bool))
    mesh.materials.append(material)
    thing = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(thing)
    return thing


def _face_box(coupon: Any, pinhole: Camera) -> tuple[int, int, int, int]:
    """Left, top, right and bottom pixel about the coupon."""
    bpy.context.view_layer.update()
    corners = np.array([coupon.matrix_world @ Vector(c) for c in coupon.bound_box])
    seen = pinhole.project(corners)
    low = np.maximum(np.floor(seen.min(axis=0)) - BESIDE_PX, 0).astype(int)
    high = np.minimum(np.ceil(seen.max(axis=0)) + BESIDE_PX, pinhole.size_px).astype(int)
    return int(low[0]), int(low[1]), int(high[0]), int(high[1])


def _render(
    size_px: tuple[int, int], samples: int, box: tuple[int, int, int, int] | None = None
) -> Picture:
    scene = bpy.context.scene
    render = scene.render
    (render.resolution_x, render.resolution_y), render.resolution_percentage = size_px, 100
    scene.cycles.samples = samples
    render.use_border = render.use_crop_to_border = box is not None
    if box is not None:
        left, top, right, bottom = box
        render.border_min_x, render.border_max_x = left / size_px[0], right / size_px[0]
        render.border_min_y, render.border_max_y = 1 - bottom / size_px[1], 1 - top / size_px[1]
    with tempfile.TemporaryDirectory() as folder:
        render.filepath = str(Path(folder) / "light.exr")
        bpy.ops.render.render(write_still=True)
        light = np.asarray(cv2.imread(render.filepath, cv2.IMREAD_UNCHANGED), np.float32)
    return np.ascontiguousarray(light[..., 2::-1])


def _put(light: Picture, fine: Picture, box: tuple[int, int, int, int]) -> Picture:
    """``fine`` over ``light`` where both agree best: a border may come out a pixel aside."""
    high, wide = fine.shape[:2]
    off = {}
    for top in range(max(box[1] - 2, 0), box[1] + 3):
        for left in range(max(box[0] - 2, 0), box[0] + 3):
            part = light[top : top + high, left : left + wide]
            if part.shape == fine.shape:
                off[float(np.abs(part - fine).mean())] = (
                    slice(top, top + high),
                    slice(left, left + wide),
                )
    light[off[min(off)]] = fine
    return light
