import os
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from scoring.cli.page import find_page, page, run_server
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
    server = "import os, sys, time; print(os.getpid(), file=sys.stderr, flush=True); time.sleep(60)"
    program = (
        "import os, sys; from scoring.cli.page import run_server; "
        f"sys.exit(run_server([sys.executable, '-c', {server!r}], os.environ))"
    )
    with subprocess.Popen([sys.executable, "-c", program], stderr=subprocess.PIPE) as command:
        assert command.stderr is not None
        number = int(command.stderr.readline())
        command.send_signal(signal.SIGTERM)
        assert command.wait(30) != 0
    with pytest.raises(ProcessLookupError):
        os.kill(number, 0)


def test_a_port_in_use_is_told_before_anything_starts() -> None:
    with socket.socket() as other:
        other.bind(("localhost", 0))
        other.listen()
        port = other.getsockname()[1]
        answer = CliRunner().invoke(page, ["--port", str(port), "--no-browser"])
    assert answer.exit_code == 1
    assert f"Port {port} cannot be used" in answer.output
    assert "--port" in answer.output
