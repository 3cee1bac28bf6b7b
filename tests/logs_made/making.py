"""One log of a seed: trial, layout, habits, truth."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from numpy.random import Generator, default_rng

from . import beside
from .grid import Log
from .habits import SPREADSHEET_ONLY, changed, drawn_habits, merged_labels, styled
from .layouts import BY_NAME, LAYOUTS, Layout, Style, placed
from .trial import Trial, Truth, chance, drawn, lost_of, one_of, truth_of, with_energy, with_water

Edit = Callable[[Trial], Trial]


def as_it_is(trial: Trial) -> Trial:
    """Return a trial as it was drawn."""
    return trial


@dataclass(frozen=True)
class Made:
    """A made log with all that is true of it: its figures, how many plants each treatment lost, its
    reference.
    """

    seed: int
    trial: Trial
    layout: Layout
    style: Style
    log: Log
    truth: Truth
    lost: dict[str, int]
    reference: str


def made(seed: int, layout: str = "", edit: Edit = as_it_is) -> Made:
    """Return the log of a seed, in a layout that is named or drawn; `edit` changes its trial, and
    nothing else.

    Each step draws by itself, so that a trial which was edited stands in the same log as before.
    """
    rng = default_rng(seed)
    at = int(rng.integers(len(LAYOUTS)))
    chosen = BY_NAME[layout] if layout else LAYOUTS[at]
    trial = drawn(rng, chosen.wants)
    habits = drawn_habits(default_rng([seed, 1]), trial, chosen)
    style = styled(habits)
    trial = edit(_with_more(default_rng([seed, 2]), trial))
    log = placed(default_rng([seed, 3]), trial, chosen, style)
    log = changed(seed, log, trial, style, habits)
    if style.repeats == "merged":
        log = merged_labels(log)
    log = _with_sheets(default_rng([seed, 4]), log, trial, style)
    log = _as_file(default_rng([seed, 5]), log)
    truth = truth_of(trial)
    reference = next(iter(next(iter(truth.values()))))
    return Made(seed, trial, chosen, style, log, truth, lost_of(trial), reference)


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


def _as_file(rng: Generator, log: Log) -> Log:
    """Return a log with the kind of its files."""
    separator = ";" if log.decimal == "," else one_of(rng, (",", ",", ";", "\t"))
    encoding = one_of(rng, ("utf-8", "utf-8-sig", "latin-1"))
    kinds = ("xlsx",) * 6 + ("ods", "xls") + (("csv",) * 4 if can_be_csv(log) else ())
    return replace(log, suffix=one_of(rng, kinds), csv_separator=separator, csv_encoding=encoding)


def can_be_csv(log: Log) -> bool:
    """Return whether a log is of one sheet a file, with nothing that only a spreadsheet shows."""
    several = any(len(file.sheets) > 1 for file in log.files)
    return not several and not SPREADSHEET_ONLY & set(log.habits)
