"""How much faster many photos are measured on all cores than on one, and in how much memory."""

import os
import resource
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import cv2

sys.path.insert(0, str(Path(__file__).parents[2]))

from scoring.batch import PhotoTask, count_cores, measure_all
from scoring.measure import measure_photo
from scoring.runs.plan import FixedMotion
from tests.benchmarks.phone_photos import save_as_phone
from tests.reference_photos import read_photos

PHONES, COPIES, FEW = 10, 6, 12


def _measure(tasks: Sequence[PhotoTask], workers: int) -> float:
    """Seconds of wall time, start-up of the workers included."""
    began = time.perf_counter()
    results = list(measure_all(tasks, measure=measure_photo, workers=workers))
    seconds = time.perf_counter() - began
    assert not any(r.failure for r in results)
    return seconds


def _measure_on_one_core(tasks: Sequence[PhotoTask]) -> float:
    """The same in this process, held to one core and one thread."""
    cores, threads = os.sched_getaffinity(0), cv2.getNumThreads()
    os.sched_setaffinity(0, {min(cores)})
    cv2.setNumThreads(1)
    try:
        return _measure(tasks, 1)
    finally:
        os.sched_setaffinity(0, cores)
        cv2.setNumThreads(threads)


def _largest_worker_mib() -> float:
    """Peak memory of the largest worker process so far."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


def _compare(name: str, tasks: Sequence[PhotoTask]) -> None:
    cores = count_cores()
    few = _measure(tasks[:FEW], cores)
    few_mib = _largest_worker_mib()
    one, every = _measure_on_one_core(tasks), _measure(tasks, cores)
    start_s = few - every * FEW / len(tasks)
    print(
        f"{len(tasks)} {name}: {one:.1f} s on one core, {every:.1f} s on {cores}, "
        f"{one / every:.2f} times as fast (about {start_s:.1f} s of that is starting); at most "
        f"{few_mib:.0f} MiB a worker after {FEW}, {_largest_worker_mib():.0f} after all",
        flush=True,
    )


def main() -> None:
    """Print the ratio of one core's time to all cores' and the workers' peak memory."""
    photos = read_photos("demo")
    demo = [PhotoTask(p.name, p.path, FixedMotion(p.motion, p.layer_height_mm)) for p in photos]
    _compare("demo photos", demo)
    with tempfile.TemporaryDirectory() as folder:
        phone = [
            PhotoTask(
                p.name,
                save_as_phone(p.path, Path(folder), megapixels=12),
                FixedMotion(p.motion, p.layer_height_mm),
            )
            for p in photos[:PHONES]
        ]
        _compare("phone-size photos", phone * COPIES)


if __name__ == "__main__":
    main()
