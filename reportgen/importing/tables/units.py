"""Find the unit of measure in a header."""

import re
from typing import Final

from reportgen.importing.words import is_amount, says

UNIT_WORDS: Final = (
    "g kg mg gr gm gram grams gramm gramme grammes gramos grammi lb lbs oz ounces pound pounds t st"
    " l ml cl dl liter litre liters litres gal gallon gallons m cm mm in inch ft m2 cm2 mm2 ft2 m²"
    " cm² mm² ft² % kwh wh w mj h hr hrs min s d day days dat das dap wk weeks ppm ppb ph ms/cm"
    " us/cm µs/cm μs/cm ds/m ms µs mmol mol mmol/l mg/l mg/kg g/l g/kg umol µmol μmol µmol/m2/s"
    " μmol/m2/s umol/m2/s μmol/m²/s µmol/m²/s µmol m-2 s-1 mol/m2/d lux lx fc °c c °f f °brix brix"
    " spad pcs no n # stk st. kg/m2 kg/m² g/m2 g/m² kg/ha t/ha lb/ft2 €/kg € $ £ mol/m2 kpa hpa"
    " pa v a"
)
UNITS: Final = frozenset(UNIT_WORDS.split())
BRACKETS: Final = re.compile(r"\s*[(\[{]\s*([^()\[\]{}]*?)\s*[)\]}]")
AT_END: Final = re.compile(r"^(.*?[^\s,/_:-])(?:[\s,_:]+|\s*[/-]\s+)(?:in\s+)?(\S+)$")
LETTERS: Final = frozenset(
    "acdfhlmntvw#"
)  # more often names than units, where they stand without brackets
NO_UNITS: Final = frozenset({"no", "st", "s", "ph", "in", "dat", "das", "dap", "day", "days"})


def unit_of(header: str) -> tuple[str, str]:
    """Return the name and the unit in a header, "" where it names no unit.

    Units stand in brackets or at the end: `Weight (g)`, `Weight [g]`, `Weight g`, `Weight, g`,
    `kg`.
    """
    text = header.strip()
    if is_amount(text):
        return text, ""
    bracketed = _unit_in_brackets(text)
    if bracketed:
        return bracketed
    if _is_plain_unit(text):
        return text, text
    match_end = AT_END.match(text)
    if match_end is None:
        return text, ""
    name, last = match_end[1].strip(" ,/_:-"), match_end[2]
    letter_fits = last.casefold() in LETTERS and says(name, "temperature", "water", "solution")
    if _is_plain_unit(last) or letter_fits:
        return name, last
    return text, ""


def _unit_in_brackets(text: str) -> tuple[str, str] | None:
    for match in BRACKETS.finditer(text):
        inside = match[1].strip()
        if inside.casefold() in UNITS:
            around = text[: match.start()].split() + text[match.end() :].split()
            return " ".join(around) or inside, inside
    return None


def _is_plain_unit(text: str) -> bool:
    small = text.casefold()
    if small not in UNITS:
        if "/" in small:
            small = small.partition("/")[0]
        else:
            small = ""
    return small in UNITS and small not in LETTERS and small not in NO_UNITS
