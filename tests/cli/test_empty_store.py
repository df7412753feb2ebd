"""Every command that reads the store says the same of one with nothing in it."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from scoring.store.run_store import RunStore

COMMANDS = (
    ("runs",),
    ("show", "A-01"),
    ("rank", "--json"),
    ("compare", "--before", "stock", "--after", "brace"),
    ("limits",),
    ("repeatability",),
    ("report", "--before", "stock", "--after", "brace"),
    ("remeasure",),
    ("export", "all.csv"),
    ("delete", "A-01"),
)
SENTENCE = (
    "Error: Nothing is stored in coupon.db yet. Add photos first (coupon add), or choose another "
    "database (--db or COUPON_DB).\n"
)


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: words[0])
@pytest.mark.parametrize("there", [False, True], ids=["no database", "an empty one"])
def test_nothing_is_stored_yet(
    coupon: Callable[..., Result], here: Path, words: tuple[str, ...], there: bool
) -> None:
    if there:
        RunStore.open("coupon.db").close()
    result = coupon(*words, status=1)
    assert result.stderr == SENTENCE
    assert [json.loads(line)["error"]["code"] for line in result.stdout.splitlines()] == (
        ["store-error"] if "--json" in words else []
    )
    assert [path.name for path in here.iterdir()] == (["coupon.db"] if there else [])
