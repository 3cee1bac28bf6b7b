"""Errors that stay silent in a spreadsheet, each in a small file that has just that habit, caught
by its check.
"""

from datetime import date, datetime

import pytest

from tests.adopting import HEAD, PLANTS, TRIAL, book, rows, said, trial


def of(found, cell):
    return [one for one in found if f"Log!{cell}" in one]


def errors(found, cell=""):
    places = (f"!{cell}", f", {cell}")
    return [
        one for one in found if one.startswith("error") and any(place in one for place in places)
    ]


def test_a_log_without_such_habits_has_nothing_to_say(tmp_path):
    assert said(book(tmp_path, Log=rows()), PLANTS + TRIAL) == []


# --- totals


def weights(made):
    return [plant.fresh_weight for plant in made.plants]


@pytest.mark.parametrize("label", ["Total", "mean:", "Average", "Summe", "Moyenne"])
def test_a_row_that_is_named_like_a_total_is_no_plant(tmp_path, label):
    plants = rows()
    path = book(tmp_path, Log=[*plants, (label, None, None, 300.0)])
    assert any(
        "300" in one for one in errors(said(path, PLANTS + TRIAL), "D14")
    )  # neither their sum nor their mean
    held = f"{label} | 300"
    made = trial(
        path, PLANTS + f'left_out = [{{ row = 14, holds = "{held}", because = "total" }}]\n' + TRIAL
    )
    assert weights(made) == [row[3] for row in plants[1:]]


def test_a_row_that_holds_the_sum_of_those_above_is_no_plant(tmp_path):
    held = rows()
    total = sum(row[3] for row in held[1:])
    path = book(tmp_path, Log=[*held, (None, None, None, total)])
    assert weights(trial(path, PLANTS + TRIAL)) == [row[3] for row in held[1:]]


def test_a_numbered_plant_that_weighs_as_much_as_all_others_waits_for_its_owner(tmp_path):
    held = rows()
    total = sum(row[3] for row in held[1:])
    path = book(tmp_path, Log=[*held, ("D", 4, "N", total)])
    assert errors(said(path, PLANTS + TRIAL), "D14")


def test_a_sum_of_one_tray_between_the_rows_is_no_plant(tmp_path):
    held = rows(20.5, 21.25, 22.0, 30.5, 31.25, 32.5)
    held.insert(7, (None, None, None, 94.25))  # of the second shelf alone
    assert errors(said(book(tmp_path, Log=held), PLANTS + TRIAL), "D8")
    held[7:8] = [("B total", None, None, 94.25)]
    held.insert(4, ("A total", None, None, 63.75))
    path = book(tmp_path, "named.xlsx", Log=held)
    assert weights(trial(path, PLANTS + TRIAL)) == [row[3] for row in held[1:] if row[1]]


def test_a_row_without_a_number_that_holds_the_mean_of_its_group_is_no_plant(tmp_path):
    held = rows()
    plants = [row[3] for row in held[1:]]
    mean = round(sum(row[3] for row in held[1:4]) / 3, 2)
    path = book(tmp_path, Log=[*held[:4], ("A", None, "Y", mean), *held[4:]])
    assert weights(trial(path, PLANTS + TRIAL)) == plants


def test_a_plant_that_happens_to_weigh_the_mean_is_a_plant(tmp_path):
    # the seventh weight of a real treatment is exactly the mean of the six before it: 38 34 41 43
    # 43 29, 38
    own = (38, 34, 41, 43, 43, 29, 38)
    held = [HEAD, *(("AB"[n > 3], n, "YN"[n > 3], weight) for n, weight in enumerate(own))]
    path = book(tmp_path, Log=held)
    assert weights(trial(path, PLANTS + TRIAL)) == list(own)


# --- sizes


@pytest.mark.parametrize("slipped", [2130, 213.0, 2.13, 21300])
def test_a_slipped_decimal_point_waits_for_its_owner(tmp_path, slipped):
    path = book(tmp_path, Log=rows(20.1, 20.9, slipped))
    assert len(errors(said(path, PLANTS + TRIAL), "D4")) == 1
    corrected = f'corrected = [{{ cell = "D4", held = {slipped:g}, is = 21.3 }}]\n'
    assert trial(path, PLANTS + corrected + TRIAL).plants[2].fresh_weight == 21.3
    kept = trial(path, PLANTS + 'confirmed = ["D4"]\n' + TRIAL)
    assert kept.plants[2].fresh_weight == slipped


def test_a_small_plant_and_a_large_one_are_no_slips(tmp_path):
    # 0.411 g among 1.4 to 5.0 g is a real plant of a published file: a small one, a tenth of the
    # median
    found = said(book(tmp_path, Log=rows(8.0, 38.0)), PLANTS + TRIAL)
    assert errors(found) == []


SOLUTION = """
[[table]]
sheets = ["Feed"]
header_rows = [1]
gives = "Solution"
unit = "column:Shelf"
occasion = "column:day"
event = "column:what"
"""
EC = """values = { Volume = { columns = ["L"], unit = "L" }, EC = { columns = ["EC"], unit = "µS/cm" } }
"""


def feed(*ecs):
    day, end = date(2026, 1, 5), date(2026, 2, 16)
    held = [
        (shelf, d, e, v)
        for shelf in "ABCD"
        for d, e, v in ((day, "fill", 5), (end, "remaining", 3))
    ]
    return [
        ("Shelf", "day", "what", "L", "EC"),
        *((*row, ec) for row, ec in zip(held, ecs, strict=True)),
    ]


def test_conductivities_in_two_units_wait_for_their_owner(tmp_path):
    path = book(tmp_path, Log=rows(), Feed=feed(1600, 1550, 1.6, 1580, 1.7, 1620, 1590, 1600))
    found = said(path, PLANTS + SOLUTION + EC + TRIAL)
    assert any("Feed!E4: 1.6 and 1 more are about 1,000 times off" in one for one in errors(found))


def test_conductivities_of_a_strong_and_a_weak_feed_are_left_alone(tmp_path):
    path = book(tmp_path, Log=rows(), Feed=feed(1600, 800, 1500, 900, 1400, 850, 1300, 700))
    assert not any("times off" in one for one in said(path, PLANTS + SOLUTION + EC + TRIAL))


@pytest.mark.parametrize(("confirmed", "waits"), [("", True), ('confirmed = ["D3"]\n', False)])
def test_a_slip_on_any_sheet_is_named_until_its_owner_confirms_the_cell(tmp_path, confirmed, waits):
    held = feed(*[1600] * 8)
    held[2] = (*held[2][:3], 300, 1600)
    found = said(book(tmp_path, Log=rows(), Feed=held), PLANTS + SOLUTION + EC + confirmed + TRIAL)
    told = [one for one in found if "Feed!D3" in one]
    assert len(told) == waits
    if waits:
        assert '300 L is about 100 times what others of "remaining" have at that time' in told[0]


# --- what is there and what is not


@pytest.mark.parametrize("cell", [None, 0])
def test_a_blank_and_a_zero_among_weights_must_be_said(tmp_path, cell):
    held = rows(20.1)
    held[3] = ("A", 3, "Y", cell)
    found = said(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert len(of(found, "D4")) == len(errors(found, "D4")) == 1


@pytest.mark.parametrize(("meaning", "status"), [("plant lost", ["dead"]), ("not measured", [])])
def test_a_blank_is_what_its_owner_says(tmp_path, meaning, status):
    held = rows(20.1)
    held[3] = ("A", 3, "Y", None)
    made = trial(
        book(tmp_path, Log=held), PLANTS.replace('"g"', f'"g", blank = "{meaning}"') + TRIAL
    )
    assert [plant.status for plant in made.plants if plant.fresh_weight is None] == status
    assert len([plant for plant in made.plants if plant.fresh_weight is not None]) == 11


def test_a_zero_among_heights_is_pointed_out(tmp_path):
    held = [
        (*HEAD, "tall"),
        *((*row, 0 if n == 2 else 12.5 + n / 10) for n, row in enumerate(rows()[1:])),
    ]
    toml = PLANTS.replace('"g" } }', '"g" }, Height = { columns = ["tall"], unit = "cm" } }')
    path = book(tmp_path, Log=held)
    assert any(
        "caution Log!E4: 0 among the values of Height" in one for one in said(path, toml + TRIAL)
    )


def test_a_label_is_not_carried_past_a_blank_row(tmp_path):
    held = [
        row if not n or (n - 1) % 3 == 0 else (None, row[1], None, row[3])
        for n, row in enumerate(rows())
    ]
    held[7:8] = [(), (None, *held[7][1:])]
    found = said(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert any("below a blank row" in one for one in errors(found, "A9"))


# --- numbers, codes and dates that a spreadsheet changed


def test_a_weight_that_became_a_date_is_an_error_at_its_cell(tmp_path):
    found = said(book(tmp_path, Log=rows(20.1, datetime(2026, 3, 21))), PLANTS + TRIAL)
    assert any("is a date" in one for one in errors(found, "D3"))


def test_a_measurement_of_the_owners_own_that_became_dates_is_an_error_too(tmp_path):
    held = [(*HEAD, "leaf"), *((*row, datetime(2026, 3, 4)) for row in rows()[1:])]
    toml = PLANTS.replace('"g" } }', '"g" }, leaf = { columns = ["leaf"], unit = "cm" } }')
    found = said(book(tmp_path, Log=held), toml + TRIAL)
    assert any("is a date" in one for one in errors(found, "E2"))


def test_names_that_lost_their_last_zero_wait_for_their_owner(tmp_path):
    names = [*(1 + n / 10 for n in range(1, 10)), 1.1, 1.2]
    held = [
        HEAD,
        *((name, 1 if n < 9 else 2, "YN"[n % 2], 20.5 + n) for n, name in enumerate(names)),
    ]
    found = said(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert any('"1.1"' in one and '"1.10"' in one for one in errors(found, "A11"))


def test_names_kept_as_text_keep_their_last_zero(tmp_path):
    names = [*(f"1.{n}" for n in range(1, 10)), "1.10"]
    held = [HEAD, *((name, 1, "YN"[n % 2], 20.5 + n * 1.37) for n, name in enumerate(names))]
    made = trial(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert [made.trays[0].code, made.trays[-1].code] == ["1.1", "1.10"]


def test_one_plant_in_two_trays_is_pointed_out_where_numbers_run_through(tmp_path):
    held = [HEAD, *((row[0], n, *row[2:]) for n, row in enumerate(rows()[1:], 1))]
    held[9] = ("C", 4, *held[9][2:])
    found = said(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert any(
        "caution Log, row 10" in one and 'plant "4"' in one and '"B"' in one and '"C"' in one
        for one in found
    )


HEIGHTS = """
[[table]]
sheets = ["Heights"]
header_rows = [1]
gives = "Growth"
unit = "column:Shelf"
occasion = "column:day"
values = { Height = { columns = ["h"], unit = "cm" } }
"""


@pytest.mark.parametrize("first", [datetime(2026, 5, 1), "01/13/2026"])
def test_dates_in_two_orders_wait_for_their_owner(tmp_path, first):
    # 13/01/2026 stays text where a spreadsheet reads month first; 05/01/2026 becomes the 1st of May
    # there
    growth = [
        ("Shelf", "day", "h"),
        ("A", first, 12.5),
        ("B", "13/01/2026", 12.0),
        ("C", "20/01/2026", 12.9),
    ]
    found = said(book(tmp_path, Log=rows(), Heights=growth), PLANTS + HEIGHTS + TRIAL)
    assert any("both orders of day and month" in one for one in errors(found) if "Heights" in one)


# --- what cannot be told apart


def test_weights_that_are_heavier_dry_than_fresh_are_pointed_out(tmp_path):
    toml = PLANTS.replace('"g" } }', '"g" }, "Dry weight" = { columns = ["dry"], unit = "g" } }')
    for number, dry in ((3, 30.0), (6, 25.7)):
        held = [
            (*HEAD, "dry"),
            *((*row, dry if n == number else 2.1 + n / 50) for n, row in enumerate(rows()[1:])),
        ]
        found = said(book(tmp_path, f"{number}.xlsx", Log=held), toml + TRIAL)
        assert errors(found, f"E{number + 2}"), found


@pytest.mark.parametrize("header", ["Room", "tent_no", "Harvest date"])
def test_a_treatment_that_is_also_one_room_or_one_day_is_pointed_out(tmp_path, header):
    held = [(*HEAD, header), *((*row, "east" if row[2] == "Y" else "west") for row in rows()[1:])]
    found = said(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert any(
        one.startswith(f"caution Log!E1: each treatment has a {header} of its own") for one in found
    )
    held[1] = (*held[1][:4], "west")
    assert said(book(tmp_path, Log=held), PLANTS + TRIAL) == []


def test_a_treatment_that_is_misspelt_once_waits_for_its_owner(tmp_path):
    held = [
        HEAD,
        *((row[0], row[1], "warm" if row[2] == "Y" else "plain", row[3]) for row in rows()[1:]),
    ]
    held[12] = ("E", 1, "plian", 24.0)
    toml = PLANTS.replace('words = { treatment = { Y = "warm", N = "plain" } }\n', "") + TRIAL
    found = said(book(tmp_path, Log=held), toml)
    assert any(
        '"plian" stands in one row only; expected "plain"' in one for one in errors(found, "row 13")
    )
