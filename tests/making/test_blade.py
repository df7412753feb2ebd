import math
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import lib3mf  # type: ignore[import-untyped]
import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray

from scoring.errors import SettingsError
from scoring.making.blade import blade_mesh, make_blade, ringdown_profile_mm, write_blade

Floats = NDArray[np.float64]
SPEC: dict[str, Any] = tomllib.loads(
    files("scoring.geometry").joinpath("blade.toml").read_text("utf-8")
)
FACETS = [(*f["u_mm"], f["slope_deg"]) for f in SPEC["faces"]["ringdown"]["facets"]]
AXES = {
    # The side each face looks to, and its u as seen from outside with z up, left to right.
    "x": {"ringdown": ((0, -1, 0), (1, 0, 0)), "flow": ((0, 1, 0), (-1, 0, 0))},
    "y": {"ringdown": ((1, 0, 0), (0, 1, 0)), "flow": ((-1, 0, 0), (0, -1, 0))},
}


@pytest.fixture(scope="module", params=["x", "y"])
def axis(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def mesh(axis: str) -> trimesh.Trimesh:
    return blade_mesh(make_blade(axis))


def on_face(points: Floats, axis: str, face: str) -> Floats:
    """(u, w, y) of points: along the face to the right, up, and out of the face's plane."""
    outward, rightward = (np.array(v, float) for v in AXES[axis][face])
    centre = np.array([50.0, 6.0, 0.0]) if axis == "x" else np.array([6.0, 50.0, 0.0])
    off = points - centre
    return np.stack([off @ rightward + 50, off[..., 2], off @ outward - 6], axis=-1)


def height_at(mesh: trimesh.Trimesh, axis: str, face: str, u: Floats, w: float) -> Floats:
    """How far the surface stands out of the face's plane at each u, on the level w."""
    cuts = trimesh.intersections.mesh_plane(  # type: ignore[no-untyped-call]
        mesh, plane_normal=[0, 0, 1], plane_origin=[0, 0, w]
    )
    height = np.full(len(u), -np.inf)
    for (u0, _, y0), (u1, _, y1) in on_face(cuts, axis, face):
        if abs(u1 - u0) > 1e-9:
            here = (u >= min(u0, u1)) & (u <= max(u0, u1))
            y = y0 + (u - u0) / (u1 - u0) * (y1 - y0)
            height[here] = np.maximum(height[here], y[here])
    return height


def test_it_is_one_watertight_solid(mesh: trimesh.Trimesh) -> None:
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    assert mesh.euler_number == 2  # no tunnels


def test_volume_by_hand(mesh: trimesh.Trimesh, axis: str) -> None:
    box = 100 * 12 * 24
    # Two roofs over 10 mm each, rising 5 tan 3 and 5 tan 1.5 degrees, full height.
    roofs = 24 * sum(10 * 5 * math.tan(math.radians(d)) / 2 for d in (3, 1.5))
    grooves = 6 * 1.2 * 0.8 * 24
    corner = 6 * 6 / 2 * 12
    ticks = {"x": 1, "y": 2}[axis] * 1.0 * 0.4 * 4
    assert mesh.volume == pytest.approx(box + roofs - grooves - corner - ticks, abs=1e-5)


def test_bounding_box(mesh: trimesh.Trimesh, axis: str) -> None:
    proud = 5 * math.tan(math.radians(3))
    low, high = {
        "x": ((0, -proud, 0), (100, 12, 24)),
        "y": ((0, 0, 0), (12 + proud, 100, 24)),
    }[axis]
    assert mesh.bounds == pytest.approx(np.array([low, high]), abs=1e-6)


def test_it_stands_on_its_foot(mesh: trimesh.Trimesh) -> None:
    down = mesh.face_normals[:, 2] < -0.999
    foot = down & (np.abs(mesh.triangles_center[:, 2]) < 1e-9)
    plan = 100 * 12 + sum(25 * math.tan(math.radians(d)) for d in (3, 1.5)) - 6 * 1.2 * 0.8
    assert mesh.area_faces[foot].sum() == pytest.approx(plan, abs=1e-6)
    # Nothing else looks down but the short roofs of the ticks.
    assert mesh.triangles_center[down & ~foot][:, 2] == pytest.approx(5.0)
    # The chamfer is the only surface that is neither upright nor level, and it looks up.
    slanted = np.abs(mesh.face_normals[:, 2]).clip(0.001, 0.999)
    leaning = (slanted > 0.002) & (slanted < 0.998)
    assert (mesh.face_normals[leaning, 2] > 0).all()


def test_every_facets_slope_from_the_normals(mesh: trimesh.Trimesh, axis: str) -> None:
    outward, rightward = (np.array(v, float) for v in AXES[axis]["ringdown"])
    places = on_face(mesh.triangles_center, axis, "ringdown")
    out = mesh.face_normals @ outward
    looking = (out > 0.5) & (places[:, 2] > -0.01)
    covered = 0.0
    for start, end, slope_deg in FACETS:
        here = looking & (places[:, 0] > start) & (places[:, 0] < end)
        flat = here & (mesh.area_faces > 1e-9)
        # A triangle may reach past a level facet; a sloping one is bounded by its edges.
        assert flat.any()
        slopes = -(mesh.face_normals[flat] @ rightward) / out[flat]
        assert np.degrees(np.arctan(slopes)) == pytest.approx(
            np.full(flat.sum(), slope_deg), abs=1e-5
        )
        if slope_deg:
            area = mesh.area_faces[flat].sum()
            # Full height, stretched by the slope.
            assert area == pytest.approx(24 * 5 / math.cos(math.radians(slope_deg)), rel=1e-6)
            covered += area
    assert covered > 4 * 24 * 5


def test_the_profile_adds_up_the_slopes(mesh: trimesh.Trimesh, axis: str) -> None:
    u = np.linspace(0.5, 95, 400)
    w = 12.0
    slope = np.zeros(20_001)
    fine = np.linspace(0, 100, 20_001)
    for start, end, slope_deg in FACETS:
        slope[(fine > start) & (fine <= end)] = math.tan(math.radians(slope_deg))
    integral = np.interp(u, fine, np.cumsum(slope) * (fine[1] - fine[0]))
    assert height_at(mesh, axis, "ringdown", u, w) == pytest.approx(integral, abs=1e-4)
    corners = ringdown_profile_mm()
    assert np.interp(u, corners[:, 0], corners[:, 1]) == pytest.approx(integral, abs=1e-4)


def test_the_measured_zone_is_flat(mesh: trimesh.Trimesh, axis: str) -> None:
    u = np.linspace(4, 64, 61)
    for w in (3.0, 12.0, 21.0):
        assert height_at(mesh, axis, "ringdown", u, w) == pytest.approx(np.zeros(61), abs=1e-6)


def test_grooves_of_the_flow_face(mesh: trimesh.Trimesh, axis: str) -> None:
    u = np.arange(0.05, 100, 0.1)
    for w in (0.5, 12.0, 17.5):
        depth = -height_at(mesh, axis, "flow", u, w)
        cut = depth > 0.4
        edges = u[:-1][np.diff(cut.astype(int)) != 0].reshape(-1, 2) + 0.05
        assert edges.mean(axis=1) == pytest.approx(31.6 + 3.2 * np.arange(6), abs=0.051)
        assert np.diff(edges)[:, 0] == pytest.approx(np.full(6, 1.2), abs=0.11)
        assert depth[cut] == pytest.approx(np.full(cut.sum(), 0.8), abs=1e-6)
        assert depth[~cut] == pytest.approx(np.zeros((~cut).sum()), abs=1e-6)


@pytest.mark.parametrize("face", ["ringdown", "flow"])
def test_the_chamfer_is_cut_from_the_right_corner(
    mesh: trimesh.Trimesh, axis: str, face: str
) -> None:
    places = on_face(mesh.vertices, axis, face)
    u, w = places[:, 0], places[:, 1]
    if face == "flow":  # mirrored in u
        u = 100 - u
    assert ((u - 94) + (w - 18)).max() == pytest.approx(6, abs=1e-6)
    slanted = (np.abs(mesh.face_normals[:, 2]) > 0.1) & (np.abs(mesh.face_normals[:, 2]) < 0.9)
    assert mesh.area_faces[slanted].sum() == pytest.approx(6 * math.sqrt(2) * 12, abs=1e-6)
    outward, rightward = (np.array(v, float) for v in AXES[axis][face])
    leaning = 1 if face == "ringdown" else -1  # top-right, top-left
    expected = (leaning * rightward + [0, 0, 1]) / math.sqrt(2)
    assert mesh.face_normals[slanted] == pytest.approx(
        np.tile(expected, (slanted.sum(), 1)), abs=1e-6
    )
    assert mesh.face_normals[slanted] @ outward == pytest.approx(np.zeros(slanted.sum()), abs=1e-6)


def test_ticks(mesh: trimesh.Trimesh, axis: str) -> None:
    u = np.arange(94.025, 100, 0.05)
    depth = -height_at(mesh, axis, "ringdown", u, 3.0)
    cut = depth > 0.2
    edges = u[:-1][np.diff(cut.astype(int)) != 0].reshape(-1, 2) + 0.025
    assert edges.mean(axis=1) == pytest.approx({"x": [96], "y": [96, 98]}[axis], abs=0.03)
    assert np.diff(edges)[:, 0] == pytest.approx(np.full(len(edges), 1.0), abs=0.06)
    assert depth[cut] == pytest.approx(np.full(cut.sum(), 0.4), abs=1e-6)
    at_tick = np.full(3, 96.01)
    for w, depth_mm in ((0.9, 0), (1.1, 0.4), (4.9, 0.4), (5.1, 0)):
        found = -height_at(mesh, axis, "ringdown", at_tick, w)
        assert found == pytest.approx(np.full(3, depth_mm), abs=1e-6)


@pytest.mark.parametrize("face", ["ringdown", "flow"])
def test_u_runs_counter_clockwise_and_left_to_right(axis: str, face: str) -> None:
    outward, rightward = (np.array(v, float) for v in AXES[axis][face])
    # The tests above find facets, grooves and chamfer on these faces, along this u.
    # Seen from outside with z up, the viewer's right hand is up x outward.
    assert np.cross([0, 0, 1], outward) == pytest.approx(rightward)
    # Counter-clockwise seen from above: position x direction points up.
    assert np.cross(outward, rightward)[2] == 1


def test_the_y_blade_is_the_x_blade_turned_not_mirrored() -> None:
    # Away from its ticks: the same places on the same faces, a quarter turn apart.
    x, y = (blade_mesh(make_blade(axis)) for axis in "xy")
    u = np.linspace(1, 94, 300)
    for face in ("ringdown", "flow"):
        for w in (12.0, 20.0):
            assert height_at(x, "x", face, u, w) == pytest.approx(
                height_at(y, "y", face, u, w), abs=1e-6
            )


def test_3mf_passes_the_3mf_consortiums_strict_reader(
    mesh: trimesh.Trimesh, axis: str, tmp_path: Path
) -> None:
    write_blade(tmp_path / "a.3mf", tmp_path / "a.stl", axis)
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(tmp_path / "a.3mf"))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    objects = model.GetMeshObjects()
    assert objects.Count() == 1
    assert objects.MoveNext()
    found = objects.GetCurrentMeshObject()
    assert found.IsManifoldAndOriented()
    assert found.GetTriangleCount() == len(mesh.faces)
    box = model.GetOutbox()
    assert list(box.MaxCoordinate) == pytest.approx(mesh.bounds[1], abs=1e-4)
    items = model.GetBuildItems()
    assert items.Count() == 1


def test_3mf_as_another_library_reads_it(mesh: trimesh.Trimesh, axis: str, tmp_path: Path) -> None:
    write_blade(tmp_path / "a.3mf", tmp_path / "a.stl", axis)
    read = trimesh.load_scene(tmp_path / "a.3mf")
    assert read.units == "millimeter"
    whole = read.to_mesh()
    assert whole.is_watertight
    assert whole.volume == pytest.approx(mesh.volume, rel=1e-6)
    assert whole.bounds == pytest.approx(mesh.bounds, abs=1e-4)


def test_stl(mesh: trimesh.Trimesh, axis: str, tmp_path: Path) -> None:
    write_blade(tmp_path / "a.3mf", tmp_path / "a.stl", axis)
    read = trimesh.load_mesh(tmp_path / "a.stl")
    assert read.is_watertight
    assert read.volume == pytest.approx(mesh.volume, rel=1e-6)
    assert read.bounds == pytest.approx(mesh.bounds, abs=1e-4)


@pytest.mark.parametrize("axis", ["", "X", "z"])
def test_another_axis_is_refused(axis: str, tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="x or y"):
        write_blade(tmp_path / "a.3mf", tmp_path / "a.stl", axis)
    assert list(tmp_path.iterdir()) == []
