"""Make the photos of a set: ``python -m reference_images.make_photos SET...``.

The studies need ``--seeds FIRST LAST`` and go to ``--out``; they are drawn fast, not traced.

Run it from the repository's root, with the ``render`` extra installed.
"""

import argparse
import time
from dataclasses import replace
from pathlib import Path

from reference_images.check_set import check_scenes, draw_check_scene
from reference_images.demo_set import demo_scenes, write_runs
from reference_images.flow_set import flow_scenes
from reference_images.other_cameras import CAMERAS
from reference_images.other_light import other_light_of
from reference_images.pair_set import draw_pair, pair_scenes
from reference_images.photograph import trace_photo
from reference_images.quick import shoot_quickly
from reference_images.ringdown_set import ringdown_scenes
from reference_images.scene import Face, Scene
from reference_images.study_set import MAIN, WIDE, Ranges, draw_scene

HERE = Path(__file__).resolve().parent
SETS = ("tuning", "quoting", "demo", "check", "pairs", "study", "check-study", "pair-study")
FOLDERS = {
    "demo": "demo",
    "check": "check",
    "check-study": "check",
    "pairs": "pair",
    "pair-study": "pair",
}
DRAWN_FAST = ("study", "check-study", "pair-study")


def scenes_of(name: str, seeds: range, ranges: Ranges) -> list[Scene]:
    """The scenes of one set; ``seeds`` and ``ranges`` matter to the studies only."""
    fixed = {"demo": demo_scenes, "check": check_scenes, "pairs": pair_scenes}
    if name in fixed:
        return fixed[name]()
    if name == "check-study":
        return [draw_check_scene(seed) for seed in seeds]
    if name == "pair-study":
        return [scene for seed in seeds for scene in draw_pair(seed, ranges)]
    if name == "study":
        faces: tuple[Face, ...] = ("ringdown", "flow")
        return [draw_scene(seed, face, ranges) for face in faces for seed in seeds]
    return [s for s in (*ringdown_scenes(), *flow_scenes()) if s.set == name]


def main() -> None:
    """Trace what is missing, develop everything asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sets", nargs="+", choices=SETS)
    parser.add_argument("--out", type=Path, default=HERE, help="where the photos go")
    parser.add_argument("--kept", type=Path, help="folder of linear traces, reused when there")
    parser.add_argument("--only", default="", help="only photos whose name holds this text")
    parser.add_argument("--quick", action="store_true", help="the fast renderer, no path tracing")
    parser.add_argument("--seeds", nargs=2, type=int, default=(0, 19), metavar=("FIRST", "LAST"))
    parser.add_argument("--wide", action="store_true", help="the study's wide ranges")
    parser.add_argument(
        "--other-light", action="store_true", help="trace a study, filaments and lamps of all kinds"
    )
    parser.add_argument("--camera", choices=CAMERAS, help="another camera than the usual one")
    options = parser.parse_args()
    if options.other_light and (options.quick or options.sets != ["study"]):
        parser.error("--other-light traces a study: name that set alone, without --quick")
    camera = CAMERAS[options.camera] if options.camera else None
    seeds = range(options.seeds[0], options.seeds[1] + 1)
    for name in options.sets:
        for scene in scenes_of(name, seeds, WIDE if options.wide else MAIN):
            if options.only not in scene.name:
                continue
            began = time.monotonic()
            folder = options.out / FOLDERS.get(name, scene.face)
            light = other_light_of(scene.seed) if options.other_light else None
            if light:
                scene = replace(scene, name=f"{scene.name}-{light.name}")  # noqa: PLW2901
            if options.quick or (name in DRAWN_FAST and not light):
                path = shoot_quickly(scene, folder)
            else:
                path = trace_photo(scene, folder, kept=options.kept, camera=camera, light=light)
            size = path.stat().st_size / 2**20
            print(f"{path.name} {size:.2f} MiB {time.monotonic() - began:.0f} s", flush=True)
        if name == "demo":
            write_runs(options.out / "demo")


if __name__ == "__main__":
    main()
