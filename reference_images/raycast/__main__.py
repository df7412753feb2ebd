"""Draw photos: ``python -m reference_images.raycast FACE --seeds FIRST LAST --out DIR``.

Run it from the repository's root, with the ``test`` extra installed (numba). The first photo waits
some ten seconds for its rays to be compiled; each takes half a minute to a minute on one idle core.
"""

import argparse
from pathlib import Path

from reference_images.raycast.conditions import FACES
from reference_images.raycast.photo import draw_photo, save_photo


def main() -> None:
    """Draw the photos of a range of random seeds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("face", choices=FACES)
    parser.add_argument("--seeds", nargs=2, type=int, required=True, metavar=("FIRST", "LAST"))
    parser.add_argument("--out", type=Path, required=True, help="where the photos go")
    asked = parser.parse_args()
    for seed in range(asked.seeds[0], asked.seeds[1] + 1):
        save_photo(draw_photo(asked.face, seed), asked.out)


if __name__ == "__main__":
    main()
