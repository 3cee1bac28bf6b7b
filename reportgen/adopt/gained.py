"""What a log says by now beside what its settings file reads: new sheets and columns, other units, another key."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from reportgen.adopt.mapping import NOTHING, UNKNOWN, Adoption, TableMapping
from reportgen.adopt.parts import TO_ONE_PLACE
from reportgen.adopt.toml_written import paired
from reportgen.adopt.understand import understand
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.raw import Workbook
from reportgen.workbook.units import plain
from reportgen.workbook.values import shown

MOST_ROWS: Final = 2_000  # of a sheet that are looked at anew; the rest of a longer one, a logger's, is like them
LEFT_OUT: Final = 'where it is no part of the trial give it a table of its own with gives = "nothing"'


def gained(files: Mapping[str, Workbook], adoption: Adoption, main: str) -> Iterator[Problem]:
    """Yield a problem for each thing that reportgen would read otherwise, or besides, were it to take in the log now.

    `files` are by name, with those beside the log that no table names; `main` is the name of the log itself.
    """
    short = {name: _short(book) for name, book in files.items()}
    found = understand(short).adoption.tables
    for table, place in zip(found, paired(found, adoption), strict=True):
        known = adoption.tables[place] if place is not None else None
        if NOTHING not in (table.gives, known.gives if known else ""):
            yield from _Found(table, known, adoption, main).problems()


def _short(book: Workbook) -> Workbook:
    return replace(book, sheets=tuple(replace(raw, rows=raw.rows[:MOST_ROWS]) for raw in book.sheets))


@dataclass(frozen=True)
class _Found:
    """A table as it is understood by now, the one of the settings file in its place, and all others there."""

    table: TableMapping
    known: TableMapping | None
    adoption: Adoption
    main: str

    def problems(self) -> Iterator[Problem]:
        if self.known and self.known.header_row == self.table.header_row:
            yield from self._new_headers(self.known)
            yield from self._units(self.known)
            yield from self._codes(self.known)
        elif self._beside:
            yield from self._new_columns()
        elif not self._named and any(map(self._is_alike, self.adoption.tables)):
            said = f"{self.table.place} is read by no table, and its headers are those of one that is read"
            yield self._problem(said, f"Run {self._command} again; {LEFT_OUT}.")

    @property
    def _command(self) -> str:
        others = dict.fromkeys((*(one.file for one in self.adoption.tables), self.table.file))
        return " ".join(("reportgen adopt", self.main, *filter(None, others)))

    def _problem(self, said: str, advice: str, severity: Severity = Severity.CAUTION) -> Problem:
        expected = "a settings file that fits the log as it is now"
        return Problem(severity, self.table.place, "", said, expected, advice, code="new_content")

    @cached_property
    def _named(self) -> tuple[TableMapping, ...]:
        """Return the tables of the settings file that stand on the same sheet."""
        place = self.table.file, self.table.sheet
        return tuple(one for one in self.adoption.tables if (one.file, one.sheet or self.table.sheet) == place)

    @cached_property
    def _beside(self) -> tuple[TableMapping, ...]:
        """Return those of them that have the same header row."""
        return tuple(one for one in self._named if one.header_row == self.table.header_row)

    def _is_alike(self, other: TableMapping) -> bool:
        return (
            self.table.gives in (other.gives, UNKNOWN)
            and bool(_headers(other))
            and _headers(other) == _headers(self.table)
        )

    # --- columns

    def _new_headers(self, known: TableMapping) -> Iterator[Problem]:
        yield from self._columns(self.table.wide.headers if self.table.wide and known.wide else ())

    def _new_columns(self) -> Iterator[Problem]:
        if self.table.gives in TO_ONE_PLACE:
            read = {text for one in self._beside for text in _headers(one)}
            yield from self._columns([text for text in _headers(self.table) if text not in read])

    def _columns(self, headers: Iterable[str]) -> Iterator[Problem]:
        read = {text.casefold() for one in self._beside for text in _headers(one)}
        for text in headers:
            if text.casefold() not in read:
                said = f'"{shown(text)}" heads a column that is read by no table'
                yield self._problem(said, f"Write it in the settings file, or run {self._command} again.")

    # --- what they mean

    def _units(self, known: TableMapping) -> Iterator[Problem]:
        units = {source.header: source.unit for source in self.table.columns.values()}
        units |= dict.fromkeys(self.table.wide.headers if self.table.wide else (), getattr(self.table.wide, "unit", ""))
        read = {source.header: source.unit for source in known.columns.values()}
        read |= dict.fromkeys(known.wide.headers if known.wide else (), getattr(known.wide, "unit", ""))
        for text, unit in read.items():
            now = units.get(text, "")
            if unit and now not in ("", UNKNOWN) and plain(unit) != plain(now):
                said = f'"{shown(text)}" is read in {unit}, and the sheet says that it is in {now}'
                yield self._problem(said, "Mend its unit in the settings file, or what the sheet says of it.")

    def _codes(self, known: TableMapping) -> Iterator[Problem]:
        now, read = _codes(self.table), _codes(known)
        for code, meant in read.items():
            if now.get(code, UNKNOWN) not in (UNKNOWN, meant):
                said = f'"{shown(code)}" is read as {shown(meant)}, and the key says {shown(now[code])}'
                turned = now[code] in read.values()  # else its name may be another one for the same treatment
                severity = Severity.ERROR if turned else Severity.REMARK
                yield self._problem(said, "Mend treatment in the settings file, or the key in the log.", severity)


def _headers(table: TableMapping) -> frozenset[str]:
    """Return the headers that a table reads."""
    wide = table.wide.headers if table.wide else ()
    return frozenset((*(source.header for source in table.columns.values()), *wide))


def _codes(table: TableMapping) -> Mapping[str, str]:
    """Return what the codes of treatments stand for."""
    source = table.columns.get("Treatment")
    return {**(source.codes if source else {}), **table.treatment}
