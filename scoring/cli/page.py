"""``coupon page``: open the page in a browser."""

from typing import TYPE_CHECKING

import click

from scoring.cli.options import database_option

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path


@click.command(short_help="Open the page in a browser.")
@database_option
@click.option(
    "--port", type=click.IntRange(1, 65535), default=8501, show_default=True, help="Port to use."
)
@click.option("--no-browser", is_flag=True, help="Only serve it; do not open a browser.")
def page(database: str | None, port: int, no_browser: bool) -> None:
    """Open the page: ranking, grid, runs, photos with their traces. End it with Ctrl-C.

    It can be reached from this computer only.

    \b
    Example:
      coupon page
      coupon page --db coupon-demo.db --port 8600
    """
    import os  # noqa: PLC0415
    import sys  # noqa: PLC0415

    from scoring.store.database import DATABASE_VARIABLE, locate_database  # noqa: PLC0415

    url = locate_database(database).render_as_string(hide_password=False)
    command = [sys.executable, "-m", "streamlit", "run", str(find_page())]
    options = {
        "server.port": str(port),
        "server.address": "localhost",
        "server.headless": str(no_browser).lower(),
        "server.showEmailPrompt": "false",  # else its first start waits for an answer
        "client.toolbarMode": "viewer",
        "client.showErrorLinks": "false",  # they would carry an error's words elsewhere
        "browser.gatherUsageStats": "false",
    }
    command += [f"--{name}={value}" for name, value in options.items()]
    _require_free(port)
    click.echo(f"The page is at http://localhost:{port} (Ctrl-C ends it).", err=True)
    raise SystemExit(run_server(command, {**os.environ, DATABASE_VARIABLE: url}))


def _require_free(port: int) -> None:
    import socket  # noqa: PLC0415

    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("localhost", port))
        except OSError as error:
            raise click.ClickException(
                f"Port {port} cannot be used ({error.strerror}): another page may be open there. "
                "Close it, or choose another port with --port."
            ) from error


def run_server(command: "Sequence[str]", environment: "Mapping[str, str]") -> int:
    """Run ``command`` until it ends, and give its status, 0 where Ctrl-C ended it.

    It never outlives this process's end by Ctrl-C or SIGTERM.
    """
    import signal  # noqa: PLC0415
    import subprocess  # noqa: PLC0415

    # What goes wrong is said on stderr; stdout has only the library's own greeting.
    with subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL) as server:
        before = signal.signal(signal.SIGTERM, lambda *_: server.terminate())
        try:
            return server.wait()
        except KeyboardInterrupt:
            server.terminate()
            return 0
        finally:
            signal.signal(signal.SIGTERM, before)


def find_page(package: "Path | None" = None) -> "Path":
    """The page's script: beside the package in a source tree, inside it once installed.

    Raises :class:`MissingPackageError` where neither is there.
    """
    from pathlib import Path  # noqa: PLC0415

    import scoring  # noqa: PLC0415
    from scoring.errors import MissingPackageError  # noqa: PLC0415

    package = package or Path(scoring.__file__).parent
    for script in (package.parent / "app.py", package / "app_page.py"):
        if script.exists():
            return script
    raise MissingPackageError("The page is not part of this installation; install it again.")
