"""How long one photo takes to measure, as a multiple of a bare ``cv2.imread`` of it."""

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import cv2

sys.path.insert(0, str(Path(__file__).parents[2]))

from scoring.measure import measure_photo
from tests.reference_photos import photo_named

ROUNDS = 15
PHOTOS = (("ringdown", "two-modes-red"), ("ringdown", "large-photo-red"), ("flow", "white-gaps"))


def _seconds(action: Callable[[], object]) -> float:
    began = time.perf_counter()
    action()
    return time.perf_counter() - began


def main() -> None:
    """Print the median ratio and both medians for each photo, taken in turn."""
    for folder, name in PHOTOS:
        photo = photo_named(folder, name)
        height, width = cv2.imread(str(photo.path)).shape[:2]

        def measure(photo=photo) -> object:  # type: ignore[no-untyped-def]
            return measure_photo(photo.path, name="a.jpg", motion=photo.motion)

        measure()
        pairs = [
            (_seconds(lambda p=photo: cv2.imread(str(p.path))), _seconds(measure))
            for _ in range(ROUNDS)
        ]
        ratio = statistics.median(m / r for r, m in pairs)
        read, whole = (1e3 * statistics.median(column) for column in zip(*pairs, strict=True))
        print(
            f"{name}: {width * height / 1e6:.0f} MP, {ratio:.2f} times cv2.imread "
            f"({whole:.0f} ms against {read:.0f} ms)"
        )


if __name__ == "__main__":
    main()
