"""Which spreadsheets were taken in: a settings file stands beside them."""

import os
from pathlib import Path
from typing import Final

TEXTS: Final = (".csv", ".txt", ".tsv")
ENDING: Final = ".adopt.toml"
BY_RANK: Final = (".xlsx", ".xlsm", ".xls", ".ods", ".csv", ".tsv", ".txt")


def is_adopted(source: Path) -> bool:
    """Return whether a settings file stands beside a spreadsheet."""
    settings = settings_file(source)
    return os.path.isfile(settings)  # unlike Path.is_file, False for a name that is too long


def is_text(path: Path) -> bool:
    """Return whether a file is one of separated values by its name."""
    return path.suffix.casefold() in TEXTS


def settings_file(log: Path) -> Path:
    """Return where the settings of a log stand: `winter.adopt.toml` for `winter.xlsx`.

    Where files of several endings share a name, the first of them in the order of `BY_RANK` has
    that one, and the others `winter.csv.adopt.toml`.
    """
    with_ending = log.with_name(log.name + ENDING)
    if os.path.isfile(with_ending):  # unlike Path.is_file, False for a name that is too long
        return with_ending
    suffix = log.suffix.casefold()
    if suffix in BY_RANK:
        higher = BY_RANK[: BY_RANK.index(suffix)]
    else:
        higher = ()
    is_second = any(os.path.isfile(log.with_suffix(other)) for other in higher)
    if is_second:
        return with_ending
    return log.with_name(log.stem + ENDING)
