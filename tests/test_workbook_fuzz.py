"""Good workbooks in which things were done that nobody should do: problems with cells, or the numbers as typed."""

import random
from datetime import date, time

import pytest
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from reportgen import metrics, report
from reportgen.model.problem import Severity, WorkbookError
from tests.workbooks import trial, whole, write

ODD = [
    *(None, "", "  ", "x", "12O", "1e999", "nan", "inf", "-5", -5, 0, 1e308, 1e-320, 10**18, float("nan"), True, False),
    *(date(1900, 1, 1), date(9999, 12, 31), time(3, 4), "#DIV/0!", "=1/0", "=1+1", "z" * 30000, "a\nb\tc", "Total"),
    *(
        "all",
        "½",
        "３",
        "03/04/2026",
        "13/13/2026",
        "1,234",
        "1.234,5",
        "5 oz",
        "3 gal",
        "4 m^9^9",
        "(g)",
        "()",
        "Tray",
    ),
    *("HALF", "-", "<b>", 46000, "\u200b", "\ufeff", "_x0007_", "{{7*7}}", "\x7f", "Fresh weight (g) (oz)", "../a.jpg"),
]
DEEDS = (
    *["set"] * 6,
    *("drop row", "copy row", "drop column", "copy column", "drop sheet", "shuffle", "swap columns", "blank row"),
)


def spoilt(chance):
    """Return the sheets of a good workbook, spoilt in one to five places."""
    sheets = whole()
    for _ in range(chance.choice((1, 1, 2, 5))):
        name = chance.choice(list(sheets))
        deed = chance.choice(DEEDS)
        if deed == "drop sheet" and len(sheets) > 1:
            del sheets[name]
        elif sheets[name]:
            sheets[name] = done(deed, sheets[name], chance)
    return sheets


def done(deed, rows, chance):
    """Return the rows of a sheet after a deed."""
    at, place = chance.randrange(len(rows)), chance.randrange(max(map(len, rows)) or 1)
    if deed == "set":
        row = rows[at] + [None] * (place + 1 - len(rows[at]))
        return [*rows[:at], [*row[:place], chance.choice(ODD), *row[place + 1 :]], *rows[at + 1 :]]
    if deed in ("drop row", "copy row", "blank row"):
        return [
            *rows[:at],
            *{"drop row": [], "copy row": [rows[at]] * 2, "blank row": [[], rows[at]]}[deed],
            *rows[at + 1 :],
        ]
    if deed == "shuffle":
        return chance.sample(rows, len(rows))
    if deed == "swap columns":
        return [[*row[place : place + 2][::-1], *row[:place], *row[place + 2 :]] for row in rows]
    return [row[:place] + row[place:] * (deed == "copy column") + row[place + 1 :] for row in rows]


def typed_weights(sheets):
    """Return the numbers that stand under the header of fresh weight in g, as far as they are numbers, sorted."""
    rows = next(rows for name, rows in sheets.items() if name == "Plants")
    head = next(row for row in rows if "Fresh weight (g)" in row)
    at = head.index("Fresh weight (g)")
    below = rows[rows.index(head) + 1 :]
    return sorted(float(row[at]) for row in below if at < len(row) and isinstance(row[at], int | float))


def outcome(sheets, path):
    """Return the trial of spoilt sheets, None where they have errors; each problem is whole and on one line."""
    try:
        made = trial(write(sheets, path))
        problems = made.findings
    except WorkbookError as error:
        made, problems = None, error.problems
        assert any(problem.severity is Severity.ERROR for problem in problems)
    for problem in problems:
        text = str(problem)
        assert len(text) < 700
        assert "\n" not in text
        assert not ILLEGAL_CHARACTERS_RE.search(text)
        assert problem.found
        assert problem.expected
        assert problem.advice
        assert problem.sheet or problem.severity is Severity.REMARK
    return made


def tried(seed, path):
    """Spoil a workbook and look at what comes of it."""
    sheets = spoilt(random.Random(seed))
    made = outcome(sheets, path)
    if made is None:
        return
    weights = sorted(plant.fresh_weight for plant in made.plants if plant.fresh_weight is not None)
    texts = [cell for row in sheets["Plants"] for cell in row if cell in ("-5", "1e999", "3", "３", "5 oz", "1.234,5")]
    if not texts:
        assert weights == typed_weights(sheets)
    results = metrics.compute(made)
    for result in results.measures:
        for code, estimate in result.estimates:
            assert estimate.value is not None or estimate.note, (result.measure.key, code)
    if seed % 50 == 0:
        assert report.compose(made, results).answer


@pytest.mark.parametrize("seed", range(40))
def test_whatever_is_in_the_cells_there_is_a_trial_or_problems_with_their_places(tmp_path, seed):
    tried(seed, tmp_path / "trial.xlsx")


@pytest.mark.slow
def test_no_spoilt_workbook_ends_in_a_traceback_or_in_other_numbers(tmp_path, request):
    # More with: pytest --seeds 20000
    for seed in range(40, request.config.getoption("seeds")):
        try:
            tried(seed, tmp_path / "trial.xlsx")
        except Exception as error:
            error.add_note(f"seed {seed}")
            raise
