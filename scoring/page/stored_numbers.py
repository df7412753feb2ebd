"""All stored numbers, read anew only once the database has changed."""

from pathlib import Path

import streamlit as st

from scoring.page.opened_store import opened_store
from scoring.ranking.run_numbers import RunNumbers, numbers_by_run
from scoring.store.database import locate_database
from scoring.store.records import MeasurementRecord

Stamp = tuple[str, int, int]


def database_stamp() -> Stamp | None:
    """What changes with every write to an SQLite file; ``None`` where there is no such file."""
    url = locate_database(None)
    if url.get_backend_name() != "sqlite":
        return None
    path = Path(str(url.database))
    try:
        state = path.stat()
    except OSError:
        return None
    return str(path.resolve()), state.st_mtime_ns, state.st_size


def stored_records() -> tuple[MeasurementRecord, ...]:
    """Every photo's numbers without traces. Raises :class:`StoreError` as the store does."""
    # The stamp is taken before reading: what is written meanwhile only makes it outdated sooner.
    stamp = database_stamp()
    return _read() if stamp is None else _read_once(stamp)


def stored_numbers() -> tuple[RunNumbers, ...]:
    """Every run's numbers, its photos together. Raises as :func:`stored_records`."""
    stamp = database_stamp()
    return numbers_by_run(_read()) if stamp is None else _gather_once(stamp)


def _read() -> tuple[MeasurementRecord, ...]:
    with opened_store() as store:
        return store.measurements(traces=False) if store else ()


# Records are frozen, so that all sessions may share them.
@st.cache_resource(max_entries=2, show_spinner=False)
def _read_once(stamp: Stamp) -> tuple[MeasurementRecord, ...]:
    del stamp
    return _read()


@st.cache_resource(max_entries=2, show_spinner=False)
def _gather_once(stamp: Stamp) -> tuple[RunNumbers, ...]:
    return numbers_by_run(_read_once(stamp))
