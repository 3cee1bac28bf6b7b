"""Make the JSON Schema of results files of the classes that describe them; run by itself this file
writes it.
"""

import inspect
import json
from pathlib import Path

from pydantic import ConfigDict, TypeAdapter

from reportgen import report
from reportgen.report import results_model
from reportgen.report.results_schema import SCHEMA

SHIPPED = Path(report.__file__).parent / SCHEMA
ABOUT = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "Results of a side-by-side growing trial",
}


def entries() -> list[type]:
    """Return the classes that describe the file."""
    return [
        kind
        for _, kind in inspect.getmembers(results_model, inspect.isclass)
        if kind.__module__.endswith("_model")
    ]


def schema_text() -> str:
    """Return the schema as JSON text."""
    for kind in entries():
        kind.__pydantic_config__ = ConfigDict(use_attribute_docstrings=True)
    schema = TypeAdapter(results_model.ResultsFile).json_schema()
    return (
        json.dumps(
            ABOUT | {key: value for key, value in schema.items() if key != "title"}, indent=1
        )
        + "\n"
    )


if __name__ == "__main__":
    SHIPPED.write_text(schema_text(), encoding="utf-8")
