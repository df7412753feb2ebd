"""Text from settings and file names as data: shown as it stands, never read as markup."""

import re

# Every mark that Markdown may read; a backslash before it makes it plain (CommonMark, 2.4).
_MARKS = re.compile(r"([\\`*_{}\[\]()<>#+\-.!|~$^=:@&])")
# What the page turns into symbols, badges and links only after Markdown is read: an unseen joiner
# (U+2060) keeps it from being taken for one of them.
_BEGINS = re.compile(r"(?<=[:@])(?=\S)|(?<=www)(?=\.)", re.IGNORECASE)
_BREAKS = re.compile(r"\s+")


def plain(text: object) -> str:
    """``text`` for a place that reads Markdown (headings, captions, messages): on one line."""
    joined = _BEGINS.sub("\u2060", _BREAKS.sub(" ", str(text)))
    return _MARKS.sub(r"\\\1", joined)
