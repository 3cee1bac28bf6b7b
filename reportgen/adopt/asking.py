"""Gather what must be asked of the tables that were found, and mark it in the mapping."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from reportgen.adopt.belonging import is_hidden, question_of
from reportgen.adopt.belonging import rivals as sheets_apart
from reportgen.adopt.columns import ASKED, NOT_KNOWN, TEMPERATURES, WEIGHED
from reportgen.adopt.counts import is_mean, per_of
from reportgen.adopt.crossed import apart, crossed, on_places, under_several
from reportgen.adopt.doubtful import Doubtful, alike, doubtful
from reportgen.adopt.events import event_questions
from reportgen.adopt.facts import logged
from reportgen.adopt.grid import one_line
from reportgen.adopt.mapping import DAYS_SUM, NOTHING, UNKNOWN, Adoption, Source, TableMapping
from reportgen.adopt.marks import Marks, is_crossed_out, marked_rows
from reportgen.adopt.matching import level_and_unit, meanings, split_unit, tokens, unit_of
from reportgen.adopt.moments import plain_moment
from reportgen.adopt.named_trays import numbered
from reportgen.adopt.parts import TO_ONE_PLACE, WEIGHTS, Part
from reportgen.adopt.pickings import without_pickings
from reportgen.adopt.questions import (
    ADDED,
    ALL_OF,
    BESIDE,
    BLOCKS,
    BY_SHEET,
    COUNTED_ANEW,
    COUNTED_TWICE,
    DEAD,
    HEADED,
    IN_HEADERS,
    IN_SHEETS,
    KEPT,
    LEFT_OUT,
    LETTERS,
    NO_KEY,
    NOT_ALL,
    NOT_WEIGHED,
    NOTHING_PICKED,
    NUMBER_COUNTS,
    NUMBERS,
    ON_DAYS,
    ONE_BY_ONE,
    OTHER_DAYS,
    OTHER_TRAYS,
    ROW_ALONE,
    SAME_TRAYS,
    SHARED,
    SHEETED,
    SINCE_MIDNIGHT,
    TOGETHER,
    UNMEASURED,
    WHOLE_TRIAL,
    WORDED,
    Question,
    units_of,
)
from reportgen.adopt.rivals import adds_up, begins_daily, contested, is_of_days, rises
from reportgen.adopt.roles import Guess, Understood, middle, profile_at
from reportgen.adopt.several_days import DAY, day_column, ways_of
from reportgen.adopt.treatments import (
    bare_names,
    control_among,
    prefixes_of,
)
from reportgen.adopt.wide import wide_columns
from reportgen.adopt.words import BLOCKS as BLOCK_WORDS
from reportgen.adopt.words import REPEATS
from reportgen.workbook.dates import DAY_OR_MONTH, TextDates

_RISING: Final[Mapping[tuple[bool, bool], str]] = {  # by whether some readings rise all the time, and some do not
    (True, False): "The readings rise all the time.",
    (True, True): "Some of the readings rise all the time, as those of a counter do; others fall at times.",
    (False, True): "The readings do not rise all the time, as those of a counter do.",
}
_READ_AS: Final = ("the counter's total, which goes on rising", "what was used since the reading before")
OF_OTHERS: Final = "Several may be it, and only one is read; those of other treatments need their names in the headers."
# Common practice: no crop stands all day below freezing, as 10 to 38 °F would be, or above 50 °C.
WARM_ENOUGH: Final = {"°C": (10, 38), "°F": (50, 105)}

BY_HEADER: Final = (*TEMPERATURES, "Volume", "Reading", "Height")  # which may have another unit under another header


@dataclass
class Asker:
    """Gathers what must be asked, and marks it in the mapping."""

    adoption: Adoption
    parts: tuple[Part, ...]
    levels: tuple[str, ...]
    marks: Mapping[str, Marks]
    levels_of: Callable[[Part], Iterable[str]] = lambda _: ()

    def asked(self) -> tuple[Adoption, tuple[Question, ...]]:
        """Return the mapping with UNKNOWN where a question is open, and the questions in their order."""
        told = [*self._belonging(), *self._named(), *self._treatment(), *self._letters(), *self._headers()]
        weighed = [*self._pickings(), *self._rivals(), *self._days(), *self._masses(), *self._units(), *self._per()]
        weighed += [*self._started(), *self._weighed()]
        independent = list(self._independent())  # its choices are the columns as they are named, also of crossed trays
        found = [
            *told,
            *weighed,
            *self._blocks(),
            *self._on_places(),
            *self._crossed(),
            *independent,
            *self._words(),
            *self._marked(),
            *self._whole(),
            *self._meters(),
            *event_questions(self.adoption, self._rows),
            *self._places(),
            *self._dates(),
            *self._trial(),
        ]
        for at in (at for question in found if question.kind == "belonging" for at in question.tables):
            self._mark(at, gives=UNKNOWN)
        return self.adoption, tuple({question.key: question for question in found}.values())

    def _mark(self, at: int, **changes: object) -> None:
        tables = list(self.adoption.tables)
        tables[at] = replace(tables[at], **changes)  # type: ignore[arg-type]
        self.adoption = replace(self.adoption, tables=tuple(tables))

    def _plants(self) -> list[int]:
        return [at for at, table in enumerate(self.adoption.tables) if self._is_of_rows(at, table)]

    def _is_of_rows(self, at: int, table: TableMapping) -> bool:
        """Tell whether a table has plants of its own, and not only more of those of another one."""
        return table.gives == "Plants" and not self.parts[at].joined

    def _rows(self, at: int, about: str = "") -> tuple[tuple[str, ...], ...]:
        return self.parts[at].read.table.first_rows(about=about)

    def _belonging(self) -> Iterator[Question]:
        """Ask whether tables that name the same treatments are of one trial, where nothing says why they are apart."""
        plants = self._plants()
        alike = [plants[at] for at in sheets_apart([self.parts[at] for at in plants], self.levels_of)]
        places = [self.adoption.tables[at].place for at in alike]
        hidden = [place for at, place in zip(alike, places, strict=True) if is_hidden(self.parts[at].read.table.raw)]
        if alike:
            (question,) = question_of(alike, places, list(dict.fromkeys(hidden)))
            yield replace(question, rows=self._rows(alike[0]))

    def _named(self) -> Iterator[Question]:
        """Ask whether names such as T1 or fan 2 are those of treatments, or of trays of which several have one."""
        named = {at: self.parts[at].telling.named for at in self._plants() if self.parts[at].telling.named}
        if named and self._trays_tell():
            for at, name in named.items():
                self._mark(at, constants={"Tray": name})
            return
        names = tuple(dict.fromkeys(named.values()))
        parted = tuple(dict.fromkeys(one.treatment for one in numbered(names)))
        if named:
            first = next(iter(named))
            yield Question(
                f"table.{first}.constants.Treatment",
                "named",
                f"What are {_listed(names)}?",
                f"{self.parts[first].telling.reason}: they may be the treatments, or trays of which several have one.",
                (*HEADED, *((BESIDE,) if parted else ())),
                "",
                self._rows(first),
                tuple(named),
                levels={HEADED[0]: names, BESIDE: parted},
                named=named,
            )

    def _treatment(self) -> Iterator[Question]:
        unknown = [at for at in self._plants() if self.adoption.tables[at].constants.get("Treatment") == UNKNOWN]
        open_ones = [at for at in unknown if not self.parts[at].telling.named]
        if not open_ones or self._trays_tell():
            for at in open_ones:
                constants = {n: v for n, v in self.adoption.tables[at].constants.items() if n != "Treatment"}
                self._mark(at, constants=constants)
            return
        read = self.parts[open_ones[0]].read
        filled = self.adoption.tables[open_ones[0]].fill_down
        likely = [one for one in read.guesses if one.header in filled or profile_at(read.table, one.column).levels]
        default, rivals = self.parts[open_ones[0]].telling.guess, self.parts[open_ones[0]].telling.rivals
        if rivals:
            yield self._factors(open_ones, rivals)
            return
        yield Question(
            f"table.{open_ones[0]}.constants.Treatment",
            "treatment",
            "Which column tells the treatment of each row?",
            default.reason if default else self._why_untold(open_ones),
            tuple(guess.header for guess in likely or read.guesses),
            default.header if default else "",
            self._rows(open_ones[0]),
            tuple(open_ones),
            levels={guess.header: tuple(profile_at(read.table, guess.column).counts) for guess in likely},
        )

    def _why_untold(self, open_ones: Sequence[int]) -> str:
        """Return why no name tells the treatment: of cuts it tells that each plant's must be added up."""
        sheets = tuple(dict.fromkeys(self.adoption.tables[at].sheet for at in open_ones))
        if len(sheets) > 1 and not any(without_pickings(sheets)):
            said = f"{_listed(sheets)} are named like cuts or days, not like treatments"
            return f"{said}. Where plants were cut again, add up the cuts of a plant first, one row a plant."
        return "No header says so, and neither does a name of a sheet or a file."

    def _factors(self, open_ones: Sequence[int], rivals: Sequence[str]) -> Question:
        """Return the question for the treatment where several things were varied in one table."""
        part = self.parts[open_ones[0]]
        held = [[one_line(value) for value in part.read.table.values(_number(part.read, name))] for name in rivals]
        both = " + ".join(rivals)
        levels = dict(zip(rivals, (tuple(dict.fromkeys(values)) for values in held), strict=True))
        joined = (" + ".join(values) for values in zip(*held, strict=True))
        return Question(
            f"table.{open_ones[0]}.constants.Treatment",
            "treatment",
            "Which column tells the treatment of each row?",
            f"{part.telling.reason}; with {both} each pair of them is a treatment.",
            (*rivals, both),
            "",
            self._rows(open_ones[0]),
            tuple(open_ones),
            levels={**levels, both: tuple(dict.fromkeys(joined))},
        )

    def _letters(self) -> Iterator[Question]:
        """Ask whether the letters of codes are the treatments: they may as well be a cultivar or a shelf."""
        for at in self._plants():
            source = self.adoption.tables[at].columns.get("Treatment")
            if not source or UNKNOWN not in source.codes.values():
                continue
            if self._trays_tell():
                others = {n: one for n, one in self.adoption.tables[at].columns.items() if n != "Treatment"}
                self._mark(at, columns=others)
                continue
            if keys := self.parts[at].telling.keys:
                yield self._which_key(at, source.header, keys)
                continue
            letters = tuple(dict.fromkeys(prefixes_of(list(source.codes)).values()))
            sheets = tuple(dict.fromkeys(self.adoption.tables[one].sheet for one in self._plants()))
            by_sheet = (BY_SHEET,) if len(sheets) > 1 and any(without_pickings(sheets)) else ()
            yield Question(
                f"table.{at}.treatment",
                "letters",
                f'What do the codes under "{source.header}" tell of the treatment?',
                "Their letters may be the treatments, or something else; no key in the file says so.",
                (LETTERS, ONE_BY_ONE, *by_sheet),
                "",
                self._rows(at, source.header),
                (at,),
                levels={LETTERS: letters, ONE_BY_ONE: (), BY_SHEET: sheets},
            )

    def _which_key(self, at: int, header: str, keys: Sequence[Mapping[str, str]]) -> Question:
        """Return the question for the key of codes which several keys explain."""
        meant = {", ".join(dict.fromkeys(key.values())): tuple(key.values()) for key in keys}
        return Question(
            f"table.{at}.treatment",
            "key",
            f'What do {_listed(tuple(keys[0]))} under "{header}" stand for?',
            "Several keys in the file have them all, and no title says which is meant.",
            (*meant, NO_KEY),
            "",
            self._rows(at, header),
            (at,),
            levels={**meant, NO_KEY: tuple(keys[0])},
        )

    def _headers(self) -> Iterator[Question]:
        """Ask what codes that head the columns of wide tables are: treatments, or trays whose treatments follow."""
        found: dict[tuple[str, ...], list[int]] = {}
        for at in self._plants():
            wide = self.adoption.tables[at].wide
            if wide and wide.names == UNKNOWN:
                found.setdefault(wide.headers, []).append(at)
        for headers, tables in found.items():
            bare = tuple(level_and_unit(text)[0] for text in headers)
            words = tuple(dict.fromkeys(prefixes_of(bare).values()))
            sheets = dict(zip(tables, self._sheet_names(tables), strict=True))
            yield Question(
                f"table.{tables[0]}.wide.names",
                "headers",
                f"What are {_listed(headers)}, which head the columns?",
                "They may be the treatments, or trays of which several have one treatment.",
                (*HEADED, *((WORDED,) if words else ()), *((SHEETED,) if any(sheets.values()) else ())),
                "",
                self._rows(tables[0]),
                tuple(tables),
                levels={HEADED[0]: bare, HEADED[1]: (), WORDED: words, SHEETED: tuple(sheets.values())},
                named=sheets,
            )

    def _sheet_names(self, tables: Sequence[int]) -> tuple[str, ...]:
        """Return what tells the sheets of some tables apart, empty names where they may be no treatments."""
        names = without_pickings([self.adoption.tables[at].sheet for at in tables])
        apart = len(tables) > 1 and len(set(names)) == len(tables) and all(names)
        return bare_names(names) if apart else ("",) * len(tables)

    def _trays_tell(self) -> bool:
        return any(table.gives == "Trays" and "Treatment" in table.columns for table in self.adoption.tables)

    def _pickings(self) -> Iterator[Question]:
        """Ask which of several weights side by side is meant, or their sum, and what a blank among them means."""
        found: dict[tuple[str, ...], list[int]] = {}
        for at in self._plants():
            if pickings := self.parts[at].read.pickings:
                found.setdefault(tuple(map(self.parts[at].read.called, pickings)), []).append(at)
        for headers, tables in found.items():
            at = tables[0]
            name = next(one.name for one in self.parts[at].read.pickings if one.name in WEIGHTS)
            key = f"table.{at}.columns.{UNKNOWN if name == 'Weight' else name}"
            yield Question(
                f"{key}.from",
                "pickings",
                f"Several weights stand side by side: {_listed(headers)}. Which is the yield of a row?",
                "No column is their total. Where they are pickings of the same plants they must be added up.",
                tuple(dict.fromkeys((ADDED.join(headers), *headers, *_totals(self.parts[at].read)))),
                "",
                self._rows(at, headers[0]),
                tuple(tables),
                name,
            )
            blanks = tuple(one for one in tables if "" in self.adoption.tables[one].columns[name].codes)
            if blanks:
                yield Question(
                    f"{key.replace(f'table.{at}.', f'table.{blanks[0]}.')}.codes.",
                    "unpicked",
                    "What does a blank cell mean among these weights?",
                    "A sum is only known where each of its parts is.",
                    (NOTHING_PICKED, NOT_WEIGHED),
                    "",
                    self._rows(blanks[0], headers[0]),
                    blanks,
                )

    def _rivals(self) -> Iterator[Question]:
        """Ask which of several columns is meant that may each be one and the same thing."""
        found: dict[tuple[str, ...], list[int]] = {}
        for at, part in enumerate(self.parts):
            for name, rivals in self._open_rivals(at).items():
                found.setdefault((name, *map(part.read.called, rivals)), []).append(at)
        for (name, *headers), tables in found.items():
            at = tables[0]
            added = adds_up(name, self._open_rivals(at)[name])
            of_plants = self.adoption.tables[at].gives == "Plants"
            yield Question(
                f"table.{at}.columns.{UNKNOWN if name == 'Weight' else name}.from",
                "rivals",
                f"Which column is the {_spoken(name)}{' at harvest' if of_plants else ''}: {_listed(headers, ' or ')}?",
                "Several may be it, and only one is read." if of_plants else OF_OTHERS,
                (*headers, *([ADDED.join(headers)] if added else [])),
                "",
                self._rows(at, headers[0]),
                tuple(tables),
                name,
            )

    def _open_rivals(self, at: int) -> Mapping[str, tuple[Guess, ...]]:
        columns = self.adoption.tables[at].columns
        found = contested(self.parts[at].read)
        return {name: rivals for name, rivals in found.items() if name in columns and columns[name].header == UNKNOWN}

    def _days(self) -> Iterator[Question]:
        """Ask what rows of the same plants or trays on several days are."""
        found: dict[tuple[str, ...], list[int]] = {}
        for at in self._plants():
            if self.adoption.tables[at].days == UNKNOWN:
                found.setdefault(ways_of(self.parts[at].read), []).append(at)
        for ways, tables in found.items():
            header = self.adoption.tables[tables[0]].columns[DAY].header
            yield Question(
                f"table.{tables[0]}.days",
                "days",
                f'What are the rows of several days under "{header}"?',
                "The same trays or plants stand there on more than one day.",
                tuple(ON_DAYS[way] for way in ways),
                "",
                self._rows(tables[0], header),
                tuple(tables),
            )

    def _headed(self, at: int, name: str) -> tuple[str, ...]:
        """Return the header of a column, those of all that it may be where that is open."""
        text = self.adoption.tables[at].columns[name].header
        read = self.parts[at].read
        rivals = contested(read).get("Weight" if name == UNKNOWN else name, read.pickings)
        return (text,) if text != UNKNOWN else tuple(map(read.called, rivals))

    def _masses(self) -> Iterator[Question]:
        """Ask whether a weight is fresh or dry where its header does not say."""
        open_ones = []
        for at in self._plants():
            table = self.adoption.tables[at]
            if "Weight" in table.columns:
                named = {UNKNOWN if name == "Weight" else name: one for name, one in table.columns.items()}
                self._mark(at, columns=named)
                open_ones.append(at)
            elif table.wide and table.wide.values == UNKNOWN:
                open_ones.append(at)
        if open_ones:
            first = self.adoption.tables[open_ones[0]]
            headers = (
                list(self._headed(open_ones[0], UNKNOWN))
                if UNKNOWN in first.columns
                else list(first.wide.headers if first.wide else ())
            )
            key = (
                f"table.{open_ones[0]}.columns.{UNKNOWN}"
                if UNKNOWN in first.columns
                else f"table.{open_ones[0]}.wide.values"
            )
            yield Question(
                key,
                "mass",
                f"{_is(headers)} {_listed(headers)} the fresh or the dry weight?",
                "The header does not say, and water is most of a fresh plant.",
                ("Fresh weight", "Dry weight"),
                "",
                self._rows(open_ones[0], headers[0]),
                tuple(open_ones),
            )

    def _units(self) -> Iterator[Question]:
        for name in (*WEIGHTS[:3], UNKNOWN, *ASKED[len(WEIGHED) :]):
            tables = tuple(at for at, table in enumerate(self.adoption.tables) if _unit_is_open(table, name))
            for same in self._under_one_header(tables, name) if name in BY_HEADER else [tables]:
                if same:
                    yield self._unit(same, name)

    def _under_one_header(self, tables: Sequence[int], name: str) -> Iterator[tuple[int, ...]]:
        """Yield the tables by the header of a column: litres poured and millilitres drained stand under two."""
        headed = {at: self._heading(at, name) for at in tables}
        for heading in dict.fromkeys(headed.values()):
            yield tuple(at for at, one in headed.items() if one == heading)

    def _heading(self, at: int, name: str) -> tuple[str, ...]:
        """Return the header of a column, or those of a wide table."""
        table = self.adoption.tables[at]
        is_wide = table.wide and table.wide.values == name
        return table.wide.headers if is_wide and table.wide else (table.columns[name].header,)

    def _unit(self, tables: tuple[int, ...], name: str) -> Question:
        at, table = tables[0], self.adoption.tables[tables[0]]
        in_wide = bool(table.wide and table.wide.values == name)
        headers = table.wide.headers if in_wide and table.wide else self._headed(at, name)
        key = f"table.{at}.wide.unit" if in_wide else f"table.{at}.columns.{name}.unit"
        why = f"Neither the header nor a row of units says it.{self._note(at, headers)}"
        text, rows = f"In which unit {_is(headers).lower()} {_listed(headers)}?", self._rows(at, headers[0])
        return Question(key, "unit", text, why, units_of(name), self._likely_unit(at, name), rows, tables, name)

    def _note(self, at: int, headers: Sequence[str]) -> str:
        notes = (guess.noted for guess in self.parts[at].read.guesses if guess.header in headers and guess.noted)
        found = next(notes, "")
        return f" The file says {found!r}, which may be of something else." if found else ""

    def _likely_unit(self, at: int, name: str) -> str:
        """Return the unit that the values can only be in, empty where they may be in several."""
        profile = self.parts[at].read.profile(name)
        if name == "EC":
            return "µS/cm" if middle(profile) > 20 else "mS/cm"
        fitting = WARM_ENOUGH.items() if name in TEMPERATURES and profile.numbers else ()
        return next((unit for unit, (low, high) in fitting if all(low <= one <= high for one in profile.numbers)), "")

    def _per(self) -> Iterator[Question]:
        """Ask whether a row is a plant or a whole pot, where no header says so."""
        open_ones = []
        for at in self._plants():
            told_per = _per_of(self.parts[at].read)
            self._mark(at, per=told_per or UNKNOWN)
            open_ones += [] if told_per else [at]
        if open_ones:
            counts = self.parts[open_ones[0]].read.guess("Plants weighed")
            of_one = f", be it as the mean of those under {_listed([counts.header])}," if counts else ""
            yield Question(
                f"table.{open_ones[0]}.per",
                "per",
                f"Was each plant weighed{of_one} or each pot or tray as a whole?"
                if counts
                else "Was each plant weighed, or each pot or tray as a whole?",
                "No header says which.",
                ("plant", "pot"),
                "",
                self._rows(open_ones[0]),
                tuple(open_ones),
            )

    def _started(self) -> Iterator[Question]:
        """Ask which of several numbers tells how many plants were started; where none does survival is not known."""
        for at, table in enumerate(self.adoption.tables):
            read = self.parts[at].read
            if read.started and table.gives in ("Plants", "Trays"):
                self._mark(at, constants={**table.constants, "Plants started": UNKNOWN})
                headers = tuple(map(read.called, read.started))
                yield Question(
                    f"table.{at}.constants.Plants started",
                    "started",
                    f"How many plants were started: does {_listed(headers, ' or ')} tell it?",
                    "Survival and yield per plant started count from there.",
                    (*headers, NOT_KNOWN),
                    "",
                    self._rows(at, headers[0]),
                    (at,),
                )

    def _weighed(self) -> Iterator[Question]:
        """Ask how many plants a weight is of where only those started are counted, or where a mean is of no number."""
        for at in self._plants():
            table, read = self.adoption.tables[at], self.parts[at].read
            if read.uncounted and table.per != "plant":
                self._mark(at, columns={**table.columns, "Plants weighed": Source(UNKNOWN)})
                header = read.called(read.uncounted[0])
                yield Question(
                    f"table.{at}.columns.Plants weighed.from",
                    "all weighed",
                    f"Were all plants under {_listed([header])} weighed?",
                    "Each row is a tray or pot, and the weight of a plant is its part of the whole.",
                    (f"{ALL_OF} {header}", NOT_ALL),
                    "",
                    self._rows(at, header),
                    (at,),
                )
            elif means := _means_of_no_number(read):
                self._mark(at, constants={**table.constants, "Plants weighed": UNKNOWN}, per="plant")
                yield Question(
                    f"table.{at}.constants.Plants weighed",
                    "number",
                    f"Of how many plants is each number under {_listed([means])} the mean?",
                    "What a tray yields is that many times the mean.",
                    rows=self._rows(at, means),
                    tables=(at,),
                    column="Plants weighed",
                )

    def _independent(self) -> Iterator[Question]:
        """Ask what was given its treatment on its own: a tray with several plants, or each row."""
        plants = tuple(self._plants())
        if not plants:
            return
        read = self.parts[plants[0]].read
        tray = self.adoption.tables[plants[0]].columns.get("Tray")
        wide = self.adoption.tables[plants[0]].wide
        turned = wide.headers if wide else ()
        places = [guess.header for guess in read.guesses if _is_place(read, guess) and guess.header not in turned]
        heads = [IN_HEADERS] if wide and wide.names in ("Tray", UNKNOWN) else []
        sheets = {at: self._tray_of(at) for at in plants}
        is_wide = any(self.adoption.tables[at].wide for at in plants)
        by_sheet = len(set(sheets.values())) == len(plants) > 1 and not is_wide
        together = () if by_sheet or heads or self._has_trays() else (TOGETHER,)
        told = dict.fromkeys((*([tray.header] if tray else []), *places, *heads))
        choices = (*told, ROW_ALONE, *((IN_SHEETS,) if by_sheet else together))
        shared = tray is not None and len(profile_at(read.table, _number(read, tray.header)).counts) * 2 <= len(
            read.table.rows
        )
        yield Question(
            "trial.Experimental unit",
            "independent",
            "What was given its treatment independently of the others?",
            "Plants in one tray, tent or room count as one: choose the column that names it, or each row.",
            choices,
            tray.header
            if tray and (shared or read.guess("Plants weighed"))
            else IN_HEADERS
            if wide and wide.names == "Tray"
            else IN_SHEETS
            if all(self.parts[at].telling.tray for at in plants)
            else "",
            self._rows(plants[0]),
            plants,
            levels={**self._told_together(plants[0], choices), TOGETHER: self._sections()},
            named=sheets,
        )

    def _tray_of(self, at: int) -> str:
        """Return how a whole table is called where it is one tray."""
        table, telling = self.adoption.tables[at], self.parts[at].telling
        return table.constants.get("Tray", "") or telling.tray or telling.named or table.place

    def _has_trays(self) -> bool:
        """Tell whether trays have a list of their own."""
        return any(table.gives == "Trays" for table in self.adoption.tables)

    def _sections(self) -> tuple[str, ...]:
        """Return the texts that stand alone above their rows."""
        texts = (text for at in self._plants() for _, text in self.parts[at].read.table.sections)
        return tuple(dict.fromkeys(texts))

    def _told_together(self, at: int, choices: Sequence[str]) -> Mapping[str, tuple[str, ...]]:
        """Return, for each column that counts anew under each treatment, how it is read together with that."""
        table, read = self.adoption.tables[at], self.parts[at].read
        treatment = table.columns.get("Treatment")
        known = {one.header for name, one in table.columns.items() if name in ("Tray", "Treatment")}
        others = [text for text in choices if treatment and text not in known and text in read.table.headers.values()]
        found = (under_several(read, treatment.header, text) for text in others if treatment)
        return {one.tray: (one.joined,) for one in found if one}

    def _blocks(self) -> Iterator[Question]:
        """Ask whether repetitions are blocks: each pair of treatments is compared within them if they are."""
        found: dict[str, list[int]] = {}
        for at, table in enumerate(self.adoption.tables):
            block = table.columns.get("Block") if table.gives in ("Plants", "Trays") else None
            words = set(tokens(block.header)) if block else set()
            if block and words & REPEATS and not words & BLOCK_WORDS:
                found.setdefault(block.header, []).append(at)
        for header, tables in found.items():
            there = self.parts[tables[0]].read.table
            texts = " ".join((*there.above, *there.notes, there.sheet))
            for at in tables:
                self._mark(at, columns={**self.adoption.tables[at].columns, "Block": Source(UNKNOWN)})
            yield Question(
                f"table.{tables[0]}.columns.Block.from",
                "blocks",
                f'What does "{header}" tell?',
                "Treatments are compared within blocks, where they are such.",
                (BLOCKS, NUMBERS),
                BLOCKS if BLOCK_WORDS.intersection(tokens(texts)) else NUMBERS,
                self._rows(tables[0], header),
                tuple(tables),
                header,
            )

    def _on_places(self) -> Iterator[Question]:
        """Ask whether trays of one code on sheets that are named after places are the same ones."""
        tables = on_places(self.adoption.tables, self.parts)
        for at in tables:
            columns, counts = self.adoption.tables[at].columns, self.parts[at].read.profile("Tray").counts
            tray = replace(columns["Tray"], codes=dict.fromkeys(counts, UNKNOWN))
            constants = self.adoption.tables[at].constants
            block = {} if "Block" in {**columns, **constants} else {"Block": UNKNOWN}
            self._mark(at, columns={**columns, "Tray": tray}, constants={**constants, **block})
        if tables:
            first, second, *_ = (self.adoption.tables[at] for at in tables)
            code = next(iter(first.columns["Tray"].codes))
            yield Question(
                f"table.{tables[0]}.columns.Tray.codes",
                "places",
                f'Are trays such as "{code}" on {first.sheet} and "{code}" on {second.sheet} others, or the same ones?',
                "The sheets have the same codes, and are named after places.",
                (OTHER_TRAYS, SAME_TRAYS),
                "",
                self._rows(tables[0], first.columns["Tray"].header),
                tables,
            )

    def _crossed(self) -> Iterator[Question]:
        """Ask whether trays of one code under several treatments are different ones; by groups of rows they are."""
        for one in list(crossed(self.adoption.tables, self.parts)):
            if one.together:
                for at in one.tables if len(one.tables) > 1 else ():
                    self._mark(at, columns=apart(self.adoption.tables[at], one).columns)
                continue
            for at in one.tables:
                table = self.adoption.tables[at]
                with_block = table.gives in ("Plants", "Trays") and "Block" not in {**table.columns, **table.constants}
                block = {"Block": Source(UNKNOWN)} if with_block else {}
                self._mark(at, columns={**table.columns, **block, "Tray": Source(UNKNOWN)})
            first, second = one.levels
            yield Question(
                f"table.{one.tables[0]}.columns.Tray.from",
                "crossed",
                f'Is "{one.example}" of "{first}" another {one.tray} than "{one.example}" of "{second}"?',
                f'The codes under "{one.tray}" stand under several treatments.',
                (COUNTED_ANEW, SHARED),
                "",
                self._rows(one.tables[0], one.tray),
                one.tables,
                one.joined,
            )

    def _words(self) -> Iterator[Question]:
        """Ask what a blank, a 0, a dash, other words and numbers with a mark mean where a weight should stand."""
        for places in alike(self._doubtful()).values():
            texts = tuple(dict.fromkeys(one.text for found in places.values() for one in found))
            count = sum(map(len, places.values()))
            corrections = {
                at: {one.cell: one.number for one in found if one.number is not None} for at, found in places.items()
            }
            counted = (NUMBER_COUNTS,) if any(corrections.values()) else ()
            at = next(iter(places))
            yield Question(
                f"missing.{texts[0]}",
                "word",
                f"What does {_shown_texts(texts)} mean where a weight should stand?",
                f"It stands there {count} time{'s' * (count > 1)}.",
                (UNMEASURED, DEAD, *counted),
                "",
                self._rows(at, self._weight(at)),
                tuple(self._plants()),
                texts[0],
                words=texts,
                corrections=corrections,
            )

    def _marked(self) -> Iterator[Question]:
        """Ask whether rows that stand out by a colour or a comment count."""
        for at in self._plants():
            table, read = self.adoption.tables[at], self.parts[at].read
            marks = self.marks.get(table.file, {}).get(table.sheet, {})
            rows, comment = marked_rows(marks, read.table.rows) if marks else ((), "")
            if rows:
                self._mark(at, marked_rows=UNKNOWN)
                crossed_out = is_crossed_out(marks, rows)
                sign = "line" if crossed_out else "colour"
                what = "line crosses out" if crossed_out else f"colour{' or a comment' * bool(comment)} marks"
                yield Question(
                    f"table.{at}.marked_rows",
                    "marked",
                    f"What of {_numbered(rows)} of {table.sheet}, which a {what}?",
                    f"The first comment is {comment}." if comment else f"Nothing says what the {sign} means.",
                    (KEPT, LEFT_OUT),
                    LEFT_OUT if crossed_out else "",
                    self._rows(at),
                    (at,),
                    marked=rows,
                )

    def _weight(self, at: int) -> str:
        read = self.parts[at].read
        guess = read.guess("Fresh weight") or read.guess("Weight")
        return guess.header if guess else ""

    def _doubtful(self) -> dict[int, tuple[Doubtful, ...]]:
        known = {word.casefold() for word in (*self.adoption.missing, *self.adoption.lost)}
        found = {at: tuple(_doubts(self.parts[at].read, known)) for at in self._plants()}
        found = {at: texts for at, texts in found.items() if texts}
        if found:
            self.adoption = replace(self.adoption, missing=(*self.adoption.missing, UNKNOWN))
        return found

    def _whole(self) -> Iterator[Question]:
        """Ask whether columns without days are of the whole trial."""
        found: dict[int, list[int]] = {}
        for at, part in enumerate(self.parts):
            if part.read.whole:
                found.setdefault(id(part.read.table), []).append(at)
                self._mark(at, cumulative=len(part.read.whole) > 1)
        for tables in found.values():
            first, read = tables[0], self.parts[tables[0]].read
            headers = tuple(one.guess.header for one in read.whole)
            day = "Read at" if read.gives == "Meter" else "Date"
            yield Question(
                f"table.{first}.constants.{day}",
                "whole",
                f"{_is(headers)} {_listed(headers)} of the whole trial, from its start to the last harvest?",
                "No day stands beside the numbers.",
                (WHOLE_TRIAL, OTHER_DAYS),
                "",
                self._rows(first, headers[0]),
                tuple(tables),
                day,
                named={at: one.day for at, one in zip(tables, read.whole, strict=True)},
            )

    def _meters(self) -> Iterator[Question]:
        meters = [at for at, table in enumerate(self.adoption.tables) if table.gives == "Meter"]
        open_ones = [at for at in meters if not self.parts[at].read.whole]
        for at in open_ones:
            self._mark(at, cumulative=UNKNOWN)
        if open_ones:
            readings = [(self.parts[at].read, one) for at in open_ones for one in self._readings(at)]
            found = {rises(read, one) for read, one in readings}
            of_days = bool(readings) and all(is_of_days(one) for _, one in readings)
            choices: tuple[str, ...] = _READ_AS
            choices += (SINCE_MIDNIGHT,) * all(begins_daily(read, one) for read, one in readings)
            yield Question(
                f"table.{open_ones[0]}.cumulative",
                "cumulative",
                "What is a meter reading?",
                "The headers say that they are of a day or a week."
                if of_days
                else _RISING[True in found, False in found],
                choices,
                choices[1] if of_days else choices[0] if found == {True} else "",
                self._rows(open_ones[0]),
                tuple(open_ones),
            )

    def _readings(self, at: int) -> tuple[Guess, ...]:
        """Return the column of a meter's readings, all that it may be where that is open."""
        read = self.parts[at].read
        own = read.guess("Reading")
        return self._open_rivals(at).get("Reading", (own,) if own else ())

    def _places(self) -> Iterator[Question]:
        """Ask whose meter or climate it is where neither a column nor a name says so."""
        for at, table in enumerate(self.adoption.tables):
            if table.gives in TO_ONE_PLACE and table.constants.get("Treatment") == UNKNOWN:
                choices = ("all", *self.levels) if table.gives != "Light" else self.levels
                beside = self._is_beside_others(at)
                header = table.columns["Reading"].header if beside else ""
                yield Question(
                    f"table.{at}.constants.Treatment",
                    "whose",
                    f'Which treatment is "{header}" on {table.sheet} of?'
                    if beside
                    else f"Which treatment is the table on {table.sheet} of?",
                    f"No {'header' if beside else 'column'} says so."
                    + (' Choose "all" where the treatments share it.' if "all" in choices else ""),
                    (*choices, COUNTED_TWICE) if beside else choices,
                    "",
                    self._rows(at, header),
                    (at,),
                )

    def _is_beside_others(self, at: int) -> bool:
        """Tell whether a meter's column stands beside those of treatments in one table."""
        same = sum(part.read.table is self.parts[at].read.table for part in self.parts)
        return self.adoption.tables[at].gives == "Meter" and same > 1

    def _dates(self) -> Iterator[Question]:
        """Ask for the order of day and month where no day above 12 decides it, once a sheet."""
        open_ones: dict[tuple[str, str], list[int]] = {}
        for at, table in enumerate(self.adoption.tables):
            if table.gives != NOTHING and _order_is_open(_all_dates(self.parts[at].read, table)):
                self._mark(at, day_first=UNKNOWN)
                open_ones.setdefault((table.file, table.sheet), []).append(at)
        for (_, sheet), tables in open_ones.items():
            example = _all_dates(self.parts[tables[0]].read, self.adoption.tables[tables[0]])[0]
            yield Question(
                f"table.{tables[0]}.day_first",
                "day first",
                f"In which order is a date such as {example} on {sheet}?",
                "No day above 12 decides it.",
                ("day, month, year", "month, day, year"),
                "",
                self._rows(tables[0]),
                tuple(tables),
            )

    def _trial(self) -> Iterator[Question]:
        asked = {
            "Crop": ("crop", "Which crop was it?"),
            "Started on": ("day", "On which day did the treatments begin (year-month-day)?"),
            "Harvested on": ("day", "On which day was the last harvest (year-month-day)?"),
        }
        for name, (kind, text) in asked.items():
            if self.adoption.trial.get(name) == UNKNOWN:
                known = str(logged(self.parts, last=name == "Harvested on") or "") if kind == "day" else ""
                why = (
                    "The file does not say; its logs tell when it began and ended."
                    if known
                    else "The file does not say."
                )
                yield Question(f"trial.{name}", kind, text, why, default=known, column=name)
        yield Question(
            "trial.Reference treatment",
            "field",
            "Which treatment are the others compared with?",
            "The report says how far each other one is above or below it.",
            self.levels,
            control_among(self.levels),
            column="Reference treatment",
        )


def _totals(read: Understood) -> Iterator[str]:
    """Yield the columns of numbers that are headed like a total or a mean, right or not."""
    for guess in read.guesses:
        if {"total", "average"} & set(meanings(guess.header)) and profile_at(read.table, guess.column).numeric:
            yield read.called(guess)


def _numbered(rows: Sequence[int]) -> str:
    return f"row{'s' * (len(rows) > 1)} {', '.join(map(str, rows))}"


def _spoken(name: str) -> str:
    """Return how a declared column is called within a sentence."""
    return name if name in ("PPFD", "CO2") else name.lower()


def _listed(texts: Sequence[str], last: str = " and ") -> str:
    quoted = [f'"{text}"' for text in texts]
    return last.join(filter(None, (", ".join(quoted[:-1]), quoted[-1])))


def _is(texts: Sequence[str]) -> str:
    return "Is" if len(texts) == 1 else "Are"


def _unit_is_open(table: TableMapping, name: str) -> bool:
    if table.gives == NOTHING:
        return False
    in_column = name in table.columns and table.columns[name].unit == UNKNOWN
    return in_column or bool(table.wide and table.wide.values == name and table.wide.unit == UNKNOWN)


def _per_of(read: Understood) -> str:
    """Return plant or pot where a header says what a row is, empty where none does."""
    if read.guess("Plants weighed"):
        return per_of(read)
    weights = [guess.header for guess in read.guesses if guess.name in WEIGHTS]
    for text in weights:
        unit = split_unit(text)[1]
        if "pot" in meanings(text) or (unit != unit_of(unit) and "pot" in meanings(unit)):
            return "pot"
        if unit != unit_of(unit) and "plant" in meanings(unit):
            return "plant"
    plant = read.guess("Plant")
    return "plant" if plant and "plant" in meanings(plant.header) else ""


def _means_of_no_number(read: Understood) -> str:
    """Return the header of a weight that is a mean where each row is a tray and nothing counts its plants."""
    trays = read.profile("Tray").counts
    alone = not trays or max(trays.values()) == 1
    if read.guess("Plant") or read.guess("Plants weighed") or not alone:
        return ""
    return next((one.header for one in read.guesses if one.name in WEIGHTS and is_mean(one.header)), "")


def _is_place(read: Understood, guess: Guess) -> bool:
    known = set(meanings(guess.header)) & {"tray", "tent", "pot", "block", "position"}
    return (
        bool(known)
        and guess.name in ("", "Tray", "Block", "Position")
        and len(profile_at(read.table, guess.column).counts) > 1
    )


def _doubts(read: Understood, known: set[str]) -> Iterator[Doubtful]:
    """Yield the doubtful texts among the weights of a table; blanks and zeros of pickings are asked of themselves."""
    guess = read.guess("Fresh weight") or read.guess("Weight")
    if guess and guess not in read.pickings:
        zeros = DAYS_SUM in ways_of(read)  # of pickings a 0 is what was picked that day
        yield from (found for found in doubtful(read, guess, known) if not (zeros and found.text == "0"))
    for one in contested(read).get(guess.name, ())[1:] if guess else ():
        yield from doubtful(read, one, known)
    for one in read.pickings:
        yield from (found for found in doubtful(read, one, known) if found.text not in ("", "0"))
    for one in wide_columns(read):
        yield from (found for found in doubtful(read, one, known) if found.text)


def _shown_texts(texts: Sequence[str]) -> str:
    return _listed(texts) if any(texts) else "a blank cell"


def _number(read: Understood, text: str) -> int:
    return next((guess.column for guess in read.guesses if guess.header == text), 0)


def _all_dates(read: Understood, table: TableMapping) -> list[str]:
    days = day_column(read) if table.days else None
    named = [read.guess(name) for name in ("Date", "Read at", "Harvested on") if name in table.columns]
    found = dict.fromkeys(guess for guess in (*named, days) if guess)
    headed = table.wide.headers if table.wide and table.wide.names == "Date" else ()
    values = [value for guess in found for value in profile_at(read.table, guess.column).values]
    return [plain_moment(value) for value in (*headed, *values) if isinstance(value, str)]


def _order_is_open(texts: Sequence[str]) -> bool:
    found = [match for text in texts if (match := DAY_OR_MONTH.fullmatch(text)) and match[2] != "."]
    return bool(found) and TextDates.of(texts).day_first is None and any(match[1] != match[3] for match in found)
