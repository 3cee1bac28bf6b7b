"""Print measures of the code by room: how long, how dense and how branched its lines are.

Run `python tests/benchmarks/house.py [FOLDER [DEPTH]]`: FOLDER is reportgen where none is named,
and DEPTH says how many folders deep a room lies.
"""

import ast
import io
import statistics
import sys
import tokenize
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
LONGEST_LINE = 100
MOST_PATHS = 8
COMPREHENSIONS = (ast.ListComp, ast.SetComp, ast.DictComp, ast.GeneratorExp)
FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)
BRANCHES = (
    ast.If,
    ast.For,
    ast.AsyncFor,
    ast.While,
    ast.ExceptHandler,
    ast.IfExp,
    ast.comprehension,
    ast.Assert,
    ast.match_case,
)
COUNTED_TOKENS = (tokenize.NAME, tokenize.OP, tokenize.NUMBER, tokenize.STRING)


@dataclass
class Measures:
    """What was counted in the files of a room; lines are those that are not blank."""

    tokens: list[int] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)

    def add(self, other: "Measures") -> None:
        self.tokens += other.tokens
        self.counts += other.counts

    def per_100_lines(self, name: str) -> float:
        return 100 * self.counts[name] / self.counts["lines"]

    def of_functions(self, name: str) -> float:
        return 100 * self.counts[name] / max(1, self.counts["functions"])


def measured(text: str) -> Measures:
    """Return the measures of one file."""
    tree = ast.parse(text)
    found = Measures()
    lines = text.splitlines()
    found.counts["lines"] = sum(1 for line in lines if line.strip())
    found.counts["long"] = sum(1 for line in lines if len(line) > LONGEST_LINE)
    for node in ast.walk(tree):
        count(node, found.counts)
    tokens = tokens_by_line(text)
    of_functions = {line for node in ast.walk(tree) for line in body_lines(node)}
    found.tokens = [tokens[line] for line in sorted(of_functions) if tokens[line]]
    return found


def count(node: ast.AST, counts: Counter[str]) -> None:
    """Count what a node is an instance of."""
    if isinstance(node, COMPREHENSIONS):
        counts["comprehensions"] += 1
    elif isinstance(node, ast.IfExp):
        counts["conditionals"] += 1
    elif isinstance(node, FUNCTIONS):
        counts["functions"] += 1
        counts["branched"] += paths(node) > MOST_PATHS
        counts["bundled"] += unpacks_a_parameter(node)
        counts["passed through"] += passes_keywords_through(node)


def paths(function: ast.AST) -> int:
    """Return the cyclomatic complexity of a function, its inner functions among it."""
    found = 1
    for node in ast.walk(function):
        if isinstance(node, BRANCHES):
            found += 1
        if isinstance(node, ast.comprehension):
            found += len(node.ifs)
        if isinstance(node, ast.BoolOp):
            found += len(node.values) - 1
    return found


def unpacks_a_parameter(function: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    """Tell whether a function takes several values in one parameter, and unpacks it."""
    arguments = function.args
    names = {one.arg for one in [*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs]}
    for node in ast.walk(function):
        if not isinstance(node, ast.Assign) or not isinstance(node.value, ast.Name):
            continue
        if node.value.id in names and isinstance(node.targets[0], ast.Tuple):
            return True
    return False


def passes_keywords_through(function: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    """Tell whether a function gives on keywords that it does not name itself."""
    taken = function.args.kwarg
    if taken is None:
        return False
    given = [node for node in ast.walk(function) if isinstance(node, ast.keyword)]
    return any(
        one.arg is None and isinstance(one.value, ast.Name) and one.value.id == taken.arg
        for one in given
    )


def tokens_by_line(text: str) -> Counter[int]:
    found: Counter[int] = Counter()
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type in COUNTED_TOKENS:
            found[token.start[0]] += 1
    return found


def body_lines(node: ast.AST) -> Iterator[int]:
    """Return the numbers of the lines of a function's statements, without its docstring."""
    if not isinstance(node, FUNCTIONS):
        return
    body = node.body
    if ast.get_docstring(node) is not None:
        body = body[1:]
    for statement in body:
        yield from range(statement.lineno, (statement.end_lineno or statement.lineno) + 1)


def room_of(path: Path, depth: int) -> str:
    folders = path.parts[:-1]
    return "/".join(folders[:depth]) or "(top)"


def lines_in(folder: Path) -> int:
    """Return how many lines of Python in a folder are not blank."""
    found = 0
    for path in folder.rglob("*.py"):
        found += sum(1 for line in path.read_text("utf-8").splitlines() if line.strip())
    return found


def row(name: str, of: Measures) -> str:
    middle = statistics.median(of.tokens or [0])
    return (
        f"{name:34}{of.counts['lines']:7}{middle:8}"
        f"{of.per_100_lines('comprehensions'):7.1f}{of.per_100_lines('conditionals'):7.1f}"
        f"{of.per_100_lines('long'):7.1f}{of.of_functions('branched'):10.1f}"
        f"{of.counts['bundled']:9}{of.counts['passed through']:9}{of.counts['functions']:10}"
    )


def main(folder: Path, depth: int) -> None:
    rooms: dict[str, Measures] = {}
    for path in sorted(folder.rglob("*.py")):
        room = rooms.setdefault(room_of(path.relative_to(folder), depth), Measures())
        room.add(measured(path.read_text("utf-8")))
    whole = Measures()
    for room in rooms.values():
        whole.add(room)
    print(
        "comprehensions, conditional expressions and long lines are for each 100 lines;\n"
        f"branched: percent of functions with more than {MOST_PATHS} paths;\n"
        "bundled: functions that unpack a parameter; through: those that pass **keywords on\n"
    )
    print(
        f"{'room':34}{'lines':>7}{'tokens':>8}{'comp':>7}{'cond':>7}{'long':>7}"
        f"{'branched':>10}{'bundled':>9}{'through':>9}{'functions':>10}"
    )
    for name, room in sorted(rooms.items()):
        print(row(name, room))
    print(row("all", whole))
    tests = lines_in(ROOT / "tests")
    source = lines_in(ROOT / "reportgen")
    print(f"\ntests : source = {tests} : {source} lines = {tests / source:.2f}")


if __name__ == "__main__":
    usual = [str(ROOT / "reportgen"), "1"]
    words = sys.argv[1:]
    chosen, deep = words + usual[len(words) :]
    main(Path(chosen), int(deep))
