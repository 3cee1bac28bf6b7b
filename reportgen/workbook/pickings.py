"""Relations of the sheet Harvests: one row a picking."""

from collections import defaultdict
from collections.abc import Iterator, Sequence, Set
from typing import Final

from reportgen.language import plural, say
from reportgen.model.problem import Problem, Severity, cells_of
from reportgen.workbook.book import Book, flawed, rows_of
from reportgen.workbook.declaration import CULLS, HARVESTS
from reportgen.workbook.headers import folded
from reportgen.workbook.table import Row
from reportgen.workbook.values import shown

MOST_NAMED: Final = 6  # trays named one by one
MEASURES: Final = ("Weight", "Count")
CULL_WORDS: Final = frozenset(folded(word) for word in CULLS)


def is_cull(grade: str) -> bool:
    """Return whether a grade is a word for what cannot be sold."""
    return folded(grade) in CULL_WORDS


def has_weighed_pickings(book: Book) -> bool:
    """Return whether the yield is that of the pickings: one of them at least has a weight."""
    return any(row.number_in("Weight") is not None for row in rows_of(book, HARVESTS.name))


def pickings_have_an_amount(book: Book) -> Iterator[Problem]:
    """A picking has a weight or a count, and what weighs something is a piece at least."""
    for row in rows_of(book, HARVESTS.name):
        weight, count = (row.number_in(name) for name in MEASURES)
        if row.raw("Weight") is None and row.raw("Count") is None:
            yield row.error(
                "Weight",
                say(
                    "neither {weight} nor {count} is filled in",
                    weight=row.called("Weight"),
                    count=row.called("Count"),
                ),
                say("what was picked"),
                say("Type the weight or the number of pieces; 0 where there was nothing to pick."),
                code="picking_without_amount",
            )
        elif weight is not None and count is not None and (weight == 0) != (count == 0):
            yield row.error(
                "Count",
                say("{count} pieces weigh {weight} g", count=f"{count:g}", weight=f"{weight:g}"),
                say("both 0, or neither"),
                say("Mend the one that is wrong."),
                code="picking_contradicts_itself",
            )


def every_picking_is_measured(book: Book) -> Iterator[Problem]:
    """What one picking has a weight or a count for, all have: a sum with a gap is no sum."""
    if flawed(book, HARVESTS.name, "Tray", *MEASURES):
        return
    rows = list(rows_of(book, HARVESTS.name))
    for name, other in (MEASURES, MEASURES[::-1]):
        blank = [row for row in rows if row.raw(name) is None]
        lacking = [row for row in blank if row.number_in(other)]
        is_measured = len(blank) < len(rows)
        if lacking and is_measured:
            yield _lacking(name, lacking)


def _lacking(name: str, rows: Sequence[Row]) -> Problem:
    trays = _listed([row.text("Tray") for row in rows])
    called = rows[0].called(name).lower()
    return Problem(
        Severity.CAUTION,
        rows[0].table.title,
        _cells(name, rows),
        say(
            "{counted} without a {name}, of {trays}",
            counted=_pickings_said(len(rows)),
            name=called,
            trays=trays,
        ),
        say("a {name} for every picking, as others have", name=called),
        say(
            "The sum is not known there, and the tray is left out where {name}s are compared."
            " Fill it in.",
            name=called,
        ),
        code="picking_not_measured",
    )


def pickings_of_every_tray(book: Book) -> Iterator[Problem]:
    """Each tray with plants has a picking, be it of nothing, unless its plants were all lost."""
    if flawed(book, HARVESTS.name, "Tray") or flawed(book, "Trays", "Tray", "Plants started"):
        return
    picked = {row.text("Tray") for row in rows_of(book, HARVESTS.name)}
    lacking = _planted_without(book, picked | trays_that_lost_all(book))
    if not lacking:
        return
    trays = _listed([row.text("Tray") for row in lacking])
    yield Problem(
        Severity.CAUTION,
        lacking[0].table.title,
        _cells("Tray", lacking),
        say(
            "no picking of {trays} on the sheet {name}",
            trays=trays,
            name=lacking[0].sheet(HARVESTS.name),
        ),
        say("a picking of every tray"),
        say(
            "What they gave is not known, and they are left out of the yields. Add the rows;"
            " where a tray gave nothing, one with a weight of 0."
        ),
        code="tray_without_picking",
    )


def trays_that_lost_all(book: Book) -> set[str]:
    """Return the trays whose plants on the sheet Plants are all dead or removed."""
    lived: dict[str, bool] = defaultdict(bool)
    for row in rows_of(book, "Plants"):
        lived[row.text("Tray")] |= row.raw("Status") not in ("dead", "removed")
    return {tray for tray, some_lived in lived.items() if not some_lived}


def pickings_of_trays_with_plants(book: Book) -> Iterator[Problem]:
    """Nothing is picked from a tray that was started without plants."""
    bare = {row.text("Tray") for row in rows_of(book, "Trays") if row.get("Plants started") == 0}
    found: dict[str, list[Row]] = defaultdict(list)
    for row in rows_of(book, HARVESTS.name):
        if row.text("Tray") in bare and (row.number_in("Weight") or row.number_in("Count")):
            found[row.text("Tray")].append(row)
    for tray, rows in found.items():
        yield Problem(
            Severity.ERROR,
            rows[0].table.title,
            _cells("Tray", rows),
            say(
                '{counted} of tray "{tray}", which was started without plants',
                counted=_pickings_said(len(rows)),
                tray=shown(tray),
            ),
            say("a tray with plants"),
            say(
                "Mend the code of the tray, or {plants_started}.",
                plants_started=_plants_started(rows[0]),
            ),
            code="picking_without_plants",
        )


def _plants_started(row: Row) -> str:
    name = row.table.words.column_name("Trays", "Plants started")
    return say("{name} on the sheet {trays}", name=name, trays=row.sheet("Trays"))


def pickings_once(book: Book) -> Iterator[Problem]:
    """A row that says the same as another is probably a picking typed twice."""
    names = [column.name for column in HARVESTS.columns if column.name != "Note"]
    first: dict[tuple[object, ...], Row] = {}
    for row in rows_of(book, HARVESTS.name):
        values = tuple(row.raw(name) for name in names)
        before = first.setdefault(values, row)
        if before is not row and (row.number_in("Weight") or row.number_in("Count")):
            yield row.caution(
                "Date",
                say("the same picking stands in row {number} too", number=before.named),
                say("each picking once"),
                say("Delete one of the rows if it was typed twice. As they stand both count."),
                code="repeated_picking",
            )


def one_source_of_yield(book: Book) -> Iterator[Problem]:
    """Fresh weights of plants are not added to those of pickings."""
    weighed = [row for row in rows_of(book, "Plants") if row.number_in("Fresh weight") is not None]
    if not weighed or not has_weighed_pickings(book):
        return
    first = weighed[0]
    pickings, fresh = first.sheet(HARVESTS.name), first.called("Fresh weight")
    yield Problem(
        Severity.CAUTION,
        first.table.title,
        _cells("Fresh weight", weighed),
        plural(
            "{number} fresh weight of plants beside the weights on the sheet {pickings}",
            "{number} fresh weights of plants beside the weights on the sheet {pickings}",
            len(weighed),
            pickings=pickings,
        ),
        say("the yield on one of the two sheets"),
        say(
            "The yield is that of {pickings}; {fresh} was left out, so that nothing counts"
            " twice. If it is of the plants themselves, name the column so, such as Shoot"
            " weight, and it is analysed beside the yield.",
            pickings=pickings,
            fresh=fresh,
        ),
        code="yield_on_two_sheets",
    )


def _planted_without(book: Book, trays: Set[str]) -> list[Row]:
    """Return the rows of trays that had plants, but for those of some trays."""
    planted = [row for row in rows_of(book, "Trays") if row.get("Plants started") != 0]
    return [row for row in planted if row.text("Tray") and row.text("Tray") not in trays]


def grades_throughout(book: Book) -> Iterator[Problem]:
    """Where some pickings have a grade of what can be sold, the others have one too."""
    rows = [row for row in rows_of(book, HARVESTS.name) if _is_of_something(row)]
    blank = [row for row in rows if row.raw("Grade") is None]
    sold = _marketable_grades(rows)
    if not blank or not sold:
        return
    words = ", ".join(shown(grade) for grade in sold[:MOST_NAMED])
    yield Problem(
        Severity.CAUTION,
        blank[0].table.title,
        _cells("Grade", blank),
        say("{counted} without a grade", counted=_pickings_said(len(blank))),
        say("a grade for every picking, such as {words}", words=words),
        say(
            "They were counted as marketable. Fill in the grade; for what cannot be sold type"
            " culls."
        ),
        code="grade_missing",
    )


def _marketable_grades(rows: Sequence[Row]) -> list[str]:
    """Return the grades of what can be sold, each once, in order."""
    grades = {row.text("Grade") for row in rows} - {""}
    return sorted(grade for grade in grades if not is_cull(grade))


def _is_of_something(row: Row) -> bool:
    """Tell whether a picking has a weight or a count above 0."""
    return bool(row.number_in("Weight") or row.number_in("Count"))


def grades_tell_culls(book: Book) -> Iterator[Problem]:
    """Of several grades one is a word for culls; else what cannot be sold may count as if it could."""
    rows = [row for row in rows_of(book, HARVESTS.name) if row.text("Grade")]
    grades = {folded(row.text("Grade")): row.text("Grade") for row in rows}
    if len(grades) < 2 or any(is_cull(grade) for grade in grades.values()):
        return
    words = ", ".join(f'"{shown(grade)}"' for grade in list(grades.values())[:MOST_NAMED])
    yield Problem(
        Severity.REMARK,
        rows[0].table.title,
        _cells("Grade", rows),
        say("every grade counts as marketable: {words}", words=words),
        say("culls for what cannot be sold"),
        say("If one of them cannot be sold, write culls in its place. Otherwise leave them."),
        code="no_grade_of_culls",
    )


def _cells(name: str, rows: Sequence[Row]) -> str:
    letter = rows[0].table.letters.get(name, "")
    return cells_of(letter, [row.number for row in rows])


def _pickings_said(number: int) -> str:
    return plural("{number} picking", "{number} pickings", number)


def _listed(trays: Sequence[str]) -> str:
    """Return trays by their codes, each once, the first ones by name."""
    named = list(dict.fromkeys(trays))
    quoted = ", ".join(f'"{shown(tray)}"' for tray in named[:MOST_NAMED])
    more = len(named) - MOST_NAMED
    if more > 0:
        listed = say("{first} and {number} more", first=quoted, number=more)
    else:
        listed = quoted
    return plural("tray {listed}", "trays {listed}", len(named), listed=listed)
