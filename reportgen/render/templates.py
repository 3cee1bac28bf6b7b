"""Find the templates and fill them."""

import traceback
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache
from typing import Final

from jinja2 import (
    ChoiceLoader,
    FileSystemLoader,
    FunctionLoader,
    StrictUndefined,
    TemplateSyntaxError,
)
from jinja2.exceptions import SecurityError

from reportgen import direction, language, paths
from reportgen.model.document import Report
from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.render import prose, typesetting
from reportgen.render.sandbox import TemplateSandbox, finalized, limited

folder: Final = paths.templates
_settings: ContextVar[Settings] = ContextVar("settings", default=DEFAULTS)


@contextmanager
def using(settings: Settings) -> Iterator[None]:
    """Set pages by the templates and the theme of a site's settings for as long as the context
    lasts.
    """
    token = _settings.set(settings)
    try:
        yield
    finally:
        _settings.reset(token)


def current() -> Settings:
    """Return the settings that pages are set by now."""
    return _settings.get()


@lru_cache(4)  # a preview sets pages by many versions of a site's own templates
def _environment(own: tuple[tuple[str, bytes], ...]) -> TemplateSandbox:
    """Return the templates, those of the site before ours; the ones are run like the others."""
    texts = dict(own)

    def of_the_site(name: str) -> tuple[str, str, None] | None:
        if name in texts:
            return (texts[name].decode(), name, None)
        return None

    environment = TemplateSandbox(
        loader=ChoiceLoader([FunctionLoader(of_the_site), FileSystemLoader(folder())]),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=finalized,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["markdown"] = prose.html
    environment.filters["unbroken"] = typesetting.unbroken
    environment.filters["loose"] = typesetting.loose
    environment.filters["decimal_pads"] = typesetting.decimal_pads
    environment.filters["run_on"] = typesetting.run_on
    environment.globals["say"] = language.say
    return environment


def fill(name: str, **values: object) -> str:
    """Return the template `name` filled with `values`; every text is escaped, an unknown name is an
    error.

    What the template says itself is in the language of the `report`, else in the `language` that is
    given. Raises WorkbookError where a template of the site's own cannot be used.
    """
    report = values.get("report")
    if isinstance(report, Report):
        tag = report.language
    else:
        tag = str(values.get("language", language.ENGLISH.tag))
    own = current().template_files
    with language.using(language.of(tag)):
        if own:
            filled = _filled_within_limits(name, values, own)
        else:
            filled = _filled(name, values, own)
    if name.endswith(".html"):
        return direction.as_elements(filled)
    return filled


def _filled(name: str, values: Mapping[str, object], own: tuple[tuple[str, bytes], ...]) -> str:
    return _environment(own).get_template(name).render(values)


def _filled_within_limits(
    name: str, values: Mapping[str, object], own: tuple[tuple[str, bytes], ...]
) -> str:
    try:
        with limited():
            return _filled(name, values, own)
    except Exception as error:  # whatever goes wrong, a template of the site's own may be at fault
        raise WorkbookError((_fault(error, dict(own)),)) from error


def _fault(error: Exception, own: Mapping[str, bytes]) -> Problem:
    """Return what is wrong with a template of the site's own."""
    place = _place(error, own)
    reason = " ".join((str(error) or type(error).__name__).split())
    if isinstance(error, SecurityError):
        reason = f"a template may not do this: {reason}"
    elif isinstance(error, RecursionError):
        reason = "the template includes or calls itself without an end"
    return Problem(
        Severity.ERROR,
        "",
        "",
        f"the site's own templates cannot be used: {place}{reason}",
        "templates as Jinja describes them, which print what they are given",
        "Mend the template, or take templates out of the settings.",
        code="own_template",
    )


def _place(error: Exception, own: Mapping[str, bytes]) -> str:
    """Return the template and the line that an error came of, as far as they are known."""
    if isinstance(error, TemplateSyntaxError):
        return f"{error.name}, line {error.lineno}: "
    lines = [
        (frame.f_code.co_filename, line) for frame, line in traceback.walk_tb(error.__traceback__)
    ]
    found = [(name, line) for name, line in lines if name in own]
    if found:
        return f"{found[-1][0]}, line {found[-1][1]}: "
    return ""
