"""Deleting that can be undone: a deleted run or photo is hidden, and no row of it is dropped."""

from sqlalchemy import select
from sqlalchemy.orm import Session

from scoring.errors import RunNotFoundError, StoreError
from scoring.store.records import DeletedRecord
from scoring.store.rows import in_utc, utc_now
from scoring.store.schema import PhotoRow, RunRow


def hide_run(session: Session, name: str) -> None:
    """Delete a run with its photos. Raises :class:`RunNotFoundError`."""
    run = session.scalar(select(RunRow).where(RunRow.name == name, RunRow.deleted_at.is_(None)))
    if run is None:
        raise RunNotFoundError(f"There is no run {name!r} to delete.")
    run.deleted_at = utc_now()
    for photo in run.photos:
        # The run's own moment marks what goes, and comes back, together with it.
        photo.deleted_at = photo.deleted_at or run.deleted_at


def hide_photo(session: Session, sha256: str) -> None:
    """Delete one photo; its run stays. Raises :class:`StoreError` if it is not there."""
    photo = session.scalar(
        select(PhotoRow).where(PhotoRow.sha256 == sha256, PhotoRow.deleted_at.is_(None))
    )
    if photo is None:
        raise StoreError(f"No photo with the hash {sha256} is stored.")
    photo.deleted_at = utc_now()


def bring_back_run(session: Session, name: str) -> None:
    """Undo :func:`hide_run`, with the photos that went with the run.

    Photos deleted singly before stay so. Raises :class:`RunNotFoundError` where no run of that
    name is deleted.
    """
    run = session.scalar(select(RunRow).where(RunRow.name == name, RunRow.deleted_at.is_not(None)))
    if run is None:
        raise RunNotFoundError(f"There is no deleted run {name!r} to bring back.")
    for photo in run.photos:
        if photo.deleted_at == run.deleted_at:
            photo.deleted_at = None
    run.deleted_at = None


def bring_back_photo(session: Session, sha256: str) -> None:
    """Undo :func:`hide_photo`, and the run's deletion if that was deleted since.

    Raises :class:`StoreError` where no such photo is deleted.
    """
    photo = session.scalar(
        select(PhotoRow).where(PhotoRow.sha256 == sha256, PhotoRow.deleted_at.is_not(None))
    )
    if photo is None:
        raise StoreError(f"No photo with the hash {sha256} is deleted.")
    photo.deleted_at = None
    photo.run.deleted_at = None


def list_deleted(session: Session) -> tuple[DeletedRecord, ...]:
    """What could be brought back, latest first: runs, and photos that were deleted singly."""
    found = [
        DeletedRecord(
            run.name,
            None,
            None,
            sum(photo.deleted_at == run.deleted_at for photo in run.photos),
            in_utc(run.deleted_at),
        )
        for run in session.scalars(select(RunRow).where(RunRow.deleted_at.is_not(None)))
        if run.deleted_at is not None
    ]
    photos = select(PhotoRow).join(PhotoRow.run).where(PhotoRow.deleted_at.is_not(None))
    found += [
        DeletedRecord(
            photo.run.name, photo.sha256, photo.name, 1, in_utc(photo.deleted_at)
        )
        for photo in session.scalars(photos)
        if photo.deleted_at is not None and photo.deleted_at != photo.run.deleted_at
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda record: record.deleted_at, reverse=True))
