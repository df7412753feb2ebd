import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from scoring.cli.page import find_page, run_server
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


def test_the_server_s_status_is_the_command_s() -> None:
    assert run_server([sys.executable, "-c", "raise SystemExit(3)"], os.environ) == 3


@pytest.mark.skipif(os.name == "nt", reason="Windows ends processes without asking them")
def test_the_server_ends_with_the_command() -> None:
    server = "import os, time; print(os.getpid(), flush=True); time.sleep(60)"
    program = (
        "import os, sys; from scoring.cli.page import run_server; "
        f"sys.exit(run_server([sys.executable, '-c', {server!r}], os.environ))"
    )
    with subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE) as command:
        assert command.stdout is not None
        number = int(command.stdout.readline())
        command.send_signal(signal.SIGTERM)
        assert command.wait(30) != 0
    with pytest.raises(ProcessLookupError):
        os.kill(number, 0)
