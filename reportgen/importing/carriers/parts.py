"""Parts of labels: `K2-3`, `warm tray 2`, `GH1_T2_P04`, where one pattern fits all labels of a set."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_ISO_DATE = re.compile(r"\d{4}-\d\d-\d\d")
_NUMBER = re.compile(r"[<>~]?-?\d*[.,]?\d+$")
_CODE = re.compile(r"(?P<letters>[A-Z]{2,3})\d")
_TOKEN = re.compile(r"\d+|[^\W\d_]+")
_NUMBERED = re.compile(r"^(?P<text>.*?[^\W\d_].*?)[\s_\-.:/#]*(?P<number>\d+)$")
_FIELDS = re.compile(r"\s*[,;/|_]\s*|\s+[-–]\s+")
_UNITS = frozenset(("h", "hr", "std", "g", "mg", "kg", "ml", "l", "ppm", "mm", "cm", "mol", "w", "k", "lux"))
MOST = 0.9  # of the labels must fit a pattern: one in ten may be misspelt
HALF = 0.5  # of header labels: others stand over columns of labels


@dataclass(frozen=True)
class Part:
    """A varying part: its text by label, "" where a label does not fit, and the fixed word before it (`tray`)."""

    texts: Mapping[str, str]
    word: str


def split_levels(levels: Sequence[str], share: float = MOST) -> tuple[Part, ...]:
    """Return the varying parts of labels; none where no pattern fits.

    Words that all labels begin or end with leave one part: T1 of `Meter reading T1`. Parts that are the same
    in all labels are dropped; letters that never vary stay before their digits (`T2`). `share` of the labels
    must fit the pattern; one that does not has empty parts.
    """
    known = [level for level in levels if level]
    if len(known) < 2 or _are_dates(known) or _are_measured(known):
        return ()
    for split in (_tokens, _fields, _text_and_number):
        parts = _varying(known, split(known, share))
        if len(parts) > 1:
            return parts
    return _without_common_words(known, share)


def numbered_within(levels: Sequence[str]) -> bool:
    """Tell whether labels such as 1.1, 1.2 ... 2.1 number things within things: each second number counts from 1."""
    seconds: dict[str, set[str]] = {}
    for level in levels:
        first, point, second = level.partition(".")
        if not point or not first.isdecimal() or not second.isdecimal():
            return False
        seconds.setdefault(first, set()).add(second)
    if len(seconds) < 2:
        return False
    starting = [numbers for numbers in seconds.values() if "1" in numbers or "01" in numbers]
    highest = max(int(number) for numbers in seconds.values() for number in numbers)
    counted = {int(number) for numbers in seconds.values() for number in numbers}
    return len(starting) == len(seconds) and counted == set(range(1, highest + 1))


def _are_dates(levels: Sequence[str]) -> bool:
    """Tell whether labels are ISO dates."""
    return all(_ISO_DATE.match(level) for level in levels)


def _are_measured(levels: Sequence[str]) -> bool:
    """Tell whether labels are numbers of which some have decimals, and no numbered things."""
    if not all(_NUMBER.match(level) for level in levels):
        return False
    return not numbered_within(levels)


def part_of(labels: NDArray[np.object_], part: int, levels: Sequence[str], share: float = MOST) -> NDArray[np.object_]:
    """Return a part (from 1) of each label, "" where it has none; `levels` are all labels that show the pattern."""
    parts = split_levels(levels, share)
    if part > len(parts):
        return np.full(labels.shape, "", dtype=object)
    chosen = parts[part - 1].texts
    found = np.array([chosen.get(label, "") for label in labels.ravel().tolist()], dtype=object)
    return found.reshape(labels.shape)


Split = list[tuple[str, ...] | None]


def _tokens(levels: Sequence[str], share: float) -> Split:
    """Split labels into runs of letters and of digits, where their order is the same in all."""
    split = []
    shapes: dict[str, int] = {}
    token = re.compile(rf"{_code_before_letter(levels)}{_TOKEN.pattern}")
    for level in levels:
        tokens = list(token.finditer(level))
        shape = "".join("9" if token.group()[0].isdigit() else "a" for token in tokens)
        shapes[shape] = shapes.get(shape, 0) + 1
        split.append((shape, level, tokens))
    common = max(shapes, key=lambda shape: shapes[shape])
    if shapes[common] < share * len(levels):
        return []
    texts: Split = []
    for shape, _, tokens in split:
        if shape == common:
            texts.append(tuple(token.group() for token in tokens))
        else:
            texts.append(None)
    fixed = _constant(texts)
    joined: Split = []
    for (shape, _, tokens), text in zip(split, texts, strict=True):
        if text is None:
            joined.append(None)
        else:
            joined.append(_with_fixed_letters(tokens, shape, fixed))
    return joined


def _code_before_letter(levels: Sequence[str]) -> str:
    """Return a pattern for the first letters of codes whose last letter is the same in all: P of `PS1`, `CS2`."""
    codes = [_CODE.match(level) for level in levels]
    texts = {code["letters"] for code in codes if code}
    lengths = {len(text) for text in texts}
    last = {text[-1] for text in texts}
    if not all(codes) or len(texts) < 2 or len(lengths) != 1 or len(last) != 1 or lengths == {1}:
        return ""
    return rf"^[A-Z]{{1,2}}(?={last.pop()}\d)|"


def _with_fixed_letters(tokens: list[re.Match[str]], shape: str, fixed: set[int]) -> tuple[str, ...]:
    """Join letters that never vary to the digits that follow them without a gap."""
    texts = []
    for index, token in enumerate(tokens):
        text = token.group()
        before = index - 1
        behind = index + 1
        if behind in fixed and tokens[behind].group().casefold() in _UNITS:
            text = token.string[token.start() : tokens[behind].end()]
        if before in fixed and shape[before] == "a" and shape[index] == "9":
            previous = tokens[before]
            if previous.end() == token.start():
                text = previous.group() + text
        texts.append(text)
    return tuple(texts)


def _fields(levels: Sequence[str], share: float) -> Split:
    """Split labels at commas, slashes, underscores and spaced dashes."""
    fields = [tuple(_FIELDS.split(level)) for level in levels]
    counts = [len(texts) for texts in fields]
    common = max(set(counts), key=counts.count)
    if counts.count(common) < share * len(levels):
        return []
    split: Split = []
    for texts in fields:
        split.append(texts if len(texts) == common else None)
    return split


def _text_and_number(levels: Sequence[str], share: float) -> Split:
    """Split labels into a text of any words and the number behind it."""
    matches = [_NUMBERED.match(level) for level in levels]
    fitting = [match for match in matches if match]
    if len(fitting) < share * len(levels):
        return []
    words = [match["text"].split() for match in fitting]
    last_words = {texts[-1].casefold() for texts in words}
    has_last_word = len(last_words) == 1 and all(len(texts) > 1 for texts in words)
    split: Split = []
    for match in matches:
        if match is None:
            split.append(None)
            continue
        texts = match["text"].split()
        last_word = texts.pop() if has_last_word else ""
        split.append((" ".join(texts).rstrip(" -_,:"), last_word, match["number"]))
    return split


def _without_common_words(levels: Sequence[str], share: float) -> tuple[Part, ...]:
    """Return what labels are without the words that most of them begin or end with."""
    split = [level.split() for level in levels]
    fitting = _sharing_a_word(split)
    if len(fitting) < max(2, share * len(levels)):
        return ()
    first = _common_length(fitting)
    last = _common_length([words[::-1] for words in fitting])
    texts = {}
    for level, words in zip(levels, split, strict=True):
        middle = " ".join(words[first : len(words) - last])
        texts[level] = middle if words in fitting else ""
    if not all(texts[" ".join(words)] for words in fitting):
        return ()
    word = fitting[0][first - 1] if first else ""
    return (Part(texts, word),)


def _sharing_a_word(split: Sequence[list[str]]) -> list[list[str]]:
    """Return the labels that share the first or last word that is most common."""
    best: list[list[str]] = []
    for place in (0, -1):
        words = [each[place].casefold() for each in split if len(each) > 1]
        if not words:
            continue
        common = max(words, key=words.count)
        sharing = [each for each in split if len(each) > 1 and each[place].casefold() == common]
        if len(sharing) > len(best):
            best = sharing
    return best


def _common_length(split: Sequence[list[str]]) -> int:
    """Return how many first words are the same in all labels, at least one word of each left."""
    shortest = min(len(words) for words in split)
    count = 0
    while count < shortest - 1 and len({words[count].casefold() for words in split}) == 1:
        count += 1
    return count


def _constant(split: Split) -> set[int]:
    """Return the indexes of the parts that are the same in all labels."""
    fitting = [texts for texts in split if texts is not None]
    constant = set()
    for index, texts in enumerate(zip(*fitting, strict=True)):
        if len({text.casefold() for text in texts}) == 1:
            constant.add(index)
    return constant


def _varying(levels: Sequence[str], split: Split) -> tuple[Part, ...]:
    """Return the parts that vary."""
    if not split:
        return ()
    constant = _constant(split)
    width = max(len(texts) for texts in split if texts is not None)
    blank = ("",) * width
    columns = list(zip(*[texts or blank for texts in split], strict=True))
    parts = []
    for index, texts in enumerate(columns):
        if index in constant:
            continue
        by_level = dict(zip(levels, texts, strict=True))
        parts.append(Part(by_level, _word_before(columns, constant, index)))
    return tuple(parts)


def _word_before(columns: Sequence[tuple[str, ...]], constant: set[int], index: int) -> str:
    """Return the nearest fixed word before a part, "" where none stands there; single letters are no words."""
    before = index - 1
    while before in constant:
        words = [text for text in columns[before] if len(text) > 1 and text.isalpha()]
        if words:
            return words[0]
        before -= 1
    return ""
