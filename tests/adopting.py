"""Spreadsheets in a layout of their owner's, taken in by answers to questions or by the text of a
settings file.
"""

from itertools import takewhile
from pathlib import Path

from openpyxl import Workbook

from reportgen import pipeline
from reportgen.importing import adopting, checking
from reportgen.importing.dialogue import first_screen
from reportgen.importing.json_document import slot_word
from reportgen.importing.memory import Memory
from reportgen.importing.model.questions import Slot
from reportgen.importing.session import understand
from reportgen.importing.settings import settings_file
from reportgen.metrics import compute
from reportgen.model.problem import WorkbookError
from reportgen.model.results import MeasureResult
from reportgen.model.trial import Trial

ANSWERS = {
    "trial.title": "Log",
    "trial.crop": "basil",
    "trial.started_on": "2026-01-05",
    "trial.harvested_on": "2026-02-16",
    "unit": "g",
    "measure": "Fresh weight",
    "per": "plant",
    "word": "not measured",
    "confirm": "yes",
}
UNITS = {
    "Volume": "L",
    "Reading": "kWh",
    "Height": "cm",
    "Temperature": "°C",
    "Air temperature": "°C",
    "Relative humidity": "%",
}
DATA = Path(__file__).parent / "data"
SKIPPED = "skip"
TRIAL = """
[trial]
Title = "Bench heating of basil"
Crop = "basil"
"Started on" = 2026-01-05
"Harvested on" = 2026-02-16
"Reference treatment" = "plain"
"""
POTS = 'independent = "plant"\n' + TRIAL
PLANTS = """
[[table]]
sheets = ["Log"]
header_rows = [1]
gives = "Plants"
treatment = "column:Warm?"
unit = "column:Shelf"
plant = "column:No"
values = { "Fresh weight" = { columns = ["wt"], unit = "g" } }
words = { treatment = { Y = "warm", N = "plain" } }
"""
HEAD = ("Shelf", "No", "Warm?", "wt")


def rows(*weights: object) -> list[tuple[object, ...]]:
    """Return a header and three plants a shelf, two shelves a treatment; `weights` in their order."""
    held = list(weights) + [20.5 + n * 0.7 for n in range(len(weights), 12)]
    shelves = [("A", "Y"), ("B", "Y"), ("C", "N"), ("D", "N")]
    return [
        HEAD,
        *(
            (shelf, n % 3 + 1, warm, held[n])
            for n, (shelf, warm) in enumerate(s for s in shelves for _ in "abc")
        ),
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


def settled(path: Path, toml: str, **others: Path) -> Path:
    """Write a settings file beside a spreadsheet, its first lines added; `others` are read with it."""
    names = [other.name for other in others.values()]
    first = f"adopt = 2\nfiles = {names}\n" if names else "adopt = 2\n"
    settings_file(path).write_text(
        toml if toml.startswith("adopt = 2") else first + toml, encoding="utf-8"
    )
    return path


def taken_in(path: Path, toml: str, **others: Path) -> checking.Adopted:
    """Return what a settings file makes of a spreadsheet; fields stand below the tables or above
    them.
    """
    return checking.read_adopted(settled(path, toml, **others))


def trial(path: Path, toml: str) -> Trial:
    """Return the trial of a spreadsheet."""
    return checking.check(taken_in(path, toml))


def said(path: Path, toml: str) -> list[str]:
    """Return everything that is said of a spreadsheet, with its severity."""
    try:
        return [f"{one.severity} {one}" for one in checking.problems_in(taken_in(path, toml))]
    except WorkbookError as error:
        return [f"{one.severity} {one}" for one in error.problems]


def fresh_weight(trial: Trial) -> MeasureResult:
    """Return the figures of fresh weight."""
    return measured(trial, "fresh_weight")


def measured(trial: Trial, key: str) -> MeasureResult:
    """Return the figures of a measure."""
    return next(one for one in compute(trial).measures if one.measure.key == key)


def means(log: Path, key: str = "fresh_weight") -> dict[str, tuple[int, float]]:
    """Return the number of units and the mean by treatment of a log that was taken in."""
    found = measured(pipeline.checked(log), key)
    return {code: (one.n, one.value) for code, one in found.estimates}


def asked(*paths: Path, **own: str):
    """Return the open questions of a log, after `own` answers; the field questions of the trial are
    left out.
    """
    return [
        one
        for one in understood(paths, own).questions
        if not one.key.startswith(("trial.", "confirm"))
    ]


def understood(paths, answers):
    """Return what is understood of a log with answers by the names that `answering` takes, others
    left open.
    """
    return _answered(paths, None, lambda _: None, lambda question: own_answer(question, answers))


def answering(*, stop="", truth=None, **own):
    """Return a talk that answers each question, and quits at the question or the kind of question
    `stop`.

    `own` are answers by the key of a question, by the end of its key such as `treatment`, a column
    or a quantity, or by what it asks for, such as `unit`; dots in keys need `**{"trial.crop":
    "chard"}`. Without any of these a usual answer or the default is given; a question that has
    neither fails the test. The beginning of a choice stands for the choice. `truth` are units and
    mean by treatment, as `means` gives them: where choices show figures, the first that shows these
    is taken.
    """

    def talk(paths, earlier, keep):
        def answer(question):
            return (
                own_answer(question, own) or true_answer(question, truth) or usual_answer(question)
            )

        return _answered(paths, earlier, keep, answer, stop)

    return talk


def _answered(paths, earlier, keep, answer, stop=""):
    """Return what is understood after each question was answered in turn, up to one that `stop`
    names.

    Questions for which `answer` gives nothing stay open.
    """
    memory = Memory(tuple(paths))
    told: dict[str, str] = {}
    state = understand(paths, earlier, {}, memory)
    keep(state)
    while True:
        waiting = [question for question in state.questions if told.get(question.key) != SKIPPED]
        if stop:
            waiting = list(takewhile(lambda question: stop not in names_of(question), waiting))
        question, text = next(((one, text) for one in waiting if (text := answer(one))), (None, ""))
        if question is None:
            return state
        text = _as_choice(question, text)
        assert told.get(question.key) != text, (
            f"{question.key} is asked again after {text}: {question.ask}"
        )
        told[question.key] = text
        skipped = {key: SKIPPED for key, kept in told.items() if kept == SKIPPED}
        state = understand(paths, state.settings, {**skipped, question.key: text}, memory)
        refused = [str(one) for one in state.problems if one.code == "answer_does_not_fit"]
        assert not refused, refused
        keep(state)


def _as_choice(question, text):
    """Return the choice that begins with a text, or with what it says of one slot alone, or ends
    with it.
    """
    choices = [choice.answer for choice in question.choices]
    if text in choices:
        return text
    for wanted in (text, text.partition(";")[0].rpartition(": ")[2]):
        for choice in choices:
            if choice.casefold().startswith(wanted.casefold()):
                return choice
    return next((choice for choice in choices if choice.endswith(f" {text}")), text)


def names_of(question):
    """Return the names under which a question may be answered: its key, the ends of it, and what it
    asks for.

    `unit` alone is a unit of measure; the unit of the trial is its `tray`.
    """
    parts = question.key.split(".")
    ends = [".".join(parts[at:]) for at in range(len(parts))]
    if question.slot is Slot.DIMENSION:
        ends = [end for end in ends if end != "unit"]
    return [*ends, slot_word(question), question.slot.value]


def own_answer(question, own):
    """Return the owner's own answer to a question, by the longest name that fits."""
    return next((own[name] for name in names_of(question) if name in own), "")


def true_answer(question, truth):
    """Return the first choice that shows the true units and means of a quantity, else nothing."""
    for choice in question.choices if truth else ():
        for summary in choice.leads_to or (choice.gives or {},):
            for by_treatment in summary.values():
                if {name: (each.units, each.mean) for name, each in by_treatment.items()} == truth:
                    return choice.answer
    return ""


def usual_answer(question):
    """Return a usual answer, else the default; the reference is the last treatment where nothing
    says.
    """
    column = question.key.rpartition(".")[2]
    units = UNITS if slot_word(question) == "unit" else {}
    told = next((ANSWERS[name] for name in names_of(question) if name in ANSWERS), "")
    if question.key == "trial.reference":
        told = question.choices[0].answer
    preferred = question.default if question.key.startswith("trial.title") else ""
    answer = units.get(column) or preferred or told or question.default
    assert answer, (
        f"no answer of this test fits {question.key}: {question.ask}"
        f" {[c.answer for c in question.choices]}"
    )
    return answer


def adopt(*sources, talk=None):
    """Return what came of taking in some files, and what was said."""
    taken = adopting.take_in(sources, talk=talk)
    state = taken.state
    lines = [*first_screen(state), *map(str, state.problems)]
    return taken, "\n".join(lines)
