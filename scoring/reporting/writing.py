"""Write a report to a file; the name's end tells whether as HTML or PDF."""

import datetime
from collections.abc import Sequence
from pathlib import Path

from scoring.comparing.acceptance import AcceptanceLimit
from scoring.comparing.comparison import Comparison
from scoring.comparing.limits import DEFAULT_LIMITS
from scoring.errors import SettingsError
from scoring.reporting.content import compose_report
from scoring.reporting.photo_figures import ReadFace
from scoring.whole_file import write_file

KINDS = (".html", ".htm", ".pdf")


def check_output(path: Path) -> None:
    """Raise :class:`SettingsError` where the name ends neither in .html nor in .pdf."""
    if path.suffix.lower() not in KINDS:
        raise SettingsError(f"{path}: a report is written as .html or .pdf.")


def report_bytes(
    found: Comparison,
    kind: str,
    *,
    read_face: ReadFace,
    limits: Sequence[AcceptanceLimit] = DEFAULT_LIMITS,
    options: Sequence[tuple[str, str]] = (),
    output: str | None = None,
    made_at: datetime.datetime | None = None,
    note: str = "",
) -> bytes:
    """The report as ``"html"`` or ``"pdf"``; see :func:`scoring.reporting.content.compose_report`.

    ``output`` is the file that the line to repeat it names. ``read_face`` gives a photo's rectified
    face by its hash: the store's ``face_jpeg``.
    """
    document = compose_report(
        found,
        read_face,
        limits=limits,
        made_at=made_at or datetime.datetime.now(datetime.UTC),
        options=options,
        output=output or f"report.{kind}",
        note=note,
    )
    if kind == "pdf":
        from scoring.reporting.pdf import write_pdf  # noqa: PLC0415

        return write_pdf(document)
    from scoring.reporting.html import write_html  # noqa: PLC0415

    return write_html(document)


def write_report(
    found: Comparison,
    path: Path,
    *,
    read_face: ReadFace,
    limits: Sequence[AcceptanceLimit] = DEFAULT_LIMITS,
    options: Sequence[tuple[str, str]] = (),
    note: str = "",
) -> None:
    """Write the report whole or not at all.

    Raises :class:`SettingsError` for another suffix, and where ``path`` cannot be written.
    """
    check_output(path)
    kind = "pdf" if path.suffix.lower() == ".pdf" else "html"
    content = report_bytes(
        found,
        kind,
        read_face=read_face,
        limits=limits,
        options=options,
        output=str(path),
        note=note,
    )
    write_file(path, content)
