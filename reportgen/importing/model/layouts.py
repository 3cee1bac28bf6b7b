"""What a table's carriers hold: the layout, as stage 5 gives it and as the settings file keeps it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from reportgen.language import marked


class Dimension(StrEnum):
    """What places a value."""

    TREATMENT = marked("treatment")
    BLOCK = marked("block")
    UNIT = marked("unit")
    PLANT = marked("plant")
    OCCASION = marked("occasion")
    EVENT = marked("event")  # of volumes only
    METER = marked("meter")  # which counter, of energy only
    GRADE = marked("grade")  # of pickings only


class CarrierKind(StrEnum):
    """Where the labels of a dimension stand."""

    COLUMN = "column"  # name: of a column
    OVER = "over"  # name: level of the header rows, "1" is topmost
    SECTION = "section"
    SHEET = "sheet"
    FILE = "file"
    TITLE = "title"  # name: "" the text above the table, else the label of a field beside it
    COLOUR = "colour"  # of the cells
    FIXED = "fixed"  # name: the label
    ORDER = "order"  # rows counted within the other dimensions
    DIMENSION = "dimension"  # name: another dimension, whose labels go before: trays numbered anew


@dataclass(frozen=True)
class Carrier:
    """Where labels stand.

    `part` (from 1, 0 for the whole) is a part of each label, such as 1 of `K2-3`.
    """

    kind: CarrierKind
    name: str = ""
    part: int = 0


@dataclass(frozen=True)
class Lookup:
    """A table that says what labels mean.

    Its column `match` holds them, `result` what they stand for.
    """

    table: str
    match: str
    result: str


@dataclass(frozen=True)
class Source:
    """The carriers of a dimension, joined by a space where several.

    With a lookup, what that says of the label.
    """

    carriers: tuple[Carrier, ...]
    lookup: Lookup | None = None


class Occasions(StrEnum):
    """What values of one plant or unit on several occasions are."""

    ONCE = ""
    PICKINGS = marked("pickings")  # they add up
    RUNNING = marked("running totals")  # the last one holds
    LAST = marked("last")  # weighed again and again: the last one is the harvest
    SAMPLES = marked(
        "samples"
    )  # each day its own plants (destructive): the last day is the harvest
    GROWTH = marked("growth")  # the same plants measured again, no harvest


class Covers(StrEnum):
    """What one value is of."""

    PLANT = marked("plant")
    UNIT = marked("unit")  # the whole tray, pot, bed
    MEAN = marked("mean per plant")  # of the plants that `count` tells
    TREATMENT = marked("treatment")
    TRIAL = marked("whole trial")


class Blank(StrEnum):
    """What a blank cell among values means."""

    UNKNOWN = ""
    MISSING = marked("not measured")
    ZERO = marked("nothing there")
    LOST = marked("plant lost")


class Counts(StrEnum):
    """What the numbers of a meter or of logged volumes are."""

    EACH = "each"  # used since the last row
    BETWEEN = "between readings"  # from the one at the start of a row to the one at its end
    COUNTER = "counter"  # a reading that rises
    DAILY = "daily counter"  # begins again each day
    SEASON = "whole trial"


@dataclass(frozen=True)
class Values:
    """Value columns of one quantity.

    `quantity` is a column of the declaration, such as `Fresh weight`, or the owner's own name of a
    further measure. `columns` are names of the table's columns; several lie over one another in the
    dimension that `over` carries. `unit` is a unit of measure, "" where still open, "?" never.
    `count` is the column that tells how many plants a value covers, `tare` one to subtract, `plus`
    further columns with their units that add up to one value (lb and oz). `event` is the event of a
    volume (`fill`, `top-up`, `drain` ...) where its column says it. `per_area` is the unit's area
    in m2 by which a yield per area is multiplied, 0 where it is none; `area_column` is the column
    that tells it where units differ.
    """

    quantity: str
    columns: tuple[str, ...]
    unit: str = ""
    covers: Covers = Covers.PLANT
    count: str = ""
    tare: str = ""
    plus: tuple[tuple[str, str], ...] = ()
    event: str = ""
    counts: Counts = Counts.EACH
    per_area: float = 0.0
    area_column: str = ""
    blank: Blank = Blank.UNKNOWN


NOTHING = "nothing"


@dataclass(frozen=True)
class LeftOut:
    """Something that is not read, and why.

    A row (0 for a cell), as it stood when its owner said so.
    """

    cells: str
    holds: str
    because: str


@dataclass(frozen=True)
class Corrected:
    """A cell that its owner corrected: what stood there, and what holds."""

    cell: str
    held: str
    value: str


@dataclass(frozen=True)
class Layout:
    """How one table is read.

    `table` is its key, `sheets` the labels of its sheets, `header_rows` as in the first block.
    `gives` is a sheet of the declaration (Plants, Harvests, Growth, Solution, Meter, Light,
    Climate) or `nothing`. `factors` are further names by factor, of treatments that combine
    several. `only` keeps rows whose label in a column is one of some. `words` spell labels by
    dimension (`treatment`: F -> fan). `confirmed` are cells that look wrong and are right.
    """

    table: str
    gives: str
    sheets: tuple[str, ...] = ()
    header_rows: tuple[int, ...] = ()
    dimensions: Mapping[Dimension, Source] = field(default_factory=dict)
    values: tuple[Values, ...] = ()
    factors: Mapping[str, Source] = field(default_factory=dict)
    only: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    occasions: Occasions = Occasions.ONCE
    columns: Mapping[str, str] = field(
        default_factory=dict
    )  # further columns by declared name: Note, Status, Block ...
    left_out: tuple[LeftOut, ...] = ()
    corrected: tuple[Corrected, ...] = ()
    confirmed: tuple[str, ...] = ()
    because: str = ""

    def __post_init__(self) -> None:
        """Put the dimensions in their order, so that equal layouts look equal."""
        ordered = {
            dimension: self.dimensions[dimension]
            for dimension in Dimension
            if dimension in self.dimensions
        }
        object.__setattr__(self, "dimensions", ordered)
