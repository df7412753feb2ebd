"""How long one photo takes to measure, as a multiple of a bare ``cv2.imread`` of it.

Without the picture of the face, as ``coupon measure`` does it; adding to the store draws one too.
Each file has a process of its own: what a larger picture before it leaves in the allocator would
spare ``cv2.imread`` of 36 MB a quarter of its time.
"""

import multiprocessing
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import cv2
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[2]))

from scoring.measure import measure_photo
from scoring.motion import Motion
from tests.benchmarks.phone_photos import save_as_phone
from tests.reference_photos import photo_named

PHOTOS = (("ringdown", "two-modes-red"), ("flow", "white-gaps"))
ROUNDS = {12.0: 15, 48.0: 7}
"""How often each size in megapixels is taken."""

CLOCKS = {"time": time.perf_counter, "CPU time": time.process_time}
"""CPU time is of all threads; it is the steadier where others use the machine."""


def _spend(action: Callable[[], object]) -> list[float]:
    began = [clock() for clock in CLOCKS.values()]
    action()
    return [clock() - b for clock, b in zip(CLOCKS.values(), began, strict=True)]


def _compare(path: Path, motion: Motion, rounds: int) -> str:
    """The median ratios for one file, reading and measuring taken in turn."""

    def read() -> object:
        return cv2.imread(str(path))

    def measure() -> object:
        return measure_photo(path, name=path.name, motion=motion, picture=False)

    measure()
    turns = [(_spend(read), _spend(measure)) for _ in range(rounds)]
    said = []
    for k, name in enumerate(CLOCKS):
        read_s, whole_s = [r[k] for r, _ in turns], [m[k] for _, m in turns]
        ratio = statistics.median(m / r for m, r in zip(whole_s, read_s, strict=True))
        whole_ms, read_ms = 1e3 * statistics.median(whole_s), 1e3 * statistics.median(read_s)
        said.append(f"{ratio:.2f} by {name} ({whole_ms:.0f} ms against {read_ms:.0f})")
    with Image.open(path) as image:
        size = f"{image.width * image.height / 1e6:.0f} MP, {path.stat().st_size / 1e6:.1f} MB"
    return f"{size}: times cv2.imread " + ", ".join(said)


def _compare_apart(path: Path, motion: Motion, rounds: int) -> str:
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as fresh:
        return fresh.submit(_compare, path, motion, rounds).result()


def main() -> None:
    """Print the ratios for reference photos as they are, and as a phone would have saved them."""
    with tempfile.TemporaryDirectory() as folder:
        for kind, name in PHOTOS:
            photo = photo_named(kind, name)
            print(name, _compare_apart(photo.path, photo.motion, max(ROUNDS.values())), flush=True)
            for megapixels, rounds in ROUNDS.items():
                phone = save_as_phone(photo.path, Path(folder), megapixels=megapixels)
                print(phone.stem, _compare_apart(phone, photo.motion, rounds), flush=True)


if __name__ == "__main__":
    main()
