"""A truthful owner: answers each question about a log by what its figures would become, or by what
stands in its cells.

The owner reads no prose. A choice is taken for what it `gives`; else by the question's `slot` and
the cells in its `where`. Words of answers are matched by `MEANINGS`, the one table to adapt where
answers are worded otherwise.
"""

import json
import time
import traceback
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from math import isclose
from pathlib import Path
from typing import TYPE_CHECKING, Final

from click.testing import CliRunner

from .comparing import EQUAL, NAMES, OTHER, SAME, by_true_name, differences, fit, missed, name_key
from .facts import cells_at, most
from .making import Made
from .trial import DAYS, GROWTH, PICKINGS, RUNNING, SAMPLES

if TYPE_CHECKING:
    from reportgen.model.results import MeasureResult

ROUNDS: Final = 25
OF_THE_TRIAL: Final = ("value", "treatment", "unit", "key")  # what cells hold that are part of it
TRIES: Final = 3  # answers to one question
RIGHT, STOPPED, STUCK, WRONG, CRASH, PART = "right", "stopped", "stuck", "wrong", "crash", "part"
RESOURCES: Final = ("water", "energy")
NONE_OF_THESE: Final = "none of these"
USUAL: Final = {"title", "crop", "started on", "harvested on", "reference treatment", "reference"}

# What an answer may be worded as, by what it means. The first words are given where any text is
# taken.
MEANINGS: Final = {
    "yes": ("yes", "it is", "part of the trial", "belongs"),
    "no": (
        "no part of the trial",
        "this table is no part of the trial",
        "no",
        "nothing",
        "not part",
    ),
    "lost": ("lost", "dead", "the plant was lost", "plant lost"),
    "missing": ("missing", "not measured", "it was not measured", "not weighed"),
    "zero": ("zero", "0", "nothing was picked", "nothing picked"),
    "absent": ("absent", "no plant", "there is none", "nothing", "missing", "not measured", "lost"),
    "add up": ("add up", "pickings", "sum", "picked several times"),
    "last": ("last", "the last", "only the last"),
    "growth": ("growth", "last", "measured again", "the same plants"),
    "each its own plants": ("each its own plants", "samples", "each", "other plants"),
    "samples": ("last", "samples", "only the last"),
    "total": ("total", "sum", "a total", "left out", "no"),
    "mean": ("mean", "average", "a mean", "left out", "no"),
    "void": ("left out", "leave out", "no", "void", "taken back"),
    "data": ("data", "counts", "it counts", "plant", "yes", "keep"),
    "fresh_weight": ("fresh weight", "fresh_weight", "fresh"),
    "dry_weight": ("dry weight", "dry_weight", "dry"),
    "leaf_area": ("leaf area", "leaf_area"),
    "height": ("height",),
    "count": ("number of plants", "plants", "count"),
    "gross": ("gross", "gross weight", "with its pot", "fresh weight"),
    "tare": ("tare", "weight of the pot"),
    "area": ("area", "canopy area"),
    "area_yield": ("yield per area", "yield", "fresh weight"),
    "water": ("volume", "water"),
    "energy": ("reading", "meter reading", "energy"),
    "fill": ("fill", "filled"),
    "top-up": ("top-up", "top up"),
    "remaining": ("remaining", "left"),
    "junk": ("nothing", "no part of the trial", "none", "something else", "left out"),
    "plant": ("plant", "a plant", "each plant"),
    "unit": ("unit", "tray", "pot", "plot", "whole tray", "each tray"),
    "treatment": ("treatment", "treatments"),
    "block": ("block", "blocks"),
    "occasion": ("occasion", "date", "day"),
    "factor": ("factor", "second factor"),
    "day first": ("day first", "d/m/y", "dmy", "day"),
    "month first": ("month first", "m/d/y", "mdy", "month"),
    "g": ("g", "gram", "grams"),
    "kg": ("kg",),
    "mg": ("mg",),
    "oz": ("oz", "ounces"),
    "lb": ("lb", "pounds"),
    "L": ("L", "litre", "litres"),
    "kWh": ("kWh",),
    "cm": ("cm",),
    "cm2": ("cm2", "cm²"),
    "m2": ("m2", "m²"),
    "kg/m2": ("kg/m2", "kg/m²"),
}


@dataclass(frozen=True)
class Answered:
    """What one run of the program gave: its exit code and its document, or how it crashed."""

    code: int
    document: Mapping[str, object]
    crash: str = ""


@dataclass(frozen=True)
class Given:
    """An answer that was given to a question, and why."""

    question: Mapping[str, object]
    answer: str
    why: str


@dataclass(frozen=True)
class Outcome:
    """What came of a log: `kind` and why, the answers given, the last document, seconds."""

    kind: str
    why: str
    given: tuple[Given, ...] = ()
    document: Mapping[str, object] = field(default_factory=dict)
    seconds: float = 0.0

    @property
    def questions(self) -> int:
        """Return how many questions were answered beyond those that every trial has."""
        keys = {str(one.question["key"]) for one in self.given if not is_usual(one.question)}
        return len(keys)


Run = Callable[[Mapping[str, str]], Answered]


def is_usual(question: Mapping[str, object]) -> bool:
    """Return whether a question is of the title, the crop, the dates or the reference."""
    return field_of(question) in USUAL


def field_of(question: Mapping[str, object]) -> str:
    """Return the field of the trial that a question is about, as far as its key tells."""
    return str(question["key"]).rpartition(".")[2].replace("_", " ").casefold()


# ---- running the program -------------------------------------------------------------------------


def by_command(paths: list[Path]) -> Run:
    """Return the program as a function of answers: `adopt --json --answers` in this process."""
    from reportgen.cli import main

    answers_file = paths[0].parent / "answers.json"

    def run(answers: Mapping[str, str]) -> Answered:
        answers_file.write_text(json.dumps(answers), encoding="utf-8")
        told = ["adopt", *map(str, paths), "--json", "--answers", str(answers_file)]
        result = CliRunner().invoke(main, told)
        if result.exception and not isinstance(result.exception, SystemExit):
            return Answered(2, {}, "".join(traceback.format_exception(result.exception)))
        try:
            return Answered(result.exit_code, json.loads(result.stdout))
        except json.JSONDecodeError:
            return Answered(result.exit_code, {}, f"no JSON: {result.output[-2000:]}")

    return run


def in_one_session(paths: list[Path]) -> Run:
    """Return the program as a function of answers, as `by_command` does, but what was computed is
    kept between them.
    """
    from reportgen.importing import adopting, json_document
    from reportgen.importing.memory import Memory
    from reportgen.importing.session import understand
    from reportgen.model.problem import WorkbookError

    memories: dict[tuple[Path, ...], Memory] = {}

    def run(answers: Mapping[str, str]) -> Answered:
        def talk(files, earlier, keep):
            memory = memories.setdefault(tuple(files), Memory(tuple(files)))
            state = understand(files, earlier, answers, memory)
            keep(state)
            return state

        try:
            taken = adopting.take_in(paths, talk=talk)
        except WorkbookError as error:
            return Answered(1, json_document.refused(error.problems))
        except Exception as error:  # whatever it is, the owner sees it as a crash
            return Answered(2, {}, "".join(traceback.format_exception(error)))
        document = json_document.document(taken.state, taken.settings.name)
        return Answered(int(json_document.is_open(taken.state)), document)

    return run


def taken_in(made: Made, paths: list[Path], run: Run | None = None) -> Outcome:
    """Return what comes of a log when its owner answers whatever is asked."""
    began = time.perf_counter()
    kind, why, given, document = _conversation(made, run or in_one_session(paths), paths[0])
    return Outcome(kind, why, tuple(given), document, time.perf_counter() - began)


def _conversation(
    made: Made, run: Run, log: Path
) -> tuple[str, str, list[Given], Mapping[str, object]]:
    answers: dict[str, str] = {}
    given: list[Given] = []
    tried: dict[str, list[str]] = {}
    document: Mapping[str, object] = {}
    for _ in range(ROUNDS):
        said = run(answers)
        document = said.document or document
        if said.crash:
            return CRASH, said.crash, given, document
        if said.code == 0:
            return *_judged(made, said.document, log), given, document
        new = _next_answers(made, said.document, tried)
        if not new:
            return *_given_up(said.document), given, document
        for one in new:
            key = str(one.question["key"])
            answers[key] = one.answer
            tried.setdefault(key, []).append(one.answer)
        given += new
    return STUCK, f"not done after {ROUNDS} rounds", given, document


def _given_up(document: Mapping[str, object]) -> tuple[str, str]:
    open_keys = [str(one["key"]) for one in document.get("questions") or []]
    problems = [one for one in document.get("problems") or [] if _names_cells(one)]
    if open_keys:
        return STUCK, f"no true answer to {', '.join(open_keys[:3])}"
    if problems:
        return STOPPED, str(problems[0])
    return STUCK, f"no question and no cell named: {str(document.get('problems'))[:300]}"


def _names_cells(problem: object) -> bool:
    if not isinstance(problem, Mapping):
        return False
    return bool(problem.get("cell") or problem.get("cells") or problem.get("where"))


def _judged(made: Made, document: Mapping[str, object], log: Path) -> tuple[str, str]:
    """Return whether the figures of a log with nothing open are true, in the document and in the
    trial.
    """
    read = document.get("read") or {}
    if wrong := differences(read, made.truth, made.trial):
        return WRONG, f"read differs: {', '.join(wrong)}"
    if not any(quantity not in missed(read, made.truth) for quantity in made.truth):
        return WRONG, "nothing of the truth was read"
    kind, why = judged_trial(made, log)
    if kind != RIGHT:
        return kind, why
    left = missed(read, made.truth)
    return (PART, f"not read: {', '.join(left)}") if left else (RIGHT, "")


def judged_trial(made: Made, log: Path) -> tuple[str, str]:
    """Return whether the trial that a log was taken in as has the true figures."""
    from reportgen import pipeline
    from reportgen.metrics import compute
    from reportgen.model.problem import Severity, WorkbookError

    try:
        results = compute(pipeline.checked(log))
    except WorkbookError as error:
        errors = [one for one in error.problems if one.severity is Severity.ERROR]
        cells = [one for one in errors if one.cell]
        return (STOPPED if cells else STUCK), f"check: {(cells or errors or error.problems)[0]}"
    except Exception as error:  # whatever it is, the owner sees it as a crash
        return CRASH, "".join(traceback.format_exception(error))
    measures = {one.measure.key: one for one in results.measures}
    wrong = [_amiss(made, quantity, measures) for quantity in made.truth]
    first = next(filter(None, wrong), "")
    return (WRONG, f"trial: {first}") if first else (RIGHT, "")


def _amiss(made: Made, quantity: str, measures: Mapping[str, "MeasureResult"]) -> str:
    """Return what of a quantity is not true in a report's measures; blank where all is."""
    figures = made.truth[quantity]
    names = [key for key in NAMES[quantity].measures if key in measures]
    if not names:
        return "" if quantity in RESOURCES else f"no {quantity}"
    estimates = {
        code: {"mean": one.value, "units": one.n} for code, one in measures[names[0]].estimates
    }
    named = by_true_name(estimates, made.trial, list(figures))
    if named is None:
        return f"treatments {', '.join(estimates)}"
    for name, true in figures.items():
        if not (
            _same_mean(named[name], true, quantity, made)
            or _is_by_plant(named[name], true, names[0])
        ):
            return f"{quantity} of {name} is {named[name]}, true is {true}"
    return ""


def _is_by_plant(found: Mapping[str, object], true, measure: str) -> bool:
    """Return whether a measure of plants has the true mean of a plant, where trays were weighed
    with their plants.
    """
    if measure.startswith("tray_") or true.by_plant is None or found["mean"] is None:
        return False
    return isclose(found["mean"], true.by_plant[1], rel_tol=SAME) and true.units in (
        None,
        found["units"],
    )


def _same_mean(found: Mapping[str, object], true, quantity: str, made: Made) -> bool:
    mean, units = true.mean, true.units
    if quantity == "energy":
        weights = next(made.truth[one] for one in made.truth if one not in RESOURCES)
        name = next(name for name, one in made.truth["energy"].items() if one is true)
        mean, units = true.total / weights[name].units, None
    value = found["mean"]
    same_units = units is None or found["units"] == units
    return value is not None and isclose(value, mean, rel_tol=SAME) and same_units


# ---- answering -----------------------------------------------------------------------------------


def _next_answers(
    made: Made, document: Mapping[str, object], tried: Mapping[str, list[str]]
) -> list[Given]:
    """Return answers to all questions of the trial's fields, and to the first other one that the
    owner can answer.
    """
    found: list[Given] = []
    other = False
    for question in document.get("questions") or []:
        usual = is_usual(question)
        if (other and not usual) or question.get("answer") is not None:
            continue
        before = tried.get(str(question["key"]), [])
        answer = next(
            (one for one in candidates(made, question, document) if one[0] not in before), None
        )
        if answer is None or len(before) >= TRIES:
            continue
        other = other or not usual
        found.append(Given(question, *answer))
    return found


def candidates(
    made: Made, question: Mapping[str, object], document: Mapping[str, object]
) -> Iterator[tuple[str, str]]:
    """Yield true answers to a question with the reason of each, the surest first."""
    choices = list(question.get("choices") or [])
    offered = [str(one["answer"]) for one in choices]
    slot = slot_of(question)
    fits = {
        str(one["answer"]): _best_fit(made, one)
        for one in choices
        if one.get("gives") or one.get("may_give")
    }
    told = list(_by_slot(made, question, slot, document))
    worded = [answer for meaning in told for answer in _choices_of(meaning, offered)]
    best = max(fits.values(), default=OTHER)
    if best == EQUAL:
        equal = [answer for answer, one in fits.items() if one == EQUAL]
        yield from (
            (answer, "gives") for answer in sorted(equal, key=lambda answer: answer not in worded)
        )
    yield from ((answer, f"slot {slot}") for answer in worded)
    if field_of(question).startswith("off"):
        yield from ((answer, "may be off") for answer in reversed(offered[1:-1]))
    if field_of(question) == "table":
        yield from ((answer, "may be off") for answer in offered)
    if best not in (EQUAL, OTHER) and slot != "confirm":
        yield from (
            (answer, "gives, but for the unit") for answer, one in fits.items() if one == best
        )
    free = question.get("free") or not offered
    if free:
        yield from ((_first(meaning), f"slot {slot}, in words") for meaning in told)
    yield from ((answer, "no choice is true") for answer in offered if _is_none(answer))


def _best_fit(made: Made, choice: Mapping[str, object]):
    """Return how well the figures of a choice fit the truth: the best of those that a further
    question decides.
    """
    figures = choice.get("may_give") or [choice["gives"]]
    return max(fit(one, made.truth, made.trial) for one in figures)


def _is_none(answer: str) -> bool:
    return answer.casefold().startswith(NONE_OF_THESE)


def slot_of(question: Mapping[str, object]) -> str:
    """Return the kind of slot that a question fills: as it says, else as its key ends."""
    return str(question.get("slot") or field_of(question)).casefold()


def _first(meaning: str) -> str:
    return MEANINGS.get(meaning, (meaning,))[0]


def _choices_of(meaning: str, offered: list[str]) -> Iterator[str]:
    """Yield the choices that say what is meant: in the same words, else beginning with them."""
    words = [word.casefold() for word in MEANINGS.get(meaning, (meaning,))]
    for word in words:
        yield from (one for one in offered if one.casefold() == word)
    for word in words:
        yield from (one for one in offered if one.casefold().startswith(f"{word} "))
    yield from (one for one in offered if name_key(one) == name_key(meaning))


def _by_slot(
    made: Made, question: Mapping[str, object], slot: str, document: Mapping[str, object]
) -> Iterator[str]:
    """Yield what is true of the slot of a question, as a meaning or as a text."""
    cells = cells_at(made.log, question.get("where"))
    answering = SLOTS.get(slot)
    if answering is not None:
        yield from answering(made, question, cells, document)
    else:
        yield from _field(made, question, cells, document)


def _field(made, question, cells, document) -> Iterator[str]:
    """Yield the title, crop, dates or reference of the trial, or whatever field a key names."""
    trial = made.trial
    known = {
        "title": trial.title,
        "crop": trial.crop,
        "started on": trial.started.isoformat(),
        "harvested on": trial.harvested.isoformat(),
        "year": str(trial.started.year),
        "experimental unit": trial.unit_word,
    }
    name = field_of(question)
    if name in known:
        yield known[name]
    elif name.startswith("reference"):
        yield from _reference(made, document)
    elif name in SLOTS:
        yield from SLOTS[name](made, question, cells, document)


def _reference(made, document) -> Iterator[str]:
    """Yield the reference treatment as the program names it, else as the log does."""
    trial, reference = made.trial, made.reference
    for figures in (document.get("read") or {}).values():
        named = by_true_name(
            {name: name for name in figures}, trial, list(next(iter(made.truth.values())))
        )
        if named:
            yield str(named[reference])
    yield reference
    yield trial.spelled.get(trial.reference, trial.reference)


def _unit(made, question, cells, document) -> Iterator[str]:
    """Yield the unit of measure of the cells asked about, else that of the weights."""
    yield (
        most([cell for cell in cells if cell.what in ("value", "header")], "unit")
        or made.trial.mass
    )


def _measure(made, question, cells, document) -> Iterator[str]:
    """Yield what was measured in the cells asked about, else the measure of the trial."""
    whats = [cell for cell in cells if cell.what in ("value", "header") and cell.of in MEANINGS]
    found = most([cell for cell in whats if cell.unit or cell.of == "count"], "of")
    if not found and any(cell.what == "junk" for cell in cells):
        yield "junk"
    yield found or made.trial.measures[0]


def _per(made, question, cells, document) -> Iterator[str]:
    """Yield whether a weight is of a plant or of the whole unit."""
    yield "plant" if made.trial.plants in ("each", "one") else "unit"


def _dimension(dimension: str):
    def answering(made, question, cells, document) -> Iterator[str]:
        said = made.log.said.get(dimension, ())
        told = [cell for cell in cells if cell.what and cell.value is not None]
        if told and not any(cell.what in OF_THE_TRIAL for cell in told):
            yield "no"
        yield from said
        if not said and str(question["key"]).endswith(".other"):
            yield "none"
        yield dimension

    return answering


def _independent(made, question, cells, document) -> Iterator[str]:
    """Yield what was treated independently: the unit."""
    yield from made.log.said.get("unit", ())
    yield made.trial.unit_word
    yield "unit"


def _occasions(made, question, cells, document) -> Iterator[str]:
    """Yield how the days of weighing belong together."""
    yield {
        PICKINGS: "add up",
        GROWTH: "growth",
        SAMPLES: "samples",
        RUNNING: "last",
        DAYS: "each its own plants",
    }.get(made.trial.kind, "last")


def _word(made, question, cells, document) -> Iterator[str]:
    """Yield what a word, sign or blank among the weights stands for."""
    stands = most(cells, "stands")
    if not stands:
        said = str(question.get("word") or "").casefold()
        every = [
            cell
            for sheet in made.log.files
            for one in sheet.sheets
            for row in one.rows
            for cell in row.cells
        ]
        same = [cell for cell in every if cell.stands and str(cell.value or "").casefold() == said]
        stands = most(same, "stands")
    if stands:
        yield stands


def _belongs(made, question, cells, document) -> Iterator[str]:
    """Yield whether some cells are part of the trial."""
    told = [cell for cell in cells if cell.what and cell.value is not None]
    if told:
        yield "yes" if any(cell.what in OF_THE_TRIAL for cell in told) else "no"


def _row(made, question, cells, document) -> Iterator[str]:
    """Yield what a row is: a total, a mean, taken back, of another matter, or data."""
    found = most([cell for cell in cells if cell.value is not None], "what")
    yield found if found in ("total", "mean", "void", "junk") else "data"


def _confirm(made, question, cells, document) -> Iterator[str]:
    """Yield whether the figures that were read are those of the trial."""
    read = document.get("read") or {}
    true = not differences(read, made.truth, made.trial) and any(
        q not in missed(read, made.truth) for q in made.truth
    )
    yield "yes" if true else "no"


def _carrier(made, question, cells, document) -> Iterator[str]:
    """Yield what some labels are."""
    found = most([cell for cell in cells if cell.what in MEANINGS], "what")
    if found:
        yield found


def _event(made, question, cells, document) -> Iterator[str]:
    found = most([cell for cell in cells if cell.of in ("fill", "top-up", "remaining")], "of")
    if found:
        yield found


def _order(made, question, cells, document) -> Iterator[str]:
    """Yield the order in which days are written as text."""
    yield "month first" if made.style.dates == "us" else "day first"


SLOTS: Final = {
    "field": _field,
    "unit": _unit,
    "measure": _measure,
    "mass": _measure,
    "per": _per,
    "treatment": _dimension("treatment"),
    "factor": _dimension("factor"),
    "block": _dimension("block"),
    "tray": _dimension("unit"),
    "plant": _dimension("plant"),
    "occasion": _dimension("occasion"),
    "independent": _independent,
    "occasions": _occasions,
    "word": _word,
    "blank": _word,
    "belongs": _belongs,
    "row": _row,
    "confirm": _confirm,
    "carrier": _carrier,
    "event": _event,
    "order": _order,
    "date order": _order,
}
