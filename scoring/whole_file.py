"""Write a finished file, or say why it could not be written."""

from pathlib import Path

from scoring.errors import SettingsError


def write_file(path: Path, content: bytes) -> None:
    """Write ``content`` to ``path``, whole or not at all.

    Raises :class:`SettingsError` where the place cannot be written to.
    """
    part = path.with_name(path.name + ".part")
    try:
        part.write_bytes(content)
        part.replace(path)
    except OSError as error:
        if part.is_file():
            part.unlink()
        raise SettingsError(
            f"{path} cannot be written ({error.strerror}). Name a folder that exists and may be "
            "written to."
        ) from error
