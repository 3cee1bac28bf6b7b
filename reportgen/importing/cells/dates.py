"""Dates that are written as text, in seven languages."""

import re
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache, lru_cache
from typing import Final

LANGUAGES: Final = ("en", "de", "es", "fr", "it", "nl", "pt")
YEAR_UNKNOWN: Final = 1904  # a leap year that no trial is of, so that 29 February is a day
LABELS: Final = ("set", "out", "gen", "mag")  # short months that rather begin a label: Set 1, Gen 2
_CLOCK: Final = re.compile(  # a zone is left out: clocks show local time
    r"(?P<hour>\d{1,2})[:h](?P<minute>\d{2})(?::(?P<second>\d{2})(?:[.,]\d+)?)?"
    r" ?(?P<half>[ap]\.?m\.?)?(?: ?(?:Uhr|Z|UTC|GMT|CES?T|[+-]\d{2}:?\d{2}))?",
    re.IGNORECASE,
)
_TIME: Final = re.compile(
    r"(?:[01]?\d|2[0-3]):[0-5]\d(?::[0-5]\d)?(?: ?[ap]\.?m\.?)?", re.IGNORECASE
)
_ISO: Final = re.compile(r"(\d{4})([./-])(\d{1,2})\2(\d{1,2})")
_NUMERIC: Final = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4}|\d{2})")
_BARE: Final = re.compile(r"(\d{1,2})/(\d{1,2})|(\d{1,2})\.(\d{1,2})\.")
_DAY_MONTH: Final = re.compile(
    r"(?P<day>\d{1,2})(?:st|nd|rd|th|er|º|°|\.)?[ -]?(?:de |of )?(?P<month>[^\W\d]{3,})\.?"
    r"(?:,?(?: de)?[ -](?P<year>\d{4}|'?\d{2}(?![:h\d])))?(?: (?P<clock>.*))?"
)
_MONTH_DAY: Final = re.compile(
    r"(?P<month>[^\W\d]{3,})\.?[ -](?P<day>\d{1,2})(?:st|nd|rd|th)?(?![\d:h])"
    r"(?:,? ?(?P<year>-?\d{4}))?(?: (?P<clock>.*))?"
)
_WEEKDAY: Final = re.compile(r"([^\W\d]{2,})\.?,? (.+)")


@dataclass(frozen=True, eq=False)  # equal texts give the same object, which is quick to look up
class Written:
    """A day as it is written: `first` and `second` are day and month in an order that `day_first`
    tells.

    `day_first` is None where either order may hold; `year` is 0 where none is written. `is_short`
    tells two digits of a year, `is_bare` two numbers without a year, which may be something else;
    `sign` is what parts the numbers.
    """

    first: int
    second: int
    year: int
    day_first: bool | None
    is_short: bool = False
    is_bare: bool = False
    sign: str = ""

    @property
    def is_ambiguous(self) -> bool:
        """Tell whether it is another day in the other order."""
        return self.day_first is None and self.first != self.second

    def day(self, day_first: bool, year: int = 0) -> date | None:
        """Return the day with an order, and a year where none is written; None where the calendar
        has none.
        """
        if self.day_first is None:
            order = day_first
        else:
            order = self.day_first
        day, month = (self.first, self.second) if order else (self.second, self.first)
        try:
            return date(self.year or year or YEAR_UNKNOWN, month, day)
        except ValueError:
            return None


Moment = tuple[Written, int]  # a day, and the seconds since it began


def date_in(text: str) -> Moment | None:
    """Return the day and the seconds of a text that is a date, None where it is none."""
    if len(text) > 40:
        return None
    day, _, clock = text.partition(" ")
    if day[10:11] == "T":
        day, clock = day[:10], day[11:]
    written = _numeric(day.rstrip(","))
    if written:
        seconds = _seconds(clock)
        if seconds is None:
            return None
        return (written, seconds)
    if day[:1].isalnum() and not text.isdecimal():
        return _named(text)
    return None


@lru_cache(10_000)
def _numeric(text: str) -> Written | None:
    """Return the day of a text of numbers."""
    if match := _ISO.fullmatch(text):
        return _valid(Written(int(match[4]), int(match[3]), int(match[1]), True))
    if match := _NUMERIC.fullmatch(text):
        first, second, year = int(match[1]), int(match[3]), int(match[4])
        is_short = len(match[4]) == 2
        order = _order(first, second, match[2])
        return _valid(
            Written(first, second, year + 2000 * is_short, order, is_short, sign=match[2])
        )
    if match := _BARE.fullmatch(text):
        if match[3]:
            return _valid(Written(int(match[3]), int(match[4]), 0, True))
        first, second = int(match[1]), int(match[2])
        return _valid(Written(first, second, 0, _order(first, second, "/"), is_bare=True, sign="/"))
    return None


def _order(first: int, second: int, sign: str) -> bool | None:
    if sign == "." or first > 12:
        return True
    if second > 12:
        return False
    return None


def _valid(written: Written) -> Written | None:
    if written.day(True) or (written.day_first is None and written.day(False)):
        return written
    return None


@lru_cache(10_000)
def _seconds(text: str) -> int | None:
    """Return the seconds of a time of day; 0 of no text, None of another text."""
    if not text:
        return 0
    match = _CLOCK.fullmatch(text)
    if not match:
        return None
    hour = int(match["hour"])
    half = (match["half"] or "").casefold()[:1]
    if half:
        hour = hour % 12 + 12 * (half == "p")
    return hour * 3600 + int(match["minute"]) * 60 + int(match["second"] or 0)


def time_in(text: str) -> str:
    """Return the time of day of a text such as 4:05 PM, as 16:05; "" of another text, or where
    minutes are none.
    """
    if not _TIME.fullmatch(text):
        return ""
    seconds = _seconds(text) or 0
    hour, minute, second = seconds // 3600, seconds // 60 % 60, seconds % 60
    return f"{hour:02d}:{minute:02d}" + (f":{second:02d}" if second else "")


def _named(text: str) -> Moment | None:
    """Return the day of a text with the name of its month, or of a weekday before it."""
    small = text.casefold()
    if not any(sign.isdigit() for sign in small):
        return None
    weekday = _WEEKDAY.fullmatch(small)
    if weekday and weekday[1] in _calendar("days"):
        rest = date_in(weekday[2])
        if rest:
            return replace(rest[0], is_bare=False), rest[1]
    for pattern in (_DAY_MONTH, _MONTH_DAY):
        match = pattern.fullmatch(small)
        if match and match["month"] in _calendar("months"):
            return _of_month(match)
    return None


def _of_month(match: re.Match[str]) -> Moment | None:
    year = int((match["year"] or "0").strip("'-"))
    if not year and match["month"] in LABELS:
        return None
    month = _calendar("months")[match["month"]]
    written = _valid(Written(int(match["day"]), month, year + 2000 * (0 < year < 100), True))
    seconds = _seconds((match["clock"] or "").removeprefix("at "))
    if written and seconds is not None:
        return (written, seconds)
    return None


def weekday_of(text: str) -> int | None:
    """Return the number of the weekday that a text names, as its calendar counts; None of another
    text.
    """
    return _calendar("days").get(text.strip().rstrip(".").casefold())


def with_weekday(text: str) -> str:
    """Return the day of a week that begins on a day: `2025-06-02 Fri` is 2025-06-06; other texts as
    they stand.
    """
    begin, space, name = text.partition(" ")
    if space:
        weekday = weekday_of(name)
    else:
        weekday = None
    written = _ISO.fullmatch(begin)
    if weekday is None or not written:
        return text
    first = date.fromisoformat(begin)
    return (first + timedelta(days=(weekday - first.weekday()) % 7)).isoformat()


@cache
def _calendar(what: str) -> dict[str, int]:
    """Return the numbers of `months` or `days` by their names and short names, in small letters."""
    from babel import Locale

    names: dict[str, int] = {"sept": 9} if what == "months" else {}
    for language in LANGUAGES:
        for use in ("format", "stand-alone"):
            for width in ("wide", "abbreviated"):
                for number, name in getattr(Locale(language), what)[use][width].items():
                    small = str(name).casefold().rstrip(".")
                    names.setdefault(small, int(number))
                    names.setdefault(small[:3], int(number))
    return names
