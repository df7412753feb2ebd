"""The demo: the photos that come with the package, measured, ranked and reported on."""

from collections.abc import Iterator, Sequence
from pathlib import Path

import scoring
from scoring.adding import AddedPhoto, add_photos
from scoring.batch import MeasureFunction, PhotoTask
from scoring.comparing.compare import compare_sides
from scoring.errors import MissingPackageError
from scoring.ranking.rank import SCORE, RankedRun, rank_runs
from scoring.ranking.run_numbers import numbers_by_run
from scoring.ranking.score import read_score_table
from scoring.reporting.writing import write_report
from scoring.runs.plan import plan_photos
from scoring.runs.settings_file import settings_from_toml
from scoring.store.run_store import RunStore

SETTINGS_FILE = "runs.toml"
COMPUTED = "An example: its photos are computed, not taken, and no print was made for it."


def find_demo_photos(package: Path | None = None) -> Path:
    """The folder of the demo's photos: inside the package once installed, else the source tree's.

    Raises :class:`MissingPackageError` where neither is there.
    """
    package = package or Path(scoring.__file__).parent
    for folder in (package / "demo_photos", package.parent / "reference_images" / "demo"):
        if (folder / SETTINGS_FILE).exists():
            return folder
    raise MissingPackageError(
        "The demo's photos are not part of this installation; install it again from its source."
    )


def add_demo_photos(
    store: RunStore, folder: Path, *, measure: MeasureFunction, workers: int | None = None
) -> tuple[int, Iterator[AddedPhoto]]:
    """How many photos ``folder``'s ``runs.toml`` lists, and what becomes of each as it is added.

    A store of an earlier demo is brought to the file's settings and the method of now. Raises
    :class:`SettingsError` for a file that is wrong.
    """
    listed = settings_from_toml(folder / SETTINGS_FILE)
    photos = [(photo, run.settings) for run in listed for photo in run.photos]
    plans = plan_photos(
        [run for _, run in photos],
        runs=[run.settings for run in listed],
        stored={record.settings.name: record.settings for record in store.runs()},
        given={},
    )
    tasks = [
        PhotoTask(photo.name, photo, plan) for (photo, _), plan in zip(photos, plans, strict=True)
    ]
    return len(tasks), add_photos(store, tasks, measure=measure, update=True, workers=workers)


def report_demo(
    store: RunStore,
    path: Path,
    *,
    note: str = COMPUTED,
    options: Sequence[tuple[str, str]] = (),
) -> str:
    """Write the report on the frame brace to ``path`` and give back its verdict.

    ``note`` says what photos these are, ``options`` are those of the line that repeats it.

    Raises :class:`scoring.errors.SideNotFoundError` where the store has no stock and brace to
    compare, and :class:`SettingsError` where ``path`` cannot be written.
    """
    found = compare_sides(store.measurements(), factor="setup", before="stock", after="brace")
    write_report(found, path, read_face=store.face_jpeg, note=note, options=options)
    return found.verdict


def rank_demo_runs(store: RunStore) -> tuple[RankedRun, ...]:
    """The store's runs ranked by score."""
    return rank_runs(
        numbers_by_run(store.measurements(traces=False)), by=SCORE, table=read_score_table()
    )
