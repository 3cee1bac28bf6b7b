"""The sample workbooks: what the script writes, tidy as a grower's log, and free of problems."""

import subprocess
import sys
from datetime import datetime
from importlib.resources import files
from pathlib import Path

import pytest
from openpyxl import load_workbook

from reportgen import workbook

NAMES = ("pak-choi-root-warmth.xlsx", "basil-day-length.xlsx")


def folder():
    package = Path(str(files("reportgen")))
    return next(each for each in (package / "sample_workbook", package.parent / "sample_workbook") if each.is_dir())


def cells(path):
    book = load_workbook(path)
    return {sheet.title: list(sheet.iter_rows(values_only=True)) for sheet in book.worksheets}


def test_the_script_writes_the_samples_again_value_for_value(tmp_path):
    subprocess.run([sys.executable, str(folder() / "make_samples.py"), str(tmp_path)], check=True)
    for name in NAMES:
        assert cells(tmp_path / name) == cells(folder() / name)


@pytest.mark.parametrize("name", NAMES)
def test_each_sample_is_a_trial_without_a_single_problem(name):
    assert workbook.check(workbook.read(folder() / name)).findings == ()


@pytest.mark.parametrize("name", NAMES)
def test_each_sheet_keeps_its_header_in_view_and_offers_the_known_words(name):
    book = load_workbook(folder() / name)
    for sheet in book.worksheets:
        assert sheet.freeze_panes is not None, sheet.title
    for title in ("Trays", "Plants", "Solution", "Meter"):
        kinds = {rule.type for rule in book[title].data_validations.dataValidation}
        assert "list" in kinds, title


@pytest.mark.parametrize("name", NAMES)
def test_dates_are_real_dates_before_october_2026(name):
    dates = [row[0] for row in cells(folder() / name)["Solution"][1:]]
    assert dates
    assert all(isinstance(day, datetime) and day < datetime(2026, 10, 1) for day in dates)
