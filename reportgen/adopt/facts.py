"""The fields of the trial that a file tells beside its tables: title, crop, days."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from reportgen.adopt.grid import one_line
from reportgen.adopt.mapping import UNKNOWN
from reportgen.adopt.parts import Part
from reportgen.adopt.roles import day_of, span
from reportgen.adopt.tables import Pairs
from reportgen.adopt.words import FACTS
from reportgen.workbook.dates import TextDates
from reportgen.workbook.headers import folded
from reportgen.workbook.raw import Workbook
from reportgen.workbook.values import blank


def trial_of(files: Mapping[str, Workbook], parts: Sequence[Part], pairs: Sequence[Pairs]) -> Mapping[str, object]:
    """Return the fields of the trial: those that the file tells, UNKNOWN where its owner must."""
    told_there = dict(_facts(pairs))
    title = bare_title(files[""].name)
    return {
        "Title": told_there.get("Title", title),
        "Crop": told_there.get("Crop", UNKNOWN),
        **{name: told_there[name] for name in ("Cultivar", "Sown on") if name in told_there},
        "Started on": told_there.get("Started on", UNKNOWN),
        "Harvested on": told_there.get("Harvested on", _harvest(parts) or UNKNOWN),
        "Reference treatment": UNKNOWN,
        "Experimental unit": UNKNOWN,
    }


def bare_title(name: str) -> str:
    """Return a file's name as a title: its signs made spaces."""
    text = " ".join(name.replace("_", " ").replace("-", " ").split())
    return text[:1].upper() + text[1:] if text else name


def _facts(pairs: Sequence[Pairs]) -> Iterator[tuple[str, object]]:
    for one in pairs:
        for label, value in one.pairs:
            field_name = next((name for name, words in FACTS.items() if folded(label) in words.split()), "")
            is_day = field_name.endswith(" on")
            if field_name and is_day and (day := day_of(value, TextDates(None, mixed=False))):
                yield field_name, day
            elif field_name and not is_day and not blank(value):
                yield field_name, one_line(value)


def logged(parts: Sequence[Part], *, last: bool) -> date | None:
    """Return the first or the last day in the logs of a file, None where they have less than two."""
    days = {day for part in parts for day in _days(part)}
    return (max(days) if last else min(days)) if len(days) > 1 else None


def _days(part: Part) -> Iterator[date]:
    for name in ("Date", "Read at"):
        guess = part.read.guess(name)
        known = span(part.read.table.values(guess.column)) if guess else None
        yield from known or ()


def _harvest(parts: Sequence[Part]) -> date | None:
    for part in parts:
        guess = part.read.guess("Harvested on")
        known = span(part.read.table.values(guess.column)) if guess else None
        if known:
            return known[1]
    return None
