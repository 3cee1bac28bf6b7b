"""Where the treatment of each row is told: in a column, a heading, a sheet's or a file's name, beside a code."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import compress
from typing import Final

from reportgen.adopt.grid import one_line
from reportgen.adopt.matching import SHORT_CODE, meanings, place_of, tokens
from reportgen.adopt.named_trays import Named, numbered, placed
from reportgen.adopt.pickings import are_pickings, without_pickings
from reportgen.adopt.roles import Guess, Understood, profile_at
from reportgen.adopt.tables import FoundTable, Pairs, is_date
from reportgen.adopt.wide import places_in, wide_columns
from reportgen.adopt.words import CONTROLS, VAGUE
from reportgen.workbook.headers import folded
from reportgen.workbook.rows import TOTALS as TOTAL

PARTS: Final = re.compile(r"[^\W_]+")
CODE: Final = re.compile(r"([^\W\d]+(?:\s[^\W\d]+)*)[\s._-]*\d+")
PLAIN_NAME: Final = re.compile(r"(?:sheet|tabelle|hoja|feuil|foglio|planilha|blad|data|sheet1)\s*\d*", re.IGNORECASE)


@dataclass(frozen=True)
class Telling:
    """How a table's treatment is told: by a column, a `constant`, section rows, the headers; what codes stand for.

    `letters` says that it may be the letters of the codes, which only the owner knows: they may be another factor.
    `rivals` are the headers of several columns that were varied, of which the owner says what the treatment is;
    `keys` are several that explain its codes, each otherwise. The whole table is the `tray` where a name tells it;
    `named` is that name where only the owner knows whether it is a treatment, or a tray and of which one.
    """

    guess: Guess | None = None
    constant: str = ""
    sections: bool = False
    letters: bool = False
    headers: bool = False
    codes: Mapping[str, str] | None = None
    reason: str = ""
    sure: bool = True
    rivals: tuple[str, ...] = ()
    keys: tuple[Mapping[str, str], ...] = ()
    tray: str = ""
    named: str = ""


OTHER_THINGS: Final = {"cultivar", "note", "status", "id", "block", "position", "tray", "pot", "tent", "plant", "date"}
WITH_OR_WITHOUT: Final = (
    *("with", "without", "no", "not", "low", "high", "plus", "minus"),
    *("mit", "ohne", "kein", "keine", "avec", "sans", "con", "sin", "senza", "com", "sem", "met", "zonder", "geen"),
)


def bare_names(names: Sequence[str]) -> tuple[str, ...]:
    """Return names without the words that they all share: what is left tells them apart.

    Where nothing or only a word such as "without" would be left, only the words that all begin with go.
    """
    parted = [PARTS.findall(name) for name in names]
    shared = set.intersection(*({word.casefold() for word in words} for words in parted)) if parted else set()
    kept = [[word.casefold() not in shared for word in words] for words in parted]
    left = [list(compress(words, keep)) for words, keep in zip(parted, kept, strict=True)]
    if any(not words or set(WITH_OR_WITHOUT).issuperset(map(folded, words)) for words in left):
        first = _shared_at_first(parted)
        kept = [[at >= first for at in range(len(words))] for words in parted]
    bare = tuple(_with_only(name, keep) for name, keep in zip(names, kept, strict=True))
    # A number alone has lost its unit, or what it counts: 25 cm, tent 2.
    return tuple(names) if not all(bare) or any(re.fullmatch(r"[\d.,]+", name) for name in bare) else bare


def _with_only(name: str, kept: Sequence[bool]) -> str:
    """Return a name with some of its words and the signs that belong to these, as in "5%" and "N+P"."""
    if all(kept):
        return " ".join(name.replace("_", " ").split())
    words = iter(kept)
    text = PARTS.sub(lambda found: found[0] if next(words) else "\0", name.replace("_", " "))
    runs = re.sub(r"(?:[\s\-–,;:./]*\0[\s\-–,;:./]*)+", " ", text)
    return " ".join(runs.strip(" -–,;:./()[]").split())


def _shared_at_first(parted: Sequence[Sequence[str]]) -> int:
    """Return how many words all names begin with, one word at the end left to each."""
    most = min(map(len, parted)) - 1
    alike = (len({words[at].casefold() for words in parted}) == 1 for at in range(most))
    return next((at for at, same in enumerate(alike) if not same), most)


def _hold_the_same_trays(tables: Sequence[Understood]) -> bool:
    """Tell whether tables are of the same trays again: codes that do not just count from 1 or A in each."""
    codes = [set(one.profile("Tray").counts) for one in tables]
    again = all(len(one & codes[0]) * 2 > min(len(one), len(codes[0])) for one in codes)
    every = set[str]().union(*codes)
    stems = {re.sub(r"[\d\W_]", "", code) for code in every}
    return len(codes) > 1 and all(codes) and again and len(stems) > 1 and any(len(code) > 1 for code in every)


def told(tables: Sequence[tuple[str, Understood]], pairs: Sequence[Pairs]) -> list[Telling]:
    """Return how the treatment is told in each table of plants; `tables` are paired with their file's name."""
    alone = [_in_itself(one, pairs) for _, one in tables]
    sources = list(_names_of(tables))
    trays = next((known for names, _ in sources if (known := _only_trays(names))), ())
    if not any(_is_open(one) for one in alone):
        return _in_trays(alone, trays, tables)
    if _hold_the_same_trays([one for _, one in tables]):
        return alone
    source = next((one for one in sources if not _only_trays(one[0])), sources[0] if sources else None)
    if not source:
        return alone
    named = [name if _is_open(one) else one for name, one in zip(_by_name(*source, pairs=pairs), alone, strict=True)]
    return _in_trays(named, trays, tables)


def _names_of(tables: Sequence[tuple[str, Understood]]) -> Iterator[tuple[tuple[str, ...], str]]:
    """Yield names that tell the tables apart, and what they are names of."""
    for said, reason in (
        ([_heading(one.table) for _, one in tables], "the text above the table says so"),
        ([one.table.sheet for _, one in tables], "the sheet is named so"),
        ([file for file, _ in tables], "the file is named so"),
    ):
        names = without_pickings(said)
        if len(tables) > 1 and len(set(names)) > 1 and all(names) and _are_levels(names):
            yield names, reason


def _only_trays(names: Sequence[str]) -> tuple[Named, ...]:
    """Return the trays that names tell which tell nothing else, none for other names."""
    found = placed(names)
    return () if any(one.treatment for one in found) else found


def _by_name(names: Sequence[str], reason: str, pairs: Sequence[Pairs]) -> list[Telling]:
    """Return what names tell of the tables that are named so: a treatment, a tray of one, or what is to be asked."""
    trays = placed(names)
    if len({one.treatment.casefold() for one in trays}) > 1 and all(one.treatment for one in trays):
        treatments = bare_names([one.treatment for one in trays])
        return [
            Telling(constant=level, tray=one.tray, reason=reason) for level, one in zip(treatments, trays, strict=True)
        ]
    bare = bare_names(names)
    if key := key_of(list(dict.fromkeys(bare)), pairs):
        said = f"{reason}, and a key in the file tells what it stands for"
        return [Telling(constant=key[name], tray=name, reason=said) for name in bare]
    if numbered(bare) or (len(set(names)) > 2 and (trays or all(map(SHORT_CODE.fullmatch, bare)))):
        return [Telling(named=name, reason=reason) for name in bare]
    return [Telling(constant=name, reason=reason) for name in bare]


def _in_trays(
    tellings: Sequence[Telling], trays: Sequence[Named], tables: Sequence[tuple[str, Understood]]
) -> list[Telling]:
    """Return how treatments are told, with the tray of each table that a name tells and no column of its own."""
    codes = [one.tray for one in trays] or [telling.tray for telling in tellings]
    pairs = set(zip(codes, (telling.constant for telling in tellings), strict=True))
    shared = {code for code, count in Counter(code for code, _ in pairs).items() if code and count > 1}
    found = []
    for telling, code, (_, read) in zip(tellings, codes, tables, strict=True):
        tray = f"{telling.constant} {code}" if code in shared and telling.constant else code
        has_own = read.guess("Tray") or telling.headers or telling.named
        found.append(replace(telling, tray="" if has_own else tray))
    return found


def _is_open(telling: Telling) -> bool:
    return not (telling.rivals or telling.keys or telling.named) and (
        telling.letters
        or not telling.sure
        or not (telling.guess or telling.constant or telling.sections or telling.headers)
    )


def _are_levels(names: Sequence[str]) -> bool:
    return not all(PLAIN_NAME.fullmatch(name.strip()) or is_date(name) for name in names)


def _heading(table: FoundTable) -> str:
    text = table.above[0] if table.above else ""
    label, _, value = text.partition(":")
    if value and "treatment" in meanings(label):
        return value.strip()
    return text if len(text) <= 40 else ""


def _in_itself(one: Understood, pairs: Sequence[Pairs]) -> Telling:
    wide = [guess.header for guess in wide_columns(one)]
    if wide and not places_in(wide) and not all(map(is_date, wide)):
        return Telling(headers=True, reason="the headers name it")
    guess = one.guess("Treatment")
    if guess and guess.score >= 0.4:
        rivals = tuple(_rivals(one, guess))
        if not rivals:
            return _of_column(one, guess, pairs)
        names = (guess.header, *rivals)
        return Telling(rivals=names, reason=f"{' and '.join(names)} both vary within the table")
    if one.table.sections:
        return Telling(sections=True, reason="texts that stand alone above their rows name it")
    if guess:
        return Telling(guess, reason=guess.reason, sure=False)
    return _of_trays(one, pairs)


def _rivals(one: Understood, guess: Guess) -> Iterator[str]:
    """Yield other columns that may tell the treatment, where the header says no more than what was varied.

    So it is with a vague one too, as Group or Condition: what a column beside it varies may be the treatment.
    """
    vague = "treatment" in meanings(guess.header) and VAGUE.issuperset(tokens(guess.header))
    if "treatment" in meanings(guess.header) and not vague:
        return
    own = one.table.values(guess.column)
    for other in one.guesses:
        profile = profile_at(one.table, other.column)
        if (
            other is guess
            or other.name not in ("", "Treatment")
            or not profile.levels
            or profile.numeric
            or profile.dated
            or (vague and OTHER_THINGS & set(meanings(other.header)))
        ):
            continue
        pairs = {
            (one_line(first), one_line(second))
            for first, second in zip(own, one.table.values(other.column), strict=True)
        }
        if len(pairs) > max(len(profile.counts), len(profile_at(one.table, guess.column).counts)):
            yield other.header


def _of_column(one: Understood, guess: Guess, pairs: Sequence[Pairs]) -> Telling:
    levels = list(profile_at(one.table, guess.column).counts)
    keys = keys_of(levels, pairs, guess.header)
    if len(keys) > 1:
        reason = f"{guess.reason}; several keys in the file have its codes"
        return Telling(guess, codes=keys[0], letters=True, reason=reason, keys=keys)
    if codes := keys[0] if keys else {}:
        return Telling(guess, codes=codes, reason=f"{guess.reason}; a key in the file tells what each code stands for")
    prefixes = prefixes_of(levels)
    if prefixes and one.guess("Tray") is None:
        return Telling(guess, codes=prefixes, letters=True, reason=f"{guess.reason}; what its codes stand for is asked")
    if apart := told_from_totals(levels):
        return Telling(guess, codes=apart, reason=f"{guess.reason}; a word for a total has a full stop behind it")
    return Telling(guess, reason=guess.reason)


def told_from_totals(levels: Sequence[str]) -> dict[str, str]:
    """Return what levels are called where one is a word for a total, such as max: with a full stop it is told apart.

    Empty where none is such a word.
    """
    called = {level: f"{level}." if TOTAL.fullmatch(level.strip(" :")) else level for level in levels}
    return called if list(called.values()) != list(called) else {}


def _of_trays(one: Understood, pairs: Sequence[Pairs]) -> Telling:
    """Return the treatment that the letters of tray or plant codes tell, such as W1, W2, P1, P2."""
    for name in ("Tray", "Plant"):
        guess = one.guess(name)
        prefixes = prefixes_of(list(one.profile(name).counts)) if guess else {}
        if guess and prefixes:
            explained = key_of(sorted(set(prefixes.values())), pairs)
            codes = {code: explained.get(level, level) for code, level in prefixes.items()}
            said = f"the letters of the codes under {guess.header!r}"
            reason = f"{said} are explained by a key in the file" if explained else f"{said} may be the treatments"
            return Telling(guess, codes=codes, letters=not explained, reason=reason)
    return Telling()


def prefixes_of(codes: Sequence[str]) -> dict[str, str]:
    """Return the letters in front of each code such as L1, where a few letters stand before several numbers each."""
    found = {code: match[1] for code in codes if (match := CODE.fullmatch(code.strip()))}
    letters = set(found.values())
    repeated = all(sum(one == letter for one in found.values()) > 1 for letter in letters)
    return found if len(found) == len(codes) and 2 <= len(letters) <= 8 and repeated else {}


def key_of(levels: Sequence[str], pairs: Sequence[Pairs]) -> dict[str, str]:
    """Return what each code stands for by the only key in the file that has them all, none where no or several do."""
    found = keys_of(levels, pairs)
    return found[0] if len(found) == 1 else {}


def keys_of(levels: Sequence[str], pairs: Sequence[Pairs], header: str = "") -> tuple[dict[str, str], ...]:
    """Return what each code stands for, by each key in the file that has them all.

    Where only one of their titles shares a meaning or a word with `header`, by that one.
    """
    found: list[dict[str, str]] = []
    titled: list[dict[str, str]] = []
    for key in pairs:
        known = {folded(code): one_line(meant) for code, meant in key.pairs if one_line(meant)}
        if len(levels) > 1 and all(folded(level) in known for level in levels):
            one = {level: known[folded(level)] for level in levels}
            found += [one] if one not in found else []
            titled += [one] if one not in titled and _share_a_word(f"{key.raw.name} {key.title}", header) else []
    return tuple(titled if len(titled) == 1 else found)


def _share_a_word(title: str, header: str) -> bool:
    words = [set(map(folded, PARTS.findall(text))) for text in (title, header)]
    return bool(words[0] & words[1] or set(meanings(title)) & set(meanings(header)))


def key_tables(table: FoundTable) -> Pairs | None:
    """Return a small table of two columns of text as a key, None where it is none."""
    columns = list(table.headers)
    if len(columns) != 2 or len(table.rows) > 24:
        return None
    first, second = (table.values(column) for column in columns)
    pairs = tuple((one_line(code), meant) for code, meant in zip(first, second, strict=True))
    return Pairs(table.raw, table.area, pairs, " ".join((*table.above[:1], *table.headers.values())))


# --- headers that name treatments


def groups_of(table: FoundTable) -> dict[str, dict[int, str]]:
    """Return, by the upper header that is over them, the columns of a two-row header and their lower headers.

    Columns whose upper header stands over none like them belong to all groups. Empty where there are no such groups.
    """
    if len(table.header) != 2:
        return {}
    lower = {column: one_line(table.cell(table.header[1], column)) for column in table.headers}
    upper = {
        column: text.removesuffix(lower[column]).strip() if lower[column] else ""
        for column, text in table.headers.items()
    }
    repeated = {text for text in lower.values() if text and sum(one == text for one in lower.values()) > 1}
    found: dict[str, dict[int, str]] = {}
    for column, text in lower.items():
        if text in repeated and upper[column]:
            found.setdefault(upper[column], {})[column] = text
    if len({tuple(columns.values()) for columns in found.values()}) != 1 or len(found) < 2 or are_pickings(list(found)):
        return {}
    shared = {at: text for at, text in table.headers.items() if not any(at in columns for columns in found.values())}
    return {name: {**shared, **columns} for name, columns in _by_treatment(found).items()}


def _by_treatment(found: Mapping[str, dict[int, str]]) -> Mapping[str, dict[int, str]]:
    """Return columns by the treatment over them: by the one below where the upper headers are what was measured."""
    lower = {text for columns in found.values() for text in columns.values()}
    measured = all({"weight", "height", "leaf"} & set(meanings(upper)) for upper in found)
    if not measured or any({"weight", "height", "leaf"} & set(meanings(text)) for text in lower):
        return found
    turned: dict[str, dict[int, str]] = {}
    for upper, columns in found.items():
        for column, text in columns.items():
            turned.setdefault(text, {})[column] = upper
    return turned


def trays_under(one: Understood) -> dict[str, str]:
    """Return, for each code of a tray that heads a column of a wide table, the treatment over several of them.

    Empty where the lower headers are no codes that differ, or the upper ones name places or stand over one each.
    """
    table, wide = one.table, wide_columns(one)
    if len(table.header) != 2 or not wide:
        return {}
    lower = {guess.header: one_line(table.cell(table.header[1], guess.column)) for guess in wide}
    upper = {text: text.removesuffix(code).strip() for text, code in lower.items()}
    counted = Counter(upper.values())
    codes = all(SHORT_CODE.fullmatch(code) or place_of(code) == "Tray" for code in lower.values())
    differ = len(set(lower.values())) == len(wide)
    over_several = len(counted) > 1 and min(counted.values()) > 1 and all(counted)
    return upper if codes and differ and over_several and not any(map(place_of, counted)) else {}


def split_headers(guesses: Sequence[Guess], levels: Sequence[str]) -> Iterator[tuple[str, Guess]]:
    """Yield each column whose header names one of the treatments, with that treatment."""
    for guess in guesses:
        if level := level_in(guess.header, levels):
            yield level, guess


def level_in(text: str, levels: Sequence[str]) -> str:
    """Return the treatment that a text names, the longest of several, empty where it names none."""
    words = {folded(word) for word in PARTS.findall(text)}
    named = [level for level in levels if folded(level) in words or folded(level) in folded(text)]
    return max(named, key=len, default="")


def control_among(levels: Sequence[str]) -> str:
    """Return the level that is named like a control, empty where none or several are."""
    named = [
        level for level in levels if any(folded(word) in CONTROLS for word in PARTS.findall(level)) or _numbered(level)
    ]
    return named[0] if len(named) == 1 else ""


def _numbered(level: str) -> bool:
    return folded(re.sub(r"\d+$", "", level)) in CONTROLS
