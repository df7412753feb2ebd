"""Recording runs and measurements, in the session of whoever asks."""

from enum import StrEnum

from sqlalchemy import select
from sqlalchemy.orm import Session

from scoring.errors import StoreError
from scoring.label import require_run_name
from scoring.remedies import CORRECT_SETTINGS
from scoring.runs.settings import RunSettings, differences, lay_over
from scoring.store.rows import read_settings, utc_now, write_settings
from scoring.store.schema import MeasurementRow, PhotoRow, RunRow


class PhotoChange(StrEnum):
    """What was done with a photo."""

    ADDED = "added"
    ALREADY_THERE = "already there"
    MOVED = "moved"
    BROUGHT_BACK = "brought back"
    MEASURED_AGAIN = "measured again"


def put_run(session: Session, settings: RunSettings, *, update: bool) -> RunRow:
    """The run's row, new or with ``settings`` laid over what it holds.

    A deleted run is there again, its photos stay deleted. Raises :class:`StoreError` that lists the
    differences if the run is there with others and has photos, unless ``update`` takes them over,
    and :class:`SettingsError` for a new run whose name no label can carry.
    """
    row = session.scalar(select(RunRow).where(RunRow.name == settings.name))
    if row is None:
        require_run_name(settings.name)
        row = RunRow(added_at=utc_now())
        write_settings(row, settings)
        session.add(row)
        return row
    old = read_settings(row)
    new = lay_over(old, settings)
    changed = differences(old, new)
    # Nothing was measured with the settings of a run without photos: they may still change.
    used = session.scalar(select(PhotoRow.id).where(PhotoRow.run == row).limit(1)) is not None
    if changed and used and not update:
        there = "already there" if row.deleted_at is None else "deleted, but kept,"
        raise StoreError(
            f"Run {settings.name} is {there} with other settings: "
            f"{'; '.join(map(str, changed))}. Give the new print another run name, or "
            f"{CORRECT_SETTINGS}."
        )
    if changed:
        write_settings(row, new)
    row.deleted_at = None  # what is recorded again is wanted again
    return row


def put_measurement(session: Session, photo: PhotoRow, new: MeasurementRow) -> None:
    """Give ``photo`` its new numbers, in place of any that it has."""
    old = session.scalar(select(MeasurementRow).where(MeasurementRow.photo == photo))
    if old is not None:
        session.delete(old)
        session.flush()  # the old row must go first: a photo has one measurement
    new.photo = photo
    session.add(new)
