"""How a spreadsheet of its owner's own layout becomes the sheets of a trial workbook, as the settings file holds it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import Final

UNKNOWN: Final = "?"  # stands in the file where its owner must still say something
SEEN: Final = "seen"
NOTHING: Final = "nothing"  # what a table gives that is left out
DAYS_LAST, DAYS_SUM, DAYS_EACH = "last", "sum", "each"  # what rows of the same trays on several days are
ENDING: Final = ".adopt.toml"  # of the settings file, behind the name of the spreadsheet without its own ending

DAILY: Final = "daily"  # of a counter that begins at 0 again each day

Answer = bool | str  # yes, no, or UNKNOWN


def placed(file: str, sheet: str) -> str:
    """Return how a sheet is named: with its file where that is another one, by the file alone where it is a text."""
    if not file:
        return sheet
    return file if PurePath(file).stem == sheet else f"[{file}]{sheet}"


@dataclass(frozen=True)
class Source:
    """Where a declared column comes from: the text of a header, the unit it is in where the header has none.

    `header` may also be a column's letter, as in "column C", where the column has no header. `unit` is UNKNOWN where it
    must still be said. `codes` turns what stands in the cells into what is meant.
    """

    header: str
    unit: str = ""
    codes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Wide:
    """A table with a column for each treatment, tray or week: their headers become the values of the column `names`.

    `values` is the declared column that the cells are; `headers` are the columns that are turned long. `prefix` goes
    before each header where another table has the same ones for others.
    """

    names: str
    values: str
    headers: tuple[str, ...]
    unit: str = ""
    prefix: str = ""


@dataclass(frozen=True)
class TableMapping:
    """One table of a file: where it stands, which sheet of the declaration it gives, and how.

    `gives` is NOTHING where the table is no part of the trial. `file` is a name beside the settings file, empty for
    the file that it is named after. `header_row` is a row's number, two as in "10-11", or "0" where there is none;
    `range` a part of the sheet such as A11:H52. `columns` pairs declared columns with their sources, `constants` those
    that are the same in every row. Rows in `exclude_rows` are left out, and said so. `sections` names the declared
    column whose value stands alone in a row above its rows. `treatment` turns what stands for a treatment into its
    code, wherever it comes from; in a wide table of trays these are the headers, of sections of trays their texts.

    `day_first` tells the order in dates such as 3/4/2026 (None: the column decides), `cumulative` whether a meter's
    readings are those of a counter (DAILY: that begins again each day) or the amounts since the reading before.
    `per` is "pot" where each row is a pot or
    tray weighed as a whole. `corrected` holds the right values of cells such as I67, `confirmed` the cells that look
    wrong and are right. `marked_rows` is UNKNOWN until it is said whether rows that stand out by a colour or a comment
    are to be left out, and those rows, or SEEN, from then on. `time` heads the times of day where they stand beside
    their days. `days` tells of rows of the same plants or trays on several days, which stand in the column "Harvested
    on": "last" where only those of the last day are the harvest, "sum" where they are pickings that add up, "each"
    where they are other plants. `stood` tells what rows such as "18" and cells such as "I67" held when they were named,
    and what headed columns such as "D", so that later moves are noticed.
    """

    sheet: str
    gives: str
    header_row: str = "1"
    file: str = ""
    range: str = ""
    columns: Mapping[str, Source] = field(default_factory=dict)
    constants: Mapping[str, str] = field(default_factory=dict)
    fill_down: tuple[str, ...] = ()
    exclude_rows: tuple[int, ...] = ()
    wide: Wide | None = None
    sections: str = ""
    treatment: Mapping[str, str] = field(default_factory=dict)
    day_first: Answer | None = None
    cumulative: Answer = True
    per: str = "plant"
    corrected: Mapping[str, object] = field(default_factory=dict)
    confirmed: tuple[str, ...] = ()
    marked_rows: str | tuple[int, ...] = ""
    time: str = ""
    days: str = ""
    stood: Mapping[str, str] = field(default_factory=dict)

    @property
    def place(self) -> str:
        """Return how its sheet is named to its owner."""
        return placed(self.file, self.sheet)


@dataclass(frozen=True)
class Adoption:
    """Everything that a settings file says of its spreadsheets.

    `missing` are texts that stand for no value, `lost` those that stand for a plant that was lost; an empty text is a
    blank cell. `trial` holds what no table can tell, by the fields of the Trial sheet. `name` is the settings file's
    name, `lines` the numbers of its lines by key, such as "table.0.columns.Tray" or "trial.Crop".
    """

    tables: tuple[TableMapping, ...] = ()
    missing: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    trial: Mapping[str, object] = field(default_factory=dict)
    name: str = field(default="", compare=False)
    lines: Mapping[str, int] = field(default_factory=dict, compare=False)

    def line(self, key: str) -> int:
        """Return the number of the line that sets `key`, else of what it stands in, 0 where neither is known."""
        while key and key not in self.lines:
            key = key.rpartition(".")[0]
        return self.lines.get(key, 0)
