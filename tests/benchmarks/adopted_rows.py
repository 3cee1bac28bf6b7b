"""Time of `check` on an adopted log by its rows, beside python-calamine merely reading its values.

Run: python tests/benchmarks/adopted_rows.py [rows ...]. It prints what a row takes as a ratio to
the first size, which is 1 or less where time grows as rows do, and the ratio to bare reading. The
usual sizes are 1,000, 10,000 and 100,000.
"""

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from openpyxl import Workbook

SIZES = (1_000, 10_000, 100_000)
SETTINGS = """adopt = 2

[[table]]
sheets = ["Weights"]
header_rows = [1]
gives = "Plants"
treatment = "column:Treatment"
unit = "column:Tray"
plant = "column:Plant"
values = { "Fresh weight" = { columns = ["Weight"], unit = "g" } }

[[table]]
sheets = ["Logger"]
header_rows = [1]
gives = "Climate"
treatment = "column:Treatment"
occasion = "column:Time"
values = { "Air temperature" = { columns = ["Temperature"], unit = "°C" } }

[trial]
Title = "A long log"
Crop = "chard"
"Started on" = 2026-01-01
"Harvested on" = 2026-03-12
"Reference treatment" = "cool"
"""
BARE = """
import sys, time
from python_calamine import CalamineWorkbook
start = time.process_time()
book = CalamineWorkbook.from_path(sys.argv[1])
for name in book.sheet_names:
    book.get_sheet_by_name(name).to_python(skip_empty_area=False)
print(time.process_time() - start)
"""
CHECK = """
import sys, time
from pathlib import Path
from reportgen import pipeline
start = time.process_time()
found = pipeline.check(Path(sys.argv[1])).problems
if found:
    sys.exit(str(found[0]))
print(time.process_time() - start)
"""


def logger(rows: int) -> Iterator[list[object]]:
    """Yield the readings of a logger in two rooms, with a note in a column that is not read."""
    start = datetime(2026, 1, 1)
    for n in range(rows):
        room = ("cool", "warm")[n % 2]
        yield [room, start + timedelta(minutes=n), round(18 + n % 1440 / 200, 1), f"reading {n}"]


def write(folder: Path, rows: int) -> Path:
    """Write a log with its settings file, and return the log's path."""
    book = Workbook(write_only=True)
    weights = book.create_sheet("Weights")
    weights.append(["Tray", "Treatment", "Plant", "Weight (g)"])
    for n in range(24):
        weights.append([f"T{n // 6 + 1}", ("cool", "warm")[n // 6 % 2], n % 6 + 1, 40 + n * 7 % 11])
    readings = book.create_sheet("Logger")
    readings.append(["Treatment", "Time", "Temperature (°C)", "Note"])
    for row in logger(rows):
        readings.append(row)
    book.save(path := folder / f"log{rows}.xlsx")
    path.with_name(f"log{rows}.adopt.toml").write_text(SETTINGS, "utf-8")
    return path


def seconds(script: str, path: Path) -> float:
    """Return the processor time that a script takes for a log, without its start."""
    done = subprocess.run(
        [sys.executable, "-c", script, str(path)], capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise SystemExit(done.stderr)
    return float(done.stdout)


def main() -> None:
    """Print for each number of rows what a row takes, beside the first number and beside bare
    reading.
    """
    sizes = [int(word) for word in sys.argv[1:]] or list(SIZES)
    first = 0.0
    with tempfile.TemporaryDirectory() as scratch:
        for rows in sizes:
            path = write(Path(scratch), rows)
            taken, floor = seconds(CHECK, path), seconds(BARE, path)
            first = first or taken / rows
            of_first, of_floor = taken / rows / first, taken / floor
            print(
                f"{rows} rows: {taken:.2f} s, a row {of_first:.2f} of the first; bare reading times"
                f" {of_floor:.0f}"
            )


if __name__ == "__main__":
    main()
