"""Texts among weights that say something else than a number: words, blanks, and numbers with a mark at them."""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from openpyxl.utils import get_column_letter

from reportgen.adopt.grid import one_line
from reportgen.adopt.matching import dimension, is_unit, split_unit
from reportgen.adopt.numbers import TextNumbers
from reportgen.adopt.roles import Guess, Understood, status_in
from reportgen.adopt.tables import is_date, is_number, number_in
from reportgen.workbook.raw import Value

# ca. 25, ~25, 29.3*, 38.3 (damaged): one number with little before it
MARKED: Final = re.compile(r"(~|≈|\(|[^\W\d_]{1,7}\.?)?\s*(\d[\d.,]*)(\D*)")


@dataclass(frozen=True)
class Doubtful:
    """A text where a weight should stand: where, and the number in it, None where it holds none that could be it."""

    text: str
    cell: str
    number: float | None = None
    mark: str = ""

    @property
    def kind(self) -> str:
        """Return what texts that mean the same have alike: the mark at a number, else the text itself."""
        return self.text.casefold() if self.number is None else f"{self.mark} at a number"


def alike(found: Mapping[int, tuple[Doubtful, ...]]) -> dict[str, dict[int, list[Doubtful]]]:
    """Return the texts of several tables by what they have alike, then by table."""
    groups: dict[str, dict[int, list[Doubtful]]] = defaultdict(lambda: defaultdict(list))
    for at, texts in found.items():
        for one in texts:
            groups[one.kind][at].append(one)
    return groups


def doubtful(read: Understood, guess: Guess, known: set[str]) -> Iterator[Doubtful]:
    """Yield the blanks, zeros and unknown words among weights, but those of plants that a status explains."""
    status = read.guess("Status")
    explained = read.table.values(status.column) if status else (None,) * len(read.table.rows)
    values = read.table.values(guess.column)
    for row, value, why in zip(read.table.rows, values, explained, strict=True):
        text = one_line(value)
        if text.casefold() in known or (status and status_in(status.header, one_line(why))) in ("dead", "removed"):
            continue
        cell = f"{get_column_letter(guess.column)}{row}"
        if _is_zero(value):
            yield Doubtful("0", cell)
        elif not text or not (is_number(value) or is_date(value) or _has_unit(text)):
            yield Doubtful(text, cell, *_marked(text, values))


def _marked(text: str, values: tuple[Value, ...]) -> tuple[float | None, str]:
    """Return the number in a text and the mark at it; no number where there are two, a unit, or it could be two."""
    found = MARKED.fullmatch(text)
    mark = f"{found[1] or ''}{found[3].strip()}" if found else ""
    if not found or any(is_unit(word) for word in re.findall(r"[^\W\d_]+", mark)):
        return None, ""
    digits = found[2].rstrip(".,")
    number = TextNumbers.of((*values, digits)).read(digits)
    return (float(number), mark) if isinstance(number, int | float) and number > 0 else (None, "")


def _is_zero(value: Value) -> bool:
    return is_number(value) and one_line(value).replace(",", ".").strip("0") in ("", ".")


def _has_unit(text: str) -> bool:
    return bool(number_in(text) or split_unit(text)[1]) or any(dimension(word) for word in text.split()[1:])
