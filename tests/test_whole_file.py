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


@pytest.mark.parametrize("named", ["", ".", "/", "..", "folder"])
def test_a_folder_or_no_name_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, named: str
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder").mkdir()
    with pytest.raises(SettingsError, match=r"cannot be written: it is a folder\. Name a file"):
        write_file(Path(named), b"x")


def test_no_other_file_is_touched_and_the_rights_are_the_usual_ones(tmp_path: Path) -> None:
    (tmp_path / "a.csv.part").write_bytes(b"the user's own")
    write_file(tmp_path / "a.csv", b"new")
    assert (tmp_path / "a.csv.part").read_bytes() == b"the user's own"
    assert (tmp_path / "a.csv").stat().st_mode == (tmp_path / "a.csv.part").stat().st_mode
