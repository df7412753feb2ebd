"""Columns of one's own values, as CSV and Parquet take them."""

import io
from collections.abc import Callable
from typing import Any

import pandas as pd
import pytest

from scoring.runs.settings import RunSettings
from scoring.store.export import photo_table
from scoring.store.run_store import MeasuredPhoto, RunStore


@pytest.mark.parametrize("database", ["sqlite"], indirect=True)
@pytest.mark.parametrize(
    ("values", "column"),
    [
        ((True, False), [True, False]),
        ((True, 92.0), ["True", "92.0"]),
        ((92, "glass"), ["92", "glass"]),
        ((92, 92.5), [92.0, 92.5]),
        ((10**30, 1), [1e30, 1.0]),
        ((10**400, 1), [str(10**400), "1"]),
    ],
)
def test_a_column_is_of_one_kind(
    store: RunStore,
    settings: Callable[..., RunSettings],
    photo: Callable[..., MeasuredPhoto],
    values: tuple[Any, ...],
    column: list[Any],
) -> None:
    for k, value in enumerate(values):
        store.record_photo(settings(f"A-{k}", extra={"own": value}), photo(str(k).encode()))
    store.record_photo(settings("A-9"), photo(b"without"))
    table = photo_table(store.measurements())
    content = io.BytesIO()
    table.to_parquet(content, index=False)
    read = pd.read_parquet(content)["extra.own"]
    assert [*read.dropna()] == column
    assert read.isna().sum() == 1
