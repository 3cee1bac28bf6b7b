"""Find measurements of the grower's own that look like scores and name no scale."""

import re
import unicodedata
from collections.abc import Iterator
from typing import Final

from reportgen.language import say
from reportgen.model.problem import Problem, Severity
from reportgen.model.trial import Trait
from reportgen.workbook.book import Book
from reportgen.workbook.declaration import SHEETS
from reportgen.workbook.table import Table

HIGHEST: Final = 9  # of the scales in use
HALF_WAY: Final = 5  # the highest class of other scales
FEWEST: Final = 3  # values; of fewer nothing can be told
BEGINNINGS: Final = {  # of words that name scores, without accents, by language
    "en": (
        "score rating grade index damage injur severity symptom disease mildew chloros necros wilt"
        " vigour vigor colour color quality appearance"
    ),
    "es": (
        "puntua nota indice dano quemad severidad sintoma enfermedad oidio cloros marchit calidad"
        " aspecto"
    ),
    "fr": "note degat brulure gravite symptome maladie fletriss qualite couleur vigueur",
    "de": "bonitur schad verbrenn befall krank mehltau welke qualitat farbe wuchskraft",
    "it": "punteggio voto danno bruciat gravita sintom malattia avvizz aspetto vigore colore",
    "pt": "pontua severidade doenca qualidade murcha coloracao",
    "nl": "cijfer schade verbrand ziekte meeldauw verwelk kwaliteit kleur groeikracht",
}
BURN: Final = "burn"  # at the end of a word too: tipburn, sunburn


def scores_without_scale(book: Book) -> Iterator[Problem]:
    """A column of whole numbers named like a score names its scale, else it is a quantity."""
    for sheet in SHEETS:
        if not sheet.further or sheet.name not in book:
            continue
        table = book[sheet.name]
        for trait in _own_quantities(table):
            if _looks_like_score(table, trait):
                yield _caution(table, trait)


def _own_quantities(table: Table) -> list[Trait]:
    """Return the quantities of the grower's own on a sheet."""
    declared = {column.name for column in table.sheet.columns}
    own = [trait for trait in table.traits if trait.label not in declared]
    return [trait for trait in own if not trait.is_score]


def _looks_like_score(table: Table, trait: Trait) -> bool:
    numbers = _numbers(table, trait)
    if len(numbers) < FEWEST or any(number not in range(HIGHEST + 1) for number in numbers):
        return False
    begins_with_digit = trait.unit[:1].isdigit()  # as 0 = none, 5 = dead does, and no unit
    return begins_with_digit or (not trait.unit and _is_named_like_score(trait.label))


def _is_named_like_score(label: str) -> bool:
    bare = unicodedata.normalize("NFKD", label.casefold()).encode("ascii", "ignore").decode()
    words = re.findall(r"[a-z0-9]+", bare)
    beginnings = tuple(" ".join(BEGINNINGS.values()).split())
    return any(word.startswith(beginnings) or BURN in word for word in words)


def _numbers(table: Table, trait: Trait) -> list[float]:
    values = table.columns[trait.label]
    return [value for value in values if isinstance(value, int | float)]


def _caution(table: Table, trait: Trait) -> Problem:
    numbers = _numbers(table, trait)
    low, high = min(numbers), max(numbers)
    proposed = f"{trait.label} ({min(low, 1):g}-{HALF_WAY if high <= HALF_WAY else HIGHEST})"
    return Problem(
        Severity.CAUTION,
        table.title,
        table.headings.get(trait.label, ""),
        say(
            '"{label}" holds whole numbers from {low} to {high}, looks like a rating, and was'
            " averaged as a quantity; the mean of a rating has no meaning",
            label=trait.label,
            low=f"{low:g}",
            high=f"{high:g}",
        ),
        say("the scale in the header, where these are classes"),
        say(
            "Write {proposed}, with the lowest and the highest class of the scale; or words, as in"
            " Colour (pale < green < dark). A quantity may stay as it is.",
            proposed=proposed,
        ),
        code="looks_like_score",
    )
