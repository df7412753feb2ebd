"""What to do about an error, as the command line has it."""

import ast
from pathlib import Path

import click
import pytest

import scoring
from scoring import remedies
from scoring.batch import Failure
from scoring.cli.error_words import WHERE, in_command_words, told
from scoring.cli.main import main

ROOT = Path(scoring.__file__).parent
BELOW = sorted(p for p in ROOT.rglob("*.py") if p.relative_to(ROOT).parts[0] not in {"cli", "page"})
TEXTS_TO_PRINT = ("making/advice.py", "reporting/content.py")
"""How a command is typed is what these say; the page shows the advice in its own words."""


def test_every_remedy_has_its_place() -> None:
    assert set(WHERE) == set(remedies.REMEDIES)


def test_the_option_stands_behind_the_words_and_before_the_stop() -> None:
    said = in_command_words(f"Something; {remedies.FEWER_AT_ONCE}. {remedies.SEE_RUNS}")
    assert said.endswith(
        "; measure fewer photos at once (--jobs 1). Look through the stored runs (coupon runs)."
    )
    failure = Failure("store-error", remedies.MOVE_PHOTO, "trace")
    assert told(failure) == Failure(
        "store-error", f"{remedies.MOVE_PHOTO} (coupon add --move)", "trace"
    )


@pytest.mark.parametrize("where", WHERE.values())
def test_every_option_and_command_named_exists(where: str) -> None:
    options = {"--jobs"}
    for name in main.list_commands(click.Context(main)):
        command = main.get_command(click.Context(main), name)
        assert command is not None
        options |= {option for parameter in command.params for option in parameter.opts}
    words = where.replace(",", "").split()
    assert {word for word in words if word.startswith("--")} <= options
    if words[0] == "coupon":
        assert words[1] in main.list_commands(click.Context(main))


@pytest.mark.parametrize("path", BELOW, ids=lambda p: str(p.relative_to(ROOT)))
def test_no_text_below_the_command_line_names_an_option(path: Path) -> None:
    if str(path.relative_to(ROOT)) in TEXTS_TO_PRINT:
        return
    tree = ast.parse(path.read_text("utf-8"))
    documented = (ast.Module, ast.ClassDef, ast.FunctionDef)
    docs = {ast.get_docstring(n, clean=False) for n in ast.walk(tree) if isinstance(n, documented)}
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and node.value not in docs
        ):
            assert "--" not in node.value, node.value
            assert "coupon add" not in node.value, node.value
