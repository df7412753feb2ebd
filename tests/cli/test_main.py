import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

import scoring.cli.main as main_module
from scoring.cli.lazy_group import LazyGroup
from scoring.cli.main import COMMANDS, main
from scoring.errors import StoreError

Coupon = Callable[..., Result]
HEAVY = {
    "alembic",
    "cv2",
    "numpy",
    "pandas",
    "pint",
    "pydantic",
    "scipy",
    "sqlalchemy",
    "streamlit",
}


def every_command() -> Iterator[list[str]]:
    """The words that call each command and group, ``coupon`` itself aside."""

    def below(group: click.Group, words: list[str]) -> Iterator[list[str]]:
        context = click.Context(group)
        for name in group.list_commands(context):
            command = group.get_command(context, name)
            assert command is not None
            yield [*words, name]
            if isinstance(command, click.Group):
                yield from below(command, [*words, name])

    yield from below(main, [])


@pytest.mark.parametrize("words", list(every_command()), ids=" ".join)
def test_every_command_s_help_has_an_example_of_it(coupon: Coupon, words: list[str]) -> None:
    text = coupon(*words, "--help").output
    examples = text.partition("Example")[2]
    assert f"\n    coupon {' '.join(words)}" in examples


def test_every_command_file_is_a_command() -> None:
    folder = Path(main_module.__file__).parent
    files = {path.stem for path in folder.glob("*.py") if "@click.command" in path.read_text()}
    made = {f"make_{name}" for name in ("card", "blade", "labels")}
    assert files == {*COMMANDS, *made} - {"make"}


def test_every_option_and_command_explains_itself(coupon: Coupon) -> None:
    context = click.Context(main)
    assert all("..." not in line for line in coupon("--help").output.split("Commands:")[1:])
    for name in COMMANDS:
        command = main.get_command(context, name)
        assert command is not None
        for parameter in command.params:
            if isinstance(parameter, click.Option):
                assert parameter.help, f"{name} {parameter.opts}"


def test_help_loads_no_heavy_library() -> None:
    """What makes a command line slow is what it imports: none of it may load for help."""
    script = (
        "import sys\n"
        "from scoring.cli.main import main\n"
        "main(['--help'], standalone_mode=False)\n"
        f"print(sorted({HEAVY!r} & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stderr.strip() == "[]"


def test_wrong_usage_ends_with_status_2(coupon: Coupon) -> None:
    coupon("no-such-command", status=2)
    coupon("rank", "--face", "top", status=2)
    coupon("measure", status=2)


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (StoreError("the\nstore is   gone"), "Error: the store is gone\n"),
        (PermissionError(13, "Permission denied", "x.csv"), "Error: x.csv: Permission denied.\n"),
    ],
)
def test_an_error_is_one_line_on_stderr_and_status_1(error: Exception, said: str) -> None:
    group = LazyGroup("g", lazy={"fail": "unused:unused"})

    @click.command()
    def fail() -> None:
        raise error

    group.get_command = lambda ctx, cmd_name: fail  # type: ignore[method-assign]
    result = CliRunner().invoke(group, ["fail"])
    assert (result.exit_code, result.stdout, result.stderr) == (1, "", said)


def test_after_json_an_error_outside_a_photo_is_an_object_on_stdout(
    coupon: Coupon, here: Path, two_runs: None
) -> None:
    (here / "typo.toml").write_text("[[runs]]")
    for code, words in (
        ("run-not-found", ("show", "nope")),
        ("bad-settings", ("rank", "--machine", "nope")),
        ("side-not-found", ("compare", "--before", "stock", "--after", "bracee")),
        ("bad-settings", ("add", "typo.toml")),
    ):
        result = coupon(*words, "--json", status=1)
        (error,) = (json.loads(line)["error"] for line in result.stdout.splitlines())
        assert error["code"] == code
        assert result.stderr == f"Error: {error['message']}\n"
        assert coupon(*words, status=1).stdout == ""


def test_the_installed_command_runs(here: Path) -> None:
    """The console script's own way in, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", "from scoring.cli.main import main; main()", "runs"],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
        check=False,
    )
    assert done.returncode == 1
    assert done.stderr.startswith("Error: Nothing is stored in coupon.db yet. Add photos first")
    assert done.stderr.count("\n") == 1
