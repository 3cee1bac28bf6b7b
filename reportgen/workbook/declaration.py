"""The one declaration of the trial workbook: its sheets, columns, units and rules, as data."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Kind(StrEnum):
    """What a cell holds."""

    TEXT = "text"
    MARKDOWN = "Markdown text"
    LIST = "list, separated by commas"
    CODE = "code"
    NUMBER = "number"
    COUNT = "whole number"
    LEVEL = "percent or fraction"
    AMOUNT = "number, with the unit of what is measured behind it"
    DATE = "date"
    MOMENT = "date, or date and time"
    CLOCK = "time of day"
    CHOICE = "one of the listed words"
    SCORE = "class of a scale"
    FLAG = "yes or no"
    CURRENCY = "ISO 4217 currency code"
    LANGUAGE = "BCP 47 language tag"


class Period(StrEnum):
    """When the dates of a column may lie; elsewhere they are told."""

    TRIAL = "from the start to the harvest"
    GROWTH = "from sowing to the harvest"
    PREPARATION = "from a year before the start to the harvest"
    YEAR = "at most a year before the start or after the harvest"


class Comparison(StrEnum):
    """How the numbers of a column are compared, to find a slipped point or unit."""

    SIZE = "like cells have like sizes"
    PLACE = "places of a grid: the same few numbers recur"
    COUNTER = "a counter, which rises"
    NONE = "they differ honestly"


@dataclass(frozen=True)
class Column:
    """A column of a sheet, or a field of the Trial sheet.

    `unit` is the one that values are kept in, and that a bare number is taken to be in. A
    `required` column has no blank cells. A `guarded` one may be left out, but a header that is
    nearly its name is an error. `at_least`, `above` and `at_most` bound what is physically
    possible, `usual` what is commonly seen. `refers` names the sheet whose key a code must be found
    in; `also` lists further codes that stand for several rows there. `trait` marks a measurement of
    plants that is analysed like fresh weight, `money` an amount of the trial's currency, `prose`
    sentences, where any other text is a name. `period` is when its dates may lie. `per` is the word
    between a price and its unit. `compared` says how its numbers are compared with one another. A
    `planned` column may be filled in before the trial: a row that holds nothing else is still to
    come.
    """

    name: str
    kind: Kind = Kind.TEXT
    help: str = ""
    unit: str = ""
    required: bool = False
    guarded: bool = False
    above: float | None = None
    at_least: float | None = None
    at_most: float | None = None
    usual: tuple[float, float] | None = None
    choices: tuple[str, ...] = ()
    refers: str = ""
    also: tuple[str, ...] = ()
    trait: bool = False
    money: bool = False
    prose: bool = False
    period: Period = Period.YEAR
    per: str = "per"
    compared: Comparison = Comparison.SIZE
    planned: bool = False

    @property
    def header(self) -> str:
        """Return the name with its unit in brackets, as a header cell shows it."""
        if self.unit:
            return f"{self.name} ({self.unit_shown})"
        return self.name

    @property
    def is_day_of_record(self) -> bool:
        """Tell whether its dates are those of what was recorded in the trial."""
        return self.kind in (Kind.DATE, Kind.MOMENT) and self.period is not Period.YEAR

    @property
    def unit_shown(self) -> str:
        """Return the unit as it is printed: a price is `per kWh`."""
        if self.unit.startswith("1/"):
            return f"{self.per} {self.unit[2:]}"
        return self.unit


@dataclass(frozen=True)
class Sheet:
    """A sheet: its columns, the columns that name a row, whether it must be there.

    A `guarded` one may be left out, but a sheet that is nearly called so is an error. `further`
    says that unknown numeric columns are measurements too, `vertical` that its columns are fields,
    which stand one below the other. Numbers of a column are alike only where the columns
    `compared_within` hold the same. What is recorded again and again is due `due_after` days after
    the last time; 0 where it is recorded when it happens. `family` is the word before a colon that
    begins the names of further columns, such as `Factor: light`, with `family_help` to say what
    they hold.
    """

    name: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    required: bool = False
    guarded: bool = False
    further: bool = False
    vertical: bool = False
    compared_within: tuple[str, ...] = ()
    help: str = ""
    due_after: int = 0
    family: str = ""
    family_help: str = ""

    def column(self, name: str) -> Column:
        """Return the column called `name`; raise StopIteration where there is none."""
        return next(column for column in self.columns if column.name == name)


ALL: Final = "all"
WEEK: Final = 7  # days
PH_USUAL: Final = (4.0, 8.5)  # common practice: nutrient solutions are kept near pH 5.5 to 6.5
EC_LIMIT: Final = 300.0  # mS/cm; from memory: saturated brine has about 250
EFFICACY_LIMIT: Final = (
    6.3  # µmol/J; a photon of 750 nm has 0.2649 aJ by E = hc / wavelength, so no lamp gives more
)
HEAVIEST_PLANT: Final = 1e6  # g; a tonne, more than any plant that is weighed whole
TALLEST_PLANT: Final = 12_000  # cm; taller than any tree
PPFD_LIMIT: Final = (
    10_000  # µmol/m2/s; from memory: full sun gives about 2,000, so this is five suns
)
AIR_LIMITS: Final = (
    -90.0,
    70.0,
)  # °C; from memory: the coldest and, rounded up, the hottest air on record
AIR_USUAL: Final = (5.0, 45.0)  # °C; common practice: crops are grown between these
HUMIDITY_USUAL: Final = (
    10.0,
    100.0,
)  # %; common practice: lower readings are hundredths or a dead sensor
CO2_USUAL: Final = (
    250.0,
    5_000.0,
)  # ppm; common practice: air has about 430, enriched rooms up to 1,500
MEASURED: Final = {  # what an instrument measures, and the unit that it is kept in
    "weight": "g",
    "volume": "L",
    "energy": "kWh",
    "light": "µmol/m2/s",
    "air temperature": "°C",
    "humidity": "%",
    "EC": "mS/cm",
    "pH": "",
}
EC_USUAL: Final = (0.0, 8.0)  # mS/cm; common practice: crops are grown at 0.5 to 5 mS/cm

VARIED: Final = (
    "light",
    "nutrient strength",
    "temperature",
    "water",
    "growing medium",
    "variety",
    "spacing",
    "other",
)

TRIAL: Final = Sheet(
    "Trial",
    required=True,
    vertical=True,
    help="What the trial is and how it was laid out: one field a row.",
    columns=(
        Column("Title", required=True, help="The trial's name, as its report is headed."),
        Column("Question", prose=True, help="What the trial was to find out, in one sentence."),
        Column("Crop", required=True, help="The crop's common name."),
        Column("Cultivar", help="The cultivar or variety."),
        Column(
            "Growing system", help="For example deep water culture, ebb and flow, substrate pots."
        ),
        Column("Author", help="Who ran the trial."),
        Column("Organisation", help="For whom it was run."),
        Column("Contact", help="Published only if given."),
        Column("Location", help="Where it was run."),
        Column("Sown on", Kind.DATE, help="The day of sowing."),
        Column(
            "Started on", Kind.DATE, required=True, help="The day on which the treatments began."
        ),
        Column(
            "Harvested on",
            Kind.DATE,
            required=True,
            help="The day of harvest, the last one where trays differ.",
        ),
        Column(
            "Reference treatment",
            Kind.CODE,
            required=True,
            refers="Treatments",
            help="The treatment that the others are compared with.",
        ),
        Column(
            "Experimental unit",
            Kind.CHOICE,
            choices=("tray", "plant"),
            help="What the treatment was given to independently; tray if blank.",
        ),
        Column(
            "Layout",
            prose=True,
            help=(
                "How treatments were given their places: completely randomised, randomised within"
                " blocks, by hand."
            ),
        ),
        Column("Randomised", Kind.FLAG, help="Whether places were drawn at random."),
        Column(
            "What was varied",
            Kind.CHOICE,
            choices=VARIED,
            help=(
                "What treatments were meant to differ in, so that this difference is no fault of"
                " the test."
            ),
        ),
        Column(
            "Main measure",
            help=(
                "What the trial was run to find out, chosen before the harvest: the name of a"
                " measure or of a column of Plants or Growth; if blank, marketable yield where"
                " pickings are graded, else yield per plant started. All other measures are"
                " secondary."
            ),
        ),
        Column(
            "Difference that matters",
            Kind.NUMBER,
            unit="%",
            above=0,
            at_most=100,
            usual=(1, 50),
            help=(
                "The smallest difference worth acting on. Without it no two treatments can be"
                " called alike."
            ),
        ),
        Column(
            "Variances",
            Kind.CHOICE,
            choices=("separate", "pooled"),
            help=(
                "Whether treatments may differ in spread; pooled with blocks or with three trays or"
                " fewer of a treatment, else separate, if blank."
            ),
        ),
        Column(
            "Confidence level",
            Kind.LEVEL,
            at_least=0.5,
            at_most=0.999,
            help="The level of every interval; 95% if blank.",
        ),
        Column("Currency", Kind.CURRENCY, help="The currency of every price; USD if blank."),
        Column(
            "Electricity price",
            Kind.NUMBER,
            unit="1/kWh",
            money=True,
            at_least=0,
            help="The price of electricity in the trial's currency.",
        ),
        Column(
            "Water price",
            Kind.NUMBER,
            unit="1/L",
            money=True,
            at_least=0,
            help="The price of water in the trial's currency.",
        ),
        Column(
            "Produce price",
            Kind.NUMBER,
            unit="1/kg",
            money=True,
            above=0,
            help=(
                "What a kilogram of the crop sells for, in the trial's currency; with grades on"
                " Harvests, of what can be sold."
            ),
        ),
        Column(
            "Produce price per piece",
            Kind.NUMBER,
            money=True,
            above=0,
            help=(
                "What a plant sells for, where the crop is sold by the piece; or one of the pieces"
                " of Harvests."
            ),
        ),
        Column("Nutrient recipe", prose=True, help="What the nutrient solution was made of."),
        Column(
            "Disclosure",
            prose=True,
            help="Who supplied or paid for what; printed near the top of the report.",
        ),
        Column("Licence", help="The licence of text and data, for example CC-BY-4.0."),
        Column(
            "Comparison",
            help=(
                "A name that trials share which compare the same two treatments, so that they can"
                " be pooled."
            ),
        ),
        Column("Keywords", Kind.LIST, help="Words to find the trial by."),
        Column("Summary", Kind.MARKDOWN, prose=True, help="The trial in the grower's own words."),
        Column("Conclusion", Kind.MARKDOWN, prose=True, help="What the grower takes from it."),
        Column("Language", Kind.LANGUAGE, help="The language of the report; en if blank."),
    ),
)

TRIAL_HEADINGS: Final = ("Field", "Value", "What to write")
# a blank workbook has them below its fields: word, whether it is needed, text
TRIAL_NOTES: Final = (
    ("Dark header", True, "Fill it in, on every row."),
    ("Pale header", False, "Fill in what you know. What is left blank is given as not known."),
    (
        "Units",
        False,
        (
            "Each header names its unit in brackets. Write another in its place, such as oz or US"
            " gal, or behind a number."
        ),
    ),
    (
        "Codes",
        False,
        (
            "Add rows as you need: the lists to choose from grow with the sheets {treatments} and"
            " {trays}."
        ),
    ),
    (
        "Care",
        False,
        (
            "Mains power near water, bright or UV light, acids and feed concentrates can hurt"
            " people. Keep to local codes, and leave wiring to a licensed electrician."
        ),
    ),
    (
        "Check",
        False,
        "Run reportgen check on this file at any time: it names every cell that is not right yet.",
    ),
)

TREATMENTS: Final = Sheet(
    "Treatments",
    required=True,
    key=("Treatment",),
    help="What was compared: one treatment a row.",
    family="Factor",
    family_help=(
        "One of the things varied, and its level on every row: a word, or a number where the header"
        " names a unit, as in Factor: feed (g/L). A row is one combination of levels. A factor that"
        " is named light, nutrient strength or another word of What was varied counts as varied on"
        " purpose."
    ),
    columns=(
        Column(
            "Treatment", Kind.CODE, required=True, help="A short code, used on the other sheets."
        ),
        Column("Name", required=True, help="The name that readers see."),
        Column("Description", prose=True, help="What was done."),
        Column(
            "Photoperiod",
            Kind.NUMBER,
            unit="h",
            at_least=0,
            at_most=24,
            usual=(3, 24),  # common practice: short days have 8 h
            help="Hours of light a day.",
        ),
        Column(
            "Light height",
            Kind.NUMBER,
            unit="cm",
            at_least=0,
            at_most=1e5,
            help=(
                "The height in use, as the sheet Light counts heights; needed where light was read"
                " at several."
            ),
        ),
        Column(
            "Lights on at",
            Kind.CLOCK,
            help="When the photoperiod begins; needed with a sheet Tariff only.",
        ),
        Column(
            "Canopy area",
            Kind.NUMBER,
            unit="m2",
            above=0,
            at_most=1e4,
            help="The lit area of one tray.",
        ),
        Column(
            "Rated power",
            Kind.NUMBER,
            unit="W",
            at_least=0,
            at_most=1e6,
            help="Power on the nameplates, together.",
        ),
        Column(
            "Rated efficacy",
            Kind.NUMBER,
            unit="µmol/J",
            above=0,
            at_most=EFFICACY_LIMIT,
            usual=(0.5, 4.5),
            help="Photons a joule by the data sheet.",
        ),
        Column("Equipment", help="Lamps, mats, pumps: what the treatment was made with."),
        Column(
            "Independent units",
            Kind.COUNT,
            compared=Comparison.NONE,
            at_least=1,
            at_most=10_000,
            help=(
                "How many lamps, tanks, tents or mats the treatment had, each serving trays of its"
                " own; blank if not recorded."
            ),
        ),
    ),
)

TRAYS: Final = Sheet(
    "Trays",
    required=True,
    key=("Tray",),
    help="One experimental unit a row: a tray, or a pot where each plant is a unit.",
    columns=(
        Column("Tray", Kind.CODE, required=True, help="The tray's code, as written on it."),
        Column(
            "Treatment",
            Kind.CODE,
            required=True,
            refers="Treatments",
            help="The treatment it was given.",
        ),
        Column(
            "Block", Kind.CODE, help="The shelf, bench or run that holds a tray of each treatment."
        ),
        Column("Position", Kind.CODE, help="Its place."),
        Column(
            "Plants started",
            Kind.COUNT,
            guarded=True,
            at_least=0,
            at_most=100_000,
            help=(
                "Plants at the start, blank if not known; 0 for an evaporation control without"
                " plants."
            ),
        ),
        Column(
            "Harvested on",
            Kind.DATE,
            period=Period.TRIAL,
            help="Where it differs from the Trial sheet.",
        ),
        Column(
            "Main plot",
            Kind.CODE,
            help=(
                "The tent, bench or bed that was given one of two factors as a whole; blank where"
                " every tray was given both by itself."
            ),
        ),
        Column("Note", prose=True),
    ),
)

PLANTS: Final = Sheet(
    "Plants",
    guarded=True,
    key=("Tray", "Plant"),
    further=True,
    help=(
        "One plant a row, weighed, measured or counted at the end; any further numeric column is"
        " analysed too."
    ),
    columns=(
        Column(
            "Tray",
            Kind.CODE,
            required=True,
            refers="Trays",
            planned=True,
            help="The tray it stood in.",
        ),
        Column("Plant", Kind.CODE, required=True, planned=True, help="Its number in the tray."),
        Column(
            "Fresh weight",
            Kind.NUMBER,
            guarded=True,
            unit="g",
            at_least=0,
            at_most=HEAVIEST_PLANT,
            help=(
                "Weight at harvest, 0 where a plant that lives gave nothing; blank for a plant that"
                " was lost, and everywhere in a trial that weighs nothing fresh."
            ),
        ),
        Column(
            "Dry weight",
            Kind.NUMBER,
            unit="g",
            at_least=0,
            at_most=HEAVIEST_PLANT,
            trait=True,
            help="Weight after drying.",
        ),
        Column(
            "Root weight",
            Kind.NUMBER,
            unit="g",
            at_least=0,
            at_most=HEAVIEST_PLANT,
            trait=True,
            help="Fresh weight of the roots.",
        ),
        Column(
            "Height",
            Kind.NUMBER,
            unit="cm",
            at_least=0,
            at_most=TALLEST_PLANT,
            usual=(0, 500),
            trait=True,
            help="Height of the plant.",
        ),
        Column("Leaves", Kind.COUNT, at_least=0, at_most=1e6, trait=True, help="Number of leaves."),
        Column(
            "Status",
            Kind.CHOICE,
            choices=("harvested", "dead", "removed"),
            help="What became of it; harvested if blank.",
        ),
        Column(
            "Plants weighed",
            Kind.COUNT,
            compared=Comparison.NONE,
            at_least=0,
            at_most=100_000,
            planned=True,
            help="How many plants were weighed together, their weights in one sum; 1 if blank.",
        ),
        Column(
            "Start weight",
            Kind.NUMBER,
            unit="g",
            above=0,
            at_most=HEAVIEST_PLANT,
            planned=True,
            help=(
                "Weight when treatments began, which the report adjusts yields for; no outcome by"
                " itself."
            ),
        ),
        Column("Note", prose=True),
    ),
)

GROWTH: Final = Sheet(
    "Growth",
    compared_within=("Date",),
    key=("Tray", "Plant", "Date"),
    further=True,
    due_after=WEEK,
    help="Measurements of living plants, day by day; any numeric column is a measurement.",
    columns=(
        Column("Tray", Kind.CODE, required=True, refers="Trays", planned=True, help="The tray."),
        Column(
            "Plant",
            Kind.CODE,
            planned=True,
            help="Its number as on the sheet Plants; blank for the tray as a whole.",
        ),
        Column(
            "Date", Kind.DATE, required=True, period=Period.GROWTH, planned=True, help="The day."
        ),
        Column(
            "Height",
            Kind.NUMBER,
            unit="cm",
            at_least=0,
            at_most=TALLEST_PLANT,
            usual=(0, 500),
            trait=True,
            help="Height of the plant.",
        ),
    ),
)

HARVESTS: Final = Sheet(
    "Harvests",
    compared_within=("Grade",),
    due_after=WEEK,
    help=(
        "Crops that are picked more than once: one picking a row. What a tray gave is the sum of"
        " its rows; where they have weights, Fresh weight of the sheet Plants is not counted."
    ),
    columns=(
        Column(
            "Tray",
            Kind.CODE,
            required=True,
            refers="Trays",
            planned=True,
            help="The tray it was picked from.",
        ),
        Column(
            "Plant",
            Kind.CODE,
            planned=True,
            help="Its number as on the sheet Plants; blank for the tray as a whole.",
        ),
        Column("Date", Kind.DATE, required=True, period=Period.TRIAL, help="The day."),
        Column(
            "Weight",
            Kind.NUMBER,
            unit="g",
            at_least=0,
            at_most=HEAVIEST_PLANT,
            help="Fresh weight picked; 0 where a tray had nothing to pick.",
        ),
        Column(
            "Count",
            Kind.COUNT,
            at_least=0,
            at_most=1e6,
            help="Pieces picked: fruits, pods, stems, heads.",
        ),
        Column(
            "Grade",
            Kind.CODE,
            help=(
                "marketable, culls, or your own words. culls, or a word such as waste, cannot be"
                " sold; all other words, and a blank beside them, can."
            ),
        ),
        Column("Note", prose=True),
    ),
)

# Words for what cannot be sold, in the languages whose logs are read.
CULLS: Final = (
    "culls",
    "cull",
    "culled",
    "unmarketable",
    "not marketable",
    "non-marketable",
    "waste",
    "rejects",
    "rejected",
    "discarded",
    "destrío",
    "descarte",
    "no comercial",
    "desecho",
    "déchets",
    "rebut",
    "écart",
    "écarts de tri",
    "non commercialisable",
    "Ausschuss",
    "nicht marktfähig",
    "unverkäuflich",
    "scarto",
    "scarti",
    "non commerciabile",
    "refugo",
    "não comercial",
    "não comercializável",
    "afval",
    "uitval",
    "niet verkoopbaar",
)

SOLUTION: Final = Sheet(
    "Solution",
    compared_within=("Event",),
    help=(
        "Nutrient solution put into and taken out of trays. Water used = fill + top-up - sample -"
        " drain - remaining, or what a water meter counted as used."
    ),
    columns=(
        Column("Tray", Kind.CODE, required=True, refers="Trays", planned=True, help="The tray."),
        Column("Date", Kind.DATE, required=True, period=Period.TRIAL, help="The day."),
        Column(
            "Event",
            Kind.CHOICE,
            required=True,
            choices=("fill", "top-up", "sample", "drain", "remaining", "used"),
            planned=True,
            help=(
                "What was done; remaining is what was left at the end, used what a water meter"
                " counted."
            ),
        ),
        Column(
            "Volume",
            Kind.NUMBER,
            unit="L",
            required=True,
            at_least=0,
            at_most=1e6,
            help="How much.",
        ),
        Column(
            "EC",
            Kind.NUMBER,
            unit="mS/cm",
            at_least=0,
            at_most=EC_LIMIT,
            usual=EC_USUAL,
            help="Electrical conductivity.",
        ),
        Column(
            "pH",
            Kind.NUMBER,
            at_least=0,
            at_most=14,
            usual=PH_USUAL,
            help="Acidity of the solution.",
        ),
        Column(
            "Temperature",
            Kind.NUMBER,
            unit="°C",
            at_least=-5,
            at_most=100,
            usual=(5, 40),
            help="Temperature of the solution.",
        ),
        Column("Note", prose=True),
    ),
)

METER: Final = Sheet(
    "Meter",
    compared_within=("Meter",),
    key=("Meter", "Read at"),
    due_after=WEEK,
    help="Readings of cumulative electricity meters.",
    columns=(
        Column("Meter", Kind.CODE, required=True, planned=True, help="Which meter."),
        Column(
            "Treatment",
            Kind.CODE,
            required=True,
            refers="Treatments",
            also=(ALL,),
            planned=True,
            help="Whose electricity it counts; all where the treatments share it.",
        ),
        Column(
            "Read at", Kind.MOMENT, required=True, period=Period.TRIAL, help="When it was read."
        ),
        Column(
            "Reading",
            Kind.NUMBER,
            unit="kWh",
            required=True,
            at_least=0,
            compared=Comparison.COUNTER,
            help="What the counter showed.",
        ),
        Column(
            "Reset",
            Kind.FLAG,
            help="yes on the first reading after the counter was reset or changed.",
        ),
        Column("Note", prose=True, planned=True),
    ),
)

LOADS: Final = Sheet(
    "Loads",
    compared_within=("Device",),
    help=(
        "Devices where no meter was: their energy is calculated as power x hours x days, and the"
        " report says so."
    ),
    columns=(
        Column(
            "Treatment",
            Kind.CODE,
            required=True,
            refers="Treatments",
            planned=True,
            help="Whose device it is.",
        ),
        Column("Device", required=True, planned=True, help="Lamp, pump, mat."),
        Column(
            "Power",
            Kind.NUMBER,
            unit="W",
            required=True,
            at_least=0,
            at_most=1e6,
            help="Of all devices of the row.",
        ),
        Column(
            "Hours per day",
            Kind.NUMBER,
            unit="h",
            required=True,
            at_least=0,
            at_most=24,
            help="Hours on a day.",
        ),
        Column(
            "Days",
            Kind.NUMBER,
            above=0,
            at_most=10_000,
            help="Days in use; those of the trial if blank.",
        ),
    ),
)

LIGHT: Final = Sheet(
    "Light",
    compared_within=("Treatment", "Height"),
    help=(
        "Maps of the light at the canopy top: one reading a row, several points a treatment; at"
        " several heights where treatments are to be matched before the start."
    ),
    columns=(
        Column(
            "Treatment",
            Kind.CODE,
            required=True,
            refers="Treatments",
            planned=True,
            help="Where it was measured.",
        ),
        Column("Date", Kind.DATE, period=Period.PREPARATION, help="The day."),
        Column(
            "X",
            Kind.NUMBER,
            unit="cm",
            at_least=-1e5,
            at_most=1e5,
            compared=Comparison.PLACE,
            help="Place along the tray.",
        ),
        Column(
            "Y",
            Kind.NUMBER,
            unit="cm",
            at_least=-1e5,
            at_most=1e5,
            compared=Comparison.PLACE,
            help="Place across the tray.",
        ),
        Column(
            "Height",
            Kind.NUMBER,
            unit="cm",
            at_least=0,
            at_most=1e5,
            compared=Comparison.PLACE,
            help=(
                "Of the lamp above the sensor, or of the sensor above the tray: the same on all"
                " rows."
            ),
        ),
        Column(
            "PPFD",
            Kind.NUMBER,
            unit="µmol/m2/s",
            required=True,
            at_least=0,
            at_most=PPFD_LIMIT,
            usual=(0, 2_500),  # common practice: more than full sun is rare
            help="Photons of 400 to 700 nm. Lux is not taken: it depends on the lamp.",
        ),
        Column(
            "Tray",
            Kind.CODE,
            refers="Trays",
            planned=True,
            help=(
                "The tray whose place was measured, if it was one tray's; the report adjusts yields"
                " for its light."
            ),
        ),
    ),
)

CLIMATE: Final = Sheet(
    "Climate",
    compared_within=("Treatment",),
    help="Readings of the air and the root zone, often the export of a data logger.",
    columns=(
        Column(
            "Treatment",
            Kind.CODE,
            required=True,
            refers="Treatments",
            also=(ALL,),
            planned=True,
            help="Where it was measured; all where the treatments share the air.",
        ),
        Column(
            "Read at", Kind.MOMENT, required=True, period=Period.TRIAL, help="When it was measured."
        ),
        Column(
            "Air temperature",
            Kind.NUMBER,
            unit="°C",
            at_least=AIR_LIMITS[0],
            at_most=AIR_LIMITS[1],
            usual=AIR_USUAL,
            help="At the canopy.",
        ),
        Column(
            "Relative humidity",
            Kind.NUMBER,
            unit="%",
            at_least=0,
            at_most=100,
            usual=HUMIDITY_USUAL,
            help="At the canopy.",
        ),
        Column(
            "CO2",
            Kind.NUMBER,
            unit="ppm",
            at_least=0,
            at_most=1e6,
            usual=CO2_USUAL,
            help="At the canopy.",
        ),
        Column(
            "Solution temperature",
            Kind.NUMBER,
            unit="°C",
            at_least=-5,
            at_most=100,
            usual=(5, 40),
            help="Temperature of the solution.",
        ),
    ),
)

TARIFF: Final = Sheet(
    "Tariff",
    key=("From",),
    help=(
        "Prices of electricity by the time of day, where one price on the sheet Trial is not"
        " enough."
    ),
    columns=(
        Column("From", Kind.CLOCK, required=True, help="Where a price begins."),
        Column("To", Kind.CLOCK, required=True, help="Where it ends."),
        Column(
            "Price per kWh",
            Kind.NUMBER,
            required=True,
            at_least=0,
            money=True,
            help="In the trial's currency.",
        ),
    ),
)

COSTS: Final = Sheet(
    "Costs",
    help=(
        "What a treatment cost beside electricity and water. With a life it is equipment, and the"
        " trial bears cost x hours used / life; without one it bears it all."
    ),
    columns=(
        Column("Item", required=True, help="What was paid for."),
        Column(
            "Treatment",
            Kind.CODE,
            required=True,
            refers="Treatments",
            also=(ALL,),
            help="For which treatment; all where they share it.",
        ),
        Column(
            "Cost",
            Kind.NUMBER,
            compared=Comparison.NONE,
            required=True,
            at_least=0,
            at_most=1e9,
            money=True,
            help="In the trial's currency, for all trays of the treatment together.",
        ),
        Column(
            "Life",
            Kind.NUMBER,
            unit="h",
            above=0,
            at_most=1e7,
            compared=Comparison.NONE,
            help="Hours that the equipment lasts.",
        ),
        Column(
            "Hours used",
            Kind.NUMBER,
            unit="h",
            at_least=0,
            at_most=1e7,
            compared=Comparison.NONE,
            help="Hours of use in this trial.",
        ),
    ),
)

INSTRUMENTS: Final = Sheet(
    "Instruments",
    help=(
        "What was measured with what: from its resolution and accuracy comes its part of the"
        " uncertainty."
    ),
    columns=(
        Column("Instrument", required=True, help="Scale, jug, meter, sensor."),
        Column(
            "Measures",
            Kind.CHOICE,
            required=True,
            choices=tuple(MEASURED),
            help="What it measures.",
        ),
        Column("Model", help="Maker's name of the model."),
        Column(
            "Resolution",
            Kind.AMOUNT,
            above=0,
            at_most=1e6,
            help=(
                "The smallest step that it shows; without a unit, in g, L, kWh, µmol/m2/s, °C, %,"
                " mS/cm or pH."
            ),
        ),
        Column(
            "Accuracy",
            Kind.NUMBER,
            compared=Comparison.NONE,
            unit="%",
            at_least=0,
            at_most=100,
            help="Limits of error, plus or minus, by its data sheet.",
        ),
        Column("Calibrated on", Kind.DATE, help="The last calibration."),
        Column(
            "Per treatment", Kind.FLAG, help="yes if each treatment had an instrument of its own."
        ),
    ),
)

OBSERVATIONS: Final = Sheet(
    "Observations",
    help="What was seen, in words and photos.",
    columns=(
        Column("Date", Kind.DATE, required=True, period=Period.GROWTH, help="The day."),
        Column(
            "Treatment",
            Kind.CODE,
            refers="Treatments",
            help="Where it was seen, if not everywhere.",
        ),
        Column("Tray", Kind.CODE, refers="Trays", help="In which tray, if in one."),
        Column("Observation", prose=True, required=True, help="What was seen."),
        Column("Photo", help="The file name of a photo beside the workbook: .jpg, .png or .webp."),
        Column(
            "Photo description",
            prose=True,
            help="What the photo shows, for those who cannot see it.",
        ),
    ),
)

SHEETS: Final = (
    TRIAL,
    TREATMENTS,
    TRAYS,
    PLANTS,
    GROWTH,
    HARVESTS,
    SOLUTION,
    METER,
    LOADS,
    LIGHT,
    CLIMATE,
    TARIFF,
    COSTS,
    INSTRUMENTS,
    OBSERVATIONS,
)
