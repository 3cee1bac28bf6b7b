"""What is said of numbers whose decimal point or unit has probably slipped, on any sheet."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from reportgen.language import listed, marked, say
from reportgen.model.problem import Problem, Severity, cells_of
from reportgen.workbook.book import Book
from reportgen.workbook.columns import SAID_SINGLY
from reportgen.workbook.declaration import Column, Comparison
from reportgen.workbook.like_cells import LikeCells, Scale, like_cells, number_of_plants, scale_of
from reportgen.workbook.slips import Peers, Slip, slipped_places, slips
from reportgen.workbook.table import Row
from reportgen.workbook.units import plain
from reportgen.workbook.values import NUMBER, quoted, shown

METRIC: Final = {  # units that are typed for one another, in powers of ten of the declared unit
    "g": {"mg": -3, "g": 0, "kg": 3},
    "L": {"mL": -3, "L": 0, "m3": 3},
    "cm": {"mm": -1, "cm": 0, "m": 2},
    "mm": {"mm": 0, "cm": 1, "m": 3},
    "m2": {"mm2": -6, "cm2": -4, "m2": 0},
    "mS/cm": {"µS/cm": -3, "mS/cm": 0},
    "W": {"mW": -3, "W": 0, "kW": 3},
}
COMPARED: Final = {
    Peers.DAY_AND_TREATMENT: marked("{others} have at that time"),
    Peers.DAY: marked("{others} have at that time"),
    Peers.NEAREST: marked("{others} have next to it in time"),
    Peers.SERIES: marked("{others} have before and after"),
}
THE_OTHERS: Final = marked("{others} have")


@dataclass(frozen=True)
class _Slipped:
    """A slip in a column of a table: its row, its treatment."""

    column: Column
    row: Row
    slip: Slip
    treatment: str

    @property
    def scale(self) -> Scale:
        return scale_of(self.column, self.row.table)

    @property
    def typed(self) -> float:
        """Return the number of the cell in the unit of the header."""
        return self.scale.typed(self.row.number_in(self.column.name) or 0.0)

    @property
    def is_usual(self) -> bool:
        value = self.row.number_in(self.column.name) or 0.0
        return self.column.usual is None or self.column.usual[0] <= value <= self.column.usual[1]

    @property
    def middle(self) -> float:
        """Return what like cells have, in the unit of the header."""
        return self.slip.middle * number_of_plants(self.row, self.column)


def slipped_numbers(book: Book) -> Iterator[Problem]:
    """No number is ten times what like cells have, a tenth of it, a hundred times, and so on."""
    for cells in like_cells(book):
        for column in cells.columns():
            yield from _problems(list(_slipped(cells, column)))


def _slipped(cells: LikeCells, column: Column) -> Iterator[_Slipped]:
    found: Sequence[Slip] = ()
    if column.compared is Comparison.SIZE:
        found = slips(cells.numbers(column), cells.likeness)
    elif column.compared is Comparison.PLACE:
        found = slipped_places(cells.numbers(column))
    for slip in found:
        yield _Slipped(column, Row(cells.table, slip.index), slip, cells.treatments[slip.index])


def _problems(found: Sequence[_Slipped]) -> Iterator[Problem]:
    """Yield a problem for each slip, one for all of a column where many are off by the same power."""
    alike: dict[int, list[_Slipped]] = defaultdict(list)
    pairs: list[_Slipped] = []
    for slipped in found:
        if slipped.slip.peers is Peers.PAIR:
            kind = pairs
        else:
            kind = alike[slipped.slip.power]
        kind.append(slipped)
    for together in alike.values():
        if len(together) > SAID_SINGLY:
            yield _problem(together[0], together)
        else:
            yield from (_problem(slipped, [slipped]) for slipped in together)
    yield from _pairs(pairs)


def _problem(slipped: _Slipped, together: Sequence[_Slipped]) -> Problem:
    name, row = slipped.column.name, slipped.row
    cell = row.cell(name)
    found = marked("{typed} is about {times} what {others}")
    advice = marked("Type {meant}; it was used as it stands.")
    typed = _typed(slipped)
    if len(together) > 1:
        cell = cells_of(row.table.letters[name], [one.row.number for one in together])
        found = marked("{typed} are about {times} what {others}")
        advice = marked("Type {meant}; they were used as they stand.")
        typed = say("{first} and {number} more", first=typed, number=len(together) - 1)
    near = _quantity(float(f"{slipped.middle:.3g}"), slipped.scale.unit)
    return Problem(
        Severity.CAUTION,
        row.table.title,
        cell,
        say(found, typed=typed, times=_times(slipped), others=_others(slipped)),
        say("a value near {value}", value=near),
        say(advice, meant=_meant(slipped)),
        code="slipped_point",
    )


def _typed(slipped: _Slipped) -> str:
    """Return the number as it stands in the cell: with its own unit where it has one, else with
    that of the header.
    """
    own = slipped.row.typed(slipped.column.name)
    if own:
        return quoted(own)
    return _quantity(slipped.typed, slipped.scale.unit)


def _meant(slipped: _Slipped) -> str:
    """Return what to type, and in which case."""
    own = NUMBER.fullmatch(slipped.row.typed(slipped.column.name))
    if own:
        unit = _unit_meant(slipped, own[2])
    else:
        unit = ""
    if own and unit:
        return say("{own} {unit} if that is the unit", own=own[1], unit=unit)
    number = _number(slipped.typed / 10.0**slipped.slip.power)
    if own:
        return say("{number} if the point slipped", number=number)
    return _meant_without_unit(slipped, number)


def _times(slipped: _Slipped) -> str:
    power = slipped.slip.power
    if power > 0:
        return say("{number} times", number=10**power)
    return say("1/{number} of", number=10**-power)


def _others(slipped: _Slipped) -> str:
    """Return what a number was compared with: `others of "top-up" have at that time`."""
    table, peers = slipped.row.table, slipped.slip.peers
    names = [name for name in table.sheet.compared_within if slipped.row.text(name)]
    shared = [slipped.row.text(name) for name in names]
    by_treatment = peers in (Peers.TREATMENT, Peers.DAY_AND_TREATMENT)
    if by_treatment and slipped.treatment and slipped.treatment not in shared:
        shared.append(slipped.treatment)
    named = listed([f'"{shown(text)}"' for text in shared])
    if named:
        others = say("others of {named}", named=named)
    else:
        others = say("the other cells")
    return say(COMPARED.get(peers, THE_OTHERS), others=others)


def _meant_without_unit(slipped: _Slipped, number: str) -> str:
    """Return what to type where the decimal point slipped, or the number is in a unit that it would
    be right in.
    """
    unit = _unit_meant(slipped, slipped.scale.unit)
    if unit:
        return say(
            "{number} if the point slipped or the number is in {unit}", number=number, unit=unit
        )
    return say("{number} if the point slipped", number=number)


def _unit_meant(slipped: _Slipped, unit: str) -> str:
    """Return the unit in which a number that is in `unit` now would fit; empty where there is none."""
    powers = METRIC.get(slipped.column.unit, {})
    header = next((name for name in powers if plain(name) == plain(unit)), None)
    if header is None:
        return ""
    wanted = powers[header] - slipped.slip.power
    return next((name for name, power in powers.items() if power == wanted), "")


def _pairs(found: Sequence[_Slipped]) -> Iterator[Problem]:
    """Yield one problem for each two numbers of which one has slipped: at both, unless one of them
    is unusual.
    """
    ordered = sorted(found, key=_group)
    for first, second in zip(ordered[::2], ordered[1::2], strict=False):
        unusual = [slipped for slipped in (first, second) if not slipped.is_usual]
        if len(unusual) == 1:
            yield _problem(unusual[0], unusual)
        else:
            yield _problem_of_pair(first, second)


def _problem_of_pair(first: _Slipped, second: _Slipped) -> Problem:
    name = first.column.name
    numbers = say(
        "{first} and {second}",
        first=_quantity(first.typed, ""),
        second=_quantity(second.typed, first.scale.unit),
    )
    return Problem(
        Severity.CAUTION,
        first.row.table.title,
        cells_of(first.row.table.letters[name], [first.row.number, second.row.number]),
        say(
            "{numbers} differ by about {number} times",
            numbers=numbers,
            number=10 ** abs(first.slip.power),
        ),
        say("numbers of like size"),
        say("Check the point and the unit of both; they were used as they stand."),
        code="slipped_point",
    )


def _group(slipped: _Slipped) -> tuple[str, ...]:
    return tuple(slipped.row.text(name) for name in slipped.row.table.sheet.compared_within)


def _quantity(value: float, unit: str) -> str:
    return f"{_number(value)} {unit}".strip()


def _number(value: float) -> str:
    return f"{value:.6g}"
