"""A command group that imports a command only when it is needed, and tells errors in one line."""

import importlib
import json
import sys
from collections.abc import Mapping
from typing import Any

import click

from scoring.cli.error_words import escaped, in_command_words
from scoring.cli.options import AS_JSON
from scoring.errors import ScoringError


class LazyGroup(click.Group):
    """``lazy`` maps each command's name to ``module:attribute``.

    The modules import only click at their top, so that help is quick; a command imports what it
    works with inside its function. An error that this package raises on purpose ends the command
    with one line on stderr, after ``--json`` also as an object on stdout, and status 1; wrong usage
    ends it with status 2, as click does.
    """

    def __init__(self, *args: Any, lazy: Mapping[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._lazy = dict(lazy)

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self._lazy)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self._lazy:
            return None
        module, _, attribute = self._lazy[cmd_name].partition(":")
        command: click.Command = getattr(importlib.import_module(module), attribute)
        return command

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except ScoringError as error:
            code, message = error.code, in_command_words(str(error))
        except BrokenPipeError:
            raise  # whoever read our output has had enough; click ends quietly
        except OSError as error:
            code = ScoringError.code
            message = f"{error.filename}: {error.strerror}." if error.filename else str(error)
            message = escaped(message)
        say_error(message)
        if ctx.meta.get(AS_JSON):
            said = {"error": {"code": code, "message": message}}
            click.echo(json.dumps(said, ensure_ascii=False))
        sys.exit(1)


def say_error(message: str) -> None:
    """One line on stderr."""
    click.echo(f"Error: {' '.join(message.split())}", err=True)
