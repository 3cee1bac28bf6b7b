"""One log of a seed: trial, layout, habits, truth."""

from dataclasses import dataclass, replace

from numpy.random import Generator, default_rng

from . import beside
from .grid import Log
from .habits import SPREADSHEET_ONLY, changed, drawn_habits, merged_labels, styled
from .layouts import BY_NAME, LAYOUTS, Layout, Style, placed
from .trial import Trial, Truth, chance, drawn, one_of, truth_of, with_energy, with_water


@dataclass(frozen=True)
class Made:
    """A made log with all that is true of it."""

    seed: int
    trial: Trial
    layout: Layout
    style: Style
    log: Log
    truth: Truth


def made(seed: int, layout: str = "") -> Made:
    """Return the log of a seed, in a layout that is named or drawn."""
    rng = default_rng(seed)
    at = int(rng.integers(len(LAYOUTS)))
    chosen = BY_NAME[layout] if layout else LAYOUTS[at]
    trial = drawn(rng, chosen.wants)
    habits = drawn_habits(rng, trial, chosen)
    style = styled(habits)
    trial = _with_more(rng, trial)
    log = placed(rng, trial, chosen, style)
    log = changed(rng, log, trial, style, habits)
    if style.repeats == "merged":
        log = merged_labels(log)
    log = _with_sheets(rng, log, trial, style)
    log = replace(log, suffix=_suffix(rng, log))
    if log.suffix == "csv":
        log = _as_csv(rng, log)
    return Made(seed, trial, chosen, style, log, truth_of(trial))


def _with_more(rng: Generator, trial: Trial) -> Trial:
    trial = with_water(rng, trial) if chance(rng, 0.15) and not trial.factors else trial
    return with_energy(rng, trial) if chance(rng, 0.15) and not trial.factors else trial


def _with_sheets(rng: Generator, log: Log, trial: Trial, style: Style) -> Log:
    sheets = []
    if trial.pours:
        sheets.append(beside.water_sheet(rng, trial, style))
    if trial.readings:
        sheets.append(beside.energy_sheet(rng, trial, style))
    file = log.files[0]
    return replace(log, files=(replace(file, sheets=(*file.sheets, *sheets)), *log.files[1:]))


def _suffix(rng: Generator, log: Log) -> str:
    several = any(len(file.sheets) > 1 for file in log.files)
    spreadsheet = several or bool(SPREADSHEET_ONLY & set(log.habits))
    kinds = ("xlsx",) * 6 + ("ods", "xls") + (() if spreadsheet else ("csv",) * 4)
    return one_of(rng, kinds)


def _as_csv(rng: Generator, log: Log) -> Log:
    separator = ";" if log.decimal == "," else one_of(rng, (",", ",", ";", "\t"))
    return replace(log, csv_separator=separator, csv_encoding=one_of(rng, ("utf-8", "utf-8-sig", "latin-1")))
