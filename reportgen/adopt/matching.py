"""What the words of a header mean: taken apart from their unit, matched with the words of seven languages."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from reportgen.adopt.words import DIMENSIONS, MEANINGS, ROLES, SHORT, SPELT, UNITS, Role
from reportgen.workbook.headers import folded

CAMEL: Final = re.compile(r"(?<=[a-zà-ÿ])(?=[A-ZÀ-Ý][a-zà-ÿ])|(?<=[A-Z]{2})(?=[A-Z][a-z])")
TOKEN: Final = re.compile(r"[^\W\d_]+|\d+")
BRACKETS: Final = re.compile(r"(.*?)\s*[(\[]([^()\[\]]*)[)\]]\s*(.*)", re.DOTALL)
BEHIND: Final = re.compile(
    r"(.+?)(?:\s*[,/:;]\s*|\s+(?:in|en|em)\s+|[\s_.]+)([^\s_,;]+(?: cm-1| m-1| m-2 s-1)?)", re.DOTALL
)
DOSE: Final = re.compile(r"[<>~±+-]?\s*\d[\d.,]*\s*[^\W\d_]?[^\s\d]*")  # 18°C, 5%
SHORT_CODE: Final = re.compile(r"[^\W\d_]{1,3}[ ._#-]?\d+")
PLACE: Final = re.compile(r"(\D+?)[ ._#-]*\d+")  # a word and a number
SLIP: Final = 85  # of 100: two letters that changed places in a word of seven
SLIPPED: Final = 0.85  # how sure a word with a slip is
SHORTEST_SLIP: Final = 5
LONGEST_JOINT: Final = 2  # letters between the parts of a compound, as in Pflanzennummer
TOGETHER: Final = re.compile(r"(?<=[^\W\d_]{2})\s*[+&]\s*(?=[^\W\d_]{2})")  # as in FW + pot, and not in N+P
SIGNS: Final = {"#": "number", "№": "number", "nº": "number", "n°": "number"}


@dataclass(frozen=True)
class Meant:
    """A role that a header may stand for: how sure its words make it, and the words that say so."""

    role: Role
    score: float
    words: str


def split_unit(text: str) -> tuple[str, str]:
    """Return a header's name and the unit in it: in brackets, behind a comma, a slash, `in`, or as its last word."""
    if found := BRACKETS.fullmatch(text.strip()):
        name = f"{found[1]} {found[3]}".strip()
        unit = found[2].strip()
        if name and is_unit(unit):
            return name, unit
        before = found[1].strip()
        if not found[3].strip() and (behind := split_unit(before))[1]:  # in brackets is what else is said of it
            return behind
        if name and (inner := next((part for part in re.split(r"[,\s]+", unit) if is_unit(part)), "")):
            return text.strip(), inner
        return text.strip(), ""
    if (found := BEHIND.fullmatch(text.strip())) and is_unit(found[2]) and not is_word_too(found[2]):
        return found[1].strip(), found[2]
    return text.strip(), ""


def level_and_unit(text: str) -> tuple[str, str]:
    """Return the treatment that heads a column of a wide table, and the unit behind it."""
    return (text.strip(), "") if is_dose(text) else split_unit(text)


def is_dose(text: str) -> bool:
    """Tell whether the unit in a header belongs to the number before it: 5 g, 18 °C, but not Tray 5 (g)."""
    name, unit = split_unit(text)
    bare = text.strip()
    if not unit or bare.endswith((")", "]")) or re.search(r"[,/:;]\s*$", bare[: -len(unit)]):
        return bool(DOSE.fullmatch(bare))
    return bool(re.search(r"\d$", name)) and not place_of(name) and not SHORT_CODE.fullmatch(name)


def worded_unit(text: str) -> str:
    """Return the unit that is one of a header's words, as in "Litres added" or "Temp C", empty where none is.

    Only those of volumes, energy and temperatures: a lone g or in may be another word.
    """
    words = re.findall(r"°?[^\W\d_]+", text)
    found = {word for word in words if len(word) > 1 and dimension(word) in ("volume", "energy")}
    if words[-1:] in (["C"], ["F"]) and "temperature" in meanings(text):
        found.add(words[-1])
    return str(found.pop()) if len(found) == 1 else ""


def is_word_too(unit: str) -> bool:
    """Tell whether a unit may as well be a word, or a letter that stands for something else."""
    return (
        folded(unit) in ("c", "f", "m", "d", "h", "w", "us", "in", "min", "cf", "ms", "l")
        and not unit.startswith(("°", "º"))
        and unit not in ("L", "W", "h")
    )


@cache
def dimension(unit: str) -> str:
    """Return what a unit measures, empty where it is not known."""
    bare = _bare_unit(unit)
    return next((name for name, units in UNITS.items() if bare in units), "")


def _bare_unit(unit: str) -> str:
    small = re.sub(r"\s+", " ", unit.strip().rstrip(".")).casefold().replace("μ", "µ")
    return re.sub(
        r" ?/ ?(?:plants?|plts?|pots?|pflanzen?|plantes?|plantas?|piant[ae]|plant|topf|pot|tray|tank)$", "", small
    )


def is_unit(text: str) -> bool:
    """Tell whether a text is a unit of something that is measured in trials."""
    return bool(text.strip()) and bool(dimension(text))


def unit_of(unit: str) -> str:
    """Return a unit in a spelling that is read, without what it is counted by, as g of "g/plant" or of "gramos"."""
    bare = re.sub(r"\s*/\s*[^\W\d_]{3,}$", "", unit.strip()) if dimension(unit) in ("mass", "volume") else unit.strip()
    return SPELT.get(_bare_unit(bare), bare)


# --- words


@cache
def _vocabulary() -> Mapping[str, frozenset[str]]:
    """Return the meanings of each known word."""
    known: dict[str, set[str]] = {}
    for meaning, words in MEANINGS.items():
        for word in words.split():
            known.setdefault(word, set()).add(meaning)
    for word, meanings in SHORT.items():
        known[word] = set(meanings)
    return {word: frozenset(meanings) for word, meanings in known.items()}


def tokens(text: str) -> tuple[str, ...]:
    """Return the words of a header, folded: parted at spaces, signs, digits and capitals within."""
    for sign, word in SIGNS.items():
        text = text.replace(sign, f" {word} ").replace(sign.upper(), f" {word} ")
    joined = re.sub(r"(?i)\bCO\s?[2₂]", " carbondioxide ", unicodedata.normalize("NFC", text))
    joined = re.sub(r"(?i)\bp\.?h\b(?!\w)", " phvalue ", joined)
    parts = TOKEN.findall(CAMEL.sub(" ", TOGETHER.sub(" with ", joined)))
    return tuple(word for part in parts if (word := folded(part)))


@cache
def meanings(text: str) -> Mapping[str, tuple[str, float]]:
    """Return the meanings in a header, each with the word that has it and how surely: 1, less for slips and parts."""
    found: dict[str, tuple[str, float]] = {}
    words = tokens(text)
    at = 0
    while at < len(words):
        taken, known, sure = _longest(words[at:])
        for meaning in known:
            if sure > found.get(meaning, ("", 0.0))[1]:
                found[meaning] = " ".join(words[at : at + taken]), sure
        at += taken
    return found


def _longest(words: Sequence[str]) -> tuple[int, frozenset[str], float]:
    """Return how many words at the beginning belong together, what they mean, and how surely."""
    vocabulary = _vocabulary()
    for count in (3, 2):
        joined = "".join(words[:count])
        if len(words) >= count and joined in vocabulary:
            return count, vocabulary[joined], 1.0
    known, sure = _one_word(words[0])
    return 1, known, sure


def only_slips(text: str) -> bool:
    """Tell whether a header means something only where its words were misspelt: ombré is no slip of nombre."""
    known = meanings(text)
    return bool(known) and all(sure == SLIPPED for _, sure in known.values())


@cache
def _one_word(word: str) -> tuple[frozenset[str], float]:
    vocabulary = _vocabulary()
    if word in vocabulary:
        return vocabulary[word], 0.8 if word in SHORT else 1.0
    if parts := _compound(word):
        return frozenset().union(*(vocabulary[part] for part in parts)), 0.98
    near = _slip(word)
    if near:
        return vocabulary[near], SLIPPED
    parts = _slipped_compound(word)
    return (frozenset().union(*(vocabulary[part] for part in parts)), 0.8) if parts else (frozenset(), 0.0)


def _slipped_compound(word: str) -> tuple[str, ...]:
    """Return the known words that a compound is made of whose second part has a slip, none where there are none."""
    for cut in range(len(word) - SHORTEST_SLIP, 3, -1):
        if word[:cut] in _vocabulary() and (near := _slip(word[cut:])):
            return word[:cut], near
    return ()


def _compound(word: str) -> tuple[str, ...]:
    """Return the known words that a word is made of, none where it is not made of such."""
    if len(word) < 6:
        return ()
    vocabulary = _vocabulary()
    for cut in range(len(word) - 2, 2, -1):
        head = word[:cut]
        if head not in vocabulary or (len(head) < 3 and head not in ("fw", "dw")):
            continue
        for joint in range(LONGEST_JOINT + 1):
            rest = word[cut + joint :]
            if rest in vocabulary and len(rest) >= 2 and len(head) + len(rest) >= 6:
                return head, rest
            if len(rest) >= 6 and (more := _compound(rest)):
                return head, *more
    return ()


def _slip(word: str) -> str:
    from rapidfuzz import fuzz, process

    if len(word) < SHORTEST_SLIP:
        return ""
    known = [other for other in _vocabulary() if len(other) >= SHORTEST_SLIP]
    found = process.extractOne(word, known, scorer=fuzz.ratio, score_cutoff=SLIP)
    return found[0] if found else ""


def roles_of(text: str) -> tuple[Meant, ...]:
    """Return the roles that a header's words fit, the surest first."""
    name, unit = split_unit(text)
    name = name.replace(unit, " ") if len(unit) > 1 else name  # in brackets with words, as in (water mS/cm)
    known = meanings(name)
    found = [meant for role in ROLES if (meant := _meant(role, known, len(tokens(name))))]
    return tuple(sorted(found, key=lambda meant: -meant.score))


def place_of(header: str) -> str:
    """Return what a header such as Rep 1, Plant 2 or Tray 3 numbers, empty where none of these."""
    found = PLACE.fullmatch(header.strip())
    roles = roles_of(found[1]) if found else ()
    return roles[0].role.name if roles and roles[0].role.name in ("Plant", "Block", "Tray") else ""


def event_in(text: str) -> str:
    """Return what a header says was done with a volume, empty where it does not."""
    known = meanings(text)
    for event in ("top-up", "drain", "remaining", "fill"):
        if event in known:
            return (
                "top-up" if event == "fill" and "start" not in known and "add" in " ".join(known["fill"][:1]) else event
            )
    return ""


def _meant(role: Role, known: Mapping[str, tuple[str, float]], length: int) -> Meant | None:
    if not all(need in known for need in role.needs) or any(never in known for never in role.never):
        return None
    words = tuple(dict.fromkeys(known[need][0] for need in role.needs))
    sure = min(known[need][1] for need in role.needs)
    explained = min(1.0, (len(" ".join(words).split()) + 0.5) / max(length, 1))
    return Meant(role, role.worth * sure * (0.7 + 0.3 * explained) + 0.05 * len(role.needs), _as_written(words))


def _as_written(words: Sequence[str]) -> str:
    return " ".join(words).replace("carbondioxide", "CO2").replace("phvalue", "pH")


def is_worded(text: str) -> bool:
    """Tell whether a header's words are known ones."""
    return bool(roles_of(text))


def unit_fits(name: str, unit: str) -> bool | None:
    """Tell whether a unit is one that a declared column is measured in, None where either is not known."""
    wanted, found = DIMENSIONS.get(name, ""), dimension(unit)
    if not wanted or not found:
        return None
    return _bare_unit(unit) in UNITS[wanted]
