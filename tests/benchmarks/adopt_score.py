"""Print how files in their owners' layouts are understood: tables, columns, questions, silent errors, figures.

Run it as `python tests/benchmarks/adopt_score.py`, or with files of one's own.
"""

import sys
from collections.abc import Iterator
from pathlib import Path
from statistics import fmean
from typing import Final

from reportgen.adopt.apply import Adopted, adopted
from reportgen.adopt.csv_file import SUFFIXES, read_csv
from reportgen.adopt.questions import ONE_BY_ONE, Question, Understanding, answered, unanswered
from reportgen.adopt.silent import silent_problems
from reportgen.adopt.understand import understand
from reportgen.model.problem import WorkbookError
from reportgen.workbook.cells import read

DATA = Path(__file__).parents[1] / "data"
# What each column is, read from the files and their descriptions by a person; means are of the files' own figures.
KNOWN = {
    "lettuce_compost.txt": {"Plant": "id", "Treatment": "treatment", "Fresh weight": "freshweight"},
    "salinity_raw.xlsx": {"Tray": "Group", "Treatment": "Group", "Plant": "Number", "Fresh weight": "wet weight"},
    "salinity_clean.xlsx": {"Tray": "Group", "Treatment": "Group", "Plant": "Number", "Fresh weight": "Wet_weight"},
    "pots_raw.csv": {"Treatment": "Treatment", "Fresh weight": "Yield"},
}
MEANS = {
    "lettuce_compost.txt": {"control": 38.0, "compost": 58.85714286},
    "salinity_raw.xlsx": {"high": 3.506378378, "low": 120.7425556},
}
USUAL = {"Crop": "not told", "Started on": "2025-03-01", "Harvested on": "2025-05-01"}
KINDS = {"mass": "Fresh weight", "unit": "g", "per": "plant", "word": "it was not measured"}


def finished(found: Understanding) -> Understanding:
    """Return what is understood with a usual answer to each question."""
    while open_ones := unanswered(found):
        found = answered(found, open_ones[0].key, _answer(open_ones[0]))
    return found


SALT: Final = {code: "low" if int(code[1]) % 2 else "high" for code in ("L1", "L2", "S3", "S4", "L5", "L6", "S7", "S8")}


def _answer(question: Question) -> str:
    if question.kind == "letters":
        return ONE_BY_ONE
    if question.kind == "code":
        return SALT[question.column]
    return USUAL.get(question.column) or KINDS.get(question.kind) or question.default or question.choices[0]


def lines(path: Path) -> Iterator[str]:
    """Yield what is printed of a file."""
    files = {"": read_csv(path) if path.suffix in SUFFIXES else read(path)}
    found = understand(files)
    done = finished(found)
    yield f"{path.name}: {len(found.adoption.tables)} tables, {len(unanswered(found))} questions"
    yield from _columns(path.name, done)
    try:
        made = adopted(files, done.adoption)
    except WorkbookError as error:
        yield f"  not taken in: {error.problems[0].found}"
        return
    yield f"  silent errors pointed out: {len(silent_problems(made)[0])}"
    yield from _figures(path.name, made)


def _columns(name: str, found: Understanding) -> Iterator[str]:
    known = KNOWN.get(name, {})
    sources = found.adoption.tables[0].columns if found.adoption.tables else {}
    right = [column for column, text in known.items() if column in sources and sources[column].header == text]
    if known:
        wrong = ", ".join(column for column in known if column not in right)
        yield f"  columns right: {len(right)} of {len(known)}" + (f", not {wrong}" if wrong else "")


def _figures(name: str, made: Adopted) -> Iterator[str]:
    sheets = {sheet.name: sheet.rows for sheet in made.workbook.sheets}
    treatments = {row[0]: row[1] for row in sheets["Trays"][1:]}
    head = sheets["Plants"][0]
    weight = next(at for at, text in enumerate(head) if str(text).startswith("Fresh weight"))
    for treatment, mean in MEANS.get(name, {}).items():
        rows = [row for row in sheets["Plants"][1:] if treatments.get(row[head.index("Tray")]) == treatment]
        values = [row[weight] for row in rows if isinstance(row[weight], int | float)]
        agree = abs(fmean(values) - mean) < 1e-6 * mean
        yield f"  mean of {treatment}: {fmean(values):.9g}, known {mean:.9g}: {'agrees' if agree else 'DIFFERS'}"


def main() -> None:
    """Print the scores of the files that are named, else of those beside the tests."""
    for path in map(Path, sys.argv[1:] or sorted(map(str, (DATA / name for name in KNOWN)))):
        print("\n".join(lines(path)))


if __name__ == "__main__":
    main()
