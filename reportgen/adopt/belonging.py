"""Which tables of plants are of the trial: the rows of an example, a copy or another year are not."""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from reportgen.adopt.grid import one_line
from reportgen.adopt.mapping import NOTHING, UNKNOWN, TableMapping, placed
from reportgen.adopt.matching import meanings
from reportgen.adopt.parts import Part
from reportgen.adopt.pickings import without_pickings
from reportgen.adopt.questions import ALL_BELONG, Question
from reportgen.adopt.wide import wide_columns
from reportgen.workbook.headers import folded
from reportgen.workbook.raw import RawSheet
from reportgen.workbook.values import blank

EXAMPLES: Final = frozenset(
    (
        *("example", "examples", "template", "templates", "demo", "muster", "vorlage", "beispiel", "beispiele"),
        *("ejemplo", "ejemplos", "plantilla", "modele", "exemple", "exemples", "gabarit", "esempio", "esempi"),
        *("modello", "exemplo", "exemplos", "modelo", "voorbeeld", "voorbeelden", "sjabloon"),
    )
)
PLACES: Final = {"tray", "tent", "pot", "block", "position", "plant"}  # a sheet for each of them needs no reason
MEASURES: Final = {"fresh", "dry", "root", "leaf", "stem", "fruit", "height"}  # each may have a sheet of its own
ROOMS: Final = frozenset(
    (
        *("room", "tent", "chamber", "greenhouse", "house", "shelf", "rack", "bay", "bench", "table", "zone", "raum"),
        *("zelt", "kammer", "haus", "regal", "tisch", "salle", "chambre", "serre", "banc", "table", "sala"),
        *("invernadero", "mesa", "camara", "stanza", "serra", "banco", "camera", "kas", "kamer", "tafel", "estufa"),
        *("bancada", "left", "right", "north", "south", "east", "west", "links", "rechts", "nord", "sud", "ost"),
        *("west", "gauche", "droite", "izquierda", "derecha"),
    )
)
YEAR: Final = re.compile(r"(?<!\d)(?:19|20)\d\d(?!\d)")
WORD: Final = re.compile(r"[^\W\d_]+")
FEWEST: Final = 4  # different weights that no two tables have alike by chance
WHOLE: Final = "the whole sheet"

Levels = Callable[[Part], Iterable[str]]


def is_example(sheet: str) -> bool:
    """Tell whether a sheet is named as an example or a template, in one of seven languages."""
    words = WORD.findall(sheet)
    return bool(words) and all(folded(word) in EXAMPLES for word in words)


def strays(parts: Sequence[Part]) -> Mapping[int, str]:
    """Return, by their numbers, the tables that are no part of the trial, with the reason: examples, copies."""
    found = {at: f"{part.read.table.sheet} is an example" for at, part in enumerate(parts) if _is_of_example(part)}
    left = [part for at, part in enumerate(parts) if at not in found]
    if not any(part.read.gives == "Plants" and _tells_itself(part) for part in left):
        found = {}  # where each treatment has a sheet, such a name is that of a treatment
    seen: list[tuple[Counter[tuple[str, str]], Part]] = []
    for at, part in sorted(enumerate(parts), key=lambda one: is_hidden(one[1].read.table.raw)):
        rows = _weighed(part) if at not in found and part.read.gives == "Plants" else Counter[tuple[str, str]]()
        if len(rows) < FEWEST:
            continue
        first = next((other for held, other in seen if held == rows), None)
        if first:
            found[at] = f"it has the same rows as {_place(first)}"
        seen.append((rows, part))
    return found


def _is_of_example(part: Part) -> bool:
    return is_example(part.read.table.sheet)


def is_hidden(raw: RawSheet) -> bool:
    """Tell whether a whole sheet is hidden."""
    return WHOLE in raw.hidden


def _tells_itself(part: Part) -> bool:
    """Tell whether a table names the treatments of its rows: no name of a sheet or file does it."""
    telling = part.telling
    return bool(telling.sure and not telling.letters and (telling.guess or telling.headers or telling.sections))


def _weighed(part: Part) -> Counter[tuple[str, str]]:
    """Return how often each treatment and weight stand together in the rows of a table."""
    read, telling = part.read, part.telling
    if wide := wide_columns(read):
        pairs = [(guess.header, value) for guess in wide for value in read.table.values(guess.column)]
        return Counter((text, one_line(value)) for text, value in pairs if not blank(value))
    weight = read.guess("Fresh weight") or read.guess("Weight")
    named = telling.guess or read.guess("Tray")
    if not weight:
        return Counter()
    names = read.table.values(named.column) if named else (None,) * len(read.table.rows)
    weighed = zip(map(one_line, names), read.table.values(weight.column), strict=True)
    return Counter((f"{telling.constant} {name}", one_line(value)) for name, value in weighed if not blank(value))


def _place(part: Part) -> str:
    return placed(part.file, part.read.table.sheet)


def unused(table: TableMapping) -> TableMapping:
    """Return the mapping of a table that is no part of the trial, which leaves nothing open."""
    columns = {name: replace(one, unit="") for name, one in table.columns.items() if UNKNOWN not in (one.header, name)}
    return TableMapping(table.sheet, NOTHING, table.header_row, table.file, table.range, columns)


# --- tables that may be of several trials


def rivals(parts: Sequence[Part], levels: Levels) -> list[int]:
    """Return the numbers of tables that name the same treatments on sheets whose names do not say why; none else."""
    named = {at: {folded(level) for level in levels(part)} for at, part in enumerate(parts) if _is_weighed(part)}
    for first, known in named.items():
        alike = [at for at, other in named.items() if len(known & other) > 1 and _is_alike(parts[at], parts[first])]
        places = list(dict.fromkeys(_place(parts[at]) for at in alike))
        if len(places) > 1 and not _explain([parts[at] for at in alike]):
            return alike
    return []


def _is_weighed(part: Part) -> bool:
    weighed = part.read.guess("Fresh weight") or part.read.guess("Weight") or wide_columns(part.read)
    return part.read.gives == "Plants" and _tells_itself(part) and bool(weighed)


def _is_alike(part: Part, other: Part) -> bool:
    """Tell whether two tables weigh the same: both one by one under a header, or both in a column a treatment."""
    return bool(wide_columns(part.read)) == bool(wide_columns(other.read))


def _explain(parts: Sequence[Part]) -> bool:
    """Tell whether the names of sheets say what stands apart on them: places, trays, or cuts; but not years."""
    names = list(dict.fromkeys(part.file or part.read.table.sheet for part in parts))
    if len({tuple(YEAR.findall(name)) for name in names}) > 1:
        return False
    measures = [set(meanings(name)) & MEASURES for name in names]
    own_tray = all(set(part.read.profile("Tray").counts) == {part.read.table.sheet} for part in parts)
    if own_tray or all(measures):
        return True
    return not any(without_pickings(names)) or all(map(_is_place, names))


def _is_place(name: str) -> bool:
    words = WORD.findall(name)
    known = set(meanings(name)) & PLACES or ROOMS & set(map(folded, words))
    return bool(known) or all(len(word) < 3 for word in words)


def question_of(tables: Sequence[int], places: Sequence[str], hidden: Sequence[str]) -> Iterator[Question]:
    """Yield the question whether tables, by their numbers, belong to one trial; those on `hidden` sheets hardly do."""
    names = tuple(dict.fromkeys(places))
    visible = tuple(name for name in names if name not in hidden)
    shown = (visible,) if hidden and len(visible) > 1 else ()
    alone = [*shown, *((name,) for name in names)]
    choices = {ALL_BELONG: names, **{f"only {' and '.join(few)}": few for few in alone}}
    why = "They name the same treatments, and nothing says why they stand apart"
    more = f"; {' and '.join(hidden)} {'is' if len(hidden) == 1 else 'are'} hidden." if hidden else "."
    yield Question(
        f"table.{tables[0]}.gives",
        "belonging",
        f"Do {' and '.join(names)} belong to one trial?",
        why + more,
        tuple(choices),
        f"only {' and '.join(visible)}" if hidden and visible else "",
        tables=tuple(tables),
        levels=choices,
    )
