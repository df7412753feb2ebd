"""The store that a command reads, and the stored numbers of the runs that its options choose."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from scoring.store.records import MeasurementRecord
    from scoring.store.run_store import RunStore


@contextmanager
def filled_store(database: str | None) -> "Iterator[RunStore]":
    """The store, for a command that has nothing to say of an empty one.

    Raises :class:`scoring.errors.StoreError`, in the same words, where there is no database and
    where there is nothing in it.
    """
    from scoring.errors import StoreError  # noqa: PLC0415
    from scoring.store.database import locate_database, nothing_stored  # noqa: PLC0415
    from scoring.store.run_store import RunStore  # noqa: PLC0415

    with RunStore.open(database, create=False) as store:
        if store.is_empty():
            if store.deleted():
                raise StoreError(
                    "All that was stored is deleted; coupon restore lists it and brings it back."
                )
            raise nothing_stored(locate_database(database))
        yield store


def read_stored(database: str | None, wanted: Mapping[str, Any]) -> "tuple[MeasurementRecord, ...]":
    """Every wanted photo's numbers, without traces, in order of adding.

    ``wanted`` is what the options of :func:`scoring.cli.options.filter_options` say. Raises
    :class:`scoring.errors.SettingsError` where no run has what is wanted, and
    :class:`scoring.errors.StoreError` as :func:`filled_store` does.
    """
    from scoring.runs.filter import RunFilter  # noqa: PLC0415

    chosen = RunFilter(**wanted)
    with filled_store(database) as store:
        chosen.check_known([r.settings for r in store.runs()])
        return store.measurements(chosen, traces=False)
