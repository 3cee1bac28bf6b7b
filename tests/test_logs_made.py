"""What is drawn is what is written, and its truth is what a report of an equal workbook says."""

import ast
import csv
from math import isclose
from pathlib import Path

import pytest
from odf import teletype
from odf.opendocument import load
from odf.table import Table, TableRow
from openpyxl import load_workbook
from xlrd import open_workbook

from reportgen.metrics import compute
from tests import workbooks
from tests.logs_made import owner
from tests.logs_made.comparing import NAMES
from tests.logs_made.grid import cells_of, sheets_of
from tests.logs_made.layouts import LAYOUTS
from tests.logs_made.making import made
from tests.logs_made.owner import Answered
from tests.logs_made.trial import GROWTH, ONLY_LAST, PICKINGS, RUNNING, SAMPLES, treatment_name
from tests.logs_made.variants import NEXT_WEEK, SAME
from tests.logs_made.words import GRAMS
from tests.logs_made.writers import text_grid, write

SEEDS = range(60)


# ---- the truth -----------------------------------------------------------------------------------


def own_workbook(trial):
    """Return the sheets of a workbook of the program's own that holds the same trial."""
    names = list(dict.fromkeys(treatment_name(unit) for unit in trial.units))
    codes = {unit: f"u{at}" for at, unit in enumerate(trial.units)}
    sheets = {
        "Trial": [
            ["Field", "Value"],
            ["Title", trial.title],
            ["Crop", trial.crop],
            ["Started on", trial.started],
            ["Harvested on", trial.harvested],
            ["Reference treatment", names[0]],
        ],
        "Treatments": [["Treatment", "Name"], *([name, f"{name} "] for name in names)],
        "Trays": [
            ["Tray", "Treatment"],
            *([codes[unit], treatment_name(unit)] for unit in trial.units),
        ],
    }
    if trial.kind in (PICKINGS, RUNNING) or trial.plants == "none":
        sheets["Harvests"] = _harvests(trial, codes)
    else:
        sheets["Plants"] = _plants(trial, codes)
    if trial.pours:
        rows = [[codes[one.unit], one.on, one.event, one.litres] for one in trial.pours]
        sheets["Solution"] = [["Tray", "Date", "Event", "Volume (L)"], *rows]
    if trial.readings:
        rows = [[f"m {one.treatment}", one.treatment, one.on, one.kwh] for one in trial.readings]
        sheets["Meter"] = [["Meter", "Treatment", "Read at", "Reading (kWh)"], *rows]
    return sheets


def _grams(trial, value):
    return value * GRAMS["oz" if trial.mass == "lb+oz" else trial.mass]


def _weights(trial):
    """Return each weight by unit, plant, day and quantity, in g; gross less tare."""
    held = {(v.unit, v.plant, v.occasion, v.quantity): v.amount for v in trial.values}
    found = {}
    for (unit, plant, at, quantity), amount in held.items():
        place = (unit, plant, at)
        if quantity == "gross" and amount is not None:
            found[*place, "fresh_weight"] = _grams(trial, amount - held[*place, "tare"])
        elif quantity == "area_yield":
            found[*place, "fresh_weight"] = amount * unit.area * 1000
        elif quantity == "count" or amount is None:
            found[*place, quantity.replace("gross", "fresh_weight")] = amount
        elif quantity in ("fresh_weight", "dry_weight"):
            found[*place, quantity] = _grams(trial, amount)
    return found


def _harvests(trial, codes):
    rows = [
        [codes[unit], trial.days[at], weight]
        for (unit, _, at, quantity), weight in _weights(trial).items()
        if quantity == "fresh_weight" and (trial.kind != RUNNING or at == len(trial.days) - 1)
    ]
    return [["Tray", "Date", "Weight (g)"], *rows]


def _plants(trial, codes):
    last = len(trial.days) - 1
    weights = _weights(trial)
    rows = []
    for number, (unit, plant, at) in enumerate(dict.fromkeys(key[:3] for key in weights)):
        if trial.kind in (GROWTH, SAMPLES) and at != last:
            continue
        fresh, dry = (
            weights.get((unit, plant, at, name)) for name in ("fresh_weight", "dry_weight")
        )
        lost = fresh is None and dry is None
        weighed = weights.get((unit, plant, at, "count"))
        stands = {
            v.stands for v in trial.values if (v.unit, v.plant, v.occasion) == (unit, plant, at)
        }
        if "missing" not in stands:
            rows.append([codes[unit], number, fresh, dry, "dead" if lost else None, weighed])
    return [
        ["Tray", "Plant", "Fresh weight (g)", "Dry weight (g)", "Status", "Plants weighed"],
        *rows,
    ]


@pytest.mark.parametrize("seed", SEEDS)
def test_truth_is_what_a_report_of_an_equal_workbook_says(seed, tmp_path):
    log = made(seed)
    results = compute(
        workbooks.trial(workbooks.write(own_workbook(log.trial), tmp_path / "own.xlsx"))
    )
    measures = {one.measure.key: dict(one.estimates) for one in results.measures}
    assert log.truth
    for quantity, figures in log.truth.items():
        if quantity == "unit_dry" and "unit_yield" in log.truth:
            continue  # a workbook has no dry weights of whole units beside fresh ones
        estimates = measures[NAMES[quantity].measures[0]]
        for name, true in figures.items():
            mean = true.mean if quantity != "energy" else true.total / estimates[name].n
            assert isclose(estimates[name].value, mean, rel_tol=1e-9), (quantity, name)
            assert true.units in (None, estimates[name].n)


@pytest.mark.parametrize("seed", range(200))
def test_weights_in_the_cells_add_up_to_the_truth(seed):
    log = made(seed)
    trial = log.trial
    if trial.kind in ONLY_LAST or not {"fresh_weight"} & set(trial.measures):
        pytest.skip("earlier days do not count, or weights are worked out of others")
    total = total_in(log.log)
    figures = log.truth.get("fresh_weight") or log.truth["unit_yield"]
    assert isclose(total, sum(one.total for one in figures.values()), rel_tol=1e-9)


def total_in(log):
    """Return the sum of all fresh weights in the cells of a log, g."""
    grams = {**GRAMS, "": 1.0}
    weights = [
        cell
        for cell in cells_of(log, "plants")
        if cell.what == "value" and cell.of == "fresh_weight"
    ]
    return sum(_number_in(cell.value) * grams[cell.unit] for cell in weights)


def _number_in(value):
    """Return the number of a cell, whichever way it is written; 0 for words and blanks."""
    if isinstance(value, int | float):
        return value
    text = str(value or "0").split(" ")[0]
    if "," in text:
        text = text.replace(".", "").replace(",", ".")
    return float(text) if text.replace(".", "").isdigit() else 0.0


def test_every_layout_is_drawn_for_any_seed():
    for at, layout in enumerate(LAYOUTS):
        for seed in range(at, 400, len(LAYOUTS)):
            log = made(seed, layout.name)
            assert log.layout is layout
            assert len(log.truth) >= 1


def test_a_seed_gives_the_same_log_each_time():
    assert made(11) == made(11)


# What the owner may use of the program: the command, what the command calls, and what judges a
# trial that was taken in. Nothing of how a log is read is among it.
USED_BY_THE_OWNER = {
    "reportgen.cli.main",
    "reportgen.importing.adopting",
    "reportgen.importing.json_document",
    "reportgen.importing.memory.Memory",
    "reportgen.importing.session.understand",
    "reportgen.metrics.compute",
    "reportgen.model.problem.Severity",
    "reportgen.model.problem.WorkbookError",
    "reportgen.model.results.MeasureResult",
    "reportgen.pipeline",
}


def names_used(path):
    """Return the full name of each part of the program that a module imports."""
    nodes = list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
    whole = [alias.name for node in nodes if isinstance(node, ast.Import) for alias in node.names]
    parts = [node for node in nodes if isinstance(node, ast.ImportFrom) and not node.level]
    named = [f"{node.module}.{alias.name}" for node in parts for alias in node.names]
    return {name for name in whole + named if name.partition(".")[0] == "reportgen"}


def test_what_draws_logs_knows_nothing_of_what_reads_them():
    for path in Path(owner.__file__).parent.glob("*.py"):
        assert names_used(path) == (USED_BY_THE_OWNER if path.name == "owner.py" else set()), (
            path.name
        )


# ---- the files -----------------------------------------------------------------------------------


def _held(path, log):
    """Return the cells of a file, sheet by sheet, read by the libraries that are not used to write
    it.
    """
    if path.suffix == ".xlsx":
        return [
            [list(row) for row in page.iter_rows(values_only=True)]
            for page in load_workbook(path, data_only=True)
        ]
    if path.suffix == ".xls":
        return [
            [page.row_values(at) for at in range(page.nrows)]
            for page in open_workbook(path).sheets()
        ]
    if path.suffix == ".ods":
        pages = load(path).spreadsheet.getElementsByType(Table)
        return [
            [
                [teletype.extractText(cell) for cell in row.childNodes]
                for row in page.getElementsByType(TableRow)
            ]
            for page in pages
        ]
    with path.open(newline="", encoding=log.csv_encoding) as stream:
        return [list(csv.reader(stream, delimiter=log.csv_separator))]


@pytest.mark.parametrize("seed", range(40))
def test_files_hold_the_numbers_of_the_log_at_their_places(seed, tmp_path):
    log = made(seed).log
    paths = write(log, tmp_path)
    for file, path in zip(log.files, paths, strict=True):
        pages = _held(path, log)
        for sheet, page in zip(file.sheets, pages, strict=True):
            for at, row in enumerate(sheet.rows):
                for column, cell in enumerate(row.cells):
                    if isinstance(cell.value, int | float):
                        assert _number_in(page[at][column]) == cell.value


# ---- the owner -----------------------------------------------------------------------------------


def figures_of(log, change=1.0):
    """Return the true figures of a log as the program prints them, their weights times `change`."""
    return {
        NAMES[quantity].read[0]: {
            name: {
                "units": one.units,
                "n": one.n,
                "total": one.total and one.total * change,
                "mean": one.mean and one.mean * change,
            }
            for name, one in figures.items()
        }
        for quantity, figures in log.truth.items()
    }


def program(log, questions, read=None):
    """Return a program that asks some questions, then says what it read."""

    def run(answers):
        left = [one for one in questions if one["key"] not in answers]
        asked = {"questions": left, "read": read or figures_of(log)}
        return Answered(1 if left else 0, asked)

    return run


def answers_to(log, *questions):
    """Return what the owner answers to questions, by key."""
    outcome = owner.taken_in(log, [None], program(log, questions))
    return {one.question["key"]: one.answer for one in outcome.given}


@pytest.fixture
def log(monkeypatch):
    monkeypatch.setattr(owner, "judged_trial", lambda made, path: (owner.RIGHT, ""))
    return made(2)


def test_owner_takes_the_choice_that_gives_the_truth(log):
    choices = [
        {"answer": "a", "gives": figures_of(log, 1.5)},
        {"answer": "b", "gives": figures_of(log)},
        {"answer": "none of these"},
    ]
    assert answers_to(log, {"key": "x", "slot": "treatment", "choices": choices}) == {"x": "b"}


def test_owner_says_none_of_these_and_then_what_it_is(log):
    wrong = {"key": "x", "slot": "tray", "choices": [{"answer": "a"}, {"answer": "none of these"}]}
    then = {"key": "y", "slot": "tray", "choices": [], "free": True}
    assert answers_to(log, wrong, then) == {"x": "none of these", "y": log.log.said["unit"][0]}


def test_owner_knows_the_fields_of_the_trial(log):
    told = answers_to(
        log,
        *(
            {"key": f"trial.{name}", "choices": []}
            for name in ("Title", "Crop", "Started on", "Harvested on")
        ),
    )
    trial = log.trial
    assert list(told.values()) == [
        trial.title,
        trial.crop,
        str(trial.started),
        str(trial.harvested),
    ]


def test_owner_names_the_unit_and_the_measure_of_cells(log):
    sheet = log.log.files[0].sheets[0]
    unit = {
        "key": "u",
        "slot": "unit",
        "where": [f"{sheet.name}!C2:C9"],
        "choices": [{"answer": "kg"}, {"answer": "g"}],
    }
    measure = {"key": "m", "slot": "measure", "where": [f"{sheet.name}!C"], "choices": []}
    assert answers_to(log, unit, measure) == {"u": "g", "m": "fresh weight"}


def questions_of_cells(log):
    """Yield questions about the parts of a log, each with what is true of it."""
    for sheet in sheets_of(log.log):
        is_part = sheet.part != "junk"
        choices = [{"answer": "yes"}, {"answer": "no part of the trial"}]
        yield "belongs", [sheet.name], choices, choices[not is_part]["answer"]
        for at, row in enumerate(sheet.rows, 1):
            if row.kind == "total" and sheet.part == "plants":
                what = next(cell.what for cell in row.cells if cell.what)
                rows = [{"answer": "a plant"}, {"answer": "mean"}, {"answer": "total"}]
                yield "row", [f"{sheet.name}!A{at}:Z{at}"], rows, what
            for column, cell in enumerate(row.cells[:26]):
                where = [f"{sheet.name}!{chr(65 + column)}{at}"]
                if cell.what == "value" and cell.unit:
                    yield (
                        "unit",
                        where,
                        [{"answer": unit} for unit in ("kg", "oz", "lb", "g", cell.unit)],
                        cell.unit,
                    )
                if cell.what == "value" and cell.stands in ("lost", "missing", "zero"):
                    words = [{"answer": word} for word in ("zero", "lost", "missing")]
                    yield "word", where, words, cell.stands


@pytest.mark.parametrize("seed", range(40))
def test_owner_knows_what_each_cell_is(seed):
    log = made(seed)
    for slot, where, choices, true in questions_of_cells(log):
        question = {"key": "x", "slot": slot, "where": where, "choices": choices}
        assert next(owner.candidates(log, question, {}))[0] == true, (slot, where)


def test_owner_is_stuck_where_no_answer_is_true(log):
    question = {"key": "x", "slot": "no such slot", "choices": [{"answer": "a"}]}
    assert owner.taken_in(log, [None], program(log, [question])).kind == owner.STUCK


def test_outcomes_are_told_apart(log):
    def crashes(answers):
        return Answered(2, {}, "Traceback")

    def stops(answers):
        return Answered(
            1, {"questions": [], "problems": [{"sheet": "Log", "cell": "B3", "found": "x"}]}
        )

    wrong = program(log, [], figures_of(log, 1.001))
    runs = {
        owner.CRASH: crashes,
        owner.STOPPED: stops,
        owner.WRONG: wrong,
        owner.RIGHT: program(log, []),
    }
    assert {kind: owner.taken_in(log, [None], run).kind for kind, run in runs.items()} == {
        kind: kind for kind in runs
    }


def test_a_quantity_that_the_log_does_not_hold_is_wrong(log):
    read = figures_of(log) | {"energy_use": {"warm": {"total": 3.0}}}
    assert owner.taken_in(log, [None], program(log, [], read)).kind == owner.WRONG


# ---- variants ------------------------------------------------------------------------------------


def totals(log):
    """Return the total of each quantity and treatment."""
    return {
        (quantity, name): one.total
        for quantity, held in log.truth.items()
        for name, one in held.items()
    }


@pytest.mark.parametrize("name", SAME)
def test_a_variant_changes_what_is_written_and_not_what_is_true(name):
    fitting = [(log, SAME[name](log)) for log in map(made, range(40))]
    changed = [(log, other) for log, other in fitting if other is not None]
    assert len(changed) > 1
    for log, other in changed:
        assert other.truth == log.truth
    assert any(text_grid(other.log) != text_grid(log.log) for log, other in changed)


MORE = ("a row added", "a picking added", "a value corrected")


@pytest.mark.parametrize("name", NEXT_WEEK)
def test_an_edit_of_next_week_changes_the_truth_as_it_says(name):
    edited = [(log, NEXT_WEEK[name](log)) for log in map(made, range(50))]
    edited = [(log, other) for log, other in edited if other is not None]
    assert len(edited) > 1
    for log, other in edited:
        before, after = sum(totals(log).values()), sum(totals(other).values())
        names = [set(next(iter(one.truth.values()))) for one in (log, other)]
        assert (names[0] != names[1]) == (name == "a treatment renamed")
        if name in MORE:
            assert after > before
        else:
            assert isclose(after, before, rel_tol=2e-3)  # another unit of measure rounds otherwise


@pytest.mark.parametrize("name", NEXT_WEEK)
def test_weights_of_an_edited_log_add_up_to_its_truth(name):
    tried = 0
    for seed in range(50):
        log = made(seed)
        other = NEXT_WEEK[name](log)
        if other is None or log.trial.kind in ONLY_LAST or "fresh_weight" not in log.trial.measures:
            continue
        figures = other.truth.get("fresh_weight") or other.truth["unit_yield"]
        assert isclose(
            total_in(other.log), sum(one.total for one in figures.values()), rel_tol=1e-9
        )
        tried += 1
    assert tried > 1


def test_labels_that_are_swapped_stand_above_the_other_table():
    logs = [made(seed, "titles stacked") for seed in range(9)]
    log, other = next((log, other) for log in logs if (other := NEXT_WEEK["labels swapped"](log)))
    first, second = log.trial.treatments[:2]
    assert other.truth["fresh_weight"][second] == log.truth["fresh_weight"][first]
    assert text_grid(other.log) != text_grid(log.log)
