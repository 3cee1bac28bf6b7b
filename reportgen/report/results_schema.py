"""Name the schema of results files: in a site's assets it has the name that it has in this folder."""

from typing import Final

SCHEMA: Final = "trial-results-2.schema.json"
