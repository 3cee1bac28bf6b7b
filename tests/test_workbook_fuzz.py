"""Good workbooks in which things were done that nobody should do: problems with cells, or the
numbers as typed.
"""

import random
from datetime import date, time
from functools import cache

import pytest
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from reportgen import metrics, report
from reportgen.model.problem import NotYetError, Severity, WorkbookError
from reportgen.workbook.declaration import SHEETS, Kind
from tests.workbooks import ONE_THING, trial, whole, write

ODD = [
    *(
        None,
        "",
        "  ",
        "x",
        "12O",
        "1e999",
        "nan",
        "inf",
        "-5",
        -5,
        0,
        1e308,
        1e-320,
        10**18,
        float("nan"),
        True,
        False,
    ),
    *(
        date(1900, 1, 1),
        date(9999, 12, 31),
        time(3, 4),
        "#DIV/0!",
        "=1/0",
        "=1+1",
        "z" * 30000,
        "a\nb\tc",
        "Total",
    ),
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
    *(
        "HALF",
        "-",
        "<b>",
        46000,
        "\u200b",
        "\ufeff",
        "_x0007_",
        "{{7*7}}",
        "\x7f",
        "Fresh weight (g) (oz)",
        "../a.jpg",
    ),
]
DEEDS = (
    *["set"] * 6,
    *(
        "drop row",
        "copy row",
        "drop column",
        "copy column",
        "drop sheet",
        "shuffle",
        "swap columns",
        "blank row",
    ),
    *("move down", "move right", "clear header"),
)
SHORT, CHUNK = 200, 40  # seeds of the usual run, seeds of a test
FIRST = range(40)  # seeds that run without the slow ones


# ---- whatever is done: a trial with the numbers as typed, or problems with their places ----------


def spoilt(chance):
    """Return the sheets of a good workbook, spoilt in one to five places: one with every sheet, or
    of one measure.
    """
    sheets = chance.choice((whole, chance.choice(list(ONE_THING.values()))))()
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
    deeds = {
        "set": lambda: changed(rows, at, place, chance.choice(ODD)),
        "clear header": lambda: changed(rows, 0, place, None),
        "drop row": lambda: [*rows[:at], *rows[at + 1 :]],
        "copy row": lambda: [*rows[: at + 1], *rows[at:]],
        "blank row": lambda: [*rows[:at], [], *rows[at:]],
        "shuffle": lambda: chance.sample(rows, len(rows)),
        "swap columns": lambda: [
            [*row[place : place + 2][::-1], *row[:place], *row[place + 2 :]] for row in rows
        ],
        "drop column": lambda: [row[:place] + row[place + 1 :] for row in rows],
        "copy column": lambda: [row[:place] + row[place:] + row[place + 1 :] for row in rows],
        "move down": lambda: moved_down(rows, chance),
        "move right": lambda: moved_right(rows, chance),
    }
    return deeds[deed]()


def changed(rows, at, place, value):
    """Return the rows with one cell changed, its row longer where it was too short."""
    row = rows[at] + [None] * (place + 1 - len(rows[at]))
    return [*rows[:at], [*row[:place], value, *row[place + 1 :]], *rows[at + 1 :]]


def moved_down(rows, chance):
    title = chance.choice(([], ["Season log"], [None, "as weighed", 2026]))
    return [title, *([[]] * chance.choice((1, 3, 25, 60))), *rows]


def moved_right(rows, chance):
    blank = [None] * chance.choice((1, 4))
    return [blank + row for row in rows]


def typed_weights(sheets):
    """Return the numbers that stand under the header of fresh weight in g, as far as they are
    numbers, sorted.
    """
    rows = sheets.get("Plants", [])
    head = next((row for row in rows if "Fresh weight (g)" in row), None)
    if head is None:
        return []
    at = head.index("Fresh weight (g)")
    below = rows[rows.index(head) + 1 :]
    return sorted(
        float(row[at]) for row in below if at < len(row) and isinstance(row[at], int | float)
    )


def outcome(sheets, path):
    """Return the trial of spoilt sheets, None where they have errors, and what is said of them.

    Each problem is whole and on one line.
    """
    try:
        made = trial(write(sheets, path))
        problems = made.findings
    except NotYetError as error:  # what was recorded is gone, and that is said
        made, problems = None, error.problems
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
    return made, problems


def tried(seed, path):
    """Spoil a workbook and look at what comes of it."""
    sheets = spoilt(random.Random(seed))
    made, _ = outcome(sheets, path)
    if made is None:
        return
    weights = sorted(plant.fresh_weight for plant in made.plants if plant.fresh_weight is not None)
    odd = ("-5", "1e999", "3", "３", "5 oz", "1.234,5")
    texts = [cell for row in sheets.get("Plants", []) for cell in row if cell in odd]
    if not texts:
        assert weights == typed_weights(sheets)
    results = metrics.compute(made)
    for result in results.measures:
        for code, estimate in result.estimates:
            assert estimate.value is not None or estimate.notes, (result.measure.key, code)
    if seed % 50 == 0:
        assert report.compose(made, results).answer


# ---- what happens to sheets that people keep: told, or the same figures --------------------------


KEPT = {"everything": whole, **ONE_THING}  # workbooks that mishaps befall


def kept(kind):
    """Return the sheets of a good workbook whose blocks have names."""
    sheets = KEPT[kind]()
    for row in sheets["Trays"][1:]:
        row[2] = f"shelf {row[2]}"
    return sheets


@cache
def figures_kept(folder, kind):
    made = trial(write(kept(kind), folder / "kept.xlsx"))
    return metrics.compute(made)


def mishap(chance):
    """Return a workbook after one mishap, the sheet that it happened to, what it was, and the
    workbook's kind.
    """
    kind = chance.choice(("everything", chance.choice(list(KEPT))))
    sheets = kept(kind)
    deeds = (clear_header, mistype_code, move)
    what = chance.choice((*deeds, slip_value) if kind == "everything" else deeds)
    name, rows, said = what(sheets, chance)
    sheets[name] = rows
    for other in chance.sample(list(sheets), 2):
        sheets[other] = moved_down(sheets[other], chance)
    return sheets, name, said, kind


def move(sheets, chance):
    name = chance.choice([name for name in sheets if name != "Trial"])
    return name, moved_right(sheets[name], chance), f"{name} moved right"


def clear_header(sheets, chance):
    """Clear a header, or a field of the sheet Trial."""
    name = chance.choice(list(sheets))
    rows = sheets[name]
    at, place = (
        (chance.randrange(1, len(rows)), 0)
        if name == "Trial"
        else (0, chance.randrange(len(rows[0])))
    )
    return name, changed(rows, at, place, None), f"{name}: {rows[at][place]} cleared"


def mistype_code(sheets, chance):
    """Mistype a code in one cell: a sign too many, one too few, two exchanged, or in capitals."""
    codes = [
        (sheet.name, at, place)
        for sheet in SHEETS
        if sheet.name in sheets
        for place, head in enumerate(sheets[sheet.name][0])
        if any(column.header == head and column.kind is Kind.CODE for column in sheet.columns)
        for at, row in enumerate(sheets[sheet.name])
        if at and place < len(row) and row[place] is not None
    ]
    name, at, place = chance.choice(codes)
    code = str(sheets[name][at][place])
    spot = chance.randrange(len(code))
    typed = chance.choice(
        (
            code[:spot] + chance.choice("xe ") + code[spot:],
            code[:spot] + code[spot + 1 :],
            code[:spot] + code[spot : spot + 2][::-1] + code[spot + 2 :],
            code.upper(),
        )
    )
    return (
        name,
        changed(sheets[name], at, place, typed.strip() or "x"),
        f"{name}, row {at + 1}: {code} typed as {typed!r}",
    )


def slip_value(sheets, chance):
    """Move the decimal point of a weight or a height."""
    at, place = chance.randrange(1, len(sheets["Plants"])), chance.choice((2, 3))
    value = sheets["Plants"][at][place] * 10.0 ** chance.choice((-3, -2, -1, 1, 2, 3))
    return "Plants", changed(sheets["Plants"], at, place, value), f"Plants, row {at + 1}: {value:g}"


def told_or_the_same(seed, folder):
    """Let a mishap happen to a workbook: a problem names its sheet, or the figures are those of
    before.
    """
    sheets, name, said, kind = mishap(random.Random(seed))
    made, problems = outcome(sheets, folder / "trial.xlsx")
    titles = "stands above the header"
    told = [problem for problem in problems if titles not in problem.found]
    if made is None or any(problem.sheet == name for problem in told):
        assert any(problem.sheet for problem in told), said
        return
    found, before = metrics.compute(made), figures_kept(folder.parent, kind)
    assert repr(found).casefold() == repr(before).casefold(), (
        said
    )  # a code in capitals is the same code


# ---- the runs ------------------------------------------------------------------------------------


def pytest_generate_tests(metafunc):
    """Part the seeds into chunks, for workers to share: pytest -n 2 --dist load --seeds 20000."""
    if "chunk" in metafunc.fixturenames:
        last = max(metafunc.config.getoption("seeds") or SHORT, FIRST.stop + 1)
        starts = range(FIRST.stop, last, CHUNK)
        chunks = [range(start, min(start + CHUNK, last)) for start in starts]
        metafunc.parametrize(
            "chunk", chunks, ids=[f"{chunk.start}-{chunk.stop - 1}" for chunk in chunks]
        )


def each(chunk, attempt, *args):
    for seed in chunk:
        try:
            attempt(seed, *args)
        except Exception as error:
            error.add_note(f"seed {seed}")
            raise


@pytest.mark.parametrize("seed", FIRST)
def test_whatever_is_in_the_cells_there_is_a_trial_or_problems_with_their_places(tmp_path, seed):
    tried(seed, tmp_path / "trial.xlsx")


def test_what_befalls_a_workbook_is_told_or_changes_no_figure(tmp_path):
    each(FIRST, told_or_the_same, tmp_path)


@pytest.mark.slow
def test_no_spoilt_workbook_ends_in_a_traceback_or_in_other_numbers(tmp_path, chunk):
    each(chunk, tried, tmp_path / "trial.xlsx")


@pytest.mark.slow
def test_no_mishap_to_a_workbook_is_silent(tmp_path, chunk):
    each(chunk, told_or_the_same, tmp_path)
