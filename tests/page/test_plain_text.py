"""Text from settings and file names never reads as markup.

Rendered by an independent reader of CommonMark (markdown-it-py), raw HTML allowed as worst case.
"""

import html
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from scoring.page.plain_text import plain

JOINER = "\u2060"


def shown(text: str) -> tuple[str, set[str]]:
    """What a reader sees of ``text``, and the names of the tags around it."""
    page = MarkdownIt("commonmark", {"html": True}).render(text)
    tags = {found.lower() for found in re.findall(r"</?([a-zA-Z][a-zA-Z0-9]*)", page)}
    words = html.unescape(re.sub(r"<[^>]*>", "", page)).replace(JOINER, "")
    return words.strip(), tags


@pytest.mark.parametrize(
    "text",
    [
        "<script>alert(1)</script>", "<img src=x onerror=alert(1)>", "**bold** _it_ `code`",
        "[link](javascript:alert(1))", "![i](http://x/y.png)", "# heading", "- item", "1. item",
        "a\\*b", "$x^2$", "&lt;b&gt;", "~~gone~~", "| a | b |", "> quote", "<http://x.example>",
    ],
)  # fmt: skip
def test_markup_is_shown_as_written(text: str) -> None:
    assert shown("Run " + plain(text)) == ("Run " + text, {"p"})


@given(st.text(st.characters(exclude_categories=("Cs", "Cc", "Zs", "Zl", "Zp")), min_size=1))
def test_any_text_is_shown_as_written(text: str) -> None:
    words, tags = shown("x" + plain(text) + "x")
    assert (words, tags) == ("x" + text.replace(JOINER, "") + "x", {"p"})


@pytest.mark.parametrize("text", [":red[x]", ":material/home:", ":smile:", "www.x.example", "a@b"])
def test_what_turns_into_symbols_badges_and_links_is_broken_up(text: str) -> None:
    marked = plain(text).replace("\\", "")
    assert marked != text
    assert marked.replace(JOINER, "") == text


def test_line_breaks_become_blanks() -> None:
    assert plain("a\n\n# b") == "a \\# b"
