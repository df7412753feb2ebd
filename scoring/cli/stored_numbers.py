"""The stored numbers of the runs that the filter options choose."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from scoring.store.records import MeasurementRecord


def read_stored(database: str | None, wanted: Mapping[str, Any]) -> "tuple[MeasurementRecord, ...]":
    """Every wanted photo's numbers, without traces, in order of adding.

    ``wanted`` is what the options of :func:`scoring.cli.options.filter_options` say. Raises
    :class:`scoring.errors.SettingsError` where no run at all has a wanted value, and
    :class:`scoring.errors.StoreError` where there is no store.
    """
    from scoring.runs.filter import RunFilter  # noqa: PLC0415
    from scoring.store.run_store import RunStore  # noqa: PLC0415

    chosen = RunFilter(**wanted)
    with RunStore.open(database, create=False) as store:
        chosen.check_known([r.settings for r in store.runs()])
        return store.measurements(chosen, traces=False)
