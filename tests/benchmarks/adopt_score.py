"""Print how logs drawn at random are taken in when a truthful owner answers: by layout and by
habit.

    python tests/benchmarks/adopt_score.py --seeds 200
    python tests/benchmarks/adopt_score.py --seeds 40 --layout "sheet a tray"
    python tests/benchmarks/adopt_score.py --show 17

right: the figures read, and those of the trial, are the true ones. part: they are, but a quantity
of the log was left out. stopped: an error names cells. stuck: no true answer leads on. wrong:
nothing is open and figures differ.
"""

import argparse
import logging
import sys
import tempfile
import warnings
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Final

ROOT: Final = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from logs_made import comparing, owner, writers  # noqa: E402
from logs_made.layouts import BY_NAME  # noqa: E402
from logs_made.making import made  # noqa: E402

KINDS: Final = (owner.RIGHT, owner.PART, owner.STOPPED, owner.STUCK, owner.WRONG, owner.CRASH)
LONGEST: Final = 160  # letters of a reason that is printed


@dataclass(frozen=True)
class Line:
    """What came of one seed."""

    seed: int
    layout: str
    habits: tuple[str, ...]
    suffix: str
    kind: str
    why: str
    questions: int
    seconds: float


def scored(task: tuple[int, str]) -> Line:
    """Return what comes of the log of a seed."""
    seed, layout = task
    warnings.simplefilter("ignore")
    logging.disable()
    log = made(seed, layout)
    with tempfile.TemporaryDirectory() as folder:
        outcome = owner.taken_in(log, writers.write(log.log, Path(folder)))
    habits = (*log.log.habits, *_of_trial(log))
    why = outcome.why.strip().splitlines()[-1] if outcome.why.strip() else ""
    return Line(
        seed,
        log.layout.name,
        habits,
        log.log.suffix,
        outcome.kind,
        why,
        outcome.questions,
        outcome.seconds,
    )


def _of_trial(log) -> Iterable[str]:
    """Yield what a drawn trial has that is no habit of its own."""
    trial = log.trial
    yield f"file {log.log.suffix}"
    if trial.mass not in ("g", "lb+oz"):
        yield f"weights in {trial.mass}"
    if trial.kind:
        yield f"days: {trial.kind}"
    if trial.pours:
        yield "water"
    if trial.readings:
        yield "energy"
    if any(unit.block for unit in trial.units):
        yield "blocks"


def table(lines: list[Line], groups: Callable[[Line], Iterable[str]], title: str) -> str:
    """Return a table of outcomes by group, the worst first."""
    found: dict[str, list[Line]] = {}
    for line in lines:
        for group in groups(line):
            found.setdefault(group, []).append(line)
    order = sorted(found, key=lambda group: (_share(found[group]), group))
    rows = [(title, "logs", *KINDS, "right %", "questions", "seconds")]
    rows += [_row(group, found[group]) for group in order]
    rows.append(_row("all", lines))
    widths = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))]
    texts = ["  ".join([row[0].ljust(widths[0]), *_right(row, widths)]) for row in rows]
    return "\n".join(texts)


def _right(row: tuple[str, ...], widths: list[int]) -> list[str]:
    return [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]


def _share(lines: list[Line]) -> float:
    return sum(line.kind == owner.RIGHT for line in lines) / len(lines)


def _row(name: str, lines: list[Line]) -> tuple[str, ...]:
    counts = [str(sum(line.kind == kind for line in lines)) for kind in KINDS]
    asked = f"{median(line.questions for line in lines):g}"
    seconds = f"{median(line.seconds for line in lines):.2f}"
    return (name, str(len(lines)), *counts, f"{100 * _share(lines):.0f}", asked, seconds)


def show(seed: int, layout: str) -> None:
    """Print a log, what was asked and answered, and what was read beside what is true."""
    log = made(seed, layout)
    print(f"seed {seed}: {log.layout.name}; {', '.join((*log.log.habits, *_of_trial(log)))}")
    print(writers.text_grid(log.log))
    with tempfile.TemporaryDirectory() as folder:
        outcome = owner.taken_in(log, writers.write(log.log, Path(folder)))
        toml = "".join(
            path.read_text(encoding="utf-8") for path in Path(folder).glob("*.adopt.toml")
        )
    for one in outcome.given:
        _show_question(one.question, log)
        print(f"    -> {one.answer}  ({one.why})")
    for question in outcome.document.get("questions") or []:
        print("  still open:")
        _show_question(question, log)
    print(toml)
    for problem in outcome.document.get("problems") or []:
        print("problem:", problem)
    print("ledger:", outcome.document.get("ledger"))
    print(f"lost: {log.lost}; reference: {log.reference}")
    for quantity, figures in log.truth.items():
        read = comparing.read_of(outcome.document.get("read") or {}, quantity) or {}
        print(f"{quantity}:")
        for name, one in figures.items():
            print(f"  {name}: true {one}")
        for name, held in read.items():
            print(f"  {name}: read {held}")
    print(f"{outcome.kind}: {outcome.why}")


def _show_question(question, log) -> None:
    slot = question.get("slot", "")
    print(f"  [{question['key']}] {slot}: {question.get('ask')}  {question.get('where') or ''}")
    for choice in question.get("choices") or []:
        gives = choice.get("gives")
        fits = (
            f"  fit {comparing.fit(gives, log.truth, log.trial)} {_brief(gives)}" if gives else ""
        )
        print(f"    - {choice['answer']}{fits}")


def _brief(gives) -> str:
    texts = []
    for quantity, figures in gives.items():
        told = ", ".join(
            f"{name} {one.get('units')}/{one.get('n')} {one.get('mean')}"
            for name, one in figures.items()
        )
        texts.append(f"{quantity}: {told}")
    return "; ".join(texts)


def main() -> None:
    """Print the score of a range of seeds, or one seed in full."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seeds", type=int, default=100, help="how many logs")
    parser.add_argument("--start", type=int, default=0, help="the first seed")
    parser.add_argument("--layout", default="", help="one layout in place of all")
    parser.add_argument(
        "--show", type=int, help="print the log of one seed, its questions and answers"
    )
    parser.add_argument("--jobs", type=int, default=1, choices=(1, 2), help="processes")
    parser.add_argument("--layouts", action="store_true", help="print the names of all layouts")
    told = parser.parse_args()
    if told.layouts:
        print("\n".join(BY_NAME))
        return
    if told.layout and told.layout not in BY_NAME:
        parser.error(f"no such layout: {told.layout}")
    if told.show is not None:
        show(told.show, told.layout)
        return
    tasks = [(seed, told.layout) for seed in range(told.start, told.start + told.seeds)]
    if told.jobs == 1:
        lines = [scored(task) for task in tasks]
    else:
        with ProcessPoolExecutor(told.jobs) as pool:
            lines = list(pool.map(scored, tasks, chunksize=4))
    print(table(lines, lambda line: (line.layout,), "layout"))
    print()
    print(table(lines, lambda line: line.habits, "habit"))
    for kind in (*KINDS[4:], *KINDS[1:4]):
        bad = [line for line in lines if line.kind == kind]
        if bad:
            print(f"\n{kind}:")
        for line in bad:
            print(f"  {line.seed:>5} {line.layout}: {line.why[:LONGEST]}")


if __name__ == "__main__":
    main()
