"""Texts that came with the numbers, in the report's language.

The calculation says in English what its figures rest on, and its file of results keeps that. Here such a text is
matched against the messages of `known_texts`, and said again in the report's language, its figures, dates and lists
written as that language writes them. What matches no message stays as it is: the grower's own words, and names.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from functools import cache, cached_property, lru_cache
from typing import Final

from reportgen import language
from reportgen.language import figure, is_english, percent, say
from reportgen.model.trial import Trial
from reportgen.report import known_texts, terms

OWN_SPREAD: Final = "own spread: "
NUMBER: Final = r"(?:less than )?-?\d+(?:\.\d+)?(?:e[+-]?\d+)?"
SMALLEST: Final = "less than "
NEARLY: Final = "just under "
PLACEHOLDER: Final = re.compile(r"\{(\w+)\}")
Say = Callable[[str], str]


def _in_english(members: Sequence[str]) -> str:
    with language.using(language.ENGLISH):
        return language.listed(members)


def note(trial: Trial, text: str) -> str:
    """Return one note of an estimate or comparison, with the trial's own word for its experimental unit."""
    return note_among(_names(trial), trial.unit, text)


def note_among(names: tuple[str, ...], unit: str, text: str) -> str:
    """Return one note of a trial whose treatments have these names, with its word for its experimental unit."""
    if is_english():
        return text.replace("units", f"{unit}s").replace("unit", unit)
    return _reader(names, unit).one_of(known_texts.NOTES, text)


def own_spread(trial: Trial, text: str) -> str:
    """Return what the notes of an estimate say of the plants' own spread."""
    spread = text.split(OWN_SPREAD)[1]
    return spread if is_english() else reader(trial).one_of(known_texts.OWN_SPREADS, spread.split("; ")[0])


def method(trial: Trial, name: str) -> str:
    """Return the name of a method."""
    if is_english():
        return name.replace("unit scores", f"{trial.unit} scores").replace("units", f"{trial.unit}s")
    return reader(trial).one_of(known_texts.METHODS, name)


def reader(trial: Trial) -> "Reader":
    """Return what reads the texts of a trial."""
    return _reader(_names(trial), trial.unit)


def _names(trial: Trial) -> tuple[str, ...]:
    return tuple(treatment.name for treatment in trial.treatments)


@lru_cache(maxsize=8)
def _reader(names: tuple[str, ...], unit: str) -> "Reader":
    return Reader(names, unit)


class Reader:
    """Reads English texts with the names of a trial's treatments in them, and says them in the current language."""

    def __init__(self, names: tuple[str, ...], unit: str) -> None:
        self._names = "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True))
        self._unit = unit
        self._compiled: dict[str, re.Pattern[str]] = {}

    def one_of(self, messages: Sequence[str], text: str) -> str:
        """Return a text that one of some messages fits, the text itself where none does."""
        return next(self._said(messages, text), text)

    def _plain(self, text: str) -> str:
        """Return a number of things or a share, the text itself where it is neither."""
        for kind in ("counted", "percent"):
            regex, said = self._fields[kind]
            if re.fullmatch(regex, text):
                return said(text)
        return say(text)

    def _said(self, messages: Sequence[str], text: str) -> Iterator[str]:
        for message in messages:
            found = self._pattern(message).fullmatch(text)
            if found:
                yield self._filled(message, found)

    def _pattern(self, message: str) -> re.Pattern[str]:
        """Return the pattern of a message at the beginning of a text, up to its end or the next sentence."""
        if message not in self._compiled:
            literal = PLACEHOLDER.split(message)
            parts = [re.escape(part) for part in literal]
            parts[1::2] = [f"(?P<{name}>{self._fields[_kind(name)][0]})" for name in literal[1::2]]
            self._compiled[message] = re.compile("".join(parts) + r"(?=$| (?=\S))")
        return self._compiled[message]

    def _filled(self, message: str, found: re.Match[str]) -> str:
        return say(message, **{name: self._fields[_kind(name)][1](text) for name, text in found.groupdict().items()})

    @cached_property
    def _fields(self) -> dict[str, tuple[str, Say]]:
        """Return, by the name of a placeholder, the pattern of what it stands for and how that is said."""
        return {
            "number": (NUMBER, _number),
            "percent": (rf"(?:{NEARLY})?{NUMBER} ?%", _percent),
            "unit": (r"unit|tray|pot", lambda _: terms.unit_word(self._unit)),
            "units": (r"units|trays|pots", lambda _: terms.unit_word(self._unit, 2)),
            "trays": (r"\d+ (?:unit|tray|pot)s?", self._trays),
            "counted": (r"\d+ (?:{})".format("|".join(map(_either, terms.COUNTED))), _counted),
            **{
                f"{noun}s": (rf"\d+ {_either(noun)}", _counted) for noun in terms.COUNTED if noun not in ("tray", "pot")
            },
            "costs": (r".+", self._listed(self._plain)),
            "note": (r".+", lambda text: self.one_of(known_texts.NOTES, text)),
        }

    def _trays(self, text: str) -> str:
        return terms.counted(self._unit, int(text.partition(" ")[0]))

    def _listed(self, said: Say) -> Say:
        """Return how a list such as `a, b and c` is said whose members are said by `said`."""

        def list_said(text: str) -> str:
            members = _members(text, self._names)
            return language.listed([said(one) for one in members]) if _in_english(members) == text else said(text)

        return list_said


def _members(text: str, names: str) -> list[str]:
    """Return the members of a list; commas and `and` within brackets and within names part nothing."""
    part = rf"(?:{names}|\([^()]*\)|(?!, | and ).)+"
    return re.findall(rf"(?:(?<=, )|(?<= and )|^){part}", text)


def _kind(name: str) -> str:
    return name.rstrip("0123456789")


def _either(noun: str) -> str:
    """Return the pattern of a noun in the singular or the plural."""
    one, many = terms.COUNTED[noun]
    return "(?:{})".format("|".join(re.escape(form.removeprefix("{number} ")) for form in (many, one)))


@cache
def _noun_of() -> dict[str, str]:
    return {form.removeprefix("{number} "): noun for noun, forms in terms.COUNTED.items() for form in forms}


def _counted(text: str) -> str:
    number, noun = text.split(" ", 1)
    return terms.counted(_noun_of()[noun], int(number))


def _number(text: str) -> str:
    if text.startswith(SMALLEST):
        return say("less than {size}", size=figure(text.removeprefix(SMALLEST)))
    return figure(text)


def _percent(text: str) -> str:
    number = text.rstrip("%").strip()
    if number.startswith(NEARLY):
        return say("just under {whole}", whole=percent(_number(number.removeprefix(NEARLY))))
    if number.startswith(SMALLEST):
        return say("less than {size}", size=percent(figure(number.removeprefix(SMALLEST))))
    return percent(figure(number))
