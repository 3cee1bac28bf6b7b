"""Bundle the script that figures are explored by; run by itself this file writes it."""

from hashlib import sha256
from importlib import metadata
from pathlib import Path

import vl_convert

from reportgen.render import runtime, templates

FOLDER = Path(templates.folder()) / "assets"
SNIPPET = "window.vegaEmbed = vegaEmbed;"


def name() -> str:
    """Return the script's name: a version of the converter gives the same bytes."""
    made_of = f"{metadata.version('vl-convert-python')} {SNIPPET}"
    return f"vega.{sha256(made_of.encode()).hexdigest()[:10]}.js"


def content() -> bytes:
    """Return the script, which names the file of its licences."""
    return f"/*! Licences: {runtime.LICENCES} */\n{vl_convert.javascript_bundle(SNIPPET)}".encode()


if __name__ == "__main__":
    for old in FOLDER.glob(runtime.PATTERN):
        old.unlink()
    (FOLDER / name()).write_bytes(content())
