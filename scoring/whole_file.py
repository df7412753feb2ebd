"""Write a finished file, or say why it could not be written."""

import secrets
from pathlib import Path

from scoring.errors import SettingsError


def write_file(path: Path, content: bytes) -> None:
    """Write ``content`` to ``path``, whole or not at all.

    Raises :class:`SettingsError` where ``path`` is a folder or no name at all, and where the place
    cannot be written to.
    """
    try:
        if not path.name or path.is_dir():
            raise SettingsError(f"{path} cannot be written: it is a folder. Name a file in it.")
        # A name of its own: no file of the user's and no other writer's is in the way.
        part = path.with_name(f".{secrets.token_hex(8)}.part")
        try:
            with part.open("xb") as file:
                file.write(content)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        raise SettingsError(
            f"{path} cannot be written ({error.strerror}). Name a folder that exists and may be "
            "written to."
        ) from error
