"""The language of a report: its texts by gettext catalogues, its numbers, dates and lists by the
Unicode CLDR.

What is made within `using(of("es"))` is in Spanish. The English texts are the message identifiers,
with named placeholders; `locale/<language>/LC_MESSAGES/reportgen.po` holds what a translator
writes, `terminal.po` what commands say, the `.mo` beside each what the program reads. English sets
the per cent sign close, as newspapers do, and a thin space between groups of three digits.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date
from functools import cache
from gettext import GNUTranslations, NullTranslations
from pathlib import Path
from string import Formatter
from typing import Final

FOLDER: Final = Path(__file__).parent / "locale"
CATALOGUE: Final = "LC_MESSAGES/reportgen.mo"
OF_TERMINAL: Final = "LC_MESSAGES/terminal.mo"
# what names the system's language, the first that is set (POSIX.1-2017, 8.2)
VARIABLES: Final = ("LC_ALL", "LC_MESSAGES", "LANG")
OF_DRY_WEIGHT: Final = " dry"  # behind the gram in units such as `g dry/L`
PER_TRAY: Final = "/tray"  # within units such as `g/tray/week`
UNIT_OF_WEIGHT: Final = re.compile(r"\b(?:k?g|oz|lb)\b")


@dataclass(frozen=True)
class Language:
    """A language: its BCP 47 tag, the catalogue of its texts, the CLDR locale of its numbers, dates
    and lists.
    """

    tag: str
    texts: NullTranslations
    locale: str


ENGLISH: Final = Language("en", NullTranslations(), "en")
_current: ContextVar[Language] = ContextVar("language", default=ENGLISH)
_container: ContextVar[str] = ContextVar("container", default="tray")


def current() -> Language:
    """Return the language that texts are in now."""
    return _current.get()


def is_english() -> bool:
    """Return whether texts are in English now, as they stand in the program."""
    return current().locale == ENGLISH.locale


@contextmanager
def using(language: Language) -> Iterator[None]:
    """Make texts in a language for as long as the context lasts."""
    token = _current.set(language)
    try:
        yield
    finally:
        _current.reset(token)


def container() -> str:
    """Return what texts call an experimental unit now: `tray` or `pot`."""
    return _container.get()


@contextmanager
def calling_units(container: str) -> Iterator[None]:
    """Call experimental units `tray` or `pot`, in texts and units, for as long as the context
    lasts.
    """
    token = _container.set(container)
    try:
        yield
    finally:
        _container.reset(token)


def is_spoken(tag: str) -> bool:
    """Return whether there is a catalogue for the language of a BCP 47 tag; the program's own texts
    are in English.
    """
    return _primary(tag) == ENGLISH.tag or _catalogue(_primary(tag)).is_file()


@cache
def of(tag: str) -> Language:
    """Return the language of a BCP 47 tag such as `es` or `es-MX`, English where it has no
    catalogue.

    A region's numbers and dates are those of the region where the CLDR has it.
    """
    primary = _primary(tag)
    if primary == ENGLISH.tag or not is_spoken(tag):
        if primary == ENGLISH.tag:
            return Language(tag, ENGLISH.texts, ENGLISH.locale)
        return ENGLISH
    return Language(tag, _texts(primary), _locale(tag, primary))


def of_commands(tag: str) -> Language:
    """Return the language of a tag for what commands say, English where it has no catalogue of
    that; reports may lack the language.
    """
    primary = _primary(tag)
    if primary == ENGLISH.tag or primary not in tags():
        return ENGLISH
    return Language(tag, _texts(primary), _locale(tag, primary))


def of_system(environment: Mapping[str, str]) -> Language:
    """Return the language of commands that the variables of an environment name."""
    named = [environment[name] for name in VARIABLES if environment.get(name)]
    if not named:
        return ENGLISH
    tag = re.split("[.@]", named[0])[0]
    return of_commands(tag.replace("_", "-"))


def tags() -> tuple[str, ...]:
    """Return the tags of all languages that commands speak, English first."""
    folders = sorted(path.name for path in FOLDER.iterdir())
    others = [name for name in folders if (FOLDER / name / OF_TERMINAL).is_file()]
    return (ENGLISH.tag, *others)


def _texts(primary: str) -> NullTranslations:
    """Return the texts of reports, and those of commands behind them, as far as they are there."""
    texts = NullTranslations()
    for catalogue in (CATALOGUE, OF_TERMINAL):
        path = FOLDER / primary / catalogue
        if path.is_file():
            with path.open("rb") as file:
                texts.add_fallback(GNUTranslations(file))
    return texts


def _primary(tag: str) -> str:
    return re.split("[-_]", tag.strip())[0].casefold()


def _catalogue(primary: str) -> Path:
    if primary.isalpha():
        return FOLDER / primary / CATALOGUE
    return FOLDER / "none"


def _locale(tag: str, primary: str) -> str:
    from babel import Locale, UnknownLocaleError

    try:
        return str(Locale.parse(tag.replace("-", "_")))
    except (UnknownLocaleError, ValueError):
        return primary


def in_every_language(message: str) -> set[str]:
    """Return a message in English and in each language that has a catalogue."""
    return {of_commands(tag).texts.gettext(message) for tag in tags()}


def marked(message: str) -> str:
    """Return a message as it is, marked for the catalogues: for texts that are translated where
    they are shown.
    """
    return message


def marked_plural(one: str, many: str) -> tuple[str, str]:
    """Return a pair of messages as it is, marked for the catalogues."""
    return one, many


# labels of what is made of measurements of growth, or of pickings of one grade
OF_TRAITS: Final = {
    "Relative growth rate": marked("Relative growth rate ({trait})"),
    "Last measured": marked("{trait} when last measured"),
    "Share of a grade": marked("Share of grade {trait}"),
}


def say(message: str, /, **values: object) -> str:
    """Return a message in the current language, its placeholders filled; one that no catalogue has
    stays as it is.
    """
    if message:
        said = current().texts.gettext(message)
    else:
        said = ""
    if values:
        return _filled(said, values)
    return said


def say_as(context: str, message: str, /, **values: object) -> str:
    """Return a message as `say` does where one English text has several meanings that `context`
    tells apart.
    """
    return _filled(current().texts.pgettext(context, message), values)


def plural(one: str, many: str, count: int, /, **values: object) -> str:
    """Return the form of a message that goes with a count, which stands in its placeholder
    `number`.
    """
    return _filled(current().texts.ngettext(one, many, count), {"number": count, **values})


class _PlainFormatter(Formatter):
    """Fills placeholders that are names alone: a template of a stranger's may say
    `{report.__class__}`.
    """

    def get_field(
        self, field_name: str, args: Sequence[object], kwargs: Mapping[str, object]
    ) -> tuple[object, str]:
        return self.get_value(field_name, args, kwargs), field_name


_formatter: Final = _PlainFormatter()


def _filled(message: str, values: Mapping[str, object]) -> str:
    return _formatter.vformat(message, (), values)


def label(text: str, trait: str = "") -> str:
    """Return the label of a measure in the current language; that of one out of growth names its
    trait.
    """
    if trait:
        return say(OF_TRAITS[text], trait=say(trait))
    return say(text)


def unit(symbol: str) -> str:
    """Return a unit in the current language, a tray called what it is now.

    A unit of dry weight, such as `g dry/L`, says so behind its gram.
    """
    called = symbol.replace(PER_TRAY, f"/{container()}")
    said = say(called.replace(OF_DRY_WEIGHT, ""))
    if OF_DRY_WEIGHT not in symbol:
        return said
    dry = say_as("gram", "dry")
    return re.sub(UNIT_OF_WEIGHT, rf"\g<0> {dry}", said, count=1)


def figure(numeral: str) -> str:
    """Return a numeral such as `-1.25` with the decimal sign of the language."""
    return numeral.replace(".", point())


def point() -> str:
    """Return the decimal sign."""
    if is_english():
        return "."
    return _signs(current().locale)[0]


def separator() -> str:
    """Return what stands between groups of three digits."""
    if is_english():
        return "\N{NARROW NO-BREAK SPACE}"
    return _signs(current().locale)[1]


@cache
def _signs(locale: str) -> tuple[str, str]:
    from babel.numbers import get_decimal_symbol, get_group_symbol

    return get_decimal_symbol(locale), get_group_symbol(locale)


def percent(numeral: str) -> str:
    """Return a numeral, in the language's own signs already, as a percentage."""
    before, after = percent_signs()
    return f"{before}{numeral}{after}"


def percent_signs() -> tuple[str, str]:
    """Return what stands before and what behind a percentage."""
    if is_english():
        return ("", "%")
    return _percent_signs(current().locale)


@cache
def _percent_signs(locale: str) -> tuple[str, str]:
    from babel import Locale

    pattern = Locale.parse(locale).percent_formats[None]
    return pattern.prefix[0], pattern.suffix[0]


def day(value: date) -> str:
    """Return a date as readers say it."""
    from babel.dates import format_date

    return format_date(value, "d MMMM y" if is_english() else "long", locale=current().locale)


def short_day(value: date) -> str:
    """Return a date as it stands in a column: 16 Feb 2026."""
    from babel.dates import format_date

    return format_date(value, "d MMM y" if is_english() else "medium", locale=current().locale)


def period(first: date, last: date) -> str:
    """Return two dates as a span, what they have in common said once."""
    from babel.dates import format_interval

    if is_english():
        locale = "en_001"
    else:
        locale = current().locale
    return format_interval(first, last, "yMMMd", locale=locale).replace("\u2009", "")


def either(items: Sequence[str]) -> str:
    """Return `a`, `a or b`, `a, b or c`."""
    if is_english():
        return " or ".join(filter(None, (", ".join(items[:-1]), *items[-1:])))
    from babel.lists import format_list

    return format_list(list(items), style="or", locale=current().locale)


def listed(items: Sequence[str]) -> str:
    """Return `a`, `a and b`, `a, b and c`."""
    if is_english():
        return " and ".join(filter(None, (", ".join(items[:-1]), *items[-1:])))
    from babel.lists import format_list

    return format_list(list(items), locale=current().locale)
