"""How much faster many photos are measured on all cores than on one, and in how much memory."""

import multiprocessing
import os
import resource
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from multiprocessing.process import BaseProcess
from pathlib import Path

import cv2

sys.path.insert(0, str(Path(__file__).parents[2]))

from scoring.batch import PhotoTask, count_cores, measure_all
from scoring.measure import measure_photo
from scoring.runs.plan import FixedMotion
from tests.benchmarks.phone_photos import save_as_phone
from tests.reference_photos import read_photos

PHONES, COPIES, FEW = 10, 6, 12


@dataclass(frozen=True)
class Spent:
    """What a batch took: ``cpu_s`` over all processes, ``few_mib`` the largest worker's peak memory
    after the first ``FEW`` photos and ``mib`` after all; start-up included."""

    wall_s: float
    cpu_s: float
    few_mib: float
    mib: float


def _measure(tasks: Sequence[PhotoTask], workers: int) -> Spent:
    wall_s, cpu_s = time.perf_counter(), _cpu_s()
    mib = [0.0]
    for result in measure_all(tasks, measure=measure_photo, workers=workers):
        assert not result.failure
        mib.append(max([mib[-1], *map(_peak_mib, multiprocessing.active_children())]))
    return Spent(time.perf_counter() - wall_s, _cpu_s() - cpu_s, mib[FEW], mib[-1])


def _measure_on_one_core(tasks: Sequence[PhotoTask]) -> Spent:
    """The same in this process, held to one core and one thread."""
    cores, threads = os.sched_getaffinity(0), cv2.getNumThreads()
    os.sched_setaffinity(0, {min(cores)})
    cv2.setNumThreads(1)
    try:
        return _measure(tasks, 1)
    finally:
        os.sched_setaffinity(0, cores)
        cv2.setNumThreads(threads)


def _cpu_s() -> float:
    """CPU time of this process and of the workers that have ended."""
    spent = (resource.getrusage(w) for w in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(s.ru_utime + s.ru_stime for s in spent)


def _peak_mib(worker: BaseProcess) -> float:
    """Peak memory of a running process (Linux: VmHWM of proc(5), in KiB)."""
    status = Path(f"/proc/{worker.pid}/status").read_text("ascii")
    return float(status.partition("VmHWM:")[2].split()[0]) / 1024


def _compare(name: str, tasks: Sequence[PhotoTask]) -> None:
    cores = count_cores()
    one, every = _measure_on_one_core(tasks), _measure(tasks, cores)
    print(
        f"{len(tasks)} {name}: {one.wall_s:.1f} s on one core, {every.wall_s:.1f} s on {cores}, "
        f"{one.wall_s / every.wall_s:.2f} times as fast; by CPU time (were the cores not shared) "
        f"{cores * one.cpu_s / every.cpu_s:.2f}; at most {every.few_mib:.0f} MiB a worker after "
        f"{FEW} photos, {every.mib:.0f} after all",
        flush=True,
    )


def main() -> None:
    """Print the ratio of one core's time to all cores' and the workers' peak memory."""
    photos = read_photos("demo")
    demo = [
        PhotoTask(p.name, p.path, FixedMotion(p.motion, p.layer_height_mm), picture=False)
        for p in photos
    ]
    _compare("demo photos", demo)
    with tempfile.TemporaryDirectory() as folder:
        phone = [
            PhotoTask(
                p.name,
                save_as_phone(p.path, Path(folder), megapixels=12),
                FixedMotion(p.motion, p.layer_height_mm),
                picture=False,
            )
            for p in photos[:PHONES]
        ]
        _compare("phone-size photos", phone * COPIES)


if __name__ == "__main__":
    main()
