"""The sets: their ranges, and the photos in the repository against what the code says of them."""

import json
import math
import tomllib
from pathlib import Path

import pytest

from reference_images.check_set import check_scenes
from reference_images.demo_set import demo_scenes, write_runs
from reference_images.flow_set import flow_scenes
from reference_images.make_photos import HERE
from reference_images.pair_set import pair_scenes
from reference_images.ringdown_set import ringdown_scenes
from reference_images.ripple_truth import find_ripple_truth, steepest_slope
from reference_images.scene import Mode, Motion, Scene
from reference_images.study_set import MAIN, WIDE, Ranges, draw_scene
from reference_images.surface import build_surface
from reference_images.truth import tell_truth

REFERENCE = [*ringdown_scenes(), *flow_scenes()]
PHOTOS = sorted(HERE.glob("*/*.jpg"))


def test_names_and_seeds_are_single() -> None:
    first_shots = [scene for scene in pair_scenes() if scene.shot == 0]
    scenes = [*REFERENCE, *demo_scenes(), *check_scenes(), *first_shots]
    assert len({scene.name for scene in scenes}) == len(scenes)
    assert len({scene.seed for scene in scenes}) == len(scenes)


def test_sets_are_split_by_seed() -> None:
    for scene in (*REFERENCE, *check_scenes()):
        assert scene.set == ("tuning" if scene.seed % 2 == 0 else "quoting")
    for face in ("ringdown", "flow"):
        kinds = [s.set for s in REFERENCE if s.face == face and s.expect is None]
        assert abs(kinds.count("tuning") - kinds.count("quoting")) <= 1


def test_every_scene_has_its_photo_and_truth() -> None:
    expected = {HERE / s.face / f"{s.name}.jpg" for s in REFERENCE}
    expected |= {HERE / "demo" / f"{s.name}.jpg" for s in demo_scenes()}
    expected |= {HERE / "check" / f"{s.name}.jpg" for s in check_scenes()}
    expected |= {HERE / "pair" / f"{s.name}.jpg" for s in pair_scenes()}
    assert set(PHOTOS) == expected
    assert all(photo.with_suffix(".json").exists() for photo in PHOTOS)


def test_photos_stay_small() -> None:
    files = [path for path in HERE.rglob("*") if path.is_file() and "__pycache__" not in path.parts]
    assert sum(path.stat().st_size for path in files) < 38 * 2**20


@pytest.mark.parametrize("photo", PHOTOS, ids=lambda path: path.stem)
def test_told_ripple_follows_from_told_modes(photo: Path) -> None:
    truth = json.loads(photo.with_suffix(".json").read_text("utf-8"))
    modes = tuple(Mode(**mode) for mode in truth["modes"])
    ripple = find_ripple_truth(modes, Motion(**truth["motion"]))
    assert truth["ripple_peak_um"] == pytest.approx(ripple.ripple_peak_um, rel=1e-4)
    assert truth["ripple_rms_um"] == pytest.approx(ripple.ripple_rms_um, rel=1e-4)


@pytest.mark.parametrize(
    ("folder", "scene"),
    [("ringdown", REFERENCE[3]), ("flow", flow_scenes()[2]), ("check", check_scenes()[1])],
)
def test_truth_in_the_repository_is_not_stale(folder: str, scene: Scene) -> None:
    path = HERE / folder / f"{scene.name}.json"
    kept = json.loads(path.read_text("utf-8"))
    told = tell_truth(scene, build_surface(scene), "path-tracer")
    assert json.loads(json.dumps(told)) == kept


def test_runs_list_every_demo_photo(tmp_path: Path) -> None:
    runs = tomllib.loads(write_runs(tmp_path).read_text("utf-8"))["run"]
    listed = [photo for run in runs for photo in run["photos"]]
    assert sorted(listed) == sorted(f"{scene.name}.jpg" for scene in demo_scenes())
    assert {run["name"] for run in runs} == {scene.run for scene in demo_scenes()}
    assert write_runs(tmp_path).read_text() == (HERE / "demo" / "runs.toml").read_text("utf-8")


def test_alders_brace_raises_frequency_and_lowers_ripple() -> None:
    peak, hertz = {}, {}
    for scene in demo_scenes():
        if scene.face == "ringdown" and scene.run and scene.motion.accel_mm_s2 == 20000:
            peak[scene.run] = find_ripple_truth(scene.modes, scene.motion).ripple_peak_um
            hertz[scene.run] = scene.modes[0].frequency_hz
    assert peak["ALDER-BRACE-20K"] < 0.5 * peak["ALDER-STOCK-20K"]
    assert hertz["ALDER-BRACE-20K"] > 1.2 * hertz["ALDER-STOCK-20K"]


@pytest.mark.parametrize("ranges", [MAIN, WIDE], ids=["main", "wide"])
def test_study_scenes_stay_in_their_ranges(ranges: Ranges) -> None:
    for seed in range(60):
        scene = draw_scene(seed, "ringdown", ranges)
        assert draw_scene(seed, "ringdown", ranges) == scene
        low, high = ranges.lamp_elevation_deg
        assert low <= scene.lamp.elevation_deg <= high
        assert all(mode.envelope_um <= ranges.amplitude_um[1] for mode in scene.modes)
        steepest = steepest_slope(scene.modes, scene.motion)
        assert steepest < math.tan(math.radians(scene.lamp.elevation_deg))
