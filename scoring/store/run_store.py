"""The store of runs, photos and numbers."""

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Engine, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from scoring.errors import RunNotFoundError, StoreError
from scoring.measurement import Measurement
from scoring.motion import Motion
from scoring.remedies import MOVE_PHOTO, SEE_RUNS
from scoring.runs.filter import RunFilter
from scoring.runs.settings import RunSettings, closest_name
from scoring.store.database import locate_database, open_engine, plain_errors
from scoring.store.deleting import (
    bring_back_photo,
    bring_back_run,
    hide_photo,
    hide_run,
    list_deleted,
)
from scoring.store.reading import read_measurements
from scoring.store.recording import PhotoChange, put_measurement, put_run
from scoring.store.records import (
    DeletedRecord,
    MeasurementRecord,
    PhotoRecord,
    RunRecord,
)
from scoring.store.rows import make_measurement_row, read_photo, read_run, read_settings, utc_now
from scoring.store.schema import MeasurementRow, PhotoRow, RunRow


@dataclass(frozen=True)
class MeasuredPhoto:
    """A photo with its numbers, ready to be recorded."""

    name: str
    content: bytes
    measurement: Measurement
    face_jpeg: bytes

    @property
    def sha256(self) -> str:
        """The hash that identifies the photo's content, in hexadecimal."""
        return hash_photo(self.content)


def hash_photo(content: bytes) -> str:
    """SHA-256 of a photo's bytes, in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


class RunStore:
    """Runs, their photos and numbers; every method is one transaction.

    Each method raises :class:`StoreError` where the database cannot do it, and then has changed
    nothing. Use as a context manager, or call :meth:`close`.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    @classmethod
    def open(cls, database: str | Path | None = None, *, create: bool = True) -> Self:
        """Open ``database`` (a path or URL; see :func:`locate_database`) and migrate its schema."""
        return cls(open_engine(locate_database(database), create=create))

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @contextmanager
    def _reading(self) -> Iterator[Session]:
        engine = self._engine
        if engine.dialect.name == "postgresql":  # one state for all queries, as SQLite gives it
            engine = engine.execution_options(isolation_level="REPEATABLE READ")
        with plain_errors(engine.url), Session(engine) as session:
            yield session

    @contextmanager
    def _writing(self) -> Iterator[Session]:
        # Taking SQLite's write lock at once: two programs that both read, then both want to write,
        # would otherwise fail instead of taking turns.
        engine = self._engine.execution_options(begin="IMMEDIATE")
        with plain_errors(self._engine.url), Session(engine) as session, session.begin():
            yield session

    def record_run(self, settings: RunSettings, *, update: bool = False) -> None:
        """Record a run, with or without photos yet.

        Settings left out, or ``None``, leave what is stored alone. ``update`` and errors are as for
        :func:`put_run`.
        """
        with self._writing() as session:
            put_run(session, settings, update=update)

    def record_photo(
        self,
        settings: RunSettings,
        photo: MeasuredPhoto,
        *,
        update: bool = False,
        move: bool = False,
    ) -> PhotoChange:
        """Record a photo, its numbers and, if it is new, its run: all or nothing.

        The same content under the same run changes nothing. Raises :class:`StoreError` where the
        photo belongs to another run, unless ``move`` takes it over with its new numbers, and where
        the run is there with other settings (see :meth:`record_run`). A deleted photo comes back
        with its new numbers, under whichever run.
        """
        try:
            return self._record_photo(settings, photo, update=update, move=move)
        except StoreError as error:
            # Another program recorded the same run or photo at the same moment: now it is there.
            if not isinstance(error.__cause__, IntegrityError):
                raise
            return self._record_photo(settings, photo, update=update, move=move)

    def _record_photo(
        self, settings: RunSettings, photo: MeasuredPhoto, *, update: bool, move: bool
    ) -> PhotoChange:
        with self._writing() as session:
            run = put_run(session, settings, update=update)
            row = session.scalar(select(PhotoRow).where(PhotoRow.sha256 == photo.sha256))
            deleted = row is not None and row.deleted_at is not None
            if row is not None and not deleted:
                if row.run is run:
                    return PhotoChange.ALREADY_THERE
                if not move:
                    raise other_run_error(photo.name, read_photo(row), settings.name)
            if row is None:
                change = PhotoChange.ADDED
                row = PhotoRow(
                    added_at=utc_now(),
                    sha256=photo.sha256,
                    name=photo.name,
                    size_bytes=len(photo.content),
                    content=photo.content,
                )
                session.add(row)
            else:
                change = PhotoChange.BROUGHT_BACK if deleted else PhotoChange.MOVED
                row.deleted_at = None
            row.run = run
            put_measurement(
                session,
                row,
                make_measurement_row(
                    photo.measurement, photo.face_jpeg, settings.motion, settings.layer_height_mm
                ),
            )
            return change

    def replace_measurement(
        self,
        sha256: str,
        measurement: Measurement,
        face_jpeg: bytes,
        *,
        motion: Motion,
        layer_height_mm: float | None,
    ) -> None:
        """Put a photo's new numbers in place of its old ones."""
        with self._writing() as session:
            new = make_measurement_row(measurement, face_jpeg, motion, layer_height_mm)
            put_measurement(session, _photo_row(session, sha256), new)

    def run(self, name: str) -> RunRecord:
        """One run, its name as it is stored or in small letters.

        Raises :class:`RunNotFoundError` that names the nearest.
        """
        with self._reading() as session:
            found = _run_records(session, name) or _run_records(session, name.upper())
            if found:
                return found[0]
            names = session.scalars(select(RunRow.name).where(RunRow.deleted_at.is_(None))).all()
        near = closest_name(name, names)
        raise RunNotFoundError(
            f"There is no run {name!r}." + (f" Did you mean {near}?" if near else f" {SEE_RUNS}")
        )

    def is_empty(self) -> bool:
        """Whether there is no run, deleted ones aside."""
        with self._reading() as session:
            present = select(RunRow.id).where(RunRow.deleted_at.is_(None))
            return session.scalar(present.limit(1)) is None

    def runs(self) -> tuple[RunRecord, ...]:
        """Every run, in order of machine, setup, acceleration and name."""
        with self._reading() as session:
            return tuple(_run_records(session))

    def known_settings(self) -> dict[str, RunSettings]:
        """Every run's settings by its name; deleted runs', too, over which a new photo's lie."""
        with self._reading() as session:
            return {row.name: read_settings(row) for row in session.scalars(select(RunRow))}

    def measurements(
        self, wanted: RunFilter | None = None, *, run: str | None = None, traces: bool = True
    ) -> tuple[MeasurementRecord, ...]:
        """The numbers of every photo of the wanted runs, or of one ``run``, in order of adding.

        Without ``traces``, whose reading takes most of the time, each is left empty.
        """
        with self._reading() as session:
            records = read_measurements(session, run=run, traces=traces)
        return tuple(r for r in records if wanted is None or wanted.passes(r.settings))

    def find_photo(self, sha256: str) -> PhotoRecord | None:
        """The photo with this content hash, or ``None``."""
        with self._reading() as session:
            row = session.scalar(
                select(PhotoRow).where(PhotoRow.sha256 == sha256, PhotoRow.deleted_at.is_(None))
            )
            return None if row is None else read_photo(row)

    def delete_run(self, name: str) -> None:
        """Hide a run and its photos, until :meth:`restore_run`; see :func:`hide_run`."""
        with self._writing() as session:
            hide_run(session, name)

    def delete_photo(self, sha256: str) -> None:
        """Hide one photo, until :meth:`restore_photo`; see :func:`hide_photo`."""
        with self._writing() as session:
            hide_photo(session, sha256)

    def restore_run(self, name: str) -> None:
        """Bring a deleted run back; see :func:`bring_back_run`."""
        with self._writing() as session:
            bring_back_run(session, name)

    def restore_photo(self, sha256: str) -> None:
        """Bring a deleted photo back; see :func:`bring_back_photo`."""
        with self._writing() as session:
            bring_back_photo(session, sha256)

    def deleted(self) -> tuple[DeletedRecord, ...]:
        """What was deleted and can be brought back, latest first."""
        with self._reading() as session:
            return list_deleted(session)

    def photo_bytes(self, sha256: str) -> bytes:
        """A photo as it came. Raises :class:`StoreError` if it is not there."""
        with self._reading() as session:
            return _photo_row(session, sha256).content

    def face_jpeg(self, sha256: str) -> bytes:
        """A photo's rectified face with its zones drawn. Raises as :meth:`photo_bytes`."""
        with self._reading() as session:
            return _photo_row(session, sha256).measurement.face_jpeg


def other_run_error(name: str, known: PhotoRecord, run: str) -> StoreError:
    """What to say where a stored photo is added to another run."""
    return StoreError(
        f"{name}: this very photo is already in run {known.run} (as {known.name}), so it cannot "
        f"also show run {run}. If it was put in the wrong run, {MOVE_PHOTO}."
    )


def _run_records(session: Session, name: str | None = None) -> list[RunRecord]:
    """Every run, or the one called ``name``, in the order of :meth:`RunStore.runs`, deleted ones
    left out."""
    order = (RunRow.machine, RunRow.setup, RunRow.accel_mm_s2, RunRow.name)
    runs = select(RunRow).where(RunRow.deleted_at.is_(None)).order_by(*order)
    faces = select(PhotoRow.run_id, MeasurementRow.face).join(MeasurementRow.photo)
    faces = faces.where(PhotoRow.deleted_at.is_(None))
    if name is not None:
        runs = runs.where(RunRow.name == name)
        faces = faces.join(RunRow, PhotoRow.run_id == RunRow.id).where(RunRow.name == name)
    seen: dict[int, list[str]] = {}
    for run_id, face in session.execute(faces):
        seen.setdefault(run_id, []).append(face)
    return [read_run(row, seen.get(row.id, [])) for row in session.scalars(runs)]


def _photo_row(session: Session, sha256: str) -> PhotoRow:
    row = session.scalar(select(PhotoRow).where(PhotoRow.sha256 == sha256))
    if row is None:
        raise StoreError(f"No photo with the hash {sha256} is stored.")
    return row
