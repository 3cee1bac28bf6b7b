"""Plants of several crops or cultivars in one table, which is read as if they were one."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from reportgen.adopt.grid import one_line
from reportgen.adopt.matching import meanings
from reportgen.adopt.suspect import Suspect, quantities, tables_of, treatments_of_rows
from reportgen.adopt.taken import Taken
from reportgen.model.problem import Severity
from reportgen.workbook.declaration import PLANTS
from reportgen.workbook.values import shown

if TYPE_CHECKING:
    from reportgen.adopt.apply import Adopted

SHOWN: Final = 3  # names in a message


def crops_read_together(adopted: "Adopted") -> Iterator[Suspect]:
    """A column that is not read tells several crops: where treatments have other shares of them, that is no growth."""
    for table in tables_of(adopted, PLANTS.name):
        read = set(table.letters.values())
        for at, text in table.grid.headers.items() if quantities(table) else ():
            if at not in read and "cultivar" in meanings(text) and "weight" not in meanings(text):
                yield from _of_column(table, at, text, treatments_of_rows(adopted, table))


def _of_column(table: Taken, at: int, text: str, treatments: Sequence[str]) -> Iterator[Suspect]:
    names = [one_line(table.grid.value(row, at)) for row in table.lines.numbers]
    crops = Counter(filter(None, names))
    if not 1 < len(crops) <= len(names) / 2:
        return
    within: dict[str, Counter[str]] = defaultdict(Counter)
    for treatment, name in zip(treatments, names, strict=True):
        within[treatment][name] += 1
    shares = {tuple(counts[name] / counts.total() for name in sorted(crops)) for counts in within.values()}
    listed = ", ".join(shown(name) for name, _ in crops.most_common(SHOWN))
    said = "in other shares in each treatment" if len(shares) > 1 else "in equal shares in each treatment"
    yield Suspect(
        table,
        quantities(table)[0],
        table.lines.numbers[0],
        f'"{shown(text)}" tells of {listed}, which are read together, {said}',
        "plants of one crop",
        "Give each crop a log of its own, or name the rows of the others in exclude_rows.",
        severity=Severity.CAUTION if len(shares) > 1 else Severity.REMARK,
    )
