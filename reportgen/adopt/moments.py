"""Moments as loggers and people write them, in the one form that the checks read."""

import re
from datetime import datetime, time, timedelta
from typing import Final

from reportgen.workbook.raw import Value

SHORT_YEAR: Final = re.compile(r"^(\d{1,2}[./-]\d{1,2}[./-])(\d{2})(?=$|[ T,])")
CLOCK: Final = re.compile(
    r"(.*\d)[ T,]+(\d{1,2}):(\d{2})(?::\d{2}(?:[.,]\d+)?)?\s*(?:([ap])\.?\s?m\.?)?\s*(?:Z|[+-]\d{2}:?\d{2})?",
    re.IGNORECASE,
)


def plain_moment(text: str) -> str:
    """Return a date with its whole year, and a time of day in 24 hours and minutes behind it where there is one."""
    whole = SHORT_YEAR.sub(r"\g<1>20\2", text.strip())
    found = CLOCK.fullmatch(whole)
    if not found:
        return whole
    half = (found[4] or "").casefold()
    hour = int(found[2]) % 12 + 12 * (half == "p") if half else int(found[2])
    return f"{found[1]} {hour:02}:{found[3]}"


def at_time(day: Value, clock: Value) -> Value:
    """Return a day at a time of day that stands in a cell beside it; as it is where there is none."""
    if isinstance(clock, float | int) and 0 <= clock < 1:
        clock = (datetime.min + timedelta(days=clock, seconds=0.5)).time()  # a spreadsheet's time is a part of the day
    if isinstance(clock, datetime):
        clock = clock.time()
    if isinstance(day, str):
        said = clock.strftime("%H:%M") if isinstance(clock, time) else str(clock or "").strip()
        return plain_moment(f"{day.strip()} {said}") if said else day
    if isinstance(clock, str):
        found = CLOCK.fullmatch(plain_moment(f"0 {clock.strip()}"))
        clock = time(int(found[2]), int(found[3])) if found and int(found[2]) < 24 and int(found[3]) < 60 else None
    if isinstance(day, datetime) and isinstance(clock, time):
        return datetime.combine(day.date(), clock.replace(second=0, microsecond=0))
    return day
