"""Dates that were typed as text, read in one order of day and month for the whole column."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

from reportgen.language import marked, say

YEAR_FIRST: Final = re.compile(
    r"(\d{4})([./-])(\d{1,2})\2(\d{1,2})(?:[T ](\d{1,2}):(\d{2})(?::\d{2})?)?"
)
DAY_OR_MONTH: Final = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})(?: (\d{1,2}):(\d{2}))?")
ADVICE: Final = marked("Type it as year-month-day, for example 2026-03-31.")


@dataclass(eq=False)
class Undated(Exception):
    """A text is no date, or could be two; `shared` where the reason is that of the whole column."""

    found: str
    advice: str
    shared: bool = False
    code: str = field(kw_only=True)


@dataclass(frozen=True)
class TextDates:
    """The order of day and month in text dates; `day_first` is None where nothing decides it."""

    day_first: bool | None
    mixed: bool

    @classmethod
    def of(cls, texts: Iterable[str]) -> "TextDates":
        """Return the order that the dates of one column show together."""
        day_first = False
        month_first = False
        for text in texts:
            match = DAY_OR_MONTH.fullmatch(text.strip())
            if not match:
                continue
            has_points = match[2] == "."
            if has_points or int(match[1]) > 12:
                day_first = True
            if not has_points and int(match[3]) > 12:
                month_first = True
        decided = None
        if day_first != month_first:
            decided = day_first
        return cls(decided, day_first and month_first)

    def read(self, text: str) -> datetime:
        """Return the date in `text`; raise Undated for none, or one with two readings."""
        if match := YEAR_FIRST.fullmatch(text.strip()):
            return _dated(*(int(match[part] or 0) for part in (1, 3, 4, 5, 6)))
        match = DAY_OR_MONTH.fullmatch(text.strip())
        if not match:
            raise Undated(say("is not a date"), say(ADVICE), code="not_a_date")
        first, second, year, hour, minute = (int(match[part] or 0) for part in (1, 3, 4, 5, 6))
        day_first = self._day_first(first, second, match[2])
        day, month = (first, second) if day_first else (second, first)
        return _dated(year, month, day, hour, minute)

    def _day_first(self, first: int, second: int, separator: str) -> bool:
        if first == second or first > 12 or second > 12 or separator == ".":
            return first > 12 or separator == "."
        if self.day_first is None:
            if self.mixed:
                why = say("the column has both orders of day and month")
            else:
                why = say("day and month could be swapped")
            raise Undated(
                say("could be two dates: {why}", why=why),
                say(ADVICE),
                shared=True,
                code="ambiguous_date",
            )
        return self.day_first


def _dated(year: int, month: int, day: int, hour: int, minute: int) -> datetime:
    try:
        return datetime(year, month, day, hour, minute)
    except ValueError as error:
        raise Undated(
            say("is not a date of the calendar"), say(ADVICE), code="not_a_date"
        ) from error
