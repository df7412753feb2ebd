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
    click.echo(f"The page is at http://localhost:{port} (Ctrl-C ends it).", err=True)
    raise SystemExit(run_server(command, {**os.environ, DATABASE_VARIABLE: url}))


def run_server(command: "Sequence[str]", environment: "Mapping[str, str]") -> int:
    """Run ``command`` until it ends, and give its status, 0 where Ctrl-C ended it.

    It never outlives this process's end by Ctrl-C or SIGTERM.
    """
    import signal  # noqa: PLC0415
    import subprocess  # noqa: PLC0415

    with subprocess.Popen(command, env=environment) as server:
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
