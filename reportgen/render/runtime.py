"""Give the script that draws figures anew where a reader explores them: Vega, as the converter
bundles it.

It takes two seconds to put together, so that a build takes it from the site where an earlier one
left it.
"""

from functools import cache
from hashlib import sha256
from importlib import metadata
from typing import Final

from reportgen.render import templates

LICENCES: Final = "vega-licenses.txt"
SNIPPET: Final = "window.vegaEmbed = vegaEmbed;"
CONVERTER: Final = "vl-convert-python"


@cache
def name() -> str:
    """Return the script's address relative to the site's root: a version of the converter gives the
    same bytes.
    """
    made_of = f"{metadata.version(CONVERTER)} {SNIPPET}"
    return f"assets/vega.{sha256(made_of.encode()).hexdigest()[:10]}.js"


def files(earlier: bytes | None = None) -> dict[str, bytes]:
    """Return the script and the licences of what it holds by file name; `earlier` is the script
    where it is known.
    """
    licences = (templates.folder() / "assets" / LICENCES).read_bytes()
    return {name(): earlier or _bundled(), f"assets/{LICENCES}": licences}


@cache
def _bundled() -> bytes:
    import vl_convert

    return f"/*! Licences: {LICENCES} */\n{vl_convert.javascript_bundle(SNIPPET)}".encode()
