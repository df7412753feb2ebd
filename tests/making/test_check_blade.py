"""The check blade's solid: its ripple read back from the mesh, all else as on the blade."""

from pathlib import Path

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray

from scoring.errors import SettingsError
from scoring.geometry.check_ripple import CHECK_RIPPLE, CheckStretch
from scoring.making.blade import blade_mesh, make_blade
from scoring.making.check_blade import STEP_MM, make_check_blade, write_check_blade

Floats = NDArray[np.float64]
DENSE_MM = 0.01


@pytest.fixture(scope="module", params=["x", "y"])
def axis(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def mesh(axis: str) -> trimesh.Trimesh:
    return blade_mesh(make_check_blade(axis))


def front_mm(mesh: trimesh.Trimesh, axis: str, u: Floats, w: float) -> Floats:
    """Height out of the ring-down face at each u, on the level w, from the mesh's own cut."""
    cut = trimesh.intersections.mesh_plane(  # type: ignore[no-untyped-call]
        mesh, plane_normal=[0, 0, 1], plane_origin=[0, 0, w]
    )
    along, out = (cut[..., 0], -cut[..., 1]) if axis == "x" else (cut[..., 1], cut[..., 0] - 12)
    ours = (out > -0.6).all(axis=1)
    ends = np.stack([along[ours], out[ours]], axis=-1)
    assert len(ends)
    places = ends.reshape(-1, 2)
    order = np.argsort(places[:, 0], kind="stable")
    return np.asarray(np.interp(u, places[order, 0], places[order, 1]))


def test_it_is_one_watertight_solid(mesh: trimesh.Trimesh) -> None:
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    assert mesh.euler_number == 2


@pytest.mark.parametrize("stretch", CHECK_RIPPLE.stretches, ids=lambda s: str(s.amplitude_um))
@pytest.mark.parametrize("w", [3.0, 12.0, 21.0])
def test_amplitude_and_wavelength_from_the_mesh(
    mesh: trimesh.Trimesh, axis: str, stretch: CheckStretch, w: float
) -> None:
    start, end = stretch.u_mm
    u = np.arange(start, end - DENSE_MM / 2, DENSE_MM)
    lines = 2e3 * np.abs(np.fft.rfft(front_mm(mesh, axis, u, w))) / u.size
    if stretch.amplitude_um:
        assert (end - start) / int(np.argmax(lines)) == pytest.approx(3.0)
    # Straight lines between samples pass the share sinc^2 of a wave.
    kept = np.sinc(STEP_MM / 3.0) ** 2
    assert lines.max() == pytest.approx(stretch.amplitude_um * kept, rel=2e-4, abs=1e-6)
    assert np.sort(lines)[:-1] == pytest.approx(0, abs=0.2)


def test_the_surface_follows_the_design_within_a_quarter_of_a_micrometre(
    mesh: trimesh.Trimesh, axis: str
) -> None:
    u = np.arange(1.0, 70.0, DENSE_MM)
    off = front_mm(mesh, axis, u, 10.0) - CHECK_RIPPLE.height_mm(u)
    assert np.abs(off).max() < 2.5e-4


def test_all_else_is_the_standard_blade(mesh: trimesh.Trimesh, axis: str) -> None:
    plain = blade_mesh(make_blade(axis))
    assert mesh.bounds == pytest.approx(plain.bounds, abs=1e-6)
    u = np.concatenate([np.arange(0.5, 9.9, 0.1), np.arange(49.1, 93.5, 0.1)])
    assert front_mm(mesh, axis, u, 12.0) == pytest.approx(front_mm(plain, axis, u, 12.0), abs=1e-6)
    # The volume differs by the ripple's own, which whole waves leave next to none of.
    fine = np.arange(0.0, 100.0, DENSE_MM)
    more = float(CHECK_RIPPLE.height_mm(fine).sum() * DENSE_MM) * 24
    assert mesh.volume - plain.volume == pytest.approx(more, abs=0.01)


def test_files_as_another_library_reads_them(
    mesh: trimesh.Trimesh, axis: str, tmp_path: Path
) -> None:
    write_check_blade(tmp_path / "a.3mf", tmp_path / "a.stl", axis)
    read = trimesh.load_scene(tmp_path / "a.3mf")
    assert read.units == "millimeter"
    for found in (read.to_mesh(), trimesh.load_mesh(tmp_path / "a.stl")):
        assert found.is_watertight
        assert found.volume == pytest.approx(mesh.volume, rel=1e-6)
        u = np.arange(37.0, 46.0, DENSE_MM)
        assert front_mm(found, axis, u, 12.0) == pytest.approx(
            CHECK_RIPPLE.height_mm(u), abs=2.5e-4
        )


def test_another_axis_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="x or y"):
        write_check_blade(tmp_path / "a.3mf", tmp_path / "a.stl", "z")
