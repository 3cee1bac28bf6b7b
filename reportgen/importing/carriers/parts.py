"""Parts of labels: `K2-3`, `warm tray 2`, `GH1_T2_P04`, where one pattern fits all labels of a set."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reportgen.importing import words
from reportgen.importing.words import is_amount

_ISO_DATE = re.compile(r"\d{4}-\d\d-\d\d")
_DATE_BEHIND = re.compile(r"\(\d{1,2}[./-]\d{1,2}[./-]?(?:\d{2}|\d{4})?\)$")
_NUMBER = re.compile(r"[<>~]?-?\d*[.,]?\d+$")
_CODE = re.compile(r"(?<![A-Za-z])[A-Z]{2,3}(?=\d)")
_TOKEN = re.compile(r"\d+|(?<!\S)[+−-][^\W\d_]+|[^\W\d_]+")
_NUMBERED = re.compile(
    r"^(?P<text>.*?[^\W\d_].*?)[\s_\-.:/#]*(?P<number>(?:(?<=[\s_\-.:/#])[^\W\d_])?\d+)$"
)
_FIELDS = re.compile(r"\s*[,;/|_]\s*|\s+[-–]\s+")
_UNITS = frozenset(
    ("h", "hr", "std", "g", "mg", "kg", "ml", "l", "ppm", "mm", "cm", "mol", "w", "k", "lux")
)
_NAMES_OF_PIECES = ("unit", "plant", "block", "date", "picking", "sample", "number")
MOST = 0.9  # of the labels must fit a pattern: one in ten may be misspelt
HALF = 0.5  # of header labels: others stand over columns of labels


@dataclass(frozen=True)
class Part:
    """A varying part: its text by label, "" where a label does not fit, and the fixed word before
    it (`tray`).
    """

    texts: Mapping[str, str]
    word: str


def split_levels(levels: Sequence[str], share: float = MOST) -> tuple[Part, ...]:
    """Return the varying parts of labels; none where no pattern fits.

    Words that all labels begin with leave one part: T1 of `Meter reading T1`. Parts that are the
    same in all labels are dropped; letters that never vary stay before their digits (`T2`). `share`
    of the labels must fit the pattern; one that does not has empty parts.
    """
    labels = [level for level in levels if level]
    if len(labels) < 2 or _are_values(labels, share):
        return ()
    for split in (_tokens, _fields, _text_and_number):
        parts = _varying(labels, split(labels, share))
        if len(parts) > 1 and _tell_apart(labels, parts):
            return parts
        if parts and split is _tokens:
            break
    return _without_common_words(labels, share)


def _are_values(labels: Sequence[str], share: float) -> bool:
    """Tell whether labels are dates, measured numbers or amounts."""
    return _are_dates(labels, share) or _are_measured(labels) or all(map(is_amount, labels))


def _tell_apart(levels: Sequence[str], parts: Sequence[Part]) -> bool:
    """Tell whether labels that differ have parts that differ, so that nothing they say is lost."""
    fitting = [level for level in levels if any(part.texts[level] for part in parts)]
    distinct = {tuple(part.texts[level].casefold() for part in parts) for level in fitting}
    return len(distinct) == len(set(fitting))


def numbered_within(levels: Sequence[str]) -> bool:
    """Tell whether labels such as 1.1, 1.2 ... 2.1 number things within things.

    Each second number then counts from 1.
    """
    seconds: dict[str, set[str]] = {}
    for level in levels:
        first, _, second = level.partition(".")
        if not first.isdecimal() or not second.isdecimal():
            return False
        seconds.setdefault(first, set()).add(second)
    if len(seconds) < 2:
        return False
    numbers = set(map(int, set[str]().union(*seconds.values())))
    all_begin = all(own & {"1", "01"} for own in seconds.values())
    return all_begin and numbers == set(range(1, max(numbers) + 1))


def _are_dates(levels: Sequence[str], share: float) -> bool:
    """Tell whether labels are ISO dates, or a share of them end with a date."""
    dates = [level for level in levels if has_date_behind(level)]
    return len(dates) >= share * len(levels) or all(map(_ISO_DATE.match, levels))


def has_date_behind(text: str) -> bool:
    """Tell whether a label ends with a date in brackets: `1st picking (12/07)`."""
    return _DATE_BEHIND.search(text) is not None


def _are_measured(levels: Sequence[str]) -> bool:
    """Tell whether labels are numbers of which some have decimals, and no numbered things."""
    if not all(_NUMBER.match(level) for level in levels):
        return False
    return not numbered_within(levels)


def part_of(
    labels: NDArray[np.object_], part: int, levels: Sequence[str], share: float = MOST
) -> NDArray[np.object_]:
    """Return a part (from 1) of each label, "" where it has none; `levels` are all labels that show
    the pattern.
    """
    parts = split_levels(levels, share)
    if part > len(parts):
        return np.full(labels.shape, "", dtype=object)
    chosen = parts[part - 1].texts
    found = np.array([chosen.get(label, "") for label in labels.ravel().tolist()], dtype=object)
    return found.reshape(labels.shape)


Split = list[tuple[str, ...] | None]
Tokens = list[re.Match[str]]


def _tokens(levels: Sequence[str], share: float) -> Split:
    """Split labels into runs of letters and of digits, where their order is the same in all."""
    token = re.compile(_codes_before_letters(levels) + _TOKEN.pattern)
    tokens = [list(token.finditer(level)) for level in levels]
    shapes = [_shape(each) for each in tokens]
    common = max(set(shapes), key=shapes.count)
    if shapes.count(common) < share * len(levels):
        return []
    fitting = [each for each, shape in zip(tokens, shapes, strict=True) if shape == common]
    pieces = _pieces(fitting, common)
    split: Split = []
    for each, shape in zip(tokens, shapes, strict=True):
        split.append(_texts(each, pieces) if shape == common else None)
    return split


def _shape(tokens: Tokens) -> str:
    """Return the kinds of tokens in their order: `a` letters, `9` digits."""
    return "".join("9" if token.group().isdecimal() else "a" for token in tokens)


def _pieces(tokens: Sequence[Tokens], shape: str) -> list[tuple[int, int]]:
    """Return which tokens make a piece, first and last.

    A piece is what varies, with the fixed letters that belong to it.
    """
    varying = _varying_tokens(tokens, len(shape))
    pieces: list[tuple[int, int]] = []
    end = -1
    for index in range(len(shape)):
        if index not in varying:
            if index > end:
                pieces.append((index, index))
            continue
        first = index
        is_behind_fixed = index - 1 > end and index - 1 not in varying
        if is_behind_fixed and _is_number_of_letters(tokens[0], shape, index):
            pieces.pop()
            first = index - 1
        if pieces and _goes_with_last(tokens, pieces[-1][1], index, varying):
            first = pieces.pop()[0]
        end = _end_of_piece(tokens[0], shape, varying, index)
        pieces.append((first, end))
    return pieces


def _varying_tokens(tokens: Sequence[Tokens], number: int) -> list[int]:
    """Return the indexes of the tokens that are not the same in all labels."""
    varying = []
    for index in range(number):
        texts = {_small(each[index]) for each in tokens}
        if len(texts) > 1:
            varying.append(index)
    return varying


def _is_number_of_letters(tokens: Tokens, shape: str, index: int) -> bool:
    """Tell whether a number stands right behind letters, as in T1."""
    return shape[index - 1 : index + 1] == "a9" and _touch(tokens, index - 1)


def _goes_with_last(
    tokens: Sequence[Tokens], last: int, index: int, varying: Sequence[int]
) -> bool:
    """Tell whether a token varies together with the last one of the piece before."""
    return last in varying and _vary_together(tokens, last, index, varying)


def _end_of_piece(tokens: Tokens, shape: str, varying: Sequence[int], index: int) -> int:
    """Return the last token of a piece.

    Fixed words behind it belong to it, up to one that names the next piece.
    """
    is_last = index == varying[-1]
    end = index
    for place in range(index + 1, len(shape)):
        if place in varying or shape[place] != "a":
            break
        is_next_prefix = place + 1 in varying and _touch(tokens, place)
        if is_next_prefix or _begins_next_piece(_small(tokens[place]), is_last=is_last):
            break
        between = tokens[end].string[tokens[end].end() : tokens[place].start()]
        if between.strip():
            break
        end = place
    return end


def _begins_next_piece(word: str, *, is_last: bool) -> bool:
    """Tell whether a fixed word is no unit, and names what follows or ends the label."""
    if word in _UNITS:
        return False
    return is_last or words.says(word, *_NAMES_OF_PIECES)


def _touch(tokens: Tokens, index: int) -> bool:
    """Tell whether a token and the next stand without a gap."""
    return tokens[index].end() == tokens[index + 1].start()


def _vary_together(
    tokens: Sequence[Tokens], first: int, second: int, varying: Sequence[int]
) -> bool:
    """Tell whether two numbers that labels begin with are one name, as in `10-14`: each goes with
    one of the other.
    """
    are_numbers = tokens[0][first].group().isdecimal() and tokens[0][second].group().isdecimal()
    if first != varying[0] or second != first + 1 or not are_numbers:
        return False
    pairs = {(each[first].group(), each[second].group()) for each in tokens}
    return len(pairs) == len({one for one, _ in pairs}) == len({other for _, other in pairs})


def _texts(tokens: Tokens, pieces: Sequence[tuple[int, int]]) -> tuple[str, ...]:
    """Return the texts of the pieces of one label."""
    label = tokens[0].string
    return tuple(label[tokens[first].start() : tokens[last].end()] for first, last in pieces)


def _small(token: re.Match[str]) -> str:
    return token.group().casefold()


def _codes_before_letters(levels: Sequence[str]) -> str:
    """Return a pattern for the first letters of codes that end in one letter in all labels.

    Such as P of `PS1`, `CS2`.
    """
    codes = [_CODE.findall(level) for level in levels]
    numbers_of_codes = set(map(len, codes))
    if len(numbers_of_codes) != 1:
        return ""
    pattern = ""
    for texts in zip(*codes, strict=True):
        last_letters = {text[-1] for text in texts}
        lengths = set(map(len, texts))
        if len(set(texts)) > 1 and len(lengths) == 1 and len(last_letters) == 1:
            pattern += rf"[A-Z]{{1,2}}(?={last_letters.pop()}\d)|"
    return pattern


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
    texts = [match["text"].split() for match in matches if match]
    if len(texts) < share * len(levels):
        return []
    has_last_word = _share_last_word(texts)
    split: Split = []
    for match in matches:
        if match is None:
            split.append(None)
            continue
        text_words = match["text"].split()
        last_word = ""
        if has_last_word:
            last_word = text_words.pop()
        split.append((" ".join(text_words).rstrip(" -_,:"), last_word, match["number"]))
    return split


def _share_last_word(texts: Sequence[Sequence[str]]) -> bool:
    """Tell whether texts of several words end in the same word."""
    last_words = {text[-1].casefold() for text in texts}
    return len(last_words) == 1 and all(len(text) > 1 for text in texts)


def _without_common_words(levels: Sequence[str], share: float) -> tuple[Part, ...]:
    """Return what labels are without the words that most of them begin with, or else end with."""
    split = [level.split() for level in levels]
    fitting = _sharing_a_word(split)
    if len(fitting) < max(2, share * len(levels)):
        return ()
    first = _common_length(fitting)
    last = 0
    if not first:
        last = _common_length([texts[::-1] for texts in fitting])
    middles = {}
    for level, texts in zip(levels, split, strict=True):
        middle = " ".join(texts[first : len(texts) - last])
        middles[level] = middle if texts in fitting else ""
    if first:
        word = fitting[0][first - 1]
    else:
        word = ""
    return (Part(middles, word),)


def _sharing_a_word(split: Sequence[list[str]]) -> list[list[str]]:
    """Return the labels that share the first or last word that is most common."""
    several = [each for each in split if len(each) > 1]
    if not several:
        return []
    best: list[list[str]] = []
    for place in (0, -1):
        by_word: dict[str, list[list[str]]] = {}
        for each in several:
            by_word.setdefault(each[place].casefold(), []).append(each)
        sharing = max(by_word.values(), key=len)
        if len(sharing) > len(best):
            best = sharing
    return best


def _common_length(split: Sequence[list[str]]) -> int:
    """Return how many first words are the same in all labels, at least one word of each left."""
    shortest = min(len(texts) for texts in split)
    count = 0
    while count < shortest - 1 and len({texts[count].casefold() for texts in split}) == 1:
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
    """Return the nearest fixed word before a part, "" where none stands there; single letters are
    no words.
    """
    before = index - 1
    while before in constant:
        fixed = [text for text in columns[before] if len(text) > 1 and text.isalpha()]
        if fixed:
            return fixed[0]
        before -= 1
    return ""
