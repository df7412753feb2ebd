"""The blade coupon as a solid to print, standing on the plate."""

import ctypes
import io
from pathlib import Path

import lib3mf  # type: ignore[import-untyped]
import numpy as np
import trimesh
from manifold3d import CrossSection, Manifold  # type: ignore[import-not-found]
from numpy.typing import NDArray

from scoring.errors import SettingsError
from scoring.geometry import BLADE
from scoring.whole_file import write_file

TICKS_ON = {"x": 1, "y": 2}
# Cutting bodies reach this far past what they cut, so that no faces coincide.
PAST_MM = 1.0


def ringdown_profile_mm() -> NDArray[np.float64]:
    """Where the ring-down face bends: rows of u and y (height out of the face), both in mm.

    The facets' slopes are added up along u; between and beside facets the height stays.
    """
    points, height = [(0.0, 0.0)], 0.0
    for facet in BLADE.facets:
        start, end = facet.u_mm
        points.append((start, height))
        height += facet.slope * (end - start)
        # Equal and opposite slopes come back to the plane: rounding must not leave a step.
        height = 0.0 if abs(height) < 1e-9 else height
        points.append((end, height))
    points.append((BLADE.length_mm, height))
    return np.array(list(dict.fromkeys(points)))


def make_blade(axis: str, front_mm: NDArray[np.float64] | None = None) -> Manifold:
    """The blade whose long faces lie along the machine's ``axis``, ``"x"`` or ``"y"``; in mm.

    ``front_mm`` (N, 2) is the ring-down face's profile as :func:`ringdown_profile_mm` gives it, and
    that if left out.

    z is up (w), the foot stands on z = 0, and the X blade's box starts at x = y = 0. The X blade's
    ring-down face looks toward -y and its u is x; its flow face looks toward +y and its u is
    ``length - x``. Both so run counter-clockwise seen from above. The Y blade is the X blade turned
    a quarter counter-clockwise, so that is as true of it. Facets stand proud of the box by up to
    5 mm x tan 3 degrees. Raises :class:`SettingsError` for another axis.
    """
    if axis not in TICKS_ON:
        raise SettingsError(f"The axis is {axis!r}; it must be x or y.")
    front = ringdown_profile_mm() if front_mm is None else front_mm
    solid = _plan(front).extrude(BLADE.height_mm) - _corner()
    for centre in BLADE.ticks.u_mm[: TICKS_ON[axis]]:
        solid -= _tick(centre)
    if axis == "y":
        # A quarter turn about the corner, then back to where no coordinate is negative.
        solid = solid.rotate((0, 0, 90)).translate((BLADE.thickness_mm, 0, 0))
    return solid


def write_blade(path_3mf: Path, path_stl: Path, axis: str) -> None:
    """Write the blade as 3MF, which states its unit, and as binary STL, whose unit is mm by custom.

    Raises :class:`SettingsError` for an unknown axis or where a path cannot be written.
    """
    write_solid(path_3mf, path_stl, make_blade(axis), f"Blade coupon, {axis.upper()}")


def write_solid(path_3mf: Path, path_stl: Path, solid: Manifold, name: str) -> None:
    """Write ``solid``, which slicers call ``name``, as 3MF and as binary STL.

    Raises :class:`SettingsError` where a path cannot be written.
    """
    mesh = blade_mesh(solid)
    write_file(path_3mf, _as_3mf(mesh, name))
    file = io.BytesIO()
    mesh.export(file, file_type="stl")
    write_file(path_stl, file.getvalue())


def blade_mesh(solid: Manifold) -> trimesh.Trimesh:
    """The solid's surface as triangles, outward normals, in mm."""
    surface = solid.to_mesh64()
    mesh = trimesh.Trimesh(surface.vert_properties[:, :3], surface.tri_verts, process=False)
    mesh.units = "mm"
    return mesh


def _as_3mf(mesh: trimesh.Trimesh, name: str) -> bytes:
    """One object on the plate, by the 3MF Consortium's library: stricter than trimesh's writer."""
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.MilliMeter)
    part = model.AddMeshObject()
    part.SetName(name)
    part.SetGeometry(
        [lib3mf.Position((ctypes.c_float * 3)(*vertex)) for vertex in mesh.vertices],
        [lib3mf.Triangle((ctypes.c_uint32 * 3)(*corners)) for corners in mesh.faces],
    )
    model.AddBuildItem(part, wrapper.GetIdentityTransform())
    return bytes(model.QueryWriter("3mf").WriteToBuffer())


def _plan(front_mm: NDArray[np.float64]) -> CrossSection:
    """The blade seen from above: facets along y = 0, grooves cut in from y = thickness."""
    front = [(u, -height) for u, height in front_mm]
    back = [(BLADE.length_mm, BLADE.thickness_mm), (0.0, BLADE.thickness_mm)]
    plan = CrossSection([front + back])
    grooves = BLADE.grooves
    for u in grooves.centres_u_mm:
        groove = CrossSection.square((grooves.width_mm, grooves.depth_mm + PAST_MM))
        plan -= groove.translate(
            (
                BLADE.length_mm - u - grooves.width_mm / 2,
                BLADE.thickness_mm - grooves.depth_mm,
            )
        )
    return plan


def _corner() -> Manifold:
    """What is cut off: (u - 94) + (w - 18) > 6 on the ring-down face, through to the flow face."""
    right, top, leg = BLADE.length_mm, BLADE.height_mm, BLADE.chamfer_leg_mm
    past = PAST_MM
    triangle = CrossSection(
        [
            [
                (right + past, top - leg - past),
                (right + past, top + past),
                (right - leg - past, top + past),
            ]
        ]
    )
    # Drawn in (u, w) and extruded, then stood up: w to z, the extrusion to -y.
    body = triangle.extrude(BLADE.thickness_mm + 2 * past).rotate((90, 0, 0))
    return body.translate((0, BLADE.thickness_mm + past, 0))


def _tick(centre_u_mm: float) -> Manifold:
    """A short upright groove in the ring-down face."""
    ticks = BLADE.ticks
    low, high = ticks.w_mm
    box = Manifold.cube((ticks.width_mm, ticks.depth_mm + PAST_MM, high - low))
    return box.translate((centre_u_mm - ticks.width_mm / 2, -PAST_MM, low))
