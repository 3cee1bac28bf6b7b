"""Labels of rows that are no data: words for totals and means beside the code that they are of, shares, spreads."""

import re
from collections.abc import Callable, Collection, Mapping, Sequence, Set
from itertools import pairwise
from typing import Final

from reportgen.adopt.grid import one_line
from reportgen.adopt.matching import meanings
from reportgen.adopt.words import TOTALS
from reportgen.workbook.headers import folded
from reportgen.workbook.raw import Value

SHORTEST: Final = 3  # letters of a word for a total beside a code; n and se are words of many things
SIGN: Final = "ø"
STATISTIC: Final = re.compile(
    r".*%.*|(?:.*\b)?(?:ratio|diff(?:erence|erenz|[eé]rence|erencia|erenza|eren[cç]a)?|verschil|verh[aä]ltnis|rapport|"
    r"cociente|raz[oó]n|rapporto|raz[aã]o|verhouding|rel(?:ativ\w*)?|cv|vk|t-?test|anova|lsd|hsd|p|p-?(?:value|wert)|"
    r"index|increase|zunahme|hausse|aumento|toename)(?:\b.*)?",
    re.IGNORECASE,
)


def totals_of(text: str, codes: Collection[str]) -> str:
    """Return the word for a total or mean that stands first or last in a label whose rest is one of `codes`, folded.

    Words for trays and plants in the rest are passed over, as in "Subtotal tray 3". Empty where there is none.
    """
    words = one_line(text).casefold().replace(SIGN, f" {SIGN} ").replace(":", " ").split()
    for word, rest in ((words[0], words[1:]), (words[-1], words[:-1])) if len(words) > 1 else ():
        bare = [one for one in rest if not set(meanings(one)) & {"tray", "pot", "plant", "treatment", "block"}]
        of_code = folded(" ".join(rest)) in codes or folded(" ".join(bare)) in codes
        if of_code and (word == SIGN or (len(folded(word)) >= SHORTEST and folded(word) in TOTALS)):
            return word
    return ""


def below_totals(kinds: Sequence[tuple[int, str]], line_of: Callable[[int], Mapping[int, Value]]) -> Set[int]:
    """Return the rows right below one of totals that are shares, differences or tests: by a label of no other row.

    `kinds` are rows with what each is, `line_of` gives a row's cells by column.
    """
    found: set[int] = set()
    for (above, before), (row, kind) in pairwise(kinds):
        after_total = before == "total" or above in found
        label = next(iter(line_of(row).values()), None)
        if kind == "data" and after_total and isinstance(label, str) and STATISTIC.fullmatch(label.strip()):
            found.add(row)
    return found
