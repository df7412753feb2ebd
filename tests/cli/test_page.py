from pathlib import Path

import pytest

from scoring.cli.page import find_page
from scoring.errors import MissingPackageError


def test_the_page_s_script_is_found() -> None:
    assert find_page().exists()


def test_it_is_found_in_a_source_tree_and_once_installed(tmp_path: Path) -> None:
    package = tmp_path / "scoring"
    package.mkdir()
    with pytest.raises(MissingPackageError, match="install it again"):
        find_page(package)
    (package / "app_page.py").touch()
    assert find_page(package) == package / "app_page.py"
    (tmp_path / "app.py").touch()
    assert find_page(package) == tmp_path / "app.py"
