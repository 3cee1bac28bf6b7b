"""Texts that came with the numbers, in the report's language.

The calculation says in English what its figures rest on, and its file of results keeps that. Here such a text is
matched against the messages of `known_texts`, and said again in the report's language, its figures, dates and lists
written as that language writes them. What matches no message stays as it is: the grower's own words, and names.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from functools import cache, cached_property, lru_cache
from typing import Final

from reportgen import language
from reportgen.language import figure, is_english, percent, plural, say
from reportgen.model.results import ReportedItem
from reportgen.model.trial import Trial
from reportgen.report import known_texts

OWN_SPREAD: Final = "own spread: "
NUMBER: Final = r"(?:less than )?-?\d+(?:\.\d+)?(?:e[+-]?\d+)?"
SIGN: Final = r"[%°µA-Za-z][^\s,;()]*"
DAY: Final = r"\d{1,2} (?:January|February|March|April|May|June|July|August|September|October|November|December) \d{4}"
SMALLEST: Final = "less than "
NEARLY: Final = "just under "
PLACEHOLDER: Final = re.compile(r"\{(\w+)\}")
BY_GROWER: Final = frozenset(  # items of the checklist that quote the grower
    (
        "lamp_type",
        "spectrum",
        "lamp_distance",
        "air_speed",
        "dissolved_oxygen",
        "solution_composition",
        "container_type",
        "container_volume",
        "cultivar",
        "seed_source",
    )
)

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
    return _reader(names, unit).one_of((*known_texts.NOTES, *known_texts.POOLING), text)


def own_spread(trial: Trial, text: str) -> str:
    """Return what the notes of an estimate say of the plants' own spread."""
    spread = text.split(OWN_SPREAD)[1]
    return spread if is_english() else reader(trial).one_of(known_texts.OWN_SPREADS, spread.split("; ")[0])


def method(trial: Trial, name: str) -> str:
    """Return the name of a method."""
    if is_english():
        return name.replace("unit scores", f"{trial.unit} scores").replace("units", f"{trial.unit}s")
    return reader(trial).one_of(known_texts.METHODS, name)


def finding(trial: Trial, text: str) -> str:
    """Return the sentences of a finding."""
    if is_english():
        return text
    said = reader(trial).sentences(text)
    return text if said is None else " ".join(said)


def item(trial: Trial, one: ReportedItem) -> str:
    """Return the value of an item of the checklist, or where it would go in the workbook."""
    if is_english():
        return one.value if one.reported else one.where
    if not one.reported:
        return reader(trial).place(one.where)
    return one.value if one.item in BY_GROWER else reader(trial).value(one.value)


def label(text: str) -> str:
    """Return the label of a measure; that of a growth rate holds the label of a trait."""
    before, after = known_texts.GROWTH_RATE.split("{trait}")
    if text.startswith(before) and text.endswith(after):
        return say(known_texts.GROWTH_RATE, trait=say(text.removeprefix(before).removesuffix(after)))
    return say(text)


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

    def sentences(self, text: str) -> list[str] | None:
        """Return the sentences that a text consists of, None where it does not consist of known ones."""
        for message in known_texts.FINDINGS:
            found = self._pattern(message).match(text)
            if found:
                rest = text[found.end() :]
                more = self.sentences(rest[1:]) if rest else []
                if more is not None:
                    return [self._filled(message, found), *more]
        return None

    def value(self, text: str) -> str:
        """Return what is known of an item: of all treatments together, or of each by its name."""
        own = re.split(rf"; (?=(?:{self._names}): )", text)
        if re.match(rf"(?:{self._names}): ", own[0]):
            return "; ".join(f"{name}: {self.value(said)}" for name, said in (one.split(": ", 1) for one in own))
        return next(self._said(known_texts.VALUES, text), None) or self._several(text)

    def place(self, text: str) -> str:
        """Return where an item would go in the workbook, and for whom it is missing."""
        where, of, missing = text.partition(" (missing for ")
        if not of:
            return say(text)
        return say(
            known_texts.MISSING_FOR, place=say(where), missing=self._listed(self._missing)(missing.removesuffix(")"))
        )

    def _several(self, text: str) -> str:
        """Return values that stand side by side: of instruments, of days, of devices; a quotation as it is."""
        if text.startswith('"'):
            return text
        parts = text.split("; ")
        if len(parts) > 1:
            return "; ".join(map(self.value, parts))
        instrument = re.fullmatch(rf"(.+) \(({self._kinds})\)(?: (?:({DAY})|±({NUMBER}) %|(.+)))?", text)
        if instrument:
            return self._instrument(*instrument.groups())
        return self._listed(self._plain)(text)

    def _instrument(self, name: str, kind: str, day: str | None, accuracy: str | None, model: str | None) -> str:
        said = [f"{name} ({say(kind)})", _day(day) if day else "", f"±{percent(figure(accuracy))}" if accuracy else ""]
        return " ".join(part for part in (*said, model or "") if part)

    def _plain(self, text: str) -> str:
        """Return a day, a number of things, or an amount, the text itself where it is none of these."""
        for kind in ("day", "counted", "percent", "amount"):
            regex, said = self._fields[kind]
            if re.fullmatch(regex, text):
                return said(text)
        return say(text)

    def _missing(self, text: str) -> str:
        return next(self._said((*known_texts.MISSING, known_texts.FAR[-1]), text), None) or self._plain(text)

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
    def _kinds(self) -> str:
        return "|".join(known_texts.MEASURED)

    @cached_property
    def _fields(self) -> dict[str, tuple[str, Say]]:
        """Return, by the name of a placeholder, the pattern of what it stands for and how that is said."""
        names = rf"(?:{self._names})(?:, (?:{self._names}))*(?: and (?:{self._names}))?"
        kinds = rf"(?:{self._kinds})(?:, (?:{self._kinds}))*(?: and (?:{self._kinds}))?"
        counted = {noun.replace(" ", "") if noun.startswith("more") else noun: noun for noun in known_texts.COUNTED}
        return {
            "number": (NUMBER, _number),
            "percent": (rf"(?:{NEARLY})?{NUMBER} ?%", _percent),
            "amount": (rf"{NUMBER}(?: pH units| ?{SIGN})?", _amount),
            "amounts": (r".+?", self._listed(_amount)),
            "day": (DAY, _day),
            "unit": (r"unit|tray|pot", lambda _: plural(*known_texts.WORDS[self._unit], 1)),
            "units": (r"units|trays|pots", lambda _: plural(*known_texts.WORDS[self._unit], 2)),
            "Unit": (r"Tray|Pot", lambda _: _capital(plural(*known_texts.WORDS[self._unit], 1))),
            "Units": (r"Trays|Pots", lambda _: _capital(plural(*known_texts.WORDS[self._unit], 2))),
            "trays": (r"\d+ (?:unit|tray|pot)s?", self._trays),
            "moretrays": (r"\d+ more (?:tray|pot)s?", _counted),
            "counted": (r"\d+ (?:{})".format("|".join(map(_either, known_texts.COUNTED))), _counted),
            **{
                f"{key}s": (rf"\d+ {_either(noun)}", _counted)
                for key, noun in counted.items()
                if noun not in ("tray", "pot")
            },
            "name": (self._names, str),
            "names": (names, self._listed(str)),
            "each": (rf".+? for (?:{self._names})", self._each),
            "measured": (kinds, self._listed(say)),
            "quantity": ("|".join(map(re.escape, known_texts.QUANTITIES)), say),
            "compared": ("|".join(known_texts.COMPARED), say),
            "range": ("|".join(known_texts.RANGES), say),
            "costs": (r".+", self._listed(self._plain)),
            "far": (r".+?", self._listed(lambda text: self.one_of(known_texts.FAR, text))),
            "beyond": (r".+?", self._beyond),
            "usual": (r".+?", self._listed(lambda text: self.one_of(known_texts.BEYOND, text))),
            "lost": (r".+", lambda text: "; ".join(self.one_of(known_texts.VALUES, one) for one in text.split("; "))),
            "note": (r".+", lambda text: self.one_of(known_texts.NOTES, text)),
            "text": (r".+?", str),
            "quote": (r".+", str),
        }

    def _trays(self, text: str) -> str:
        return plural(*known_texts.COUNTED[self._unit], int(text.partition(" ")[0]))

    def _each(self, text: str) -> str:
        """Return what is said of each treatment."""
        found = re.findall(rf"(?:^|, | and )(.+?) for ({self._names})(?=$|, | and )", text)
        return language.listed([say("{value} for {name}", value=self.value(value), name=name) for value, name in found])

    def _beyond(self, text: str) -> str:
        parts = re.split(rf"(?<=\)); (?={'|'.join(known_texts.RANGES)})", text)
        return "; ".join(self.one_of(known_texts.BEYOND, part) for part in parts)

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
    one, many = known_texts.COUNTED[noun]
    return "(?:{})".format("|".join(re.escape(form.removeprefix("{number} ")) for form in (many, one)))


@cache
def _noun_of() -> dict[str, str]:
    return {form.removeprefix("{number} "): noun for noun, forms in known_texts.COUNTED.items() for form in forms}


def _counted(text: str) -> str:
    number, noun = text.split(" ", 1)
    return plural(*known_texts.COUNTED[_noun_of()[noun]], int(number))


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


def _amount(text: str) -> str:
    """Return a number with its unit."""
    found = re.fullmatch(rf"({NUMBER})( ?)(.*)", text)
    if not found:
        return text
    number, space, unit = found.groups()
    return _percent(text) if unit == "%" else f"{_number(number)}{space}{say(unit)}"


def _day(text: str) -> str:
    return language.day(datetime.strptime(text, "%d %B %Y").date())


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
