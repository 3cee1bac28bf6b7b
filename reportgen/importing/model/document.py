"""What `adopt --json` prints and what it takes: the fields of the document, each with its meaning."""

from typing import Final, Literal, NotRequired

from typing_extensions import TypedDict

from reportgen.problem_document import ProblemEntry

FORMAT: Final = "reportgen-adopt-2"
Answers = dict[str, str | int | float | bool]


class FiguresEntry(TypedDict):
    """What is read of one quantity of one treatment."""

    units: int
    """How many trays, pots or plots it has."""
    n: int
    """How many plants or values there are."""
    total: float
    """Their sum."""
    mean: float
    """Their mean."""
    unit: str
    """The unit of sum and mean, empty where it is still open."""
    lost: NotRequired[int]
    """How many plants were lost; left out where none was."""


FiguresRead = dict[str, dict[str, FiguresEntry]]


class ChoiceEntry(TypedDict):
    """A possible answer."""

    answer: str
    """What to send."""
    gives: NotRequired[FiguresRead]
    """The figures that it leads to, by quantity and treatment."""
    may_give: NotRequired[list[FiguresRead]]
    """The figures that it may lead to, where a further question decides."""


class QuestionEntry(TypedDict):
    """A question that is left."""

    key: str
    """Its key, which stays the same from run to run; answers are given by it."""
    slot: str
    """What it is about, such as `treatment`, `unit` or `measure`."""
    ask: str
    """The question in English."""
    where: list[str]
    """The columns or cells that it is about."""
    default: str | None
    """The answer that is taken when nothing else is typed; null where there is none."""
    free: bool
    """Whether an answer beside the choices may be given."""
    choices: list[ChoiceEntry]
    """The possible answers."""


class CellsEntry(TypedDict):
    """Some cells of the log."""

    cells: str
    """The cells in A1 notation, after the name of their sheet."""
    because: str
    """Why they have this fate, in English."""


class LedgerEntry(TypedDict, total=False):
    """The fate of every number of the log; empty where the log cannot be taken in."""

    numbers: int
    """How many cells hold a number."""
    read: int
    """How many of them are data."""
    labels: int
    """How many of them are labels, headers, units or keys."""
    agree: int
    """How many are the owner's own statistics that agree with the data."""
    disagree: list[CellsEntry]
    """The owner's own statistics that do not agree."""
    left_out: list[CellsEntry]
    """What is not read, and why."""
    unexplained: list[CellsEntry]
    """What nothing explains."""


class AdoptDocument(TypedDict):
    """What is left to ask of a log, what was read of it, and what is wrong with it."""

    format: Literal["reportgen-adopt-2"]
    """The name and the version of this format."""
    settings: str | None
    """The name of the settings file; null where none was written."""
    questions: list[QuestionEntry]
    """The questions that are left, in their order."""
    read: FiguresRead
    """The figures that were read, by quantity and treatment."""
    ledger: LedgerEntry
    """The fate of every number."""
    problems: list[ProblemEntry]
    """What is wrong."""
