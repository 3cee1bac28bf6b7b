"""Set the grower's own words: Markdown without HTML, pictures or headings of its own."""

import re
from collections.abc import Mapping
from functools import cache

from markdown_it import MarkdownIt
from markdown_it.rules_core import StateCore
from markdown_it.token import Token
from markupsafe import Markup

from reportgen import direction

OPENING = re.compile(r"<([a-z][a-z0-9]*)\b([^>]*?)\s*/?>")
KEPT_ATTRIBUTE = re.compile(r' (?:href|dir|start)="[^"]*"')
CODE = ("code_block", "fence")
BREAKS = ("softbreak", "hardbreak")
LINK = re.compile(r"(https?://|mailto:)", re.IGNORECASE)


def html(markdown: str) -> Markup:
    """Return Markdown as HTML that cannot run, fetch, or disturb the page's headings.

    Links lead to web and mail addresses only; anything else stays as it was typed.
    """
    return Markup(_parser().render(direction.without_controls(markdown)))


def dressed(markdown: str, styles: Mapping[str, str]) -> Markup:
    """Return Markdown as `html` does, each element with the style of its name in place of any other
    attribute.

    Links keep their addresses, and texts say which way they run; line breaks within texts are
    spaces. An element without a style of its own has that of the empty name.
    """

    def styled(match: re.Match[str]) -> str:
        name, attributes = match.groups()
        kept = "".join(KEPT_ATTRIBUTE.findall(attributes))
        return f'<{name}{kept} style="{styles.get(name, styles[""])}">'

    return Markup(OPENING.sub(styled, str(html(markdown))).replace("\n", " ").strip())


def paragraphs(markdown: str) -> tuple[str, ...]:
    """Return the texts of Markdown without its marks, one for each of its blocks."""
    tokens = _parser().parse(direction.without_controls(markdown))
    return tuple(_words(token) for token in tokens if token.type == "inline" or token.type in CODE)


def _words(token: Token) -> str:
    if token.children is None:
        return token.content
    return "".join(child.content or " " * (child.type in BREAKS) for child in token.children)


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
