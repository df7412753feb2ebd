"""Draw photos: ``python -m reference_images.cycles FACE --seeds FIRST LAST --out DIR``.

Run it from the repository's root, with the ``cycles`` extra installed (Blender as a module needs
the very Python it was built for). A photo takes one and a half to four minutes on two cores.
"""

import argparse
import json
from pathlib import Path

from reference_images.cycles.conditions import FACES
from reference_images.cycles.scene import draw_scene, seeded
from reference_images.cycles.view import develop, save, widen


def draw_photo(face: str, seed: int, out: Path) -> None:
    """Draw the photo of ``seed`` and write it with its truth to ``out``."""
    from reference_images.cycles.stage import light_scene  # noqa: PLC0415 - Blender, if needed

    rng = seeded(face, seed)
    scene = draw_scene(rng, face, seed)
    pinhole = widen(scene.camera)
    light = light_scene(face, scene.conditions, scene.solid, pinhole, desk=scene.desk)
    codes = develop(rng, light, scene.camera, scene.conditions)
    out.mkdir(parents=True, exist_ok=True)
    save(out / f"{seed:03d}.jpg", codes, scene.camera, scene.conditions)
    (out / f"{seed:03d}.json").write_text(json.dumps(scene.truth) + "\n", "utf-8")


def main() -> None:
    """Draw the photos of a range of random seeds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("face", choices=FACES)
    parser.add_argument("--seeds", nargs=2, type=int, required=True, metavar=("FIRST", "LAST"))
    parser.add_argument("--out", type=Path, required=True, help="where the photos go")
    asked = parser.parse_args()
    for seed in range(asked.seeds[0], asked.seeds[1] + 1):
        draw_photo(asked.face, seed, asked.out)


if __name__ == "__main__":
    main()
