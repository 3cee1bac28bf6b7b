"""The sample workbooks: what the script writes, tidy as a grower's log, and free of problems."""

import subprocess
import sys
from collections import defaultdict
from datetime import datetime
from importlib.resources import files
from pathlib import Path

import pytest
from openpyxl import load_workbook

from reportgen import workbook

NAMES = ("pak-choi-root-warmth.xlsx", "basil-day-length.xlsx")
CHOSEN = {"Trays": {"Treatment"}, "Plants": {"Tray", "Status"}, "Solution": {"Tray", "Event"}, "Meter": {"Treatment"}}
DATED = {"Solution": "Date", "Meter": "Read at"}


def folder():
    package = Path(str(files("reportgen")))
    return next(each for each in (package / "sample_workbook", package.parent / "sample_workbook") if each.is_dir())


def run_script(target):
    subprocess.run([sys.executable, str(folder() / "make_samples.py"), str(target)], check=True)


def cells(path):
    book = load_workbook(path)
    return {sheet.title: list(sheet.iter_rows(values_only=True)) for sheet in book.worksheets}


def columns_with_a_list(sheet):
    """Return the headers of the columns whose second row offers a list."""
    rules = [rule for rule in sheet.data_validations.dataValidation if rule.type == "list"]
    return {head.value for head in sheet[1] if any(f"{head.column_letter}2" in rule.sqref for rule in rules)}


def test_the_script_writes_the_samples_again_value_for_value(tmp_path):
    run_script(tmp_path)
    for name in NAMES:
        assert cells(tmp_path / name) == cells(folder() / name)


def test_the_script_writes_the_same_bytes_each_time(tmp_path):
    for target in (tmp_path / "once", tmp_path / "again"):
        target.mkdir()
        run_script(target)
    for name in NAMES:
        assert (tmp_path / "once" / name).read_bytes() == (tmp_path / "again" / name).read_bytes()


@pytest.mark.parametrize("name", NAMES)
def test_each_sample_is_a_trial_without_a_single_problem(name):
    assert workbook.check(workbook.read(folder() / name)).findings == ()


@pytest.mark.parametrize("name", NAMES)
def test_each_sheet_keeps_its_header_in_view_and_on_every_printed_page(name):
    for sheet in load_workbook(folder() / name).worksheets:
        assert sheet.freeze_panes == "A2", sheet.title
        assert sheet.print_title_rows == "$1:$1", sheet.title
        assert (sheet.page_setup.orientation, sheet.page_setup.fitToWidth) == ("landscape", 1), sheet.title
        assert all(head.font.bold for head in sheet[1]), sheet.title


@pytest.mark.parametrize("name", NAMES)
def test_columns_of_codes_and_of_listed_words_offer_them(name):
    book = load_workbook(folder() / name)
    for title, columns in CHOSEN.items():
        assert columns <= columns_with_a_list(book[title]), title
    rules = book["Trial"].data_validations.dataValidation
    fields = {row[0].value for row in book["Trial"] if any(row[1].coordinate in rule.sqref for rule in rules)}
    assert {"Reference treatment", "Experimental unit", "Randomised", "Variances"} <= fields


@pytest.mark.parametrize("name", NAMES)
def test_dates_are_real_dates_shown_as_dates_before_october_2026(name):
    book = load_workbook(folder() / name)
    dates = [row[1] for row in book["Trial"] if str(row[0].value).endswith(" on")]
    assert len(dates) == 3
    for title, column in DATED.items():
        number = [head.value for head in book[title][1]].index(column)
        dates += [row[number] for row in book[title].iter_rows(min_row=2)]
    assert all(isinstance(cell.value, datetime) and cell.is_date for cell in dates)
    assert all(datetime(2026, 1, 1) <= cell.value < datetime(2026, 10, 1) for cell in dates)


def test_samples_stay_within_what_is_published_for_water_and_energy():
    # 10 to 150 g of fresh weight a litre of water used, 3 to 40 kWh a kg: ranges gathered from published
    # trials of leafy crops; taken over here without looking them up again
    for name in NAMES:
        trial = workbook.check(workbook.read(folder() / name))
        grams, litres, kwh = totals(trial)
        for treatment in (each.code for each in trial.treatments):
            assert 10 < grams[treatment] / litres[treatment] < 150
            assert 3 < 1000 * kwh[treatment] / grams[treatment] < 40


def totals(trial):
    """Return fresh weight in g, water used in L and energy in kWh of each treatment, added up by hand."""
    treatment = {tray.code: tray.treatment for tray in trial.trays}
    grams, litres, readings = defaultdict(float), defaultdict(float), defaultdict(list)
    for plant in trial.plants:
        grams[treatment[plant.tray]] += plant.fresh_weight or 0
    for event in trial.solution:
        litres[treatment[event.tray]] += event.volume if event.kind in ("fill", "top-up") else -event.volume
    for reading in trial.meter:
        readings[reading.treatment].append(reading.reading)
    return grams, litres, {code: max(shown) - min(shown) for code, shown in readings.items()}


def test_metered_energy_is_what_lamps_of_the_rated_power_use_in_their_hours():
    # by hand: 28 days of 53 W x 12 h, 40 W x 16 h, 32 W x 20 h; small lamps draw within a few percent of their rating
    trial = workbook.check(workbook.read(folder() / "basil-day-length.xlsx"))
    kwh = totals(trial)[2]
    assert kwh == pytest.approx({"h12": 17.808, "h16": 17.92, "h20": 17.92}, rel=0.03)
