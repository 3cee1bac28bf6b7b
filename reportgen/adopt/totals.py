"""Rows of totals and means that stand among the data, found by their label or by their value."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from reportgen.adopt.grid import one_line
from reportgen.adopt.labels import totals_of
from reportgen.adopt.suspect import Suspect, numbers_of, quantities
from reportgen.adopt.taken import Taken
from reportgen.adopt.words import TOTALS as WORDS
from reportgen.workbook.declaration import METER
from reportgen.workbook.headers import folded
from reportgen.workbook.raw import Value
from reportgen.workbook.rows import TOTALS
from reportgen.workbook.values import blank, shown, whole_text

if TYPE_CHECKING:
    from reportgen.adopt.apply import Adopted

FEWEST: Final = 3  # rows that a total or a mean is of
MOST: Final = 2_000  # rows of a table whose values are compared with those above; a longer one is a logger's
SHORTEST: Final = 3  # letters of a word for a total in a language; n and se are words of many things


def totals(adopted: "Adopted") -> Iterator[Suspect]:
    """A row is named like a total or a mean, or holds the sum or the mean of the rows above it."""
    for table in adopted.tables:
        if quantities(table):
            yield from _of_table(table)


def _of_table(table: Taken) -> Iterator[Suspect]:
    labels = {row: label for row in table.lines.numbers if (label := label_of(table, row))}
    for row, label in labels.items():
        yield _suspect(table, row, f'"{shown(label)}" looks like a total or an average among the data')
    if len(table.lines.numbers) <= MOST and table.mapping.gives != METER.name:  # a counter at 14, 28, 42 adds up too
        for row, what in _by_value(table, set(labels)).items():
            yield _suspect(table, row, f"the row holds the {what} of the rows above it")


def _suspect(table: Taken, row: int, found: str) -> Suspect:
    name = next((name for name in quantities(table) if not blank(table.grid.value(row, table.letters[name]))), "")
    return Suspect(
        table,
        name or quantities(table)[0],
        row,
        found,
        "rows of data only",
        f"Leave it out with exclude_rows = [{row}].{_moved(table)}",
        waits=True,
        whole_row=True,
    )


def _moved(table: Taken) -> str:
    """Return a word on rows that are left out and are no totals, as happens where rows were inserted above them."""
    rows = (row for row in table.mapping.exclude_rows if str(row) not in table.mapping.stood)
    others = [str(row) for row in rows if not label_of(table, row)]
    said = f" exclude_rows already leaves out {', '.join(others)}, not named as totals: were rows inserted since?"
    return said if others else ""


def label_of(table: Taken, row: int) -> str:
    """Return the word for a total in a row: where codes stand, or in a column that is not read."""
    read = {at for name, at in table.letters.items() if name not in ("Tray", "Plant")}
    for at in range(table.grid.left, table.grid.right + 1):
        value = table.grid.value(row, at)
        if at not in read and isinstance(value, str) and (is_total(value) or totals_of(value, table.codes)):
            return one_line(value)
    return ""


def is_total(text: str) -> bool:
    """Tell whether a text is a word for a total or a mean."""
    word = folded(text)
    return bool(TOTALS.fullmatch(text.strip(" :"))) or (len(word) >= SHORTEST and word in WORDS)


# --- by value


def _by_value(table: Taken, known: set[int]) -> dict[int, str]:
    """Return the rows whose numbers are the sums or means of those above, back to a gap, a total or another tray."""
    held = {name: {one.row: one.value for one in numbers_of(table, name)} for name in quantities(table)}
    found: dict[int, str] = {}
    since_total: list[int] = []
    since_gap: list[int] = []
    in_tray: list[int] = []
    trays = _trays(table)
    last = 0
    for row in table.lines.numbers:
        since_gap = [] if row != last + 1 else since_gap
        columns = [values for values in held.values() if row in values]
        in_tray = in_tray if trays.get(row, "") in ("", trays.get(last, "")) else []
        above = (since_gap, since_total, in_tray)
        what = next((what for rows in above if (what := _what(table, row, columns, rows))), "")
        if what and row not in known:
            found[row] = what
        if what or row in known:
            since_total, since_gap, in_tray = [], [], []
        else:
            for rows in above:
                rows.append(row)
        last = row
    return found


def _trays(table: Taken) -> dict[int, str]:
    """Return what each row has as its tray, empty where it is blank."""
    values = table.lines.columns.get("Tray", (None,) * len(table.lines.numbers))
    return {row: one_line(value) for row, value in zip(table.lines.numbers, values, strict=True)}


def _what(table: Taken, row: int, columns: Sequence[dict[int, float]], above: Sequence[int]) -> str:
    """Return what a row is of those above it: sum, mean, or nothing."""
    sums = means = fine = 0
    for values in columns:
        others = [values[one] for one in above if one in values]
        if len(others) < FEWEST:
            return ""
        places = _decimals(values[row])
        sums += _is_near(values[row], sum(others), places) and values[row] > max(others)
        same = max(others) == min(others)  # 20, 20, 20, 20: nothing tells a mean from one more value
        mean = not same and _is_near(values[row], sum(others) / len(others), places)
        means += mean
        fine += mean and places > max(map(_decimals, others)) + 1
    if columns and sums == len(columns):
        return "sum"
    # Weights of one plant go together, so two means at once tell of a mean only where rows have no code of their own.
    sure = _is_nameless(table, row) or fine or (means > 1 and "Plant" not in table.mapping.columns)
    return "mean" if columns and means == len(columns) and sure else ""


def _is_near(value: float, wanted: float, places: int) -> bool:
    return abs(value - wanted) <= max(0.5000001 * 10.0**-places, 1e-9 * abs(wanted)) if places else value == wanted


def _decimals(value: float) -> int:
    return len(whole_text(value).partition(".")[2])


def _is_nameless(table: Taken, row: int) -> bool:
    """Return whether a row has no code of its own where the others have one."""

    def code(name: str) -> Value:
        source = table.mapping.columns.get(name)
        found = table.grid.columns_named(source.header) if source else ()
        return table.grid.value(row, found[0]) if found else "-"

    return blank(code("Plant")) or (blank(code("Tray")) and not table.mapping.fill_down)
