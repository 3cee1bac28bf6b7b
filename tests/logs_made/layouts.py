"""Layouts: each places the dimensions of a trial on carriers. One engine draws all of them.

Carriers: `column` (labels down a column), `over` (labels in a header row over the values),
`section` (a label alone in a row above its rows), `sheet`, `file`, `title` (a text above a table of
its own), `id` (a part of a joined label), `lookup` (told elsewhere, joined by the unit), `order`
(rows merely counted).
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Final

from numpy.random import Generator

from .grid import BLANK, DATA, DIMENSIONS, Cell, File, Log, Row, Sheet, padded, width
from .trial import (
    DAYS,
    GROWTH,
    MISSING,
    PICKINGS,
    RUNNING,
    SAMPLES,
    Trial,
    Value,
    Wants,
    chance,
    one_of,
)
from .words import HEADERS, NOT_WEIGHED, SPOKEN

Key = tuple[object, ...]


@dataclass(frozen=True)
class Layout:
    """Where each dimension stands. `beside`: tables with titles stand side by side. `key`: where
    codes are spelled.
    """

    name: str
    carriers: Mapping[str, str]
    wants: Wants = field(default_factory=Wants)
    beside: bool = False
    keys: tuple[str, ...] = ("",)
    units_row: bool = False


@dataclass(frozen=True)
class Style:
    """How a grower writes: language, where units of measure stand, how days and repeated labels are
    written.

    `units`: "brackets", "square", "comma", "plain", "row" or "none". `dates`: "date", "text", "us",
    "no year", "week". `repeats`: labels down a column are written "all", or "blank", "merged" or
    "ditto" below the first. `over`: labels that head several columns are "merged", "blank" or
    "repeat" to the right.
    """

    language: str = "en"
    units: str = "brackets"
    dates: str = "date"
    repeats: str = "all"
    over: str = "merged"
    worded: bool = True
    blank_lost: bool = False
    dash: bool = False

    def word(self, rng: Generator, name: str) -> str:
        """Return one of the words of the language."""
        return one_of(rng, HEADERS[self.language][name])


COLUMNS: Final = {"treatment": "column", "unit": "column", "plant": "column"}
DAILY: Final = (PICKINGS, GROWTH, SAMPLES)
ONE: Final = (("fresh_weight",),)

LAYOUTS: Final = (
    Layout("long", COLUMNS),
    Layout("sections", {**COLUMNS, "treatment": "section"}),
    Layout("sheet a treatment", {**COLUMNS, "treatment": "sheet"}),
    Layout("sheet a tray", {"treatment": "sheet", "unit": "sheet", "plant": "column"}),
    Layout("sheet a tray, treatment in a title", {"treatment": "title", "unit": "sheet", "plant": "column"},
           Wants(names=("unique",))),
    Layout("plants over columns", {**COLUMNS, "plant": "over"}, Wants(measures=ONE)),
    Layout("days over columns", {**COLUMNS, "occasion": "over"}, Wants(kinds=DAILY, measures=ONE)),
    Layout("treatments over columns", {**COLUMNS, "treatment": "over"},
           Wants(names=("anew",), even=True, measures=ONE)),
    Layout("treatments over trays", {"treatment": "over", "unit": "over", "plant": "column"}, Wants(measures=ONE)),
    Layout("sheet a day", {**COLUMNS, "occasion": "sheet"}, Wants(kinds=DAILY)),
    Layout("days in rows", {**COLUMNS, "occasion": "column"}, Wants(kinds=(*DAILY, DAYS))),
    Layout("ids with a key", {"treatment": "id", "unit": "id", "plant": "id"}, Wants(names=("anew",), coded=True),
           keys=("sheet", "beside")),
    Layout("ids without a key", {"treatment": "id", "unit": "id", "plant": "id"},
           Wants(names=("anew",), short_codes=True)),
    Layout("tray ids", {"treatment": "id", "unit": "id", "plant": "column"}, Wants(names=("anew",), coded=True),
           keys=("sheet", "beside", "")),
    Layout("a row a tray with plants counted", {"treatment": "column", "unit": "column"}, Wants(plants=("count",))),
    Layout("weight a tray", {"treatment": "column", "unit": "column"}, Wants(plants=("none",))),
    Layout("pickings over columns", {"treatment": "column", "unit": "column", "occasion": "over"},
           Wants(plants=("none",), kinds=(PICKINGS,), measures=ONE)),
    Layout("pickings in rows", {"treatment": "column", "unit": "column", "occasion": "column"},
           Wants(plants=("none",), kinds=(PICKINGS,))),
    Layout("pickings on sheets", {"treatment": "column", "unit": "column", "occasion": "sheet"},
           Wants(plants=("none",), kinds=(PICKINGS,))),
    Layout("running totals over columns", {"treatment": "column", "unit": "column", "occasion": "over"},
           Wants(plants=("none",), kinds=(RUNNING,), measures=ONE)),
    Layout("running totals in rows", {"treatment": "column", "unit": "column", "occasion": "column"},
           Wants(plants=("none",), kinds=(RUNNING,), measures=ONE)),
    Layout("trays over pickings", {"treatment": "over", "unit": "over", "occasion": "column"},
           Wants(plants=("none",), kinds=(PICKINGS,), measures=ONE)),
    Layout("gross and tare", COLUMNS, Wants(measures=(("gross", "tare"),))),
    Layout("gross and tare a tray", {"treatment": "column", "unit": "column"},
           Wants(plants=("none",), measures=(("gross", "tare"),))),
    Layout("trays over columns", {"treatment": "over name", "unit": "over name", "plant": "column"},
           Wants(measures=ONE)),
    Layout("titles stacked", {**COLUMNS, "treatment": "title"}),
    Layout("titles beside", {**COLUMNS, "treatment": "title"}, beside=True),
    Layout("treatment on another sheet", {**COLUMNS, "treatment": "lookup"}, Wants(names=("unique",)),
           keys=("lookup sheet",)),
    Layout("treatment in another file", {**COLUMNS, "treatment": "lookup"}, Wants(names=("unique",)),
           keys=("lookup file",)),
    Layout("yield per area", {"treatment": "column", "unit": "column"},
           Wants(plants=("none",), measures=(("area_yield",),), masses=("g",))),
    Layout("pounds and ounces", COLUMNS, Wants(measures=ONE, masses=("lb+oz",))),
    Layout("pounds and ounces a tray", {"treatment": "column", "unit": "column"},
           Wants(plants=("none",), measures=ONE, masses=("lb+oz",))),
    Layout("several measures", COLUMNS,
           Wants(measures=(("fresh_weight", "dry_weight", "leaf_area"), ("fresh_weight", "height")), masses=("g",)),
           units_row=True),
    Layout("a sheet a measure", {**COLUMNS, "quantity": "sheet"},
           Wants(measures=(("fresh_weight", "dry_weight"), ("fresh_weight", "height")), masses=("g",))),
    Layout("dry only", COLUMNS, Wants(measures=(("dry_weight",),), masses=("g",))),
    Layout("plants counted by rows", {"treatment": "column", "unit": "column", "plant": "order"}),
    Layout("ids 1.1 and 1.10", {"treatment": "column", "unit": "id", "plant": "id"},
           Wants(names=("unique",), many_plants=True)),
    Layout("pots", {"treatment": "column", "unit": "column"}, Wants(plants=("one",), names=("unique",))),
    Layout("two factors", {**COLUMNS, "factor": "column"}, Wants(factor=True, names=("unique",))),
    Layout("section a tray", {"treatment": "section", "unit": "section", "plant": "column"}),
    Layout("plants over columns, section a treatment", {"treatment": "section", "unit": "column", "plant": "over"},
           Wants(measures=ONE)),
    Layout("file a treatment", {**COLUMNS, "treatment": "file"}),
)  # fmt: skip
BY_NAME: Final = {layout.name: layout for layout in LAYOUTS}


class Placing:
    """Puts one trial on one layout in one style; its words are drawn once."""

    def __init__(self, rng: Generator, trial: Trial, layout: Layout, style: Style) -> None:
        self.rng, self.trial, self.layout, self.style = rng, trial, layout, style
        self.places = {id(value): at for at, value in enumerate(trial.values)}
        self.heads = {
            "treatment": style.word(rng, "treatment"),
            "unit": style.word(rng, trial.unit_word),
            "plant": style.word(rng, "plant"),
            "block": style.word(rng, "block"),
            "factor": style.word(rng, "factor"),
            "occasion": style.word(rng, "occasion"),
            "id": style.word(rng, "id"),
        }
        self.quantity_words = {
            name: style.word(rng, name) for name in (*trial.measures, "count", "area")
        }
        self.carriers = dict(layout.carriers)
        if any(unit.block for unit in trial.units):
            self.carriers["block"] = "column"
        self.id_form = one_of(
            rng, ("{t}{u}-{p}", "{t}-{u}-{p}", "{t}{u}.{p}", "GH1_{t}{u}_P{p:>02}")
        )
        self.sheet_form = one_of(rng, ("{t} {U} {u}", "{t} {u}", "{t}-{u}"))
        self.counts_plants = chance(rng, 0.5)
        self.section_head_again = chance(rng, 0.5)
        self.section_form = one_of(rng, ("{}", "{}", "{word}: {}"))
        self.day_form = (
            one_of(rng, ("date", "date", "numbered")) if style.dates == "date" else style.dates
        )
        self.lost_word = style.word(rng, "lost")
        self.not_weighed = one_of(rng, NOT_WEIGHED)
        self.week_word = style.word(rng, "week")
        if self.day_form == "week" and len({on.isocalendar().week for on in trial.days}) < len(
            trial.days
        ):
            self.day_form = "numbered"
        self.measure_above = one_of(rng, ("above", "title", "label"))
        self.spoken = {unit: one_of(rng, SPOKEN[unit]) for unit in SPOKEN}

    # ---- labels ----------------------------------------------------------------------------------

    def label(self, dimension: str, value: Value) -> object:
        """Return the label of a value in a dimension, as it stands in a cell of its own."""
        unit = value.unit
        if dimension == "occasion":
            return self.day(value.occasion)
        if dimension == "plant":
            return _number(value.plant)
        text = {
            "treatment": unit.treatment,
            "factor": unit.factor,
            "block": unit.block,
            "unit": unit.name,
        }[dimension]
        return _number(text)

    def day(self, at: int) -> object:
        """Return how a day is written."""
        on = self.trial.days[at]
        if self.day_form == "date":
            return on
        if self.day_form == "text":
            return (
                f"{on.day}.{on.month}.{on.year}"
                if self.style.language != "en"
                else f"{on.day} {on:%b} {on.year}"
            )
        if self.day_form == "us":
            return f"{on.month}/{on.day}/{on.year}"
        if self.day_form == "no year":
            return f"{on.day}.{on.month}."
        if self.day_form == "week":
            return f"{self.week_word} {on.isocalendar().week}"
        return f"{HEADERS[self.style.language]['picking'][0]} {at + 1}"

    def day_name(self, at: int) -> str:
        """Return how a day is written in the name of a sheet."""
        day = self.day(at)
        return day.isoformat() if isinstance(day, date) else str(day).replace("/", "-")

    def joined_id(self, value: Value, dims: Sequence[str]) -> str:
        """Return the id of a plant or unit."""
        form = self.id_form
        if "treatment" not in dims:
            return f"{value.unit.name}.{value.plant}"
        if "plant" not in dims:
            form = form.replace("-{p}", "").replace(".{p}", "").replace("_P{p:>02}", "")
        return form.format(t=value.unit.treatment, u=value.unit.name, p=value.plant)

    def on(self, carrier: str) -> list[str]:
        """Return the dimensions on a carrier, in order."""
        return [one for one in DIMENSIONS if self.carriers.get(one) == carrier]

    # ---- files and sheets ------------------------------------------------------------------------

    def log(self) -> Log:
        """Return the log of the trial's plants."""
        values = list(self.trial.values)
        files = []
        for key, in_file in _split(values, lambda v: _key(self, self.on("file"), v)):
            stem = "-".join(str(part) for part in key) or "log"
            files.append(File(_clean(stem), tuple(self._sheets(in_file))))
        log = Log(tuple(files), said=self._said())
        return self._with_key(log)

    def _sheets(self, values: list[Value]) -> Iterator[Sheet]:
        on_sheets = self.on("sheet")
        name = self.style.word(self.rng, "sheet")
        measures = self.carriers.get("quantity") == "sheet"
        for _, in_sheet in _split(
            values, lambda v: (*_key(self, on_sheets, v), measures and v.quantity)
        ):
            title = self._sheet_name(on_sheets, in_sheet[0]) if on_sheets else name
            title = self.quantity_words[in_sheet[0].quantity] if measures else title
            yield Sheet(_clean(title), tuple(self._pieces(in_sheet)))

    def _sheet_name(self, dims: list[str], value: Value) -> str:
        if dims == ["treatment", "unit"]:
            return self.sheet_form.format(
                t=value.unit.treatment, u=value.unit.name, U=self.heads["unit"]
            )
        if dims == ["unit"]:
            return f"{self.heads['unit']} {value.unit.name}"
        if dims == ["occasion"]:
            return self.day_name(value.occasion)
        return str(value.unit.treatment)

    def _pieces(self, values: list[Value]) -> Iterator[Row]:
        """Yield the rows of the tables of a sheet, which have titles of their own or are one."""
        titles = self.on("title")
        pieces = []
        for _, held in _split(values, lambda v: _key(self, titles, v)):
            rows = list(self._table(held))
            if titles:
                rows.insert(0, Row((self._lone(titles, held[0], "title"),), "title"))
            pieces.append(rows)
        if not self.layout.beside:
            for at, rows in enumerate(pieces):
                yield from [Row(())] * min(at, 1)
                yield from rows
            return
        longest = max(len(rows) for rows in pieces)
        for at in range(longest):
            cells: list[Cell] = []
            kind = ""
            for rows in pieces:
                columns = width(tuple(rows))
                here = rows[at] if at < len(rows) else Row(())
                kind = kind or here.kind
                cells += [*padded(here, columns).cells, BLANK]
            yield Row(tuple(cells[:-1]), kind)

    def _lone(self, dims: list[str], value: Value, what: str) -> Cell:
        """Return a label that stands alone in its row."""
        if "unit" in dims and "treatment" in dims:
            return Cell(
                f"{value.unit.treatment} {self.heads['unit']} {value.unit.name}", "treatment", what
            )
        label = self.label(dims[0], value)
        return Cell(self.section_form.format(label, word=self.heads[dims[0]]), dims[0], what)

    # ---- one table -------------------------------------------------------------------------------

    def _table(self, values: list[Value]) -> Iterator[Row]:
        sections = self.on("section")
        heads = list(self._header(values))
        for at, (_, held) in enumerate(_split(values, lambda v: _key(self, sections, v))):
            if sections and self.section_head_again:
                yield from [Row(())] * min(at, 1)
                yield Row((self._lone(sections, held[0], "section"),), "section")
                yield from heads
            else:
                yield from heads if at == 0 else ()
                if sections:
                    yield Row((self._lone(sections, held[0], "section"),), "section")
            yield from self._body(held, values)

    def _columns(self) -> list[str]:
        columns = self.on("column")
        if self.on("id"):
            columns = ["id", *columns]
        return columns

    def _over(self, values: list[Value]) -> list[tuple[Key, str, str]]:
        """Return the value columns of a table: labels over them, quantity, unit of measure."""
        dims = [*self.on("over"), *self.on("over name")]
        keys = [key for key, _ in _split(values, lambda v: _key(self, dims, v))]
        return [(key, quantity, unit) for key in keys for quantity, unit in self._measures(values)]

    def _measures(self, values: list[Value]) -> list[tuple[str, str]]:
        present = dict.fromkeys(value.quantity for value in values)
        made: list[tuple[str, str]] = []
        for quantity in present:
            if quantity == "area_yield":
                made += [("area", "m2"), (quantity, "kg/m2")]
            elif quantity == "count":
                made.append((quantity, ""))
            elif quantity in ("leaf_area", "height"):
                made.append((quantity, {"leaf_area": "cm2", "height": "cm"}[quantity]))
            elif self.trial.mass == "lb+oz":
                made += [(quantity, "lb"), (quantity, "oz")]
            else:
                made.append((quantity, self.trial.mass))
        return made

    def _header(self, values: list[Value]) -> Iterator[Row]:
        over = self._over(values)
        columns = self._columns()
        dims = self.on("over")
        labels = [Cell(self.heads[name], "header", name) for name in columns]
        if not dims and not self.on("over name"):
            yield Row((*labels, *(self._quantity_head(q, u) for _, q, u in over)), "header")
            if self.style.units == "row" or self.layout.units_row:
                units = [Cell(self.spoken[u] or None, "unit of measure", q, u) for _, q, u in over]
                yield Row((*([BLANK] * len(columns)), *units), "units")
            return
        quantity, unit = over[0][1], over[0][2]
        if self.measure_above == "title" and self.style.units != "none":
            yield Row((self._quantity_head(quantity, unit),), "title")
        if self.measure_above == "above" and self.style.units != "none":
            head = replace(self._quantity_head(quantity, unit), span=(1, len(over)))
            yield Row((*([BLANK] * len(columns)), head, *([BLANK] * (len(over) - 1))), "header")
        yield from self._over_rows(over, labels, dims)

    def _over_rows(self, over, labels: list[Cell], dims: list[str]) -> Iterator[Row]:
        if self.on("over name"):
            names = [Cell(self._over_name(key), "treatment", "header") for key, _, _ in over]
            yield Row((*labels, *names), "header")
            return
        for level, dimension in enumerate(dims):
            is_last = level == len(dims) - 1
            cells = labels if is_last else [BLANK] * len(labels)
            texts = [self._over_label(dimension, key[level], u) for key, _, u in over]
            if not is_last:
                texts = self._spread(texts, [key[: level + 1] for key, _, _ in over])
            yield Row((*cells, *texts), "header")

    def _over_name(self, key: Key) -> str:
        return self.sheet_form.format(t=key[0], u=key[1], U=self.heads["unit"])

    def _over_label(self, dimension: str, label: object, unit: str) -> Cell:
        is_number = isinstance(label, int)
        if dimension == "occasion":
            return Cell(self.day(label), dimension, "header")
        if dimension == "plant" and is_number and self.counts_plants:
            label = f"{self.heads['plant']} {label}"
        if dimension == "unit" and is_number and self.style.worded:
            label = f"{self.heads['unit']} {label}"
        if (
            self.measure_above == "label"
            and self.style.units in ("brackets", "square")
            and isinstance(label, str)
        ):
            label = f"{label} ({self.spoken[unit]})"
        return Cell(label, dimension, "header")

    def _spread(self, cells: list[Cell], keys: list[Key]) -> list[Cell]:
        """Return labels that each head several columns, written once or in each."""
        if self.style.over == "repeat":
            return cells
        made: list[Cell] = []
        for at, (cell, key) in enumerate(zip(cells, keys, strict=True)):
            first = at == 0 or keys[at - 1] != key
            span = keys.count(key) if first and self.style.over == "merged" else 1
            made.append(replace(cell, span=(1, span)) if first else BLANK)
        return made

    def _quantity_head(self, quantity: str, unit: str) -> Cell:
        word = self.quantity_words[quantity]
        if self.trial.mass == "lb+oz" and unit:
            return Cell(unit, "header", quantity, unit)
        said = self.spoken[unit]
        style = "none" if self.layout.units_row or not said else self.style.units
        form = {
            "brackets": "{} ({})",
            "square": "{} [{}]",
            "comma": "{}, {}",
            "plain": "{} {}",
        }.get(style, "{}")
        return Cell(form.format(word, said), "header", quantity, unit)

    def _body(self, values: list[Value], all_values: list[Value]) -> Iterator[Row]:
        over = self._over(all_values)
        over_dims = [*self.on("over"), *self.on("over name")]
        columns = self._columns()
        row_dims = [*self.on("column"), *self.on("id"), *self.on("order")]
        before: list[Cell] = []
        for _, held in _split(values, lambda v: _key(self, row_dims, v)):
            labels = [self._row_label(name, held[0]) for name in columns]
            shown = [*self._not_repeated(labels, before)] if self.style.repeats != "all" else labels
            before = labels
            at = {(_key(self, over_dims, value), value.quantity): value for value in held}
            cells = [
                self._value_cell(at, key, quantity, unit, held[0]) for key, quantity, unit in over
            ]
            yield Row((*shown, *cells), DATA)

    def _not_repeated(self, labels: list[Cell], before: list[Cell]) -> Iterator[Cell]:
        """Yield labels, those that are the same as above left out or as ditto marks; the last one
        always stands.
        """
        same = bool(before)
        for at, label in enumerate(labels):
            same = same and at < len(labels) - 1 and before[at].value == label.value
            if same:
                yield replace(label, value='"' if self.style.repeats == "ditto" else None)
            else:
                yield label

    def _row_label(self, name: str, value: Value) -> Cell:
        if name == "id":
            return Cell(
                self.joined_id(value, self.on("id")),
                "plant" if "plant" in self.on("id") else "unit",
                "id",
            )
        return Cell(self.label(name, value), name)

    def _value_cell(self, at, key: Key, quantity: str, unit: str, first: Value) -> Cell:
        if quantity == "area":
            return Cell(first.unit.area, "value", "area", "m2")
        value = at.get((key, quantity))
        if value is None:
            return Cell(None, "value", quantity, unit, "absent")
        if value.stands:
            return Cell(
                self._stands(value),
                "value",
                quantity,
                unit,
                value.stands,
                at=self.places[id(value)],
            )
        amount = value.amount
        if self.trial.mass == "lb+oz" and quantity == "fresh_weight" and amount is not None:
            pounds = int(amount // 16)
            amount = pounds if unit == "lb" else round(amount - 16 * pounds, 1)
        if isinstance(amount, float) and amount.is_integer():
            amount = int(amount)
        return Cell(amount, "value", quantity, unit, at=self.places[id(value)])

    def _stands(self, value: Value) -> object:
        if value.stands == "zero":
            return None if self.style.blank_lost else ("-" if self.style.dash else 0)
        if self.style.blank_lost:
            return None
        word = self.not_weighed if value.stands == MISSING else self.lost_word
        return "-" if self.style.dash else word

    # ---- keys and what the owner would say -------------------------------------------------------

    def _with_key(self, log: Log) -> Log:
        where = one_of(self.rng, self.layout.keys)
        if where.startswith("lookup"):
            return self._with_lookup(log, where)
        if not where:
            return log
        pairs = list(self.trial.spelled.items()) or [(name, name) for name in self.trial.treatments]
        word = self.style.word
        rows = [
            Row(
                (Cell(word(self.rng, "code"), "key"), Cell(word(self.rng, "meaning"), "key")),
                "header",
            )
        ]
        rows += [Row((Cell(code, "key"), Cell(name, "key")), "key") for code, name in pairs]
        file = log.files[0]
        if where == "sheet":
            sheets = (*file.sheets, Sheet(word(self.rng, "code"), tuple(rows), "key"))
            return replace(log, files=(replace(file, sheets=sheets), *log.files[1:]))
        first = file.sheets[0]
        columns = width(first.rows) + 1
        joined = []
        for at, one in enumerate(first.rows):
            more = rows[at].cells if at < len(rows) else ()
            joined.append(replace(one, cells=(*padded(one, columns).cells, *more)) if more else one)
        sheets = (replace(first, rows=tuple(joined)), *file.sheets[1:])
        return replace(log, files=(replace(file, sheets=sheets), *log.files[1:]))

    def _with_lookup(self, log: Log, where: str) -> Log:
        head = Row(
            tuple(Cell(self.heads[one], "header", one) for one in ("unit", "treatment")), "header"
        )
        rows = [
            Row((Cell(_number(u.name), "unit"), Cell(_number(u.treatment), "treatment")), DATA)
            for u in self.trial.units
        ]
        sheet = Sheet(HEADERS[self.style.language]["treatment"][0], (head, *rows), "lookup")
        if where == "lookup file":
            return replace(log, files=(*log.files, File("plan", (sheet,))))
        file = log.files[0]
        return replace(log, files=(replace(file, sheets=(*file.sheets, sheet)), *log.files[1:]))

    def _said(self) -> dict[str, tuple[str, ...]]:
        """Return what the owner would name each dimension's carrier as, the fittest first."""
        said: dict[str, tuple[str, ...]] = {}
        levels = self.on("over")
        parts = self.on("id")
        for dimension in DIMENSIONS:
            carrier = self.carriers.get(dimension)
            if carrier is None:
                continue
            head = self.heads[dimension]
            if carrier == "column":
                said[dimension] = (f"column:{head}", head)
            elif carrier == "over":
                said[dimension] = (f"over:{levels.index(dimension) + 1}",)
            elif carrier == "id":
                said[dimension] = (f"part:{self.heads['id']}:{parts.index(dimension) + 1}",)
            elif carrier == "lookup":
                said[dimension] = (f"column:{head}", head)
            else:
                said[dimension] = (carrier,)
        return said


def placed(rng: Generator, trial: Trial, layout: Layout, style: Style) -> Log:
    """Return the log of a trial in a layout."""
    return Placing(rng, trial, layout, style).log()


def _key(placing: Placing, dims: Sequence[str], value: Value) -> Key:
    return tuple(_coordinate(dimension, value) for dimension in dims)


def _coordinate(dimension: str, value: Value) -> object:
    unit = value.unit
    if dimension == "occasion":
        return value.occasion
    if dimension == "plant":
        return _number(value.plant)
    text = {
        "treatment": unit.treatment,
        "factor": unit.factor,
        "block": unit.block,
        "unit": unit.name,
    }[dimension]
    return _number(text) if dimension != "treatment" else text


def _split(values: list[Value], key: Callable[[Value], Key]) -> list[tuple[Key, list[Value]]]:
    """Return values by a key, in the order in which the keys come."""
    found: dict[Key, list[Value]] = {}
    for value in values:
        found.setdefault(key(value), []).append(value)
    return list(found.items())


def _number(text: str) -> object:
    """Return a label of digits as a number, as a spreadsheet would."""
    return int(text) if text.isdigit() and (text == "0" or not text.startswith("0")) else text


def _clean(name: str) -> str:
    """Return a name that a sheet or file may have."""
    for mark in "/\\*?:[]":
        name = name.replace(mark, "-")
    return name[:31]
