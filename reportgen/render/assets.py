"""Gather the stylesheet and the fonts, each with a fingerprint of its content in its name."""

from functools import cache
from hashlib import sha256
from pathlib import Path

from reportgen.render import templates

STYLES = ("fonts.css", "tokens.css", "site.css", "print.css")


def files() -> dict[str, bytes]:
    """Return the stylesheet and the fonts by file name."""
    fonts = {f"assets/{_fingerprinted(path.name, path.read_bytes())}": path.read_bytes() for path in _fonts()}
    return {stylesheet_name(): _stylesheet()} | fonts


@cache
def stylesheet_name() -> str:
    """Return the address of the one stylesheet, relative to the site's root."""
    return f"assets/{_fingerprinted('site.css', _stylesheet())}"


@cache
def _stylesheet() -> bytes:
    """Return the styles in one, with the fonts under their fingerprinted names."""
    folder = templates.folder() / "assets"
    styles = "\n".join((folder / name).read_text("utf-8") for name in STYLES)
    for path in _fonts():
        styles = styles.replace(path.name, _fingerprinted(path.name, path.read_bytes()))
    return styles.encode()


def _fonts() -> list[Path]:
    return sorted((templates.folder() / "assets" / "fonts").glob("*.woff2"))


def _fingerprinted(name: str, content: bytes) -> str:
    path = Path(name)
    return f"{path.stem}.{sha256(content).hexdigest()[:10]}{path.suffix}"
