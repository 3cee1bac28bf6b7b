"""Print how many small faults, put into the program one at a time, its tests find.

Run `python tests/benchmarks/mutants.py [HOW_MANY [SEED]]`. Each fault changes a comparison, an
arithmetic sign, a number, a boolean or a returned value at a random place of the rooms that
compute. It is put into a copy of the project, and the tests that name the changed module run there
until one fails, slow ones left out; where none does, those of the room run too. A test that fails
without the fault too does not count.
"""

import ast
import os
import random
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parent.parent.parent
COPIED = ("reportgen", "templates", "tests", "sample_workbook", "pyproject.toml", "README.md")
ROOMS = ("stats", "metrics", "workbook")
LONGEST = 240  # seconds for the tests of one fault
PYTEST = ("-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-m", "not slow")
NO_TESTS = 5  # how pytest ends where there is nothing to run
FOUND, MISSED, TOO_LONG = "found", "missed", "took too long"
COMPARED = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
COMPUTED = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}
JOINED = {ast.And: ast.Or, ast.Or: ast.And}


@dataclass(frozen=True)
class Place:
    """A place for a fault: a file below the root, and which of its nodes in the order of a walk."""

    path: Path
    node: int


def fits(node: ast.AST) -> bool:
    """Tell whether a node can be changed to something else of its kind."""
    if isinstance(node, ast.Compare):
        return type(node.ops[0]) in COMPARED
    if isinstance(node, ast.BinOp):
        return type(node.op) in COMPUTED and not is_of_types(node)
    if isinstance(node, ast.Constant):
        return isinstance(node.value, bool | int | float)
    if isinstance(node, ast.Return):
        return node.value is not None and not isinstance(node.value, ast.Constant)
    return isinstance(node, ast.BoolOp)


def is_of_types(node: ast.BinOp) -> bool:
    """Tell whether texts are added, which raises an error at once where they are subtracted."""
    sides = (node.left, node.right)
    return any(isinstance(side, ast.JoinedStr | ast.List | ast.Tuple) for side in sides)


def change(node: ast.AST) -> None:
    """Put a fault into a node that `fits`."""
    if isinstance(node, ast.Compare):
        node.ops[0] = COMPARED[type(node.ops[0])]()
    elif isinstance(node, ast.BinOp):
        node.op = COMPUTED[type(node.op)]()
    elif isinstance(node, ast.BoolOp):
        node.op = JOINED[type(node.op)]()
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
        node.value = not node.value
    elif isinstance(node, ast.Constant):
        node.value += 1
    elif isinstance(node, ast.Return):
        node.value = ast.Constant(None)


def places(folder: Path) -> Iterator[Place]:
    """Return each place for a fault in the functions of a folder."""
    for path in sorted(folder.rglob("*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        inside = nodes_of_functions(tree)
        for number, node in enumerate(ast.walk(tree)):
            if node in inside and fits(node):
                yield Place(path.relative_to(ROOT), number)


def nodes_of_functions(tree: ast.AST) -> set[ast.AST]:
    """Return the nodes of the bodies of functions, and so no annotation and no default."""
    found: set[ast.AST] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            for statement in node.body:
                found.update(ast.walk(statement))
    return found


def spoilt(place: Place) -> tuple[str, str]:
    """Return the text of a file with its fault, and what was changed to what."""
    tree = ast.parse((ROOT / place.path).read_text("utf-8"))
    node = list(ast.walk(tree))[place.node]
    before = ast.unparse(node)
    change(node)
    line = getattr(node, "lineno", 0)
    return ast.unparse(tree), f"{place.path}:{line}: {before} -> {ast.unparse(node)}"


def tests_of(path: Path) -> tuple[list[str], list[str]]:
    """Return the test files that name a module, and the others of its room."""
    room, stem = path.parts[1], path.stem
    named, others = [], []
    for test in sorted((ROOT / "tests").glob("test_*.py"), key=lambda one: one.stat().st_size):
        text = test.read_text("utf-8")
        name = f"tests/{test.name}"
        if re.search(rf"^(from reportgen|import reportgen).*\b{stem}\b", text, re.MULTILINE):
            named.append(name)
        elif test.name.startswith(f"test_{room}"):
            others.append(name)
    return named, others


def run(copy: Path, tests: list[str], without: set[str]) -> tuple[str, set[str]]:
    """Return whether tests find what is wrong in a copy of the project, and those that do."""
    left_out = [f"--deselect={name}" for name in sorted(without)]
    words = [sys.executable, *PYTEST, *tests, *left_out]
    environment = os.environ | {"PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(copy)}
    try:
        done = subprocess.run(
            words,
            cwd=copy,
            capture_output=True,
            text=True,
            check=False,
            timeout=LONGEST,
            env=environment,
        )
    except subprocess.TimeoutExpired:
        return TOO_LONG, set()
    if done.returncode in (0, NO_TESTS):
        return MISSED, set()
    failed = re.findall(r"^(?:FAILED|ERROR) (tests/.+?)(?: - .*)?$", done.stdout, re.MULTILINE)
    return FOUND, set(failed)


def outcome(copy: Path, file: Path, spoilt_text: str, tests: list[str]) -> str:
    """Return whether tests find a fault; one that fails without it too does not count."""
    good = file.read_text("utf-8")
    red: set[str] = set()
    while tests:
        file.write_text(spoilt_text, "utf-8")
        result, failed = run(copy, tests, red)
        file.write_text(good, "utf-8")
        if result != FOUND or not failed:
            return result
        without_fault, still_failed = run(copy, sorted(failed), set())
        if without_fault != FOUND:
            return FOUND
        red |= still_failed or failed
    return MISSED


def tried(copy: Path, place: Place) -> tuple[str, str]:
    """Return what came of a fault, and what it was."""
    text, said = spoilt(place)
    named, others = tests_of(place.path)
    result = outcome(copy, copy / place.path, text, named)
    if result == MISSED:
        result = outcome(copy, copy / place.path, text, others)
    return result, said


def copied(folder: Path) -> Path:
    """Return a copy of the project in a folder."""
    ignored = shutil.ignore_patterns("__pycache__")
    for name in COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, folder / name, ignore=ignored)
        else:
            shutil.copy(ROOT / name, folder / name)
    return folder


def main(how_many: int, seed: int) -> None:
    found = []
    for room in ROOMS:
        found += places(ROOT / "reportgen" / room)
    chosen = random.Random(seed).sample(found, how_many)
    outcomes = []
    with TemporaryDirectory() as folder:
        copy = copied(Path(folder))
        for place in chosen:
            result, said = tried(copy, place)
            outcomes.append(result)
            print(f"{result}: {said}", flush=True)
    decided = len(outcomes) - outcomes.count(TOO_LONG)
    share = outcomes.count(FOUND) / max(1, decided)
    print(f"{outcomes.count(FOUND)} of {decided} faults were found: {share:.0%}")


if __name__ == "__main__":
    usual = ["20", "1"]
    words = sys.argv[1:]
    number, first = words + usual[len(words) :]
    main(int(number), int(first))
