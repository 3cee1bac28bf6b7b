"""Spreadsheets in a layout of their owner's, taken in by the text of a settings file."""

from collections import Counter
from pathlib import Path

from openpyxl import Workbook

from reportgen import pipeline
from reportgen.adopt.apply import Adopted, adopted
from reportgen.adopt.checking import check, problems_in, read_any
from reportgen.adopt.dialogue import converse
from reportgen.adopt.questions import unanswered
from reportgen.adopt.toml_file import parsed
from reportgen.metrics import compute
from reportgen.model.problem import WorkbookError
from reportgen.model.results import MeasureResult
from reportgen.model.trial import Trial

ANSWERS = {
    "crop": "basil",
    "unit": "g",
    "mass": "Fresh weight",
    "per": "plant",
    "independent": "Shelf",
    "word": "it was not measured",
}
DAYS = {"Started on": "2026-01-05", "Harvested on": "2026-02-16"}
UNITS = {"Volume": "L", "Reading": "kWh", "Height": "cm", "Temperature": "°C", "Air temperature": "°C"}
DATA = Path(__file__).parent / "data"
TRIAL = """
[trial]
Title = "Bench heating of basil"
Crop = "basil"
"Started on" = 2026-01-05
"Harvested on" = 2026-02-16
"Reference treatment" = "plain"
"""
POTS = TRIAL + '"Experimental unit" = "plant"\n'
PLANTS = """
[[table]]
sheet = "Log"
gives = "Plants"
columns = { Tray = "Shelf", Plant = "No", Treatment = "Warm?", "Fresh weight" = { from = "wt", unit = "g" } }
treatment = { Y = "warm", N = "plain" }
"""
HEAD = ("Shelf", "No", "Warm?", "wt")


def rows(*weights: object) -> list[tuple[object, ...]]:
    """Return a header and three plants a shelf, two shelves a treatment; `weights` in their order."""
    held = list(weights) + [20.5 + n * 0.7 for n in range(len(weights), 12)]
    shelves = [("A", "Y"), ("B", "Y"), ("C", "N"), ("D", "N")]
    return [
        HEAD,
        *((shelf, n % 3 + 1, warm, held[n]) for n, (shelf, warm) in enumerate(s for s in shelves for _ in "abc")),
    ]


def book(tmp_path: Path, name: str = "log.xlsx", **sheets: list[tuple[object, ...]]) -> Path:
    """Write rows to a workbook, a sheet each."""
    made = Workbook()
    made.remove(made.active)
    for title, held in sheets.items():
        sheet = made.create_sheet(title)
        for row in held:
            sheet.append(row)
    made.save(tmp_path / name)
    return tmp_path / name


def taken_in(path: Path, toml: str, **others: Path) -> Adopted:
    """Return what a settings file makes of a spreadsheet; `others` are named by their stems."""
    files = {"": read_any(path), **{other.name: read_any(other) for other in others.values()}}
    return adopted(files, parsed(toml, f"{path.stem}.adopt.toml"), path.name)


def trial(path: Path, toml: str) -> Trial:
    """Return the trial of a spreadsheet."""
    return check(taken_in(path, toml))


def said(path: Path, toml: str) -> list[str]:
    """Return everything that is said of a spreadsheet, with its severity."""
    try:
        return [f"{one.severity} {one}" for one in problems_in(taken_in(path, toml))]
    except WorkbookError as error:
        return [f"{one.severity} {one}" for one in error.problems]


def fresh_weight(trial: Trial) -> MeasureResult:
    """Return the figures of fresh weight."""
    return next(one for one in compute(trial).measures if one.measure.key == "fresh_weight")


def answering(*, stop="", **own):
    """Return a conversation that answers each question by its kind, or its column, and quits at the kind `stop`."""

    def talk(understanding, keep):
        asked = []

        def note(found):
            asked.append((unanswered(found) or [None])[0])

        def kept(found):
            keep(found)
            note(found)

        def answer(*_):
            tries[asked[-1].key] += 1
            assert tries[asked[-1].key] < 9, f"no answer of this test fits {asked[-1].text}"
            return _answer(asked[-1], stop, own)

        tries = Counter()
        note(understanding)
        return converse(understanding, answer, lambda _: None, kept)

    return talk


def _answer(question, stop, own):
    """Return an answer of the owner's own, else a usual one, else the default."""
    if question.kind == stop:
        return "quit"
    told = {**DAYS, **(UNITS if question.kind == "unit" else {}), **ANSWERS, **own}
    return told.get(question.column) or told.get(question.kind) or question.default or question.choices[0]


def adopt(*sources, talk=None):
    """Return what came of taking in some files, and what was said."""
    shown: list[str] = []
    return pipeline.adopt(sources, shown.append, talk), "\n".join(shown)
