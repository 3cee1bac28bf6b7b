"""Read the settings of a site from `reportgen.toml`, naming each mistake by its line and key."""

import os
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from reportgen.declared_settings import CHECKS, host_of
from reportgen.language import marked, say
from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.model.settings import Settings
from reportgen.paths import lies_within

if TYPE_CHECKING:
    from reportgen.theme import Grammar

NAME: Final = "reportgen.toml"
FROM_FILES: Final = ("templates", "logo", "menu")  # settings that are not taken as they stand
WRONG: Final = "wrong_setting"
LARGEST_TEMPLATE: Final = 1_000_000  # bytes
TEMPLATES: Final = marked("a folder of its own beside the settings file, or deeper")
LARGEST_LOGO: Final = 1_000_000  # bytes
LOGO: Final = marked(
    "a picture (SVG, PNG, JPEG or WebP) of at most 1 MB beside the settings file, or deeper"
)
# How files of each kind begin: PNG 3rd ed., 5.2; JPEG, ISO/IEC 10918-1, B.1.1.3; WebP, RFC 9649,
# 2.3 and 2.4.
KINDS: Final = {
    ".png": re.compile(rb"\x89PNG\r\n\x1a\n"),
    ".jpg": re.compile(rb"\xff\xd8\xff"),
    ".webp": re.compile(rb"RIFF....WEBP", re.DOTALL),
    ".svg": re.compile(rb"(?:\xef\xbb\xbf)?\s*<(?:\?xml|!--|!DOCTYPE svg|svg\b)"),
}


def read_settings(path: Path | None, *, asked: bool = False) -> Settings:
    """Return the settings in the file at `path`, the defaults where there is none.

    Templates lie below the file, unless it was `asked` for by its name. Raises WorkbookError, with
    every problem of the file, where it cannot be read or a setting is wrong.
    """
    if path is None:
        return Settings()
    text = _text(path)
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise WorkbookError(
            (_problem(path.name, str(error), "TOML", say("Mend the line."), code="not_toml"),)
        ) from error
    except (
        ValueError,
        RecursionError,
    ) as error:  # thousands of digits, of brackets one in the other
        reason = say("holds a number or brackets without end")
        raise WorkbookError(
            (_problem(path.name, reason, "TOML", say("Mend the line."), code="not_toml"),)
        ) from error
    problems = tuple(_problems(path, text, found, asked))
    if problems:
        raise WorkbookError(problems)
    return _settings(found, path.parent)


def beside(sources: tuple[Path, ...]) -> Path | None:
    """Return the settings file in the folder of the first source, None where there is none."""
    if sources:
        first = sources[0]
    else:
        first = Path()
    # unlike Path.is_dir, False for a long name
    if os.path.isdir(first):
        folder = first
    else:
        folder = first.parent
    if os.path.isfile(folder / NAME):
        return folder / NAME
    return None


def passed_over(sources: tuple[Path, ...]) -> Path | None:
    """Return a settings file in the current folder that does not count, as the workbooks lie
    elsewhere.
    """
    used, here = beside(sources), Path(NAME)
    if not here.is_file() or (used and used.samefile(here)):
        return None
    return here


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8")
    except FileNotFoundError as error:
        raise WorkbookError(
            (
                _problem(
                    path.name,
                    say("is not there"),
                    say("a settings file"),
                    say("Check the name."),
                    code="missing_file",
                ),
            )
        ) from error
    except (OSError, UnicodeDecodeError) as error:
        reason = say("cannot be read as text in UTF-8")
        raise WorkbookError(
            (
                _problem(
                    path.name,
                    reason,
                    say("a text file"),
                    say("Save it as plain text."),
                    code="unreadable_file",
                ),
            )
        ) from error


def _place(path: Path, line: int) -> str:
    if line:
        return say("{name}, line {line}:", name=path.name, line=line)
    return path.name


def _problem(place: str, found: str, expected: str, advice: str, *, code: str) -> Problem:
    return Problem(Severity.ERROR, "", "", f"{place} {found}", expected, advice, code=code)


def _settings(found: Mapping[str, Any], folder: Path) -> Settings:
    plain = {key: value for key, value in found.items() if key in CHECKS and key not in FROM_FILES}
    if "domain" in plain:
        plain["domain"] = plain["domain"].lower()
        plain.setdefault("address", f"https://{plain['domain']}")
    if "address" in plain:
        plain["address"] = plain["address"].rstrip("/")
    if "currency" in plain:
        plain["currency"] = plain["currency"].upper()
    plain["menu"] = tuple(found.get("menu", {}).items())
    if "logo" in found:
        plain["logo"] = _logo(folder / found["logo"])
    theme = found.get("theme", {})
    tokens = {key: value for key, value in theme.items() if key != "dark"}
    made = replace(
        Settings(),
        **plain,
        theme=tuple(tokens.items()),
        dark_theme=tuple(theme.get("dark", {}).items()),
    )
    if "templates" not in found:
        return made
    own = folder / found["templates"]
    return replace(made, templates=own, template_files=tuple(_template_files(own)))


def _template_files(folder: Path) -> Iterator[tuple[str, bytes]]:
    """Yield the name and the content of each file that may be a template: none that is hidden or
    very large.

    No link that leads out of the folder is followed.
    """
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder)
        hidden = any(part.startswith(".") for part in name.parts)
        inside = lies_within(path, folder)
        if not hidden and inside and path.is_file() and path.stat().st_size <= LARGEST_TEMPLATE:
            yield name.as_posix(), path.read_bytes()


def _problems(path: Path, text: str, found: Mapping[str, Any], asked: bool) -> Iterator[Problem]:
    for key, value in found.items():
        line = _line_of(text, key)
        if key == "theme":
            yield from _theme_problems(path, text, value)
        elif key not in CHECKS:
            yield _unknown(path, line, key, [*CHECKS, "theme"])
        elif wanted := CHECKS[key](value):
            named = say("{key} is {value}", key=key, value=repr(value))
            yield _problem(
                _place(path, line),
                named,
                wanted,
                say("Mend the value, or delete the line."),
                code=WRONG,
            )
        else:
            yield from _file_problems(path, line, key, value, asked)
    yield from _domain_problems(path, text, found)


def _file_problems(path: Path, line: int, key: str, value: str, asked: bool) -> Iterator[Problem]:
    """Yield what is wrong with the files that a setting names."""
    if key == "templates" and (wrong := _no_folder(path.parent, value, asked)):
        advice = say("Check the name; to use the file as it is: --settings {path}", path=path)
        named = say('templates names "{value}", {wrong}', value=value, wrong=wrong)
        yield _problem(_place(path, line), named, say(TEMPLATES), advice, code="missing_folder")
    elif key == "templates":
        yield from _template_problems(path, line, path.parent / value)
    elif key == "logo" and (wrong := _no_logo(path.parent, value)):
        named = say('logo names "{value}", {wrong}', value=value, wrong=wrong)
        yield _problem(
            _place(path, line), named, say(LOGO), say("Check the name."), code="wrong_logo"
        )


def _domain_problems(path: Path, text: str, found: Mapping[str, Any]) -> Iterator[Problem]:
    """Yield a problem where domain and address are of two hosts."""
    domain, host = found.get("domain"), host_of(found.get("address"))
    if isinstance(domain, str) and host and domain.lower() != host:
        named = say(
            "domain is {domain}, while address lies at {host}", domain=repr(domain), host=host
        )
        advice = say("Make them agree, or delete one of the two.")
        yield _problem(
            _place(path, _line_of(text, "domain")),
            named,
            say("the domain {host}", host=host),
            advice,
            code=WRONG,
        )


def _no_folder(beside: Path, name: str, asked: bool) -> str:
    """Return why a folder cannot be that of the templates, empty where it can."""
    folder = beside / name
    below = lies_within(folder, beside) and not lies_within(beside, folder)
    if not below and not asked:
        return say("which does not lie below the settings file")
    if os.path.isdir(folder):
        return ""
    return say("which is no folder")


def _no_logo(beside: Path, name: str) -> str:
    """Return why a file cannot be the logo, empty where it can."""
    path = beside / name
    if not lies_within(path, beside):
        return say("which does not lie below the settings file")
    if not os.path.isfile(path):
        return say("which is no file")
    if path.stat().st_size > LARGEST_LOGO:
        return say("which is larger than 1 MB")
    if _kind_of(path.read_bytes()):
        return ""
    return say("which is no such picture")


def _logo(path: Path) -> tuple[str, bytes]:
    """Return the ending of a logo's name and what is in the file."""
    content = path.read_bytes()
    return _kind_of(content), content


def _kind_of(content: bytes) -> str:
    return next((ending for ending, begins in KINDS.items() if begins.match(content)), "")


def _template_problems(path: Path, line: int, folder: Path) -> Iterator[Problem]:
    for name, content in _template_files(folder):
        if name.endswith((".html", ".css")) and not _is_text(content):
            yield _problem(
                _place(path, line),
                say("{name} among the templates is no text in UTF-8", name=name),
                say("plain text"),
                say("Save it as such."),
                code="template_not_text",
            )


def _is_text(content: bytes) -> bool:
    try:
        content.decode()
    except UnicodeDecodeError:
        return False
    return True


def _theme_problems(path: Path, text: str, theme: object) -> Iterator[Problem]:
    if not isinstance(theme, Mapping):
        yield _problem(
            _place(path, _line_of(text, "theme")),
            say("theme is {theme}", theme=repr(theme)),
            say("a table [theme]"),
            say("Write it as a table."),
            code=WRONG,
        )
        return
    known = _tokens()
    dark = theme.get("dark", {})
    own = [(name, value) for name, value in theme.items() if name != "dark"]
    for name, value in [*own, *(dark.items() if isinstance(dark, Mapping) else [("dark", dark)])]:
        line = _line_of(text, name)
        if name not in known:
            yield _unknown(path, line, name, list(known))
        elif not isinstance(value, str) or not known[name].fits(value):
            yield _problem(
                _place(path, line),
                say("{name} is {value}", name=name, value=repr(value)),
                say("{expected}, in quotes", expected=say(known[name].expected)),
                say("Mend the value, or delete the line."),
                code=WRONG,
            )


def _tokens() -> "Mapping[str, Grammar]":
    """Return what each design token may hold, by its name."""
    from reportgen import theme
    from reportgen.render import templates

    return theme.grammars((templates.folder() / "assets" / "tokens.css").read_text("utf-8"))


def _unknown(path: Path, line: int, key: str, known: list[str]) -> Problem:
    from rapidfuzz import process

    near = process.extractOne(key, known, score_cutoff=70)
    if near:
        advice = say("Did you mean {near}?", near=near[0])
    else:
        advice = say("Delete the line.")
    return _problem(
        _place(path, line),
        say('"{key}" is not a setting', key=key),
        say("one of {listed}", listed=", ".join(known)),
        advice,
        code="unknown_setting",
    )


def _line_of(text: str, key: str) -> int:
    """Return the number of the line that sets a key, 0 where it is not found."""
    begins = re.compile(
        rf"""\s*\[?\s*(?:"{re.escape(key)}"|'{re.escape(key)}'|{re.escape(key)})\s*[=\].]"""
    )
    return next(
        (number for number, line in enumerate(text.splitlines(), 1) if begins.match(line)), 0
    )
