"""Read the scale of a score, in brackets behind its name: `0-5`, `1 to 9`, `pale < green`."""

import re
import unicodedata
from collections.abc import Sequence
from typing import Final

MOST_CLASSES: Final = 20  # a range of more numbers, such as 0-100, is that of a quantity
RANGE: Final = re.compile(
    r"(\d{1,3})\s*(?:[-\u2010-\u2015]|\.\.|…|to|a|à|ate|até|hasta|bis|tot)\s*(\d{1,3})"
)
NUMERAL: Final = re.compile(r"[-+]?\d+(?:[.,]\d+)?")
SCALE_WORDS: Final = {  # that may stand beside the classes, without accents, by language
    "en": "score scores scale rating class classes grade grades points",
    "es": "escala puntuacion clase clases grado grados nota notas",
    "fr": "note notes echelle classe classes",
    "de": "skala boniturnote bonitur klasse klassen stufe stufen note noten",
    "it": "scala punteggio classe classi grado gradi voto voti",
    "pt": "escala pontuacao classe classes grau nota notas",
    "nl": "schaal cijfer cijfers klasse klassen",
}


def scale_of(bracket: str) -> tuple[str, ...]:
    """Return the classes of a scale, lowest first; empty for another text, such as a unit."""
    text = _without_scale_words(bracket.casefold())
    whole = RANGE.fullmatch(text)
    if whole:
        return _numbers(int(whole[1]), int(whole[2]))
    for sign in "<>":
        if sign in bracket:
            return _words(bracket, sign)
    return ()


def class_in(text: str, scale: Sequence[str]) -> str:
    """Return the class of a scale that a cell names, empty for one that is not on it."""
    wanted = _folded(text)
    return next((one for one in scale if _folded(one) == wanted), "")


def _without_scale_words(text: str) -> str:
    known = " ".join(SCALE_WORDS.values()).split()
    words = text.replace(":", " ").split()
    if words and _folded(words[0]) in known:
        words = words[1:]
    if words and _folded(words[-1]) in known:
        words = words[:-1]
    return " ".join(words)


def _numbers(first: int, last: int) -> tuple[str, ...]:
    if not first < last < first + MOST_CLASSES:
        return ()
    return tuple(str(number) for number in range(first, last + 1))


def _words(bracket: str, sign: str) -> tuple[str, ...]:
    """Return the classes between signs, the lowest first; empty where one is blank or there twice."""
    classes = [" ".join(part.split()) for part in bracket.split(sign)]
    folded = {_folded(one) for one in classes}
    is_scale = 2 <= len(folded) == len(classes) <= MOST_CLASSES and "" not in folded
    if not is_scale or re.search("[<>=]", "".join(classes)):
        return ()
    return tuple(classes if sign == "<" else reversed(classes))


def _folded(text: str) -> str:
    """Return a class as it is matched: without case, accents, spaces and hyphens; signs such as ++
    stay.
    """
    plain = "".join(text.split())
    if NUMERAL.fullmatch(plain):
        return plain.lstrip("0") or "0"
    bare = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in bare if sign.isalnum()) or plain
