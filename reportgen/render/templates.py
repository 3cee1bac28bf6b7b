"""Find the templates and fill them."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, lru_cache
from pathlib import Path

from jinja2 import ChoiceLoader, Environment, FileSystemLoader, FunctionLoader, StrictUndefined

from reportgen import language
from reportgen.model.document import Report
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.render import prose


@cache
def folder() -> Path:
    """Return the folder of the templates, in an installed package as in a checkout."""
    package = Path(__file__).parent.parent
    inside = package / "templates"
    return inside if inside.is_dir() else package.parent / "templates"


_settings: ContextVar[Settings] = ContextVar("settings", default=DEFAULTS)


@contextmanager
def using(settings: Settings) -> Iterator[None]:
    """Set pages by the templates and the theme of a site's settings for as long as the context lasts."""
    token = _settings.set(settings)
    try:
        yield
    finally:
        _settings.reset(token)


def current() -> Settings:
    """Return the settings that pages are set by now."""
    return _settings.get()


@lru_cache(4)  # a preview sets pages by many versions of a site's own templates
def _environment(own: tuple[tuple[str, bytes], ...]) -> Environment:
    """Return the templates, those of the site before ours."""
    texts = dict(own)
    ours = FileSystemLoader(folder())
    environment = Environment(
        loader=ChoiceLoader([FunctionLoader(lambda name: texts[name].decode() if name in texts else None), ours]),
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
        return _environment(current().template_files).get_template(name).render(values)
