"""Time of building an archive of trials: cold with one and with two workers, again unchanged, and
with one changed.

Run: python tests/benchmarks/archive.py [trials] [--pdf]. It prints seconds and their ratios to the
cold build with one worker; the aim is 1 s at most for 100 trials that did not change.
"""

import random
import subprocess
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

from openpyxl import Workbook

START = date(2026, 2, 2)
TRAYS = {f"{code[0]}{n}": code for code in ("dry", "wet") for n in range(1, 5)}


def sheets(number: int) -> dict[str, list[list[object]]]:
    """Return the rows of one of the archive's trials; every fourth is a round of one comparison."""
    drawn = random.Random(number)
    start = START + timedelta(days=number)
    days = [
        (start, "fill", 6.0),
        (start + timedelta(days=14), "top-up", 1.0),
        (start + timedelta(days=28), "remaining", 3.5),
    ]
    named = ("dry", "wet") if number % 4 == 0 else (f"dry {number}", f"wet {number}")
    return {
        "Trial": [
            ["Field", "Value"],
            ["Title", f"Two ways to water rocket, trial {number}"],
            ["Crop", "rocket"],
            ["Started on", start],
            ["Harvested on", start + timedelta(days=28)],
            ["Reference treatment", "dry"],
            ["Electricity price (per kWh)", 0.25],
        ],
        "Treatments": [["Treatment", "Name"], ["dry", named[0]], ["wet", named[1]]],
        "Trays": [
            ["Tray", "Treatment", "Plants started"],
            *([tray, code, 4] for tray, code in TRAYS.items()),
        ],
        "Plants": [
            ["Tray", "Plant", "Fresh weight (g)", "Height (cm)"],
            *(
                [tray, plant, round(drawn.gauss(30, 4), 1), 12 + plant]
                for tray in TRAYS
                for plant in range(1, 5)
            ),
        ],
        "Solution": [
            ["Tray", "Date", "Event", "Volume (L)", "EC (mS/cm)"],
            *(
                [tray, day, event, round(volume + drawn.random() / 9, 2), 1.4]
                for tray in TRAYS
                for day, event, volume in days
            ),
        ],
    }


def write(number: int, path: Path) -> None:
    """Write the workbook of a trial."""
    book = Workbook(write_only=True)
    for name, rows in sheets(number).items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(path)


def seconds(books: Path, site: Path, *words: str) -> float:
    """Return how long a build takes in a process of its own."""
    begin = time.perf_counter()
    command = [sys.executable, "-m", "reportgen", "build", str(books), "--out", str(site), *words]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return time.perf_counter() - begin


def main() -> None:
    """Print each and its ratio to the first."""
    trials = next((int(word) for word in sys.argv[1:] if word.isdecimal()), 100)
    pdf = [] if "--pdf" in sys.argv else ["--no-pdf"]
    with tempfile.TemporaryDirectory() as scratch:
        books, site = Path(scratch) / "books", Path(scratch) / "site"
        books.mkdir()
        for number in range(trials):
            write(number, books / f"trial-{number:03}.xlsx")
        taken = {
            "cold, 1 worker": seconds(books, site, "--jobs", "1", *pdf),
            "cold, 2 workers": seconds(books, Path(scratch) / "other", "--jobs", "2", *pdf),
            "unchanged (aim: 1 s at most for 100)": seconds(books, site, *pdf),
        }
        write(trials, books / "trial-000.xlsx")
        taken["one changed"] = seconds(books, site, *pdf)
    print(f"{trials} trials, {'pages and PDFs' if pdf == [] else 'pages'}")
    for name, found in taken.items():
        print(f"{name}: {found:.1f} s, {100 * found / taken['cold, 1 worker']:.1f} %")


if __name__ == "__main__":
    main()
