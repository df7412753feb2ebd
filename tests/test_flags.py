"""Every flag has its sentence, and is set somewhere."""

from pathlib import Path

import pytest

import scoring
from scoring.flags import SENTENCES, Flag

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
