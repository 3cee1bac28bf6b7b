"""Rows that their owner marked by a colour or a comment after the log was taken in: they count, and that is said."""

from collections.abc import Iterator, Sequence

from reportgen.adopt.marks import Marks, marked_rows
from reportgen.adopt.stood import row_text
from reportgen.adopt.taken import Taken
from reportgen.model.problem import Problem, Severity


def marked_since(tables: Sequence[Taken], marks: Marks) -> Iterator[Problem]:
    """Yield a caution for each table of which rows stand out that did not when it was taken in."""
    said: set[int] = set()
    for table in tables:
        new = [] if table.index in said else _new_rows(table, marks)
        said.add(table.index)  # the parts of a wide table have the same rows
        if new:
            rows = ", ".join(map(str, new))
            yield Problem(
                Severity.CAUTION,
                table.place,
                f"{new[0]}:{new[0]}",
                f"row{'s' * (len(new) > 1)} {rows}: marked by a colour or a comment since the log was taken in",
                "nothing that tells of a plant that should not count",
                f"They were used as they stand. Where they should not count write exclude_rows = [{rows}]; "
                f"else add them to marked_rows.",
                code="marked_later",
            )


def _new_rows(table: Taken, marks: Marks) -> list[int]:
    """Return the rows that are marked and were not seen so, wherever a sort has put those that were."""
    seen = table.mapping.marked_rows
    if isinstance(seen, str) and seen:  # it was said once and for all, or is asked still
        return []
    known = set(seen or ())
    stood = {table.mapping.stood.get(str(row)) for row in known}
    rows, _ = marked_rows(marks.get(table.raw.name, {}), table.lines.numbers)
    return [row for row in rows if row not in known and row_text(table.grid, row) not in stood]
