"""Draw what a grower sees while a log is taken in: the real dialogue on an invented log.

Run it from the top of the repository: python sample_workbook/screenshots/make_dialogue.py
"""

import tempfile
from collections.abc import Iterator
from datetime import date, timedelta
from html import escape
from pathlib import Path
from typing import Final

from openpyxl import Workbook

from reportgen.importing import adopting, dialogue
from reportgen.report import read_back

PICTURE: Final = Path(__file__).with_name("dialogue.svg")
LOG: Final = "winter-log.xlsx"
ANSWERS: Final = ("1", "Warm shelves in winter", "basil", "", "", "plain", "yes")
WEIGHTS: Final = {  # g cut of each tray, three times
    "warm": ((118, 96, 131), (124, 103, 127), (109, 92, 120)),
    "plain": ((101, 84, 99), (95, 88, 107), (104, 79, 93)),
}
COUNTERS: Final = {"warm": (210.4, 268.1, 327.0), "plain": (88.2, 112.9, 138.5)}  # kWh
FIRST_CUT: Final = date(2026, 1, 12)
BETWEEN_CUTS: Final = timedelta(days=14)
FONT: Final = 14  # px
LETTER: Final = 8.43  # px that a letter of a monospaced font of that size takes
LINE: Final = 20  # px
MARGIN: Final = 20
COLOURS: Final = {"paper": "#1d2433", "text": "#e6e9ef", "typed": "#9be28f"}


def write_log(path: Path) -> None:
    """Write the invented log: cuts by day, shelf and tray, and a meter for each shelf."""
    book = Workbook()
    cuts = book.active
    cuts.title = "Cuts"
    cuts.append(["Day", "Shelf", "Tray", "Fresh (g)"])
    meter = book.create_sheet("Meter")
    meter.append(["Day", "Shelf", "kWh"])
    for cut in range(3):
        day = FIRST_CUT + cut * BETWEEN_CUTS
        for shelf, trays in WEIGHTS.items():
            meter.append([day, shelf, COUNTERS[shelf][cut]])
            for tray, weights in enumerate(trays, 1):
                cuts.append([day, shelf, tray, weights[cut]])
    book.save(path)


def conversation(folder: Path) -> list[tuple[str, str]]:
    """Return the dialogue on the log as lines, each with its kind: `text` or `typed`.

    The settings file is written.
    """
    log = folder / LOG
    write_log(log)
    lines = [("typed", f"$ reportgen adopt {LOG}")]
    waiting: Iterator[str] = iter(ANSWERS)

    def show(text: str) -> None:
        lines.extend(("text", line) for line in text.split("\n"))

    def ask(prompt: str, default: str) -> str:
        typed = next(waiting, "q")
        offered = f" [{default}]" if default else ""
        lines.append(("typed", f"{prompt}{offered}: {typed}"))
        return typed or default

    terminal = dialogue.Terminal(ask, show, read_back.lines)
    adopting.take_in(
        [log], talk=lambda paths, earlier, keep: dialogue.converse(paths, earlier, terminal, keep)
    )
    return lines


def picture(lines: list[tuple[str, str]]) -> str:
    """Return lines of a terminal as an SVG."""
    width = 2 * MARGIN + LETTER * max(len(text) for _, text in lines)
    height = 2 * MARGIN + LINE * len(lines)
    size = f'width="{width:.0f}" height="{height}" viewBox="0 0 {width:.0f} {height}"'
    drawn = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" aria-label="Taking in a log'
            ' at a terminal">'
        ),
        f'<rect width="100%" height="100%" rx="8" fill="{COLOURS["paper"]}"/>',
        (
            f'<g font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="{FONT}"'
            ' xml:space="preserve">'
        ),
    ]
    for number, (kind, text) in enumerate(lines, 1):
        if text:
            place = f'x="{MARGIN}" y="{MARGIN + LINE * number - 6}" fill="{COLOURS[kind]}"'
            drawn.append(f"<text {place}>{escape(text)}</text>")
    return "\n".join([*drawn, "</g>", "</svg>", ""])


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        PICTURE.write_text(picture(conversation(Path(made))), encoding="utf-8")
