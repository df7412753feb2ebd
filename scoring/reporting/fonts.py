"""A font for the PDF that has the letters of the report's text."""

from collections.abc import Iterable, Iterator
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

PLAIN = "Helvetica"
"""Every PDF reader has it; it knows the letters of Windows code page 1252."""
WIDE = (
    "DejaVuSans.ttf", "NotoSans-Regular.ttf", "LiberationSans-Regular.ttf", "arial.ttf",
    "Arial.ttf", "Arial Unicode.ttf", "DroidSansFallbackFull.ttf",
)  # fmt: skip
FOLDERS = (
    "/usr/share/fonts", "/usr/local/share/fonts", "~/.fonts", "~/.local/share/fonts",
    "C:/Windows/Fonts", "/Library/Fonts", "/System/Library/Fonts",
)  # fmt: skip
UNKNOWN = "?"


def find_font(texts: Iterable[str]) -> tuple[str, frozenset[str]]:
    """A registered font's name for ``texts``, and the letters that it lacks.

    :data:`PLAIN` where it has them all; else the font of this system that lacks the fewest, which
    is then embedded in the PDF.
    """
    letters = frozenset(letter for text in texts for letter in text if letter.isprintable())
    lacking = frozenset(letter for letter in letters if not _is_plain(letter))
    best = (PLAIN, lacking)
    for path in _fonts() if lacking else ():
        try:
            font = TTFont(path.stem, str(path))
        except (TTFError, OSError):
            continue
        missing = frozenset(c for c in letters if ord(c) not in font.face.charToGlyph)
        if len(missing) < len(best[1]):
            pdfmetrics.registerFont(font)
            best = (path.stem, missing)
    return best


def keep_known(text: str, lacking: frozenset[str]) -> str:
    """``text`` with a question mark for what the font lacks, and a space for what is no letter."""
    return "".join(
        UNKNOWN if c in lacking else c if c.isprintable() or c == "\n" else " " for c in text
    )


def _is_plain(letter: str) -> bool:
    try:
        letter.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


def _fonts() -> Iterator[Path]:
    for name in WIDE:
        for folder in FOLDERS:
            yield from sorted(Path(folder).expanduser().rglob(name))[:1]
