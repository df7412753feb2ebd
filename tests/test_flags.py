"""Every flag has its sentence, and is set somewhere."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import scoring
from scoring.flags import SENTENCES, Flag, each_once

SOURCE = Path(scoring.__file__).parent


@pytest.mark.parametrize("flag", list(Flag))
def test_every_flag_is_explained(flag: Flag) -> None:
    assert SENTENCES[flag].endswith(".")


@pytest.mark.parametrize("flag", list(Flag))
def test_every_flag_can_be_raised(flag: Flag) -> None:
    users = [
        path
        for path in SOURCE.rglob("*.py")
        if path.name != "flags.py" and f"Flag.{flag.name}" in path.read_text("utf-8")
    ]
    assert users, f"{flag} is defined but never set"


@given(st.lists(st.lists(st.sampled_from(Flag)).map(tuple)))
def test_joined_flags_keep_their_order_and_stand_once(found: list[tuple[Flag, ...]]) -> None:
    met = [flag for flags in found for flag in flags]
    joined = each_once(*found)
    assert set(joined) == set(met)
    assert [met.index(flag) for flag in joined] == sorted({met.index(flag) for flag in met})
