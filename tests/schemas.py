"""Make the published JSON Schemas of the declarations in the program; run by itself this file
writes them.
"""

import inspect
import json
from types import ModuleType

from pydantic import ConfigDict, TypeAdapter
from typing_extensions import get_original_bases, is_typeddict

from reportgen import declared_settings, problem_document, schemas
from reportgen.importing.model import document as adopt_document
from reportgen.render import package_model
from reportgen.report import (
    factor_parts,
    growth_parts,
    result_parts,
    results_model,
    score_parts,
)

DIALECT = "https://json-schema.org/draft/2020-12/schema"
TITLES = {
    "results": "Results of a side-by-side growing trial",
    "package": "Recorded data of a side-by-side growing trial",
    "problems": "Problems of the workbooks of growing trials",
    "adopt": "A log that is taken in: what is asked, and what was read",
    "answers": "Answers about a log that is taken in, each by the key of its question",
    "settings": "Settings of a site of growing trials",
}
DOCUMENTS = {
    "results": results_model.ResultsFile,
    "package": package_model.DataPackage,
    "problems": problem_document.CheckDocument,
    "adopt": adopt_document.AdoptDocument,
    "answers": adopt_document.Answers,
}
DECLARING = (
    results_model,
    result_parts,
    score_parts,
    growth_parts,
    factor_parts,
    package_model,
    problem_document,
    adopt_document,
)


def entries(module: ModuleType) -> list[type]:
    """Return the classes of a module that describe a document and its parts."""
    found = [kind for _, kind in inspect.getmembers(module, inspect.isclass)]
    own = [kind for kind in found if kind.__module__ == module.__name__]
    return [kind for kind in own if is_typeddict(kind) or hasattr(kind, "__dataclass_fields__")]


def schema(name: str) -> dict[str, object]:
    """Return a schema by its name."""
    if name == "settings":
        made = declared_settings.schema()
    else:
        made = of_class(DOCUMENTS[name])
    named = {"$schema": DIALECT, "title": TITLES[name]}
    return named | {key: value for key, value in made.items() if key != "title"}


def of_class(document: type) -> dict[str, object]:
    """Return the schema of a class, each field described by the text under it."""
    kinds = [kind for module in DECLARING for kind in entries(module)]
    for kind in kinds:
        kind.__pydantic_config__ = ConfigDict(use_attribute_docstrings=True)
    made = TypeAdapter(document).json_schema()
    for kind in kinds:
        if kind.__name__ in made.get("$defs", ()):
            describe_inherited(kind, made["$defs"][kind.__name__]["properties"])
    return unwrapped(made)


def describe_inherited(kind: type, properties: dict[str, dict[str, object]]) -> None:
    """Describe the fields that a class has from another one, whose texts Pydantic does not read."""
    for base in filter(is_typeddict, get_original_bases(kind)):
        for name, field in TypeAdapter(base).json_schema()["properties"].items():
            properties[name].setdefault("description", field["description"])


def unwrapped(value: object) -> object:
    """Return a schema whose descriptions are single lines, however the source wraps them."""
    if isinstance(value, dict):
        return {key: unwrapped(one) for key, one in value.items()}
    if isinstance(value, list):
        return [unwrapped(one) for one in value]
    if isinstance(value, str):
        return " ".join(value.split())
    return value


def schema_text(name: str) -> str:
    """Return a schema as JSON text."""
    return json.dumps(schema(name), indent=1) + "\n"


if __name__ == "__main__":
    for known in schemas.FILES:
        schemas.path(known).write_text(schema_text(known), encoding="utf-8")
