"""Stored photos that are named on the command line: by their names, or the start of their hash."""

from collections.abc import Sequence

import click

from scoring.errors import StoreError

LEAST_DIGITS = 6
"""A shorter start of a hash is taken for a name."""


def one_run(runs: Sequence[str]) -> str:
    """The only run there is; photos of several cannot be told apart by their names."""
    if len(runs) != 1:
        raise click.UsageError(
            f"--photo needs the one RUN that the photos are of; not {len(runs)}."
        )
    return runs[0]


def choose_photos(
    named: Sequence[str], there: Sequence[tuple[str, str]], whose: str
) -> list[tuple[str, str]]:
    """The photos, each a name and a hash, out of those that are ``there``; each once.

    Raises :class:`StoreError`, which begins with ``whose``, for one that is not there and for a
    name that several have.
    """
    chosen: list[tuple[str, str]] = []
    for one in named:
        found = [photo for photo in there if photo[0] == one]
        if not found and len(one) >= LEAST_DIGITS:
            found = [photo for photo in there if photo[1].startswith(one.lower())]
        if len(found) != 1:
            listed = ", ".join(f"{name} ({sha256[:8]})" for name, sha256 in found or there)
            raise StoreError(
                f"{whose} {'no' if not found else 'more than one'} photo {one!r}; "
                + (f"name it by its hash: {listed}." if found else f"there is {listed or 'none'}.")
            )
        chosen += found
    return list(dict.fromkeys(chosen))
