from pathlib import Path

import pytest

from scoring.errors import SettingsError
from scoring.whole_file import write_file


def test_a_file_is_written_whole(tmp_path: Path) -> None:
    write_file(tmp_path / "a.pdf", b"old")
    write_file(tmp_path / "a.pdf", b"new")
    assert (tmp_path / "a.pdf").read_bytes() == b"new"
    assert [p.name for p in tmp_path.iterdir()] == ["a.pdf"]


def test_a_place_that_cannot_be_written_leaves_nothing(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(SettingsError, match="cannot be written"):
        write_file(tmp_path / "folder", b"x")
    assert [p.name for p in tmp_path.iterdir()] == ["folder"]
    with pytest.raises(SettingsError, match="cannot be written"):
        write_file(tmp_path / "absent" / "a.pdf", b"x")
