"""Print how files in their owners' layouts are understood: tables, columns, questions, silent errors, figures.

Run it as `python tests/benchmarks/adopt_real_score.py`: real files beside the tests, then invented ones of one habit.
"""

import random
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from adopt_examples import EXAMPLES, SEED, Example

from reportgen import pipeline
from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.checking import read_adopted
from reportgen.adopt.questions import ONE_BY_ONE, AnswerError, Question, Understanding, answered, unanswered
from reportgen.adopt.silent import silent_problems
from reportgen.adopt.toml_file import read_adoption, settings_file
from reportgen.metrics import compute
from reportgen.model.problem import WorkbookError

DATA: Final = Path(__file__).parents[1] / "data"
ALWAYS: Final = {"independent", "field", "crop", "day"}  # kinds of questions that every log may leave open
USUAL: Final = {
    **{"Crop": "basil", "Started on": "2026-01-05", "Harvested on": "2026-02-16"},
    **{"mass": "Fresh weight", "unit": "g", "per": "plant", "word": "it was not measured"},
}
SALT: Final = {
    code: "high" if int(code[1]) % 2 == 0 else "low" for code in ("L1", "L2", "S3", "S4", "L5", "L6", "S7", "S8")
}


def _copied(name: str):
    def write(folder: Path, _: random.Random) -> list[Path]:
        (folder / name).write_bytes((DATA / name).read_bytes())
        return [folder / name]

    return write


# What each column is, read from the files and their descriptions by a person; means by R and scipy, see data/README.md.
SALINITY: Final = {"letters": ONE_BY_ONE, "independent": "each row", "Reference treatment": "low", **SALT}
REAL: Final = (
    Example(
        "lettuce_compost.txt",
        _copied("lettuce_compost.txt"),
        1,
        {"Plant": "id", "Treatment": "treatment", "Fresh weight": "freshweight"},
        {"control": 38.0, "compost": 58.85714286, "refoak": 36.14285714, "cobc": 54.14285714},
        frozenset({"unit", "per"}),
        answers={"independent": "each row"},
    ),
    Example(
        "salinity_raw.xlsx",
        _copied("salinity_raw.xlsx"),
        1,
        {
            "Tray": "Group",
            "Treatment": "Group",
            "Plant": "Number",
            "Leaves": "Number_leaves",
            "Note": "Notes",
            "Fresh weight": "wet weight",
        },
        {"low": 2.860555556, "high": 3.506378378},
        frozenset({"letters", "unit", "per", "word"}),
        ("I67",),
        SALINITY,
        "corrected = {{ I67 = 4.248 }}",
    ),
    Example(
        "salinity_clean.xlsx",
        _copied("salinity_clean.xlsx"),
        1,
        {
            "Tray": "Group",
            "Treatment": "Group",
            "Plant": "Number",
            "Leaves": "Number_leaves_b",
            "Note": "Notes",
            "Fresh weight": "Wet_weight",
        },
        {"low": 2.860555556, "high": 3.506378378},
        frozenset({"letters", "per", "word"}),
        (),
        SALINITY,
    ),
    Example(
        "pots_raw.csv",
        _copied("pots_raw.csv"),
        1,
        {"Treatment": "Treatment", "Fresh weight": "Yield"},
        {"Control1": 1.25375},
        frozenset({"mass", "unit", "per"}),
        (),
        {"per": "pot", "independent": "each row", "Reference treatment": "Control1"},
    ),
)


def _told(question: Question, answers: Mapping[str, str]) -> Iterator[str]:
    """Yield what the owner may answer, the likeliest first."""
    known = {**USUAL, **answers}
    for key in (question.column, question.kind):
        if key in known:
            yield known[key]
    yield from filter(None, (question.default, *question.choices))


def finished(found: Understanding, answers: Mapping[str, str]) -> Understanding:
    """Return what is understood once every question has the answer of the log's owner."""
    while open_ones := unanswered(found):
        for answer in _told(open_ones[0], answers):
            try:
                found = answered(found, open_ones[0].key, answer)
                break
            except AnswerError:
                continue
    return found


def score(example: Example, folder: Path) -> tuple[str, ...]:
    """Return what came of an example: tables, columns, questions, silent errors, figures."""
    paths = example.write(folder, random.Random(SEED))
    asked = {question.kind for question in unanswered(understood(log_of(paths)))} - ALWAYS
    pipeline.adopt(tuple(paths), lambda _: None, lambda found, keep: keep(finished(found, example.answers)))
    log = paths[0]
    made = read_adoption(settings_file(log))
    columns = next(table.columns for table in made.tables if table.gives == "Plants")
    right = [name for name, text in example.columns.items() if name in columns and columns[name].header == text]
    caught = {suspect.cell for suspect in silent_problems(read_adopted(log))[0]}
    return (
        f"{len(made.tables)} of {example.tables}",
        f"{len(right)} of {len(example.columns)}",
        "as they must" if asked == example.asked else f"{', '.join(sorted(asked ^ example.asked))} amiss",
        f"{len(caught & set(example.planted))} of {len(example.planted)}, {len(caught - set(example.planted))} more",
        _figures(example, log),
    )


def _figures(example: Example, log: Path) -> str:
    if example.mended:
        cells = {one.cell: one.found.split()[0] for one in silent_problems(read_adopted(log))[0]}
        right = {cell: float(text) / 10 for cell, text in cells.items() if text.replace(".", "").isdigit()}
        settings = settings_file(log)
        text = settings.read_text().replace("[[table]]\n", f"[[table]]\n{example.mended.format(**right)}\n", 1)
        settings.write_text(text)
    try:
        results = compute(pipeline.checked(log))
    except WorkbookError as error:
        return f"none: {error.problems[0].found}"
    weight = next(one for one in results.measures if one.measure.key == "fresh_weight")
    found = {code: one.value for code, one in weight.estimates}
    differ = [code for code, mean in example.means.items() if abs(found.get(code, 0.0) - mean) > 1e-8 * mean]
    return f"{', '.join(differ)} differ" if differ else "agree"


def main() -> None:
    """Print a row for each example."""
    head = ("file", "tables", "columns", "asked", "silent errors", "figures")
    rows = [head]
    for example in (*REAL, *EXAMPLES):
        with tempfile.TemporaryDirectory() as folder:
            rows.append((example.name, *score(example, Path(folder))))
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


if __name__ == "__main__":
    main()
