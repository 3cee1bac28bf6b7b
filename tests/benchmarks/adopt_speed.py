"""Time of taking in logs, each in a process of its own: processor time, and ratios of one run.

Run: python tests/benchmarks/adopt_speed.py. It prints

- `adopt --json` on a log of 20 sheets and 2,000 rows: 3 s at most on two cores;
  - `adopt --json` on 100,000 rows of a logger beside a trial workbook: 3 times reading them at
  most, and `check` after it
  twice reading them at most, where reading is the first stage alone, each cell typed;
- `check` of a log that was taken in: 1.5 times that of the same trial in a trial workbook at most.
"""

import atexit
import json
import os
import subprocess
import sys
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path

from openpyxl import Workbook

SHEETS = 20
ROWS_OF_A_SHEET = 100
LONG = 100_000
START = datetime(2026, 1, 1)
END = datetime(2026, 3, 12)
FIELDS = {
    "trial.title": "Two rooms",
    "trial.crop": "chard",
    "trial.started_on": "2026-01-01",
    "trial.harvested_on": "2026-03-12",
    "trial.reference": "cool",
}
KEPT = tempfile.TemporaryDirectory()
atexit.register(KEPT.cleanup)
COMPILED = {
    **os.environ,
    "PYTHONPYCACHEPREFIX": KEPT.name,
    "PYTHONDONTWRITEBYTECODE": "",
}  # as it is once installed
READING = """
import sys
from pathlib import Path
from reportgen.importing.cells import read_log
from reportgen.importing.model.cells import Conventions
read_log([Path(sys.argv[1])], Conventions())
"""
TRIAL = {
    "Trial": [
        ["Field", "Value"],
        ["Title", "Two rooms"],
        ["Crop", "chard"],
        ["Started on", START],
        ["Harvested on", END],
        ["Reference treatment", "cool"],
    ],
    "Treatments": [["Treatment", "Name"], ["cool", "Cool"], ["warm", "Warm"]],
}


def plants(tray: int, count: int) -> list[list[object]]:
    """Return plants with their weights and heights."""
    return [
        [plant, 40 + (tray * 7 + plant * 3) % 19 + 0.5, 12 + (tray + plant) % 5 + 0.5]
        for plant in range(1, count)
    ]


def written(path: Path, sheets: dict[str, list[list[object]]]) -> Path:
    """Write a workbook of rows by sheet."""
    book = Workbook(write_only=True)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path


def log_of_sheets(folder: Path) -> Path:
    """Write a log with a sheet for each tray, named after its treatment."""
    sheets = {}
    for tray in range(SHEETS):
        name = f"{('cool', 'warm')[tray % 2]} tray {tray // 2 + 1}"
        sheets[name] = [
            ["Plant", "Fresh weight (g)", "Height (cm)"],
            *plants(tray, ROWS_OF_A_SHEET + 1),
        ]
    return written(folder / "sheets.xlsx", sheets)


def same_trial(folder: Path) -> Path:
    """Write the same trial as a trial workbook."""
    trays = [[f"T{tray}", ("cool", "warm")[tray % 2], ROWS_OF_A_SHEET] for tray in range(SHEETS)]
    rows = [
        [f"T{tray}", *row] for tray in range(SHEETS) for row in plants(tray, ROWS_OF_A_SHEET + 1)
    ]
    own = {
        "Trays": [["Tray", "Treatment", "Plants started"], *trays],
        "Plants": [["Tray", "Plant", "Fresh weight (g)", "Height (cm)"], *rows],
    }
    return written(folder / "workbook.xlsx", {**TRIAL, **own})


def logger(folder: Path) -> tuple[Path, Path]:
    """Write a trial workbook and, beside it, the export of a logger that reads every minute."""
    book = same_trial(folder).rename(folder / "trial.xlsx")
    lines = ["Date/Time,Temp (°C),RH (%),CO2 (ppm)"]
    for n in range(LONG):
        moment = START + timedelta(minutes=n)
        lines.append(
            f"{moment:%m/%d/%Y %I:%M:%S %p},{18 + n % 1440 / 200:.1f},{55 + n % 997 / 60:.1f},{420 + n % 90}"
        )
    path = folder / "logger.csv"
    path.write_text("\n".join(lines), "utf-8")
    return book, path


def measured(words: list[str], *, may_ask: bool = False) -> tuple[float, float, str]:
    """Return seconds, seconds of the processor, and what a command prints, in a process of its own."""
    with tempfile.TemporaryFile("w+", encoding="utf-8") as output:
        start = time.perf_counter()
        process = subprocess.Popen([sys.executable, *words], stdout=output, env=COMPILED)
        _, status, usage = os.wait4(process.pid, 0)
        seconds = time.perf_counter() - start
        output.seek(0)
        shown = output.read()
    if status and not may_ask:
        raise SystemExit(f"{words[:4]} failed: {shown[-2000:]}")
    return seconds, usage.ru_utime + usage.ru_stime, shown


def adopt(paths: list[Path], answers: dict[str, str]) -> tuple[float, float]:
    """Return seconds and processor seconds of `adopt --json` once all is answered."""
    reply = paths[0].with_suffix(".answers.json")
    reply.write_text(json.dumps(answers), "utf-8")
    words = ["-m", "reportgen", "adopt", *map(str, paths), "--json", "--answers", str(reply)]
    seconds, processor, shown = measured(words, may_ask=True)
    still_open = json.loads(shown)["questions"]
    if still_open:
        raise SystemExit(f"not answered: {[question['key'] for question in still_open]}")
    return seconds, processor


def main() -> None:
    """Print each time and its ratio."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        log = log_of_sheets(folder)
        answers = {**FIELDS, "confirm": "yes"}
        adopt([log], answers)  # compiles what is imported
        log.with_name("sheets.adopt.toml").unlink()
        seconds, processor = adopt([log], answers)
        print(
            f"adopt --json, {SHEETS} sheets, {SHEETS * ROWS_OF_A_SHEET} rows: {seconds:.1f} s,"
            f" {processor:.1f} s of CPU"
        )
        own = same_trial(folder)
        _, adopted, _ = measured(["-m", "reportgen", "check", str(log)])
        _, plain, _ = measured(["-m", "reportgen", "check", str(own)])
        print(
            f"check of that log: {adopted:.2f} s of CPU, of the trial workbook {plain:.2f}: ratio"
            f" {adopted / plain:.2f}"
        )
        book, export = logger(folder)
        _, reading, _ = measured(["-c", READING, str(export)])
        seconds, processor = adopt([book, export], {"[logger.csv]logger.treatment": "whole trial"})
        print(f"adopt --json, {LONG} rows of a logger: {seconds:.1f} s, {processor:.1f} s of CPU")
        print(f"reading them: {reading:.1f} s of CPU: ratio {processor / reading:.1f}")
        _, checked, _ = measured(["-m", "reportgen", "check", str(book)])
        print(f"check with them: {checked:.1f} s of CPU: ratio {checked / reading:.1f}")


if __name__ == "__main__":
    main()
