"""Give the script that draws figures anew where a reader explores them: Vega, as the converter
bundles it.

It takes two seconds to put together, so that it is shipped; its name tells the converter's version.
"""

from functools import cache
from pathlib import Path
from typing import Final

from reportgen.render import templates

LICENCES: Final = "vega-licenses.txt"
PATTERN: Final = "vega.*.js"


def name() -> str:
    """Return the script's address relative to the site's root."""
    return f"assets/{_shipped().name}"


def files() -> dict[str, bytes]:
    """Return the script and the licences of what it holds by file name."""
    licences = templates.folder() / "assets" / LICENCES
    return {name(): _shipped().read_bytes(), f"assets/{LICENCES}": licences.read_bytes()}


@cache
def _shipped() -> Path:
    (script,) = (templates.folder() / "assets").glob(PATTERN)
    return script
