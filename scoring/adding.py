"""Adding photos to the store: measure what is new, record each with its run, all or nothing.

Where a run's settings were corrected by it, that run's photos are measured again.
"""

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from scoring.batch import Failure, MeasureFunction, PhotoResult, PhotoTask, measure_all
from scoring.errors import LabelNeededError, PhotoUnreadableError, ScoringError, SettingsError
from scoring.measurement import Measurement
from scoring.remeasuring import remeasure, stale_photos
from scoring.store.recording import PhotoChange
from scoring.store.records import PhotoRecord
from scoring.store.run_store import MeasuredPhoto, RunStore, hash_photo, other_run_error


@dataclass(frozen=True)
class AddedPhoto:
    """What became of one photo: its run and what changed, or why it could not be added.

    A failure with a ``run`` is that of a stored photo, which keeps its old numbers.
    """

    name: str
    run: str | None
    change: PhotoChange | None
    measurement: Measurement | None
    failure: Failure | None


def add_photos(
    store: RunStore,
    tasks: Iterable[PhotoTask],
    *,
    measure: MeasureFunction,
    update: bool = False,
    move: bool = False,
    workers: int | None = None,
    corrected: Iterable[str] = (),
) -> Iterator[AddedPhoto]:
    """Measure and record photos, a result each in their order.

    Each photo is recorded by itself as soon as it is measured, so that an interruption loses only
    those not yet reached. A photo that is stored already is not measured again. ``update`` and
    ``move`` act as in :meth:`RunStore.record_photo`. With ``update`` further results follow: the
    photos of these runs, and of those just ``corrected``, whose numbers are out of date then.
    """
    touched = set(corrected)
    for result in _add_each(store, tasks, measure, update=update, move=move, workers=workers):
        if result.run is not None:
            touched.add(result.run)
        yield result
    if not update or not touched:
        return
    for again in remeasure(
        store, stale_photos(store, runs=touched), measure=measure, workers=workers
    ):
        change = None if again.failure else PhotoChange.MEASURED_AGAIN
        name, run = again.old.photo.name, again.old.settings.name
        yield AddedPhoto(name, run, change, again.new, again.failure)


def _add_each(
    store: RunStore,
    tasks: Iterable[PhotoTask],
    measure: MeasureFunction,
    *,
    update: bool,
    move: bool,
    workers: int | None,
) -> Iterator[AddedPhoto]:
    waiting: deque[tuple[PhotoTask, bytes, AddedPhoto | None]] = deque()

    def prepared() -> Iterator[PhotoTask | PhotoResult]:
        for task in tasks:
            content, answer = b"", None
            try:
                content = read_bytes(task.source)
                known = None if move else store.find_photo(hash_photo(content))
                if known is not None:
                    answer = _confirm_known(store, task, known, update=update)
            except ScoringError as error:
                answer = AddedPhoto(task.name, None, None, None, Failure.of(error))
            waiting.append((task, content, answer))
            if answer is None:
                yield replace(task, source=content)
            else:
                yield PhotoResult(None, None, answer.failure)

    for result in measure_all(prepared(), measure=measure, workers=workers):
        task, content, answer = waiting.popleft()
        yield answer or _record(store, task.name, content, result, update=update, move=move)


def read_bytes(source: Path | bytes) -> bytes:
    """A photo's bytes. Raises :class:`PhotoUnreadableError` where the file cannot be read."""
    if isinstance(source, bytes):
        return source
    try:
        return source.read_bytes()
    except OSError as error:
        raise PhotoUnreadableError(
            f"{source} cannot be read ({error.strerror}). Check the path: those in a settings file "
            "count from that file's folder."
        ) from error


def _confirm_known(
    store: RunStore, task: PhotoTask, known: PhotoRecord, *, update: bool
) -> AddedPhoto:
    """The answer for a photo that is stored already, without measuring it.

    Its run may be named by its label alone; then it is the run it was stored under.
    """
    try:
        settings = task.plan.choose(None).settings
    except LabelNeededError:
        stored = store.run(known.run).settings
        settings = task.plan.choose(_AsLabelled(known.run, stored.axis)).settings
    if settings is not None:
        if settings.name != known.run:
            raise other_run_error(task.name, known, settings.name)
        store.record_run(settings, update=update)
    return AddedPhoto(task.name, known.run, PhotoChange.ALREADY_THERE, None, None)


@dataclass(frozen=True)
class _AsLabelled:
    """What a stored photo's label must have said."""

    run: str
    axis: str


def _record(
    store: RunStore, name: str, content: bytes, result: PhotoResult, *, update: bool, move: bool
) -> AddedPhoto:
    if result.measured is None or result.chosen is None or result.chosen.settings is None:
        nothing = Failure.of(SettingsError("no run was chosen for it."))
        return AddedPhoto(name, None, None, None, result.failure or nothing)
    settings, measured = result.chosen.settings, result.measured
    photo = MeasuredPhoto(Path(name).name, content, measured.measurement, measured.face_jpeg)
    try:
        change = store.record_photo(settings, photo, update=update, move=move)
    except ScoringError as error:
        return AddedPhoto(name, None, None, None, Failure.of(error))
    return AddedPhoto(name, settings.name, change, measured.measurement, None)
