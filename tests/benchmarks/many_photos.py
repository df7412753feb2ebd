"""How much faster many photos are measured on all cores than on one."""

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from scoring.batch import PhotoTask, count_cores, measure_all
from scoring.measure import measure_photo
from scoring.runs.plan import FixedMotion
from tests.reference_photos import read_photos

COPIES = 2


def main() -> None:
    """Print the ratio of one worker's time to that of all, start-up of the workers included."""
    photos = [p for p in read_photos("demo") if p.truth["face"] == "ringdown"] * COPIES
    tasks = [PhotoTask(p.name, p.path, FixedMotion(p.motion, p.layer_height_mm)) for p in photos]
    seconds = []
    for workers in (1, count_cores()):
        began = time.perf_counter()
        results = list(measure_all(tasks, measure=measure_photo, workers=workers))
        seconds.append(time.perf_counter() - began)
        assert not any(r.failure for r in results)
    one, all_cores = seconds
    print(
        f"{len(tasks)} photos: {one:.1f} s on one core, {all_cores:.1f} s on {count_cores()}, "
        f"{one / all_cores:.2f} times as fast"
    )


if __name__ == "__main__":
    main()
