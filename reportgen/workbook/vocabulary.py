"""The words of a workbook in each language: its sheets, columns, choices and help.

English is the declaration itself. Every other language is one catalogue, a file in `languages/`,
keyed by the English words. A workbook may be in any of them, or in several.
"""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any, Final

from reportgen import language
from reportgen.workbook.declaration import SHEETS, TRIAL_HEADINGS, TRIAL_NOTES, Column, Sheet
from reportgen.workbook.names import bare, folded

YES: Final = ("yes", "y", "true", "x", "1")
NO: Final = ("no", "n", "false", "0")
FAMILIES: Final = frozenset(sheet.family for sheet in SHEETS if sheet.family)


@dataclass(frozen=True)
class SheetWords:
    """What a sheet is called, its help, and the name and the help of each column by the English
    name.
    """

    name: str
    help: str
    columns: Mapping[str, tuple[str, str]]


@dataclass(frozen=True)
class Vocabulary:
    """The words of one language; where a catalogue lacks one, it is English.

    `tag` is the BCP 47 tag. `yes` and `no` are what may be typed, the usual word first. `words` has
    the choices and the words that stand for all codes, `texts` what else a workbook says, `sheets`
    the names, all by the English word.
    """

    tag: str
    per: str = "per"
    yes: tuple[str, ...] = YES
    no: tuple[str, ...] = NO
    words: Mapping[str, str] = field(default_factory=dict)
    texts: Mapping[str, str] = field(default_factory=dict)
    sheets: Mapping[str, SheetWords] = field(default_factory=dict)

    def sheet_name(self, name: str) -> str:
        """Return what the sheet `name` is called."""
        if name in self.sheets:
            return self.sheets[name].name
        return name

    def column_name(self, sheet: str, name: str) -> str:
        """Return what a column of a sheet is called; `Factor: light` keeps its second part."""
        family, _, own = name.partition(": ")
        if own and family in FAMILIES:
            return f"{self.word(family)}: {own}"
        return self._of_column(sheet, name)[0] or name

    def word(self, word: str) -> str:
        """Return a choice, or a word that stands for all codes."""
        return self.words.get(word, word)

    def text(self, message: str, /, **values: object) -> str:
        """Return a text of the workbook, its placeholders filled."""
        said = self.texts.get(message, message)
        if values:
            return said.format(**values)
        return said

    def spoken(self, sheet: Sheet) -> Sheet:
        """Return a sheet of the declaration as it is declared in this language."""
        if self is ENGLISH:
            return sheet
        return replace(
            sheet,
            name=self.sheet_name(sheet.name),
            help=self.sheets[sheet.name].help if sheet.name in self.sheets else sheet.help,
            columns=tuple(self.spoken_column(sheet.name, column) for column in sheet.columns),
            key=tuple(self.column_name(sheet.name, name) for name in sheet.key),
            family=self.word(sheet.family),
        )

    def spoken_column(self, sheet: str, column: Column) -> Column:
        """Return a column of the sheet `sheet` as it is declared in this language."""
        if self is ENGLISH:
            return column
        return replace(
            column,
            name=self.column_name(sheet, column.name),
            help=self._of_column(sheet, column.name)[1] or self.texts.get(column.help, column.help),
            choices=tuple(map(self.word, column.choices)),
            refers=self.sheet_name(column.refers),
            also=tuple(map(self.word, column.also)),
            per=self.per,
        )

    def _of_column(self, sheet: str, name: str) -> tuple[str, str]:
        """Return name and help of a column, both empty where the catalogue lacks it."""
        if sheet in self.sheets:
            return self.sheets[sheet].columns.get(name, ("", ""))
        return ("", "")


ENGLISH: Final = Vocabulary("en")


@cache
def vocabularies() -> tuple[Vocabulary, ...]:
    """Return the words of every language, English first."""
    folder = Path(__file__).parent / "languages"
    return (ENGLISH, *map(_vocabulary, sorted(folder.glob("*.toml"))))


def _vocabulary(path: Path) -> Vocabulary:
    catalogue = tomllib.loads(path.read_text("utf-8"))
    return Vocabulary(
        path.stem,
        catalogue["per"],
        tuple(catalogue["yes"]),
        tuple(catalogue["no"]),
        catalogue["words"],
        catalogue["texts"],
        {name: _sheet_words(words) for name, words in catalogue["sheets"].items()},
    )


def _sheet_words(words: Mapping[str, Any]) -> SheetWords:
    columns: dict[str, tuple[str, str]] = {}
    for english, said in words["columns"].items():
        name, text = said if len(said) > 1 else (said[0], "")
        columns[english] = name, text
    return SheetWords(words["name"], words["help"], columns)


def vocabulary(tag: str) -> Vocabulary:
    """Return the words of the language `tag`; raise KeyError where it has no catalogue."""
    return {one.tag: one for one in vocabularies()}[tag]


def of_messages() -> Vocabulary:
    """Return the words of the language that messages are in now; English where it has none."""
    tag = language.current().tag.partition("-")[0]
    known = {words.tag: words for words in vocabularies()}
    return known.get(tag, ENGLISH)


# ---- what a name in any language is --------------------------------------------------------------


def help_said(sheet: Sheet, column: Column | None = None) -> str:
    """Return the help of a sheet or of one of its columns, in the language of messages where that
    is not English.
    """
    given: Sheet | Column = column or sheet
    words = of_messages()
    if words is ENGLISH:
        return given.help
    declared = next(one for one in SHEETS if one.name == sheet_names()[folded(sheet.name)])
    if column is None:
        return words.spoken(declared).help
    name = columns_by_name(declared)[folded(column.name)].name
    return words.spoken_column(declared.name, declared.column(name)).help


@cache
def sheet_names() -> Mapping[str, str]:
    """Return the declared name of each sheet by its folded name in every language."""
    names: dict[str, str] = {}
    for words in vocabularies():
        for sheet in SHEETS:
            names.setdefault(folded(words.sheet_name(sheet.name)), sheet.name)
    return names


@cache
def columns_by_name(sheet: Sheet) -> Mapping[str, Column]:
    """Return the columns of a declared sheet by their folded names in every language."""
    columns: dict[str, Column] = {}
    for words in vocabularies():
        for column in sheet.columns:
            columns.setdefault(folded(words.column_name(sheet.name, column.name)), column)
    return columns


@cache
def words_of(words: tuple[str, ...]) -> Mapping[str, str]:
    """Return some words of the declaration by their folded forms in every language."""
    words_by_form: dict[str, str] = {}
    for vocabulary_words in vocabularies():
        for word in words:
            words_by_form.setdefault(folded(vocabulary_words.word(word)), word)
    return words_by_form


@cache
def flags() -> Mapping[str, bool]:
    """Return whether a word of any language, without case and accents, says yes or no."""
    meanings: dict[str, bool] = {}
    for words in vocabularies():
        meanings |= {bare(word): False for word in words.no}
    for words in vocabularies():
        meanings |= {bare(word): True for word in words.yes}
    return meanings


@cache
def trial_headings() -> tuple[frozenset[str], ...]:
    """Return the folded headings of the columns of the sheet Trial in every language."""
    return tuple(_in_every_language(heading) for heading in TRIAL_HEADINGS)


@cache
def trial_notes() -> frozenset[str]:
    """Return the folded first words of a blank workbook's notes below the fields, in any language."""
    notes: set[str] = set()
    for word, _, _ in TRIAL_NOTES:
        notes |= _in_every_language(word)
    return frozenset(notes)


def _in_every_language(text: str) -> frozenset[str]:
    return frozenset(folded(words.text(text)) for words in vocabularies())


def language_of(names: Iterable[str], usual: Vocabulary = ENGLISH) -> Vocabulary:
    """Return the language of most names of sheets and columns, `usual` where no other has more."""
    typed = {folded(name) for name in names}
    return max((usual, *vocabularies()), key=lambda words: len(typed & _names_in(words.tag)))


@cache
def _names_in(tag: str) -> frozenset[str]:
    names: list[str] = []
    for sheet in SHEETS:
        spoken = vocabulary(tag).spoken(sheet)
        names += [spoken.name, *(column.name for column in spoken.columns)]
    return frozenset(map(folded, names))
