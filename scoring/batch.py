"""Measuring many photos over all processor cores, results in the order of the photos."""

import itertools
import multiprocessing
import os
import signal
import traceback
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from scoring.errors import ScoringError, SettingsError
from scoring.geometry import BLADE
from scoring.measurement import Corners, Measurement
from scoring.metrics import FaceName
from scoring.motion import Motion
from scoring.remedies import FEWER_AT_ONCE
from scoring.runs.plan import Chosen, LabelText, Plan


class Measured(Protocol):
    """One photo's numbers and its rectified face as JPEG, zones drawn; empty if not asked for."""

    @property
    def measurement(self) -> Measurement: ...

    @property
    def face_jpeg(self) -> bytes: ...


class MeasureFunction(Protocol):
    """What measures one photo: ``scoring.measure.measure_photo``, or another in its place.

    It must be importable by name, since it travels to worker processes.
    """

    def __call__(
        self,
        source: Path | bytes,
        *,
        name: str,
        motion: Motion | Callable[[LabelText | None], Motion],
        face: FaceName | None = None,
        layer_height_mm: float | None = None,
        corners_px: Corners | None = None,
        picture: bool = True,
    ) -> Measured: ...


@dataclass(frozen=True)
class PhotoTask:
    """A photo to measure: its file or bytes, its name in every result, and how to choose settings.

    With ``face`` the photo must show that face; with ``corners_px`` it is placed by these, not by
    the card; without ``picture`` the face is not drawn.
    """

    name: str
    source: Path | bytes
    plan: Plan
    face: FaceName | None = None
    corners_px: Corners | None = None
    picture: bool = True


@dataclass(frozen=True)
class Failure:
    """Why a photo gave no numbers; ``trace`` only where the program itself is at fault."""

    code: str
    message: str
    trace: str = ""

    def to_json(self) -> dict[str, str]:
        """What stands under ``error`` in the JSON output."""
        return {"code": self.code, "message": self.message}

    @staticmethod
    def of(error: Exception) -> "Failure":
        """The failure that ``error`` stands for."""
        if isinstance(error, ScoringError):
            return Failure(error.code, str(error))
        return Failure(
            "internal-error",
            f"the program failed on this photo ({type(error).__name__}: {error}); please report it "
            f"with the photo.",
            "".join(traceback.format_exception(error)),
        )


@dataclass(frozen=True)
class PhotoResult:
    """Numbers and the settings chosen for them, or a failure."""

    measured: Measured | None
    chosen: Chosen | None
    failure: Failure | None


def measure_task(task: PhotoTask, measure: MeasureFunction) -> PhotoResult:
    """Measure one photo; whatever goes wrong with it becomes its :class:`Failure`."""
    chosen: list[Chosen] = []

    def motion_for(label: LabelText | None) -> Motion:
        chosen.append(task.plan.choose(label))
        return chosen[-1].motion

    try:
        height_mm = _height_before_label(task.plan)
        measured = measure(
            task.source,
            name=task.name,
            motion=motion_for,
            face=task.face,
            layer_height_mm=height_mm,
            corners_px=task.corners_px,
            picture=task.picture,
        )
        told_mm = chosen[-1].layer_height_mm if chosen else height_mm
        # The label named a run of another layer height than assumed: only the gaps depend on it.
        if measured.measurement.face is FaceName.FLOW and _height(told_mm) != _height(height_mm):
            measured = measure(
                task.source, name=task.name, motion=motion_for, face=task.face,
                layer_height_mm=told_mm, corners_px=task.corners_px, picture=task.picture,
            )  # fmt: skip
    except Exception as error:  # one bad photo must not stop the others
        return PhotoResult(None, None, Failure.of(error))
    return PhotoResult(measured, chosen[-1] if chosen else None, None)


def _height_before_label(plan: Plan) -> float | None:
    try:
        return plan.choose(None).layer_height_mm
    except SettingsError:
        return None


def _height(layer_height_mm: float | None) -> float:
    return BLADE.nominal_layer_mm if layer_height_mm is None else layer_height_mm


def measure_all(
    tasks: Iterable[PhotoTask | PhotoResult],
    *,
    measure: MeasureFunction,
    workers: int | None = None,
) -> Iterator[PhotoResult]:
    """Measure ``tasks`` in ``workers`` processes (all cores if ``None``), results in their order.

    This process is one of them, so a single worker or task starts none. ``tasks`` may be endless:
    only a few are taken ahead of the results. A task that is a result already comes back in its
    turn. Raises :class:`ScoringError` where a worker process is killed.
    """
    workers = workers or count_cores()
    tasks = iter(tasks)
    first = list(itertools.islice(tasks, 2))
    tasks = itertools.chain(first, tasks)
    if workers == 1 or len(first) < 2:
        for task in tasks:
            yield task if isinstance(task, PhotoResult) else measure_task(task, measure)
        return
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(workers - 1, mp_context=context, initializer=_calm_worker)
    # One thread a process hands it a task at a time; the rest stay free for whoever is idle first.
    feeders = ThreadPoolExecutor(workers - 1)

    def start(task: PhotoTask | PhotoResult) -> _Ahead:
        if isinstance(task, PhotoTask):
            return task, feeders.submit(lambda: pool.submit(measure_task, task, measure).result())
        return task, _ready(task)

    def take(ahead: deque[_Ahead]) -> PhotoResult:
        """The first result; until it is there, what no process has begun is measured here."""
        for k in range(1, len(ahead)):
            task, future = ahead[k]
            if ahead[0][1].done():
                break
            if isinstance(task, PhotoTask) and future.cancel():
                ahead[k] = task, _ready(measure_task(task, measure))
        return ahead.popleft()[1].result()

    ahead: deque[_Ahead] = deque()
    try:
        with _one_thread():
            for task in tasks:
                ahead.append(start(task))
                if len(ahead) > 3 * workers:
                    yield take(ahead)
            while ahead:
                yield take(ahead)
    except BrokenProcessPool as error:
        raise ScoringError(
            f"A worker process was killed, most often for want of memory; {FEWER_AT_ONCE}."
        ) from error
    finally:
        feeders.shutdown(wait=False, cancel_futures=True)
        pool.shutdown(cancel_futures=True)


_Ahead = tuple[PhotoTask | PhotoResult, Future[PhotoResult]]


def _ready(result: PhotoResult) -> Future[PhotoResult]:
    future: Future[PhotoResult] = Future()
    future.set_result(result)
    return future


def _calm_worker() -> None:
    """One thread a worker, since workers fill the cores; the main process takes Ctrl-C."""
    from scoring.photo.opencv import cv2  # noqa: PLC0415  workers only

    cv2.setNumThreads(1)
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def _one_thread() -> Iterator[None]:
    """The same for this process while it is a worker."""
    from scoring.photo.opencv import cv2  # noqa: PLC0415  as above

    threads = cv2.getNumThreads()
    cv2.setNumThreads(1)
    try:
        yield
    finally:
        cv2.setNumThreads(threads)


def count_cores() -> int:
    """How many cores this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1
