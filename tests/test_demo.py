from pathlib import Path

import pytest

from scoring.demo import SETTINGS_FILE, find_demo_photos
from scoring.errors import MissingPackageError
from scoring.runs.settings_file import settings_from_toml


def test_they_are_found_in_a_source_tree_and_once_installed(tmp_path: Path) -> None:
    package = tmp_path / "scoring"
    with pytest.raises(MissingPackageError, match="install it again"):
        find_demo_photos(package)
    for folder in (tmp_path / "reference_images" / "demo", package / "demo_photos"):
        folder.mkdir(parents=True)
        (folder / SETTINGS_FILE).touch()
        assert find_demo_photos(package) == folder


def test_the_demo_s_photos_are_there_as_listed() -> None:
    folder = find_demo_photos()
    listed = settings_from_toml(folder / SETTINGS_FILE)
    missing = [p.name for run in listed for p in run.photos if not p.exists()]
    assert missing == []
    setups = {(run.settings.machine, run.settings.setup) for run in listed}
    assert setups == {("Alder", "stock"), ("Alder", "brace"), ("Birch", "stock")}
    assert len({run.settings.accel_mm_s2 for run in listed}) >= 5
