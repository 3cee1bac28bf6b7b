"""Gather what all pages share: stylesheet, script and fonts by a fingerprint of their content, the
results' schema.
"""

from functools import cache
from hashlib import sha256
from pathlib import Path

from reportgen import schemas
from reportgen.model.settings import Settings
from reportgen.render import templates

STYLES = ("fonts.css", "tokens.css", "site.css", "print.css")
FONT_LICENCE = (  # goes with the fonts wherever they go (SIL OFL 1.1, condition 2)
    "assets/font-license.txt"
)
SCRIPTS = ("sections.js", "scroll.js", "tables.js", "price.js", "filter.js", "figures.js")


def files() -> dict[str, bytes]:
    """Return the stylesheet, the script, the fonts with their licence, and the schema of results
    files.
    """
    licence = (_font_folder() / "LICENSE.txt").read_bytes()
    fonts = {
        f"assets/{_fingerprinted(path.name, path.read_bytes())}": path.read_bytes()
        for path in _fonts()
    }
    settings = templates.current()
    shared = {stylesheet_name(): _stylesheet(settings), script_name(): _script(settings)}
    schema = schemas.path("results").read_bytes()
    return shared | {FONT_LICENCE: licence, f"assets/{schemas.FILES['results']}": schema} | fonts


def stylesheet_name() -> str:
    """Return the address of the one stylesheet, relative to the site's root."""
    return _name_of(templates.current())


def script_name() -> str:
    """Return the address of the one script, relative to the site's root."""
    return _script_name_of(templates.current())


@cache
def _script_name_of(settings: Settings) -> str:
    return f"assets/{_fingerprinted('site.js', _script(settings))}"


@cache
def _script(settings: Settings) -> bytes:
    """Return the scripts in one; each keeps its names to itself."""
    return "\n".join(_text(settings, name) for name in SCRIPTS).encode()


@cache
def _name_of(settings: Settings) -> str:
    return f"assets/{_fingerprinted('site.css', _stylesheet(settings))}"


@cache
def _stylesheet(settings: Settings) -> bytes:
    """Return the styles in one, with the site's own design tokens and the fonts under their
    fingerprinted names.
    """
    styles = "\n".join(_themed(_text(settings, name), name, settings) for name in STYLES)
    for path in _fonts():
        styles = styles.replace(path.name, _fingerprinted(path.name, path.read_bytes()))
    return styles.encode()


def _text(settings: Settings, name: str) -> str:
    """Return a style sheet or script: the one in the site's own templates, else ours."""
    own = dict(settings.template_files).get(f"assets/{name}")
    if own is not None:
        return own.decode()
    return (templates.folder() / "assets" / name).read_text("utf-8")


def _themed(style: str, name: str, settings: Settings) -> str:
    """Return the design tokens with the site's own ones: light within the first rule, dark in a
    rule behind.
    """
    if name != "tokens.css":
        return style
    light = "".join(f"\n  --{token}: {value};" for token, value in settings.theme)
    dark = "".join(f" --{token}: {value};" for token, value in settings.dark_theme)
    if dark:
        behind = (
            f"\n@media screen {{ @media (prefers-color-scheme: dark) {{ :root {{{dark} }} }} }}\n"
        )
    else:
        behind = ""
    return style.replace("\n}", f"{light}\n}}", 1) + behind


def _fonts() -> list[Path]:
    return sorted(_font_folder().glob("*.woff2"))


def _font_folder() -> Path:
    return templates.folder() / "assets" / "fonts"


def _fingerprinted(name: str, content: bytes) -> str:
    path = Path(name)
    return f"{path.stem}.{sha256(content).hexdigest()[:10]}{path.suffix}"
