"""What a settings file makes of a log: the figures, the places of problems, the traces of what was
read.
"""

from datetime import date, datetime

import openpyxl
import pytest

from reportgen.importing.adopted import is_adopted
from reportgen.importing.checking import check, read_adopted
from reportgen.model.problem import WorkbookError
from tests.adopting import HEAD, PLANTS, TRIAL, book, measured, rows, said, taken_in, trial


def table(sheet, treatment, weight, more=""):
    """Return the settings of a table without trays, each plant a unit of its own."""
    return f"""
independent = "plant"
[[table]]
sheets = ["{sheet}"]
header_rows = [1]
gives = "Plants"
treatment = "{treatment}"
values = {{ "Fresh weight" = {{ columns = ["{weight}"], unit = "g" }} }}
{more}{TRIAL}"""


def errors(found):
    return [one for one in found if one.startswith("error")]


# --- layouts


def test_trays_and_treatments_are_derived_from_the_plants(tmp_path):
    made = trial(book(tmp_path, Log=rows()), PLANTS + TRIAL)
    assert [(tray.code, tray.treatment, tray.plants_started) for tray in made.trays] == [
        ("A", "warm", 3),
        ("B", "warm", 3),
        ("C", "plain", 3),
        ("D", "plain", 3),
    ]
    assert [one.code for one in made.treatments] == ["plain", "warm"]  # the reference first
    assert made.started_on == date(2026, 1, 5)
    assert made.findings == ()


def test_a_unit_is_converted_and_one_in_brackets_is_read_from_the_header(tmp_path):
    ounces = trial(
        book(tmp_path, Log=rows(1.0)), PLANTS.replace('unit = "g"', 'unit = "oz"') + TRIAL
    )
    assert ounces.plants[0].fresh_weight == pytest.approx(
        28.349523125
    )  # NIST Handbook 44, appendix C
    held = [("Shelf", "No", "Warm?", "wt (kg)"), *rows(0.5)[1:]]
    toml = PLANTS.replace(', unit = "g"', "") + TRIAL
    assert trial(book(tmp_path, "kg.xlsx", Log=held), toml).plants[0].fresh_weight == pytest.approx(
        500
    )


def test_a_weight_without_any_unit_is_asked_for(tmp_path):
    (found,) = said(book(tmp_path, Log=rows()), PLANTS.replace(', unit = "g"', "") + TRIAL)
    assert found.startswith("error Log!D2: nothing tells the unit of Fresh weight")
    assert 'unit = "g" in log.adopt.toml' in found


def test_labels_are_filled_down_from_the_first_row_of_a_group(tmp_path):
    held = [
        row if not n or (n - 1) % 3 == 0 else (None, row[1], None, row[3])
        for n, row in enumerate(rows())
    ]
    made = trial(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert [(tray.code, tray.treatment) for tray in made.trays] == [
        ("A", "warm"),
        ("B", "warm"),
        ("C", "plain"),
        ("D", "plain"),
    ]


def merged(path, *ranges):
    made = openpyxl.load_workbook(path)
    for cells in ranges:
        made["Log"].merge_cells(cells)
    made.save(path)
    return path


def test_labels_in_merged_cells_hold_for_each_of_their_rows(tmp_path):
    path = merged(book(tmp_path, Log=rows()), "A2:A4", "C2:C7")
    assert [(one.code, one.plants_started) for one in trial(path, PLANTS + TRIAL).trays][:2] == [
        ("A", 3),
        ("B", 3),
    ]


def test_one_number_merged_over_several_rows_is_not_taken_for_one_plant_without_a_word(tmp_path):
    path = merged(book(tmp_path, Log=rows()), "D3:D4")
    assert any("Log!D3" in one or "Log!D4" in one for one in errors(said(path, PLANTS + TRIAL)))


def test_two_tables_side_by_side_are_told_apart(tmp_path):
    left, right = rows()[1:7], rows()[7:]
    held = [
        (*HEAD, None, *HEAD),
        *((*one, None, *other) for one, other in zip(left, right, strict=True)),
    ]
    made = trial(book(tmp_path, Log=held), PLANTS + TRIAL)
    assert [tray.code for tray in made.trays] == ["A", "B", "C", "D"]


def test_a_header_that_stands_twice_is_named_with_its_number(tmp_path):
    held = [(*HEAD, "wt"), *((*row, 3.0) for row in rows()[1:])]
    path = book(tmp_path, Log=held)
    assert any('there is no column "wt"' in one for one in errors(said(path, PLANTS + TRIAL)))
    both = (
        '{ columns = ["wt (1 of 2)"], unit = "g" }, "Dry weight" = { columns = ["wt (2 of 2)"],'
        ' unit = "g" }'
    )
    made = trial(path, PLANTS.replace('{ columns = ["wt"], unit = "g" }', both) + TRIAL)
    assert made.plants[0].fresh_weight == 20.5


def test_a_column_for_each_treatment_is_turned_long(tmp_path):
    held = [("plain (g)", "warm (g)"), (20.1, 25.0), (21.4, 26.5), (22.0, 27.3), (None, 24.9)]
    toml = table("Log", "over:1", 'plain", "warm').replace(
        'unit = "g"', 'unit = "g", blank = "not measured"'
    )
    made = trial(book(tmp_path, Log=held), toml)
    weights = {kind: [] for kind in ("plain", "warm")}
    kinds = {tray.code: tray.treatment for tray in made.trays}
    for plant in made.plants:
        weights[kinds[plant.tray]].append(plant.fresh_weight)
    assert weights == {"plain": [20.1, 21.4, 22.0], "warm": [25.0, 26.5, 27.3, 24.9]}


IN_TWO_FILES = """
[[table]]
sheets = ["{sheet}"]
header_rows = [1]
gives = "Plants"
treatment = "fixed:{kind}"
unit = "column:Shelf"
plant = "column:No"
values = {{ "Fresh weight" = {{ columns = ["wt"], unit = "{unit}" }} }}
"""


def test_a_sheet_for_each_treatment_and_a_file_beside_it_give_one_table(tmp_path):
    held = [("Shelf", "No", "wt"), *((row[0], row[1], row[3]) for row in rows()[1:])]
    main = book(tmp_path, Warm=held[:7])
    kilos = [("Shelf", "No", "wt"), *((row[0], row[1], row[2] / 1000) for row in held[7:])]
    other = book(tmp_path, "plain.xlsx", Plain=kilos)
    toml = IN_TWO_FILES.format(sheet="Warm", kind="warm", unit="g")
    toml += IN_TWO_FILES.format(sheet="[plain.xlsx]Plain", kind="plain", unit="kg")
    made = check(taken_in(main, toml + TRIAL, other=other))
    assert [plant.fresh_weight for plant in made.plants] == pytest.approx(
        [row[3] for row in rows()[1:]]
    )


def test_a_problem_in_another_file_names_that_file(tmp_path):
    main = book(tmp_path, Warm=rows()[:7])
    other = book(tmp_path, "plain.xlsx", Plain=[HEAD, *rows()[7:12], ("D", 3, "N", "heavy")])
    toml = PLANTS.replace('["Log"]', '["Warm", "[plain.xlsx]Plain"]')
    made = taken_in(main, toml + TRIAL, other=other)
    with pytest.raises(WorkbookError, match=r'\[plain.xlsx\]Plain!D7: "heavy"'):
        check(made)


def test_a_label_alone_above_its_rows_holds_for_them(tmp_path):
    held = [
        ("No", "wt"),
        ("warm", None),
        (1, 25.0),
        (2, 26.2),
        (3, 27.1),
        ("plain", None),
        (1, 20.3),
        (2, 21.6),
    ]
    made = trial(
        book(tmp_path, Log=held), table("Log", "section", "wt", more='plant = "column:No"\n')
    )
    assert [tray.treatment for tray in made.trays] == ["warm", "warm", "warm", "plain", "plain"]


def test_lost_plants_count_as_started_and_missing_weights_are_left_out(tmp_path):
    held = rows("dead", "-", 21.0, 0)
    zero = 'corrected = [{ cell = "D5", held = 0, is = "dead" }]\n'
    made = trial(
        book(tmp_path, Log=held), 'missing = ["-"]\nlost = ["dead"]\n' + PLANTS + zero + TRIAL
    )
    assert [(tray.code, tray.plants_started) for tray in made.trays][:2] == [("A", 2), ("B", 3)]
    assert [plant.status for plant in made.plants][:3] == ["dead", "harvested", "dead"]
    assert made.trays[1].plants_started == 3
    assert [plant.fresh_weight for plant in made.plants][:2] == [None, 21.0]


def test_a_word_cannot_stand_for_no_value_and_for_a_loss(tmp_path):
    toml = 'missing = ["-"]\nlost = ["-"]\n' + PLANTS + TRIAL
    assert any('line 3: "-"' in one for one in errors(said(book(tmp_path, Log=rows()), toml)))


def test_decimal_commas_of_a_text_file_are_read_by_column(tmp_path):
    path = tmp_path / "log.csv"
    lines = [
        f"{shelf};{n};{warm};{weight:.3f}".replace(".", ",")
        for shelf, n, warm, weight in rows(1.234)[1:]
    ]
    path.write_text("Shelf;No;Warm?;wt\n" + "\n".join([*lines[:-1], "D;3;N;21,5"]), "utf-8")
    made = trial(path, PLANTS.replace('"Log"', '"log"').replace('"g"', '"oz"') + TRIAL)
    assert made.plants[0].fresh_weight == pytest.approx(1.234 * 28.349523125)


HEIGHTS = """
[[table]]
sheets = ["Heights"]
header_rows = [1]
gives = "Growth"
unit = "column:Shelf"
occasion = "column:day"
values = { Height = { columns = ["h"], unit = "cm" } }
"""


@pytest.mark.parametrize(
    ("day_first", "day"), [("true", date(2026, 2, 3)), ("false", date(2026, 3, 2))]
)
def test_the_order_of_day_and_month_is_as_its_owner_says(tmp_path, day_first, day):
    growth = [
        ("Shelf", "day", "h"),
        *((shelf, "3/2/26", 12.5 + n) for n, shelf in enumerate("ABCD")),
    ]
    toml = (
        f"day_first = {day_first}\n" + PLANTS + HEIGHTS + TRIAL.replace("2026-02-16", "2026-03-16")
    )
    made = trial(book(tmp_path, Log=rows(), Heights=growth), toml)
    assert {one.on for one in made.growth} == {day}
    assert made.trays[0].plants_started == 3  # as many as are written down


@pytest.mark.parametrize("text", ["2026-01-20", "20/01/26", "20.1.2026", "2026-01-20 08:30"])
def test_dates_of_a_text_file_are_read_with_a_year_of_two_digits_or_four(tmp_path, text):
    log = tmp_path / "heights.csv"
    log.write_text(f"Shelf;day;h\nA;{text};12,5\n", "utf-8")
    more = HEIGHTS.replace("Heights", "[heights.csv]heights")
    made = check(taken_in(book(tmp_path, Log=rows()), PLANTS + more + TRIAL, other=log))
    assert [(one.on, one.values) for one in made.growth] == [(date(2026, 1, 20), (12.5,))]


def test_amounts_since_the_reading_before_become_a_counter(tmp_path):
    power = [("when", "used"), (datetime(2026, 1, 19, 9), 4.5), (datetime(2026, 2, 16, 9), 6.25)]
    more = """
[[table]]
sheets = ["Power"]
header_rows = [1]
gives = "Meter"
occasion = "column:when"
meter = "fixed:plug"
values = { Reading = { columns = ["used"], unit = "kWh", counts = "each" } }
"""
    made = trial(book(tmp_path, Log=rows(), Power=power), PLANTS + more + TRIAL)
    readings = [one.reading for one in made.meter]
    assert [later - readings[0] for later in readings[-2:]] == [4.5, 10.75]
    assert made.meter[-1].at == datetime(2026, 2, 16, 9)


def test_pots_weighed_as_a_whole_are_units_of_their_own(tmp_path):
    held = [
        ("Pot", "Warm?", "wt"),
        *((f"P{n}", row[2], row[3]) for n, row in enumerate(rows()[1:])),
    ]
    toml = PLANTS.replace('column:Shelf"\nplant = "column:No', "column:Pot")
    made = trial(
        book(tmp_path, Log=held), toml.replace('unit = "g"', 'unit = "g", covers = "unit"') + TRIAL
    )
    assert len(made.trays) == 12
    assert {code: one.n for code, one in measured(made, "tray_yield").estimates} == {
        "warm": 6,
        "plain": 6,
    }


def test_measurements_of_living_plants_find_the_pots_of_their_plants(tmp_path):
    growth = [
        ("Shelf", "No", "day", "h"),
        ("A", 1, date(2026, 1, 20), 12.5),
        ("B", 2, date(2026, 1, 20), 13.0),
    ]
    more = HEIGHTS.replace("occasion", 'plant = "column:No"\noccasion')
    made = trial(
        book(tmp_path, Log=rows(), Heights=growth),
        'independent = "plant"\n' + PLANTS + more + TRIAL,
    )
    assert len(made.growth) == 2
    pots = {tray.code: tray.treatment for tray in made.trays}
    assert [pots[one.tray] for one in made.growth] == ["warm", "warm"]
    assert made.findings == ()


def test_a_tray_with_two_treatments_is_an_error_where_they_differ(tmp_path):
    held = rows()
    held[3] = ("A", 3, "N", 22.0)
    found = errors(said(book(tmp_path, Log=held), PLANTS + TRIAL))
    assert any(
        "Log" in one and "4" in one.split(":")[0] and 'tray "A" has the treatment' in one
        for one in found
    )


# --- places


def test_problems_stand_at_the_cells_of_the_owner(tmp_path):
    held = [("Harvest of the bench",), (), *rows("heavy", -3.0)]
    found = said(
        book(tmp_path, Log=held), PLANTS.replace("header_rows = [1]", "header_rows = [3]") + TRIAL
    )
    assert any(one.startswith('error Log!D4: "heavy"') for one in found)
    assert any(one.startswith('error Log!D5: "-3" is not possible here') for one in found)


def test_rows_that_a_problem_names_are_those_of_the_owner(tmp_path):
    held = [("Harvest",), *rows()]
    held[4] = ("A", 1, "Y", 22.0)
    found = said(
        book(tmp_path, Log=held), PLANTS.replace("header_rows = [1]", "header_rows = [2]") + TRIAL
    )
    assert any("Log!" in one and "5:" in one and "row 3" in one for one in errors(found))


def test_rows_of_a_second_table_on_a_sheet_are_named_as_their_owner_counts_them(tmp_path):
    power = [
        ("Day", "a", "b"),
        *((datetime(2026, 1, 5 + day), 10 + day, 10 - day % 2) for day in range(6)),
    ]
    meters = """
[[table]]
sheets = ["Power"]
header_rows = [1]
gives = "Meter"
occasion = "column:Day"
meter = "over:1"
values = { Reading = { columns = ["a", "b"], unit = "kWh", counts = "counter" } }
"""
    found = said(book(tmp_path, Log=rows(), Power=power), PLANTS + meters + TRIAL)
    assert any('Power!C3: meter "b" falls from 10 kWh in row 2 to 9 kWh' in one for one in found)


def test_a_problem_of_the_trial_stands_at_its_line(tmp_path):
    found = said(book(tmp_path, Log=rows()), PLANTS + TRIAL.replace('"plain"', '"plian"'))
    assert any(
        "log.adopt.toml, line 18:" in one and '"plian"' in one and "Did you mean plain?" in one
        for one in found
    )


def test_everything_that_is_not_there_is_said_at_once(tmp_path):
    toml = """
files = ["other.csv"]
[[table]]
sheets = ["Log"]
header_rows = [1]
gives = "Plants"
treatment = "column:Warm"
unit = "column:Shelv"
values = { "Fresh weight" = { columns = ["wt"], unit = "g" } }
left_out = [{ row = 99, holds = "x", because = "total" }]
"""
    path = book(tmp_path, Log=rows())
    assert any("other.csv" in one and "not there" in one for one in said(path, toml))
    (tmp_path / "other.csv").write_text("a;b\n1;2\n", "utf-8")
    found = errors(said(path, toml))
    for part in (
        'there is no column "Warm"',
        'there is no column "Shelv"',
        'expected "x", which the settings leave out',
    ):
        assert any(part in one for one in found), (part, found)


def test_a_sheet_that_is_not_there_is_said(tmp_path):
    found = errors(said(book(tmp_path, Log=rows()), PLANTS.replace('"Log"', '"Logg"') + TRIAL))
    assert any("Logg" in one for one in found)


def test_the_settings_beside_a_spreadsheet_are_used_and_it_stays_as_it_was(tmp_path):
    path = book(tmp_path, Log=rows())
    before = path.read_bytes()
    assert not is_adopted(path)
    (tmp_path / "log.adopt.toml").write_text("adopt = 2\n" + PLANTS + TRIAL, "utf-8")
    assert is_adopted(path)
    assert len(check(read_adopted(path)).plants) == 12
    assert path.read_bytes() == before


def test_a_formula_that_was_never_computed_is_said_at_its_cell(tmp_path):
    held = rows()
    held[5] = ("B", 2, "Y", "=D2+1")
    assert any(
        one.startswith("error Log!D6") for one in said(book(tmp_path, Log=held), PLANTS + TRIAL)
    )


def test_codes_are_as_the_sheet_shows_them(tmp_path):
    path = book(tmp_path, Log=rows())
    made = openpyxl.load_workbook(path)
    for row in range(2, 14):
        made["Log"].cell(row, 1, 1.1 if row < 8 else 1.2).number_format = "0.00"
        made["Log"].cell(row, 2, row)
    made.save(path)
    assert [tray.code for tray in trial(path, PLANTS + TRIAL).trays] == ["1.10", "1.20"]
