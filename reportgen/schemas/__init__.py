"""The published JSON Schemas: what programs write and read, one file a format and version.

Within a version fields may be added; one that goes, or changes its meaning, makes a new version
with a file of its own.
"""

from pathlib import Path
from typing import Final

FILES: Final = {
    "results": "trial-results-2.schema.json",  # results.json of a report
    "package": "trial-data-1.schema.json",  # data/datapackage.json of a report
    "problems": "workbook-problems-1.schema.json",  # what check --json prints
    "adopt": "reportgen-adopt-2.schema.json",  # what adopt --json prints
    "answers": "adopt-answers-2.schema.json",  # what adopt --answers takes
    "settings": "site-settings-1.schema.json",  # reportgen.toml
}


def path(name: str) -> Path:
    """Return where a schema lies, by its key in `FILES`."""
    return Path(__file__).parent / FILES[name]


def text(name: str) -> str:
    """Return a schema as JSON text."""
    return path(name).read_text("utf-8")
