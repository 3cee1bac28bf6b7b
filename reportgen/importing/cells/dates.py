"""Dates that are written as text, in seven languages."""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Final

LANGUAGES: Final = ("en", "de", "es", "fr", "it", "nl", "pt")
CLOCK: Final = (
    r"(?:(?:[T,]| at| um)? ?(?P<hour>\d{1,2})[:h](?P<minute>\d{2})(?::(?P<second>\d{2})(?:[.,]\d+)?)?"
    r" ?(?P<half>[ap]\.?m\.?)?(?: ?(?:Uhr|Z|UTC|GMT|CES?T|[+-]\d{2}:?\d{2}))?)?"
)
_ISO: Final = re.compile(r"(?P<year>\d{4})([./-])(?P<month>\d{1,2})\2(?P<day>\d{1,2})" + CLOCK, re.IGNORECASE)
_NUMERIC: Final = re.compile(
    r"(?:[^\W\d]+\.?,? )?(?P<first>\d{1,2})(?P<sign>[./-]) ?(?P<other>\d{1,2})(?P=sign) ?(?P<year>\d{4}|\d{2})" + CLOCK,
    re.IGNORECASE,
)
_DAY_MONTH: Final = re.compile(
    r"(?:(?P<weekday>[^\W\d]+)\.?,? )?(?P<day>\d{1,2})(?:st|nd|rd|th|er|º|°|\.)?[ -]?(?:de |of )?"
    r"(?P<word>[^\W\d]{3,})\.?"
    r"(?:,?(?: de)?[ -](?P<year>\d{4}|'?\d{2}))?" + CLOCK,
    re.IGNORECASE,
)
_MONTH_DAY: Final = re.compile(
    r"(?:(?P<weekday>[^\W\d]+)\.?,? )?(?P<word>[^\W\d]{3,})\.?[ -](?P<day>\d{1,2})(?:st|nd|rd|th)?"
    r"(?:,? ?(?P<year>(?<=[ ,])\d{4}|(?<=-)\d{4}|'\d{2}))?" + CLOCK,
    re.IGNORECASE,
)
_YEARLESS: Final = re.compile(r"(?P<first>\d{1,2})(?:(?P<sign>/)(?P<other>\d{1,2})|\.(?P<month>\d{1,2})\.)")
YEAR_UNKNOWN: Final = 1904  # a leap year that no trial is of, so that 29 February is a day


@dataclass(frozen=True)
class Written:
    """A date as it is written: `first` and `second` are day and month in an order that `day_first` tells.

    `day_first` is None where either order may hold; `year` is 0 where none is written; `clock` is the time of day.
    `is_short` tells two digits of a year, `is_bare` two numbers without a year, which may be something else, `sign`
    what parts its numbers.
    """

    first: int
    second: int
    year: int
    day_first: bool | None
    clock: timedelta = timedelta()
    is_short: bool = False
    is_bare: bool = False
    sign: str = ""

    @property
    def is_ambiguous(self) -> bool:
        """Tell whether it is another day in the other order."""
        return self.day_first is None and self.first != self.second

    def moment(self, day_first: bool, year: int = 0) -> datetime | None:
        """Return the moment with an order, and a year where none is written; None where the calendar has none."""
        order = day_first if self.day_first is None else self.day_first
        day, month = (self.first, self.second) if order else (self.second, self.first)
        try:
            return datetime(self.year or year or YEAR_UNKNOWN, month, day) + self.clock
        except ValueError:
            return None


def iso_moment(text: str) -> datetime | None:
    """Return the moment of a text that begins with its year; a zone behind it is left out: clocks show local time."""
    match = _ISO.fullmatch(text)
    if not match:
        return None
    written = Written(int(match["day"]), int(match["month"]), int(match["year"]), True, _clock(match))
    return written.moment(True)


def date_in(text: str) -> Written | None:
    """Return the date that a text is, None where it is none."""
    if not any(sign.isdigit() for sign in text) or len(text) > 40:
        return None
    if match := _NUMERIC.fullmatch(text):
        return _numeric(match)
    if match := _YEARLESS.fullmatch(text):
        return _yearless(match)
    return _named(text)


def _numeric(match: re.Match[str]) -> Written | None:
    first, second = int(match["first"]), int(match["other"])
    is_short = len(match["year"]) == 2
    year = int(match["year"]) + 2000 * is_short
    order = _order(first, second, match["sign"])
    return _valid(Written(first, second, year, order, _clock(match), is_short, sign=match["sign"]))


def _yearless(match: re.Match[str]) -> Written | None:
    first, second = int(match["first"]), int(match["other"] or match["month"])
    if match["month"]:
        return _valid(Written(first, second, 0, True))
    return _valid(Written(first, second, 0, _order(first, second, "/"), is_bare=True))


def _order(first: int, second: int, sign: str) -> bool | None:
    if sign == "." or first > 12:
        return True
    if second > 12:
        return False
    return None


def _valid(written: Written) -> Written | None:
    if written.moment(True) or (written.day_first is None and written.moment(False)):
        return written
    return None


def _named(text: str) -> Written | None:
    for pattern in (_DAY_MONTH, _MONTH_DAY):
        match = pattern.fullmatch(text)
        if not match:
            continue
        month = months().get(match["word"].casefold(), 0)
        is_weekday = not match["weekday"] or match["weekday"].casefold() in weekdays()
        if month and is_weekday:
            year = int((match["year"] or "0").strip("'"))
            year += 2000 * (0 < year < 100)
            return _valid(Written(int(match["day"]), month, year, True, _clock(match)))
    return None


def _clock(match: re.Match[str]) -> timedelta:
    if not match["hour"]:
        return timedelta()
    hour = int(match["hour"])
    half = (match["half"] or "").casefold()[:1]
    if half:
        hour = hour % 12 + 12 * (half == "p")
    return timedelta(hours=hour, minutes=int(match["minute"]), seconds=int(match["second"] or 0))


@cache
def months() -> dict[str, int]:
    """Return the numbers of months by their names and short names, in small letters."""
    return _calendar("months")


@cache
def weekdays() -> dict[str, int]:
    """Return the numbers of weekdays by their names and short names, in small letters."""
    return _calendar("days")


def _calendar(what: str) -> dict[str, int]:
    from babel import Locale

    names: dict[str, int] = {"sept": 9} if what == "months" else {}
    for language in LANGUAGES:
        locale = Locale(language)
        for use in ("format", "stand-alone"):
            for width in ("wide", "abbreviated"):
                for number, name in getattr(locale, what)[use][width].items():
                    names.setdefault(str(name).casefold().rstrip("."), int(number))
                    names.setdefault(str(name).casefold()[:3], int(number))
    return names
