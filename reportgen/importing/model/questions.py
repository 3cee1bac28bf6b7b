"""Stages 7 to 9: a question, the fate of each number, and the summary by treatment."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from reportgen.importing.model.settings import Settings
from reportgen.language import say


@dataclass(frozen=True)
class Figures:
    """One treatment's figures of one quantity.

    `mean` is the mean over units of the mean per plant (or what the report calls the main measure);
    `n` counts plants, or values where there are no plants. `unit` is that of total and mean: g for
    masses, L, kWh, cm; "" where a unit is still open, then they are as they stand. `unit_names` are
    the units by name, `times` the fewest and the most occasions of a unit, `smallest` and `largest`
    the extremes of single values, `first` and `last` the first and last occasion; these tell
    readings apart by no figure.
    """

    units: int
    n: int
    total: float
    mean: float
    unit: str
    lost: int = 0
    unit_names: tuple[str, ...] = field(default=(), compare=False)
    times: tuple[int, int] = field(default=(0, 0), compare=False)
    smallest: float | None = field(default=None, compare=False)
    largest: float | None = field(default=None, compare=False)
    first: str = field(default="", compare=False)
    last: str = field(default="", compare=False)


Summary = Mapping[
    str, Mapping[str, Figures]
]  # quantity key (`fresh_weight`) -> treatment as the report prints it


class Slot(StrEnum):
    """What a question fills; `questions/` has one module for each."""

    TABLE = "table"  # what a table is, or that it is no part of the trial
    DIMENSION = "dimension"  # the carrier of a dimension
    QUANTITY = "quantity"  # what a value column is
    UNIT = "unit"  # its unit of measure
    COVERS = "covers"  # plant, whole tray, mean of how many
    OCCASIONS = "occasions"
    BLANK = "blank"
    WORD = "word"  # a word among numbers
    CONVENTION = "convention"  # order of dates, decimal sign
    INDEPENDENT = "independent"
    ROW = "row"  # a row or cell that looks wrong, or is not explained
    FIELD = "field"  # a field of the sheet Trial
    CONFIRM = "confirm"  # is this your trial?


@dataclass(frozen=True)
class Choice:
    """A possible answer, the settings that follow from it, and the figures it gives.

    `answer` is typed or sent. `means` explains an answer that is a bare word. `leads_to` is
    what it may give, where a further question decides. `said` is the answer in the language of
    the reader where it is a word of the program's own.
    """

    answer: str
    settings: Settings
    gives: Summary | None = None
    means: str = ""
    leads_to: tuple[Summary, ...] = ()
    said: str = ""

    @property
    def text(self) -> str:
        """Return the answer as its reader sees it."""
        return self.said or self.answer


def own_word(
    answer: str, settings: Settings, gives: Summary | None = None, means: str = ""
) -> Choice:
    """Return a choice whose answer is a word of the program's own.

    Its reader sees it and may type it in his language.
    """
    return Choice(answer, settings, gives, means, said=say(answer))


@dataclass(frozen=True)
class Question:
    """Something that only the owner knows.

    `key` is stable from run to run, such as `Log.treatment` or `trial.Crop`; `where` are places
    such as `Log!A1:C9`. `free` says that a text other than a choice may be typed: `accept` then
    returns the settings that follow, and raises ValueError, saying what was expected, where the
    text does not fit. `hint` says what may be typed, `why` the reason of this very question.
    """

    key: str
    slot: Slot
    ask: str
    where: tuple[str, ...] = ()
    choices: tuple[Choice, ...] = ()
    default: str | None = None
    free: bool = False
    accept: Callable[[str], Settings] | None = field(default=None, compare=False)
    hint: str = ""
    why: str = ""


class Fate(StrEnum):
    """What became of a cell that holds a number."""

    READ = "read"
    LABEL = "label"
    HEADER = "header"
    UNIT = "unit"
    KEY = "key"
    AGREES = "agrees"
    DISAGREES = "disagrees"
    LEFT_OUT = "left out"
    UNEXPLAINED = "not explained"


@dataclass(frozen=True)
class Fated:
    """Cells with one fate: (sheet index, row, column) each; `because` is why they are left out."""

    fate: Fate
    cells: tuple[tuple[int, int, int], ...]
    because: str = ""


@dataclass(frozen=True)
class Ledger:
    """The fate of each number.

    Every cell with a number on a sheet that is read stands in exactly one entry.
    """

    entries: tuple[Fated, ...]

    def count(self, fate: Fate) -> int:
        """Return how many numbers have a fate."""
        return sum(len(entry.cells) for entry in self.entries if entry.fate is fate)
