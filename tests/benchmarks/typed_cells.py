"""Print how long the cells of a logger's export take to type, as a share of reading them.

Run it as `python tests/benchmarks/typed_cells.py`.
"""

import tempfile
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

import openpyxl

from reportgen.importing.cells import typed
from reportgen.importing.cells.marks import NO_MARKS, marks_in
from reportgen.importing.cells.text_file import read_csv
from reportgen.importing.model.cells import Conventions
from reportgen.workbook.cells import read
from reportgen.workbook.raw import Workbook

ROWS: Final = 100_000
HEADER: Final = ("Time", "Temp C", "RH %", "CO2 ppm", "EC", "pH")


def rows() -> list[list[object]]:
    """Return what a logger wrote every two minutes."""
    start = datetime(2026, 1, 5)
    return [
        [
            start + timedelta(minutes=2 * row),
            15 + row % 1500 / 100,
            40 + row % 50,
            400 + row % 1100,
            1 + row % 2000 / 1000,
            6.1,
        ]
        for row in range(ROWS)
    ]


def main() -> None:
    """Write the same export three times, and print seconds and shares."""
    with tempfile.TemporaryDirectory() as folder:
        paths = written(Path(folder))
        for path in paths:
            reader: Callable[[Path], Workbook] = read if path.suffix == ".xlsx" else read_csv
            began = time.process_time()
            book = reader(path)
            read_in = time.process_time() - began
            marks = marks_in(path.read_bytes()) if path.suffix == ".xlsx" else {}
            typed(book.sheets[0], marks.get(book.sheets[0].name, NO_MARKS), Conventions())
            typed_in = time.process_time() - began - read_in
            print(
                f"{path.name}: read in {read_in:.2f} s, typed in {typed_in / read_in:.1f} times as"
                " long"
            )


def written(folder: Path) -> list[Path]:
    """Write a spreadsheet, a csv, and a csv with decimal commas and the day first; return their
    paths.
    """
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("log")
    plain = [",".join(HEADER)]
    european = [";".join(HEADER)]
    sheet.append(HEADER)
    for moment, *values in rows():
        sheet.append([moment, *values])
        plain.append(",".join([f"{moment:%Y-%m-%d %H:%M:%S}", *map(str, values)]))
        european.append(
            ";".join(
                [f"{moment:%d/%m/%Y %H:%M}", *(str(value).replace(".", ",") for value in values)]
            )
        )
    book.save(folder / "log.xlsx")
    (folder / "plain.csv").write_text("\n".join(plain))
    (folder / "european.csv").write_text("\n".join(european))
    return [folder / name for name in ("log.xlsx", "plain.csv", "european.csv")]


if __name__ == "__main__":
    main()
