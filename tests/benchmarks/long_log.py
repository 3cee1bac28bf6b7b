"""Time and memory of `check` on a Climate sheet of 100,000 rows, beside python-calamine merely
reading its values.

Run: python tests/benchmarks/long_log.py [times]. It prints medians and their ratio; the aim is 3 at
most, and 400 MiB.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path

from openpyxl import Workbook

ROWS = 100_000
BARE = """
import sys
from python_calamine import CalamineWorkbook
book = CalamineWorkbook.from_path(sys.argv[1])
for name in book.sheet_names:
    book.get_sheet_by_name(name).to_python(skip_empty_area=False)
"""
SHEETS = {
    "Trial": [
        ["Field", "Value"],
        ["Title", "A long log"],
        ["Crop", "chard"],
        ["Started on", datetime(2026, 1, 1)],
        ["Harvested on", datetime(2026, 3, 12)],
        ["Reference treatment", "cool"],
    ],
    "Treatments": [["Treatment", "Name"], ["cool", "Cool"], ["warm", "Warm"]],
    "Trays": [
        ["Tray", "Treatment", "Plants started"],
        *([f"{code[0]}{n}", code, 2] for code in ("cool", "warm") for n in (1, 2, 3)),
    ],
    "Plants": [
        ["Tray", "Plant", "Fresh weight (g)"],
        *(
            [f"{code}{n}", plant, 40 + 5 * n + plant]
            for code in "cw"
            for n in (1, 2, 3)
            for plant in (1, 2)
        ),
    ],
}


def log() -> list[list[object]]:
    """Return the rows of a logger that reads every minute."""
    start = datetime(2026, 1, 1)
    return [
        [
            ("cool", "warm")[n % 2],
            start + timedelta(minutes=n),
            round(18 + (n % 1440) / 200, 1),
            round(55 + (n % 997) / 60, 1),
            420 + n % 90,
            round(19 + (n % 613) / 300, 1),
        ]
        for n in range(ROWS)
    ]


def write(path: Path) -> None:
    """Write the workbook."""
    book = Workbook(write_only=True)
    head = ["Treatment", "Read at", "Air temperature (°C)", "Relative humidity (%)", "CO2 (ppm)"]
    for name, rows in {**SHEETS, "Climate": [[*head, "Solution temperature (°C)"], *log()]}.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(path)


def measured(words: list[str]) -> tuple[float, float]:
    """Return seconds and peak MiB of a command in a process of its own."""
    start = time.perf_counter()
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    if status:
        raise SystemExit(f"{words[:3]} failed")
    return time.perf_counter() - start, usage.ru_maxrss / 1024


def main() -> None:
    """Print both and their ratio."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch) / "long.xlsx"
        write(path)
        ours = [sys.executable, "-m", "reportgen", "check", str(path)]
        bare = [sys.executable, "-c", BARE, str(path)]
        taken = [(*measured(ours), *measured(bare)) for _ in range(times)]
    seconds, memory, floor, least = (
        statistics.median(column) for column in zip(*taken, strict=True)
    )
    print(f"reportgen check, a log of {ROWS} rows: {seconds:.2f} s, {memory:.0f} MiB at most")
    print(f"python-calamine reading its values: {floor:.2f} s, {least:.0f} MiB at most")
    print(
        f"ratio {seconds / floor:.2f} (aim: 3 at most), memory {memory:.0f} MiB (aim: 400 at most)"
    )


if __name__ == "__main__":
    main()
