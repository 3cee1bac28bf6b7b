"""Errors that stay silent in a spreadsheet, each in a small file that has just that habit."""

from datetime import date, datetime

import pytest

from tests.adopting import HEAD, PLANTS, TRIAL, book, rows, said, trial

WAITS = "waits for your word"


def of(found, cell):
    return [one for one in found if f"Log!{cell}:" in one]


def test_a_log_without_such_habits_has_nothing_to_say(tmp_path):
    assert said(book(tmp_path, Log=rows()), PLANTS + TRIAL) == []


# --- totals


@pytest.mark.parametrize("label", ["Total", "mean:", "Average", "Summe", "Moyenne"])
def test_a_row_that_is_named_like_a_total_is_no_plant(tmp_path, label):
    path = book(tmp_path, Log=[*rows(), (label, None, None, 300.0)])
    found = said(path, PLANTS + TRIAL)
    assert [one[:16] for one in of(found, "D14")] == ["caution Log!D14:"]
    assert any("D14 looks wrong" in one and "exclude_rows = [14]" in one for one in found)
    assert len(trial(path, PLANTS + "exclude_rows = [14]\n" + TRIAL).plants) == 12


def test_a_row_that_holds_the_sum_of_those_above_is_no_plant(tmp_path):
    held = rows()
    total = sum(row[3] for row in held[1:])
    found = said(book(tmp_path, Log=[*held, ("D", 4, "N", total)]), PLANTS + TRIAL)
    assert any("the row holds the sum of the rows above it" in one for one in of(found, "D14"))
    assert any(WAITS in one for one in found)


def test_a_sum_of_one_tray_between_the_rows_is_no_plant(tmp_path):
    held = rows(20.5, 21.25, 22.0, 30.5, 31.25, 32.5)
    held.insert(7, (None, None, None, 94.25))  # of the second shelf alone
    found = said(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert any(one.startswith("caution Log!D8: the row holds the sum of the rows above it") for one in found)


def test_a_row_without_a_number_that_holds_the_mean_of_its_group_is_no_plant(tmp_path):
    held = rows()
    mean = round(sum(row[3] for row in held[1:4]) / 3, 2)
    found = said(book(tmp_path, Log=[*held[:4], ("A", None, "Y", mean), *held[4:]]), PLANTS + TRIAL)
    assert any("the row holds the mean of the rows above it" in one for one in of(found, "D5"))


def test_a_plant_that_happens_to_weigh_the_mean_is_a_plant(tmp_path):
    # the seventh weight of a real treatment is exactly the mean of the six before it: 38 34 41 43 43 29, 38
    held = [HEAD, *(("A" if n < 4 else "B", n, "YN"[n > 3], w) for n, w in enumerate((38, 34, 41, 43, 43, 29, 38)))]
    assert not any("the rows above" in one for one in said(book(tmp_path, Log=held), PLANTS + TRIAL))


# --- sizes


@pytest.mark.parametrize("slipped", [2130, 213.0, 2.13, 21300])
def test_a_slipped_decimal_point_waits_for_its_owner(tmp_path, slipped):
    path = book(tmp_path, Log=rows(20.1, 20.9, slipped))
    found = said(path, PLANTS + TRIAL)
    assert [one[:15] for one in of(found, "D4")] == ["caution Log!D4:"]
    assert any(WAITS in one and 'confirmed = ["D4"]' in one for one in found)
    assert trial(path, PLANTS + "corrected = { D4 = 21.3 }\n" + TRIAL).plants[2].fresh_weight == 21.3
    kept = trial(path, PLANTS + 'confirmed = ["D4"]\n' + TRIAL)
    assert "D4" in {one.cell for one in kept.findings}


def test_a_small_plant_and_a_large_one_are_no_slips(tmp_path):
    # 0.411 g among 1.4 to 5.0 g is a real plant of a published file: a small one, a tenth of the median
    found = said(book(tmp_path, Log=rows(8.0, 38.0)), PLANTS + TRIAL)
    assert [one.split(":")[0] for one in found] == ["remark Log!D2", "remark Log!D3"]  # which the report flags


EC = """
[[table]]
sheet = "Feed"
gives = "Solution"


[table.columns]
Tray = "Shelf"
Date = "day"
Event = "what"
Volume = { from = "L", unit = "L" }
EC = { from = "EC", unit = "µS/cm" }

"""


def feed(*ecs):
    day, end = date(2026, 1, 5), date(2026, 2, 16)
    held = [(shelf, d, e, v) for shelf in "ABCD" for d, e, v in ((day, "fill", 5), (end, "remaining", 3))]
    return [("Shelf", "day", "what", "L", "EC"), *((*row, ec) for row, ec in zip(held, ecs, strict=True))]


def test_conductivities_in_two_units_wait_for_their_owner(tmp_path):
    path = book(tmp_path, Log=rows(), Feed=feed(1600, 1550, 1.6, 1580, 1.7, 1620, 1590, 1600))
    found = said(path, PLANTS + EC + TRIAL)
    assert any("caution Feed!E4: 1.6 and 1 more are about 1,000 times off" in one for one in found)
    assert any(WAITS in one for one in found)


def test_conductivities_of_a_strong_and_a_weak_feed_are_left_alone(tmp_path):
    path = book(tmp_path, Log=rows(), Feed=feed(1600, 800, 1500, 900, 1400, 850, 1300, 700))
    assert not any("times off" in one for one in said(path, PLANTS + EC + TRIAL))


# --- what is there and what is not


@pytest.mark.parametrize(("cell", "what", "word"), [(None, "a blank", '""'), (0, "a 0", '"0"')])
def test_a_blank_and_a_zero_among_weights_must_be_said(tmp_path, cell, what, word):
    held = rows(20.1)
    held[3] = ("A", 3, "Y", cell)
    path = book(tmp_path, Log=held)
    found = of(said(path, PLANTS + TRIAL), "D4")
    assert len(found) == 1
    assert found[0].startswith(f"error Log!D4: {what} stands for the fresh weight")
    assert f"write {word} in lost" in found[0]
    assert trial(path, f"lost = [{word}]\n" + PLANTS + TRIAL).plants[2].status == "dead"
    assert len(trial(path, f"missing = [{word}]\n" + PLANTS + TRIAL).plants) == 11


def test_a_zero_among_heights_is_pointed_out(tmp_path):
    held = [(*HEAD, "tall"), *((*row, 0 if n == 2 else 12.5 + n / 10) for n, row in enumerate(rows()[1:]))]
    toml = PLANTS.replace(" } }", ' }, Height = { from = "tall", unit = "cm" } }')
    path = book(tmp_path, Log=held)
    assert any("caution Log!E4: 0 among the values of Height" in one for one in said(path, toml + TRIAL))
    assert not any("0 among" in one for one in said(path, 'missing = ["0"]\n' + toml + TRIAL))


def test_a_label_is_not_carried_past_a_blank_row(tmp_path):
    held = [row if not n or (n - 1) % 3 == 0 else (None, row[1], None, row[3]) for n, row in enumerate(rows())]
    held[7:8] = [(), (None, *held[7][1:])]
    found = said(book(tmp_path, Log=held), PLANTS + 'fill_down = ["Shelf", "Warm?"]\n' + TRIAL)
    assert any(one.startswith("error Log!A9: Tray is blank below a blank row") for one in found)


# --- numbers, codes and dates that a spreadsheet changed


def test_a_weight_that_became_a_date_is_an_error_at_its_cell(tmp_path):
    found = said(book(tmp_path, Log=rows(20.1, datetime(2026, 3, 21))), PLANTS + TRIAL)
    assert any(one.startswith('error Log!D3: "2026-03-21" is a date or a time, not a number') for one in found)


def test_a_measurement_of_the_owners_own_that_became_dates_is_an_error_too(tmp_path):
    held = [(*HEAD, "leaf"), *((*row, datetime(2026, 3, 4)) for row in rows()[1:])]
    toml = PLANTS.replace(" } }", ' }, "Leaf length" = { from = "leaf", unit = "cm" } }')
    found = said(book(tmp_path, Log=held), toml + TRIAL)
    assert any(one.startswith('error Log!E2: "2026-03-04" and 11 more is a date') for one in found)


def test_names_that_lost_their_last_zero_wait_for_their_owner(tmp_path):
    names = [*(1 + n / 10 for n in range(1, 10)), 1.1, 1.2]
    held = [HEAD, *((name, 1 if n < 9 else 2, "YN"[n % 2], 20.5 + n) for n, name in enumerate(names))]
    found = said(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert any('caution Log!A11: "1.1" stands again behind "1.9"; expected "1.10"' in one for one in found)
    assert any(WAITS in one for one in found)


def test_names_kept_as_text_keep_their_last_zero(tmp_path):
    names = [*(f"1.{n}" for n in range(1, 10)), "1.10"]
    held = [HEAD, *((name, 1, "YN"[n % 2], 20.5 + n * 1.37) for n, name in enumerate(names))]
    made = trial(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert [made.trays[0].code, made.trays[-1].code] == ["1.1", "1.10"]


def test_one_plant_in_two_trays_is_pointed_out_where_numbers_run_through(tmp_path):
    held = [HEAD, *((row[0], n, *row[2:]) for n, row in enumerate(rows()[1:], 1))]
    held[9] = ("C", 4, *held[9][2:])
    found = said(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert any('caution Log!B10: plant "4" stands in tray "B" and in tray "C"' in one for one in found)


@pytest.mark.parametrize("first", [datetime(2026, 5, 1), "01/13/2026"])
def test_dates_in_two_orders_are_pointed_out(tmp_path, first):
    # 13/01/2026 stays text where a spreadsheet reads month first; 05/01/2026 becomes the 1st of May there
    growth = [("Shelf", "day", "h"), ("A", first, 12.5), ("B", "13/01/2026", 12.0), ("C", "20/01/2026", 12.9)]
    more = """
[[table]]
sheet = "Heights"
gives = "Growth"
columns = { Tray = "Shelf", Date = "day", Height = { from = "h", unit = "cm" } }
"""
    found = said(book(tmp_path, Log=rows(), Heights=growth), PLANTS + more + TRIAL)
    assert any(one.startswith("caution Heights!B2:") and "day" in one for one in found)
    assert any(WAITS in one for one in found) == isinstance(first, datetime)


# --- what cannot be told apart


def test_weights_that_are_heavier_dry_than_fresh_are_pointed_out(tmp_path):
    held = [(*HEAD, "dry"), *((*row, 30.0 if n == 3 else 2.1 + n / 50) for n, row in enumerate(rows()[1:]))]
    toml = PLANTS.replace(" } }", ' }, "Dry weight" = { from = "dry", unit = "g" } }')
    found = said(book(tmp_path, Log=held), toml + TRIAL)
    assert any("Log!E5:" in one and ("dry weight 30 g is above" in one or "about 10 times" in one) for one in found)
    held[4] = (*held[4][:3], 2.0, 2.2)
    held = [held[0], *((*row[:4], row[3] + 1 if n == 6 else row[4]) for n, row in enumerate(held[1:]))]
    assert any("is above fresh weight" in one for one in said(book(tmp_path, Log=held), toml + TRIAL))


@pytest.mark.parametrize("header", ["Room", "tent_no", "Harvest date"])
def test_a_treatment_that_is_also_one_room_or_one_day_is_pointed_out(tmp_path, header):
    held = [(*HEAD, header), *((*row, "east" if row[2] == "Y" else "west") for row in rows()[1:])]
    found = said(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert any(one.startswith(f"caution Log!E1: each treatment has a {header} of its own") for one in found)
    held[1] = (*held[1][:4], "west")
    assert said(book(tmp_path, Log=held), PLANTS + TRIAL) == []


def test_a_treatment_that_is_misspelt_once_waits_for_its_owner(tmp_path):
    held = [HEAD, *((row[0], row[1], "warm" if row[2] == "Y" else "plain", row[3]) for row in rows()[1:])]
    held[12] = ("E", 1, "plian", 24.0)
    toml = PLANTS.replace('treatment = { Y = "warm", N = "plain" }\n', "") + TRIAL
    found = said(book(tmp_path, Log=held), toml)
    assert any('caution Log!C13: "plian" stands in one row only; expected "plain"' in one for one in found)
    assert any(WAITS in one for one in found)


# --- what the owner has confirmed


def volumes(path, confirmed=""):
    """Return what is said of the volumes of a log, of which one is a hundred times the others."""
    held = feed(*[1600] * 8)
    held[2] = (*held[2][:3], 300, 1600)
    log = book(path, Log=rows(), Feed=held)
    found = said(log, PLANTS + EC.replace('gives = "Solution"\n', f'gives = "Solution"\n{confirmed}') + TRIAL)
    return [one for one in found if "Feed!D3" in one]


def test_a_slip_on_any_sheet_is_named_until_its_owner_confirms_the_cell(tmp_path):
    (tmp_path / "first").mkdir()
    (tmp_path / "second").mkdir()
    (told,) = volumes(tmp_path / "first")
    assert '300 L is about 100 times what others of "remaining" have at that time' in told
    assert volumes(tmp_path / "second", 'confirmed = ["D3"]\n') == []
