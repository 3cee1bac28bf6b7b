"""Relations of the sheet Light: places with both coordinates, and the height in use."""

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import replace
from datetime import date
from typing import Final

from reportgen.language import say
from reportgen.model.heights import are_around
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.book import Book, day_of, rows_of
from reportgen.workbook.declaration import LIGHT
from reportgen.workbook.table import INVALID, Row

HEIGHT_TO_COME: Final = frozenset(("light_height_missing",))  # before lamps are hung


def light_in_one_place(book: Book) -> Iterator[Problem]:
    """A place on the map has both its coordinates."""
    for row in rows_of(book, "Light"):
        lacking = [name for name in ("X", "Y") if row.raw(name) is None]
        if len(lacking) == 1:
            yield row.caution(
                lacking[0],
                say("{name} is not filled in", name=row.called(lacking[0])),
                say(
                    "{x} and {y} of each reading, or neither", x=row.called("X"), y=row.called("Y")
                ),
                say("The reading counts, and is not drawn on the map. Fill it in."),
                code="half_a_position",
            )


def heights_in_use(book: Book) -> Iterator[Problem]:
    """Where light was read at several heights, the treatment says which of them was in use."""
    by_date: dict[str, dict[date | None, set[float | None]]] = defaultdict(lambda: defaultdict(set))
    for row in rows_of(book, "Light"):
        code = row.text("Treatment")
        if code and row.raw("Height") is not INVALID:
            by_date[code][day_of(row.get("Date"))].add(row.number_in("Height"))
    for row in rows_of(book, "Treatments"):
        dates = by_date.get(row.text("Treatment"), {})
        if row.raw("Light height") is None:
            yield from _height_not_filled_in(row, dates.values())
        else:
            yield from _height_not_measured(row, dates.values())


def _height_not_filled_in(row: Row, dates: Collection[set[float | None]]) -> Iterator[Problem]:
    """Yield a caution where no date has the height in use, a remark where some have one height."""
    several = [heights for heights in dates if len(heights) > 1]
    if not several:
        return
    problem = row.caution(
        "Light height",
        say(
            "light was read at several heights, and {light_height} is not filled in",
            light_height=row.called("Light height"),
        ),
        say("the height that was in use"),
        say("Fill it in: readings of a day with several heights were left out."),
        code="light_height_missing",
    )
    if len(several) == len(dates):
        yield problem
    else:
        yield replace(problem, severity=Severity.REMARK)


def _height_not_measured(row: Row, dates: Collection[set[float | None]]) -> Iterator[Problem]:
    used = row.number_in("Light height")
    every = set().union(*dates)
    heights = sorted(height for height in every if height is not None)
    if used is not None and heights and not are_around(heights, used):
        yield row.caution(
            "Light height",
            say("{used} cm lies beyond the heights at which light was read", used=f"{used:g}"),
            say(
                "{low} to {high} cm",
                low=f"{heights[0]:g}",
                high=f"{heights[-1]:g}",
            ),
            say(
                "Check it, or read the light at that height. As it stands the light in use is not"
                " known."
            ),
            code="light_height_not_measured",
        )


def readings_to_match(book: Book) -> Iterator[Problem]:
    """Light can only be matched where it was read."""
    if "Light" not in book:
        yield _no_readings(LIGHT.name, say("no sheet named Light"))
    elif not book["Light"].numbers:
        yield _no_readings(book["Light"].title, say("no rows below the header"))


def _no_readings(title: str, found: str) -> Problem:
    return Problem(
        Severity.ERROR,
        title,
        "",
        found,
        say("readings of PPFD at several heights for each treatment"),
        say("Read the light at three heights or more, and type Treatment, X, Y, Height and PPFD."),
        code="no_light_readings",
    )
