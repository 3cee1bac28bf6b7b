"""Find the templates and fill them."""

from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from reportgen import language
from reportgen.model.document import Report
from reportgen.render import prose


@cache
def folder() -> Path:
    """Return the folder of the templates, in an installed package as in a checkout."""
    package = Path(__file__).parent.parent
    inside = package / "templates"
    return inside if inside.is_dir() else package.parent / "templates"


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(folder()),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["markdown"] = prose.html
    environment.globals["say"] = language.say
    return environment


def fill(name: str, **values: object) -> str:
    """Return the template `name` filled with `values`; every text is escaped, an unknown name is an error.

    What the template says itself is in the language of the `report`, else in the `language` that is given.
    """
    report = values.get("report")
    tag = report.language if isinstance(report, Report) else str(values.get("language", language.ENGLISH.tag))
    with language.using(language.of(tag)):
        return _environment().get_template(name).render(values)
