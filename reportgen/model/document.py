"""A report as text, tables and figures, ready to be set: nothing left to compute, round or word."""

from dataclasses import dataclass, field
from typing import ClassVar

from reportgen.model.data import Dataset, DataTable


@dataclass(frozen=True)
class Paragraph:
    """One paragraph of our own plain text."""

    kind: ClassVar = "paragraph"
    text: str


@dataclass(frozen=True)
class Prose:
    """The grower's own words, as Markdown; `by` says whose they are."""

    kind: ClassVar = "prose"
    markdown: str
    by: str


@dataclass(frozen=True)
class Bullets:
    """A list of plain texts under an optional lead."""

    kind: ClassVar = "bullets"
    items: tuple[str, ...]
    lead: str = ""


@dataclass(frozen=True)
class Notice:
    """A caution that a reader must not miss."""

    kind: ClassVar = "notice"
    title: str
    items: tuple[str, ...]


@dataclass(frozen=True)
class Facts:
    """Terms with what they are in this trial."""

    kind: ClassVar = "facts"
    items: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Table:
    """A table whose first column heads its rows.

    `numeric` says for each column whether it aligns right.

    `limits` says for each column whether it holds the limits of the figure to its left, which may
    stand back; empty where none does. `groups` are the places of rows that head those beneath them
    and whose other cells are empty.
    """

    kind: ClassVar = "table"
    key: str
    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[bool, ...]
    note: str = ""
    limits: tuple[bool, ...] = ()
    groups: tuple[int, ...] = ()


@dataclass(frozen=True)
class Figure:
    """A chart as Vega-Lite JSON text, with its caption and the text that says what it shows.

    `title` says in words what is seen, empty where the caption says all. `spec` is drawn for 640
    px, `narrow_spec` for 330 px, empty where one drawing serves both. `on_paper` is False where a
    table of the same section says the same.
    """

    kind: ClassVar = "figure"
    key: str
    caption: str
    alternative: str
    spec: str
    title: str = ""
    narrow_spec: str = ""
    on_paper: bool = True


@dataclass(frozen=True)
class Columns:
    """Blocks in two columns, each half as wide as a page; one alone has its words at its side."""

    kind: ClassVar = "columns"
    blocks: tuple[Figure | Table, ...]


@dataclass(frozen=True)
class Photo:
    """A photo as JPEG of `width` x `height` px, with its caption and text alternative.

    `key` names it by its content.
    """

    kind: ClassVar = "photo"
    key: str
    caption: str
    alternative: str
    content: bytes = field(repr=False)
    width: int
    height: int


@dataclass(frozen=True)
class PhotoDay:
    """The photos of one day side by side by treatment, all of one height on the page.

    `day` is the day as printed.
    """

    kind: ClassVar = "photo_day"
    day: str
    photos: tuple[Photo, ...]


@dataclass(frozen=True)
class TreatmentCard:
    """One treatment as it was, with its amounts and the cautions that concern it."""

    name: str
    is_reference: bool
    description: str
    facts: tuple[tuple[str, str], ...]
    safety: "Safety | None" = None


@dataclass(frozen=True)
class TreatmentCards:
    """The treatments side by side, the reference first."""

    kind: ClassVar = "treatment_cards"
    cards: tuple[TreatmentCard, ...]


@dataclass(frozen=True)
class Safety:
    """Cautions for readers who would do the same, beside what they concern.

    `brief` has a sentence for each, for short forms of a report.
    """

    kind: ClassVar = "safety"
    title: str
    items: tuple[str, ...]
    brief: tuple[str, ...] = ()


@dataclass(frozen=True)
class Aside:
    """Notes at the side of a section, folded on a small screen under their title."""

    kind: ClassVar = "aside"
    title: str
    items: tuple[str, ...]


@dataclass(frozen=True)
class Links:
    """Files that go with the report.

    Link text, address relative to the report's page, what is in it.
    """

    kind: ClassVar = "links"
    items: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class Subheading:
    """A heading within a section."""

    kind: ClassVar = "subheading"
    text: str


@dataclass(frozen=True)
class CostLine:
    """What a mass of crop costs a treatment: `fixed` without electricity, `energy` (kWh) times the
    price of a kWh.
    """

    name: str
    fixed: float
    energy: float
    is_reference: bool


@dataclass(frozen=True)
class Signs:
    """How numbers look in the page's language.

    Decimal sign, sign between groups, around a percentage.
    """

    point: str
    group: str
    percent: tuple[str, str]


@dataclass(frozen=True)
class OwnPrice:
    """Fields for a reader's own price of electricity, on pages that run script alone.

    `price` is the trial's own as typed; costs are in its `currency` for a `mass` of crop, which is
    its symbol, and `mass_named` its name. `reference` names the treatment that others are compared
    with, empty where its cost is not known. `has_others` says whether costs beside electricity are
    counted; `notes` say what they are and what does not follow the price.
    """

    kind: ClassVar = "own_price"
    price: str
    currency: str
    mass: str
    mass_named: str
    lines: tuple[CostLine, ...]
    reference: str
    has_others: bool
    notes: tuple[str, ...]
    signs: Signs


Block = (
    Paragraph
    | Prose
    | Bullets
    | Notice
    | Facts
    | Table
    | Figure
    | Columns
    | Photo
    | PhotoDay
    | TreatmentCards
    | Safety
    | Aside
    | Links
    | Subheading
    | OwnPrice
)


@dataclass(frozen=True)
class Section:
    """A part of the report under its own heading; `key` is its anchor.

    `title` is what is found in it, or what it is about; `label` is the short name by which contents
    and links call it, empty where the title is short enough.
    """

    key: str
    title: str
    blocks: tuple[Block, ...]
    label: str = ""


@dataclass(frozen=True)
class IntervalBar:
    """A change and its interval on the scale that the rows of an answer box share, each in percent
    of its width.

    `zero` is where no change stands. A limit is None where it is not known or lies beyond the
    scale.
    """

    zero: float
    value: float
    low: float | None
    high: float | None


@dataclass(frozen=True)
class Change:
    """One treatment beside the reference in one measure, as printed.

    `verdict` is the code of its conclusion (more, less, alike, unclear, untestable, confounded),
    `word` the one word for it. `change` and `limits` are empty where there is none; `bar` is None
    then.
    """

    name: str
    figure: str
    change: str
    limits: str
    verdict: str
    word: str
    bar: IntervalBar | None = None


@dataclass(frozen=True)
class AnswerRow:
    """One measure of an answer box.

    Its name and unit, the reference's figure, and each other treatment's change.
    """

    measure: str
    unit: str
    reference: str
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class AnswerBox:
    """The answer in at most four rows; `reference` names the treatment that others stand beside.

    `ticks` are places on the common scale, in percent of its width, with their texts; `note` says
    how to read it.
    """

    reference: str
    rows: tuple[AnswerRow, ...]
    ticks: tuple[tuple[float, str], ...] = ()
    note: str = ""

    @property
    def only_other(self) -> str:
        """Return the name of the only treatment beside the reference, else an empty text."""
        names = {change.name for row in self.rows for change in row.changes}
        if len(names) == 1:
            return names.pop()
        return ""

    @property
    def main_rows(self) -> tuple[AnswerRow, ...]:
        """Return the rows of the main measure.

        The first, or all where each is a factor, without figures of its own.
        """
        has_figures = any(change.figure for row in self.rows for change in row.changes)
        if has_figures:
            return self.rows[:1]
        return self.rows


@dataclass(frozen=True)
class Trust:
    """How far the answer can be trusted.

    Sentences on fairness, problems in words, and who had an interest in it.

    `marks` are words such as Interim or Invented example, which stand wherever the answer does.
    """

    sentences: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    disclosure: str = ""
    marks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Report:
    """One trial's report.

    `answer` holds the sentences that answer the question; `sections` start after it. `byline` and
    `description` are plain text; `harvested_on` is ISO 8601. `results` is the results file as JSON
    text, `data` what was recorded, `dataset` what is said of it to machines. `address` is where the
    site will be found, empty where that is not known. `crop_name` is the crop without its cultivar.
    `right_to_left` holds the workbook's texts that run that way. `interim` says what the report of
    an unfinished trial is, empty for a final one; the title is marked too, and `harvested_on` is
    the day of the last record then. `harvest_day` is the same day as printed. `changed_at` is when
    another result took the place of an earlier one (RFC 3339), empty for a first result.

    A report has three depths. `headline` is the finding and heads the page, `lead` says it in one
    or two sentences with both figures, `box` holds the answer's figures and `trust` how far they
    go. `sections` are what a grower reads, `annex` is for those who want every number.
    """

    slug: str
    language: str
    title: str
    crop: str
    question: str
    answer: tuple[str, ...]
    byline: str
    facts: Facts
    disclosure: str
    description: str
    harvested_on: str
    sections: tuple[Section, ...]
    results: str
    colophon: str
    data: tuple[DataTable, ...] = ()
    dataset: Dataset = field(default_factory=Dataset)
    address: str = ""
    crop_name: str = ""
    right_to_left: tuple[str, ...] = ()
    interim: str = ""
    headline: str = ""
    lead: tuple[str, ...] = ()
    box: AnswerBox = AnswerBox("", ())
    trust: Trust = Trust()
    annex: tuple[Section, ...] = ()
    harvest_day: str = ""
    changed_at: str = ""

    @property
    def all_sections(self) -> tuple[Section, ...]:
        """Return the sections of both depths in reading order."""
        return self.sections + self.annex


@dataclass(frozen=True)
class Site:
    """Every report of a site, latest harvest first.

    `sections` say what its trials tell together, `results` holds the numbers behind that as JSON
    text; both are empty where no trials have a comparison in common. `language` is the BCP 47 tag
    of all that is not of one report.
    """

    title: str
    reports: tuple[Report, ...]
    sections: tuple[Section, ...] = ()
    results: str = ""
    address: str = ""
    language: str = "en"
