"""Set the grower's own words: Markdown without HTML, pictures or headings of its own."""

import re
from functools import cache

from markdown_it import MarkdownIt
from markdown_it.rules_core import StateCore
from markupsafe import Markup

from reportgen import direction

LINK = re.compile(r"(https?://|mailto:)", re.IGNORECASE)


def html(markdown: str) -> Markup:
    """Return Markdown as HTML that cannot run, fetch, or disturb the page's headings.

    Links lead to web and mail addresses only; anything else stays as it was typed.
    """
    return Markup(_parser().render(direction.without_controls(markdown)))


@cache
def _parser() -> MarkdownIt:
    parser = MarkdownIt("commonmark", {"html": False}).disable("image")
    parser.validateLink = lambda url: bool(LINK.match(url))  # type: ignore[method-assign]
    parser.core.ruler.push("plain_headings", _plain_headings)
    parser.core.ruler.push("directions", _directions)
    return parser


def _plain_headings(state: StateCore) -> None:
    """Turn headings into paragraphs, since the page's own headings give its outline."""
    for token in state.tokens:
        if token.type.startswith("heading_"):
            token.tag = "p"
        if token.type == "heading_open":
            token.attrSet("class", "prose-heading")


def _directions(state: StateCore) -> None:
    """Let each block of a text with letters from right to left run as its first letter does."""
    if direction.runs_right_to_left(state.src):
        for token in state.tokens:
            if token.block and token.nesting == 1:
                token.attrSet("dir", "auto")
