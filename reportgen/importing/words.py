"""What words of headers, sheet names and cells mean, in seven languages.

This is the one door to `words.toml`.
"""

import re
import tomllib
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from itertools import chain
from typing import Final

CAMEL: Final = re.compile(r"(?<=[a-z]{2})(?=[A-Z])")
TOKEN: Final = re.compile(r"[^\W\d_]+|\d+|[^\w\s()\[\]{}:;,._'\"|-]")
AMOUNT: Final = re.compile(r"[<>~]?\d+(?:[.,]\d+)?\s*(?:%|[°µμ]?[^\W\d_]+(?:/[^\W\d_]+\d?)*)")
ANY_LETTERS: Final = "*"
EVENTS: Final = {
    "drained": "drain",
    "left": "remaining",
    "used": "used",
    "filled": "fill",
    "added": "top-up",
}


@dataclass(frozen=True)
class _Entry:
    """A word or phrase: its tokens, and a pattern for each where it holds `*`."""

    meaning: str
    tokens: tuple[str, ...]
    patterns: tuple[re.Pattern[str], ...]


@dataclass(frozen=True)
class _Dictionary:
    """Entries by their first token, those that begin with a pattern, and whole texts by meaning."""

    plain: dict[str, tuple[_Entry, ...]]
    patterned: tuple[_Entry, ...]
    whole: dict[str, frozenset[str]]


def is_amount(text: str) -> bool:
    """Tell whether a text is only a number with its unit, such as `18 °C`, a name of a level."""
    return AMOUNT.fullmatch(text.strip()) is not None


def small(text: str) -> str:
    """Return `text` in small letters, without accents or spaces around, as entries are compared."""
    parted = unicodedata.normalize("NFKD", text.strip()).casefold()
    return "".join(letter for letter in parted if not unicodedata.combining(letter))


def tokens(text: str) -> tuple[str, ...]:
    """Return the words, numbers and signs of `text` in small letters.

    `FreshWt_1 (g)` is fresh, wt, 1, g.
    """
    return tuple(TOKEN.findall(small(CAMEL.sub(" ", text))))


@lru_cache(maxsize=100_000)
def meanings(text: str) -> frozenset[str]:
    """Return all meanings that words of `text` have.

    Such as `fresh` and `weight` of `Frischgewicht (g)`.
    """
    words = tokens(text)
    own: set[str] = set()
    for start in range(len(words)):
        own.update(_beginning_at(words, start))
    return frozenset(own)


def says(text: str, *names: str) -> bool:
    """Return whether a word of `text` has one of these meanings.

    Raises KeyError where a meaning is not declared.
    """
    _declared(names)
    return not meanings(text).isdisjoint(names)


def is_word(text: str, *names: str) -> bool:
    """Return whether `text` as a whole is a word with one of these meanings.

    `dead` is `lost`, `dead end` is not.

    Raises KeyError where a meaning is not declared.
    """
    _declared(names)
    whole = _dictionary().whole
    return any(small(text) in whole[name] for name in names)


def event_of(text: str) -> str:
    """Return what was done to a solution, in the word of the declaration, or `used`.

    "" where `text` does not say.
    """
    own = meanings(text)
    for meaning, event in EVENTS.items():
        if meaning in own:
            return event
    return ""


def _declared(names: tuple[str, ...]) -> None:
    for name in names:
        if name not in _dictionary().whole:
            raise KeyError(name)


def _beginning_at(words: tuple[str, ...], start: int) -> Iterator[str]:
    for entry in _entries_of(words[start]):
        if _matches(entry, words, start):
            yield entry.meaning


@lru_cache(maxsize=100_000)
def _entries_of(word: str) -> tuple[_Entry, ...]:
    """Return the entries that begin with a word: the dates of a long log are of few words."""
    dictionary = _dictionary()
    patterned = (entry for entry in dictionary.patterned if _fits(entry.patterns[0], word))
    return (*dictionary.plain.get(word, ()), *patterned)


def _matches(entry: _Entry, words: tuple[str, ...], start: int) -> bool:
    end = start + len(entry.tokens)
    if entry.patterns:
        following = words[start:end]
        return len(following) == len(entry.tokens) and all(map(_fits, entry.patterns, following))
    return words[start:end] == entry.tokens


def _fits(pattern: re.Pattern[str], word: str) -> bool:
    return pattern.fullmatch(word) is not None


@cache
def _dictionary() -> _Dictionary:
    source = files("reportgen.importing").joinpath("words.toml")
    declared = tomllib.loads(source.read_text(encoding="utf-8"))
    plain: dict[str, list[_Entry]] = {}
    patterned: list[_Entry] = []
    whole: dict[str, frozenset[str]] = {}
    for meaning, languages in declared.items():
        texts = sorted(set(chain.from_iterable(languages.values())))
        whole[meaning] = frozenset(small(text) for text in texts if not _is_pattern(text))
        for text in texts:
            entry = _entry(meaning, text)
            if entry.patterns:
                patterned.append(entry)
            elif entry.tokens:
                plain.setdefault(entry.tokens[0], []).append(entry)
    by_token = {token: tuple(entries) for token, entries in plain.items()}
    return _Dictionary(by_token, tuple(patterned), whole)


def _is_pattern(text: str) -> bool:
    """Tell whether an entry stands for any letters in a place; a lone `*` is a word."""
    return ANY_LETTERS in text and text != ANY_LETTERS


def _entry(meaning: str, text: str) -> _Entry:
    if not _is_pattern(text):
        return _Entry(meaning, tokens(text), ())
    words = tuple(small(text).split())
    return _Entry(meaning, words, tuple(_pattern(word) for word in words))


def _pattern(word: str) -> re.Pattern[str]:
    return re.compile(r"\w*".join(map(re.escape, word.split(ANY_LETTERS))))
