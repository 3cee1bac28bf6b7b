"""Tables in their owner's layout become the declared sheets: the figures, the places of problems, the traces."""

from datetime import date, datetime

import pytest
from openpyxl import Workbook

from reportgen.adopt.checking import check, is_adopted, read_adopted
from reportgen.model.problem import WorkbookError
from tests.adopting import DATA, HEAD, PLANTS, POTS, TRIAL, book, fresh_weight, rows, said, taken_in, trial

GROUPS = ("L1", "L2", "S3", "S4", "L5", "L6", "S7", "S8")
SALINITY = ", ".join(
    f'{group} = "{("Low", "High")[at % 2]} salinity"' for at, group in enumerate(GROUPS)
)  # the key that the file lacks: odd groups had the low salinity


def salinity(sheet, weight, more=""):
    columns = (
        f'Tray = "Group", Plant = "Number", Treatment = "Group", "Fresh weight" = {{ from = "{weight}", unit = "g" }}'
    )
    return (
        f'missing = [""]\n[[table]]\nsheet = "{sheet}"\ngives = "Plants"\nfill_down = ["Group"]\n'
        f"columns = {{ {columns} }}\ntreatment = {{ {SALINITY} }}\n{more}{POTS}"
    ).replace('"plain"', '"Low salinity"')


# --- real files: figures on which R 4.2.2 agrees (means; Welch's interval of the logarithms about the ratio of the
# means), computed from the files by
#   t <- t.test(log(x), log(y)); k <- log(mean(x) / mean(y)) - (mean(log(x)) - mean(log(y)))
#   c(mean(x) / mean(y), exp(t$conf.int + k))


def figures(made):
    found = fresh_weight(made)
    return dict(found.estimates), dict(found.comparisons)


def test_plants_of_a_text_file_without_units_give_the_figures_of_r():
    toml = (
        '[[table]]\ngives = "Plants"\n'
        'columns = { Plant = "id", Treatment = "treatment", "Fresh weight" = { from = "freshweight", unit = "g" } }\n'
    )
    estimates, comparisons = figures(trial(DATA / "lettuce_compost.txt", toml + POTS.replace("plain", "control")))
    assert {code: one.n for code, one in estimates.items()} == dict.fromkeys(estimates, 7)
    assert estimates["control"].value == pytest.approx(38.0)
    assert estimates["compost"].value == pytest.approx(58.85714286)
    expected = {
        "compost": (1.54887218, 1.34533169, 1.783207107),
        "refoak": (0.9511278195, 0.8209345887, 1.101968587),
        "cobc": (1.42481203, 1.218943246, 1.665450239),
    }
    for code, one in comparisons.items():
        assert (one.ratio, one.single_low, one.single_high) == pytest.approx(expected[code], rel=1e-8)


RAW, CLEAN = salinity("Hoja 1", "wet weight"), salinity("Data", "Wet_weight")


@pytest.mark.parametrize(
    ("file", "toml"),
    [
        ("salinity_clean.xlsx", CLEAN),
        ("salinity_raw.xlsx", salinity("Hoja 1", "wet weight", "corrected = { I67 = 4.248 }\n")),
    ],
)
def test_the_file_as_it_was_kept_gives_the_figures_of_the_one_cleaned_by_hand(file, toml):
    estimates, comparisons = figures(trial(DATA / file, toml))
    assert [(one.n, one.value) for one in estimates.values()] == [
        (36, pytest.approx(2.860555556)),
        (37, pytest.approx(3.506378378)),
    ]
    one = comparisons["High salinity"]
    found = (one.ratio, one.single_low, one.single_high)
    assert found == pytest.approx((1.22576832, 0.9923490492, 1.51409222), rel=1e-8)


def test_a_slipped_decimal_point_ends_in_a_caution_at_its_cell_and_in_no_ratio():
    found = said(DATA / "salinity_raw.xlsx", RAW)
    assert any(one.startswith("caution Hoja 1!I67: 4248 is about 1,000 times") for one in found)
    assert [one for one in found if one.startswith("error")] == [
        next(one for one in found if "I67 looks wrong, and the report waits for your word" in one)
    ]
    with pytest.raises(WorkbookError):
        trial(DATA / "salinity_raw.xlsx", RAW)


def test_a_row_that_is_left_out_is_said_and_its_plant_is_not_in_the_figures():
    made = taken_in(DATA / "salinity_raw.xlsx", salinity("Hoja 1", "wet weight", "exclude_rows = [67]\n"))
    assert dict(figures(check(made))[0])["Low salinity"].n == 35
    assert made.traces[0].left_out == (("excluded in the settings file", (67,)), ("no value", (27, 28, 77)))
    assert made.traces[0].column == "I: wet weight"
    assert (made.traces[0].file, made.traces[0].sheet, made.traces[0].unit) == ("salinity_raw.xlsx", "Hoja 1", "g")
    assert len(made.traces[0].rows) == 72


def test_a_value_that_is_confirmed_is_used_and_only_remarked_on_as_the_report_flags_it():
    made = trial(DATA / "salinity_raw.xlsx", salinity("Hoja 1", "wet weight", 'confirmed = ["I67"]\n'))
    cautions = [one.cell for one in made.findings if one.severity == "caution"]
    assert cautions == ["I17"]  # a small plant, a tenth of the others, which the report flags too
    assert ("I67", "outlier") in {(one.cell, one.code) for one in made.findings if one.severity == "remark"}
    assert dict(figures(made)[0])["Low salinity"].value == pytest.approx(120.7425556)


def test_pots_of_a_file_with_a_stray_last_row_give_the_figures_of_r():
    # The paper's Yield, in g a pot, stands for the fresh weight here; R code above.
    columns = '{ Treatment = "Treatment", "Fresh weight" = { from = "Yield", unit = "g" } }'
    toml = f'[[table]]\ngives = "Plants"\ncolumns = {columns}\n'
    estimates, comparisons = figures(trial(DATA / "pots_raw.csv", toml + POTS.replace("plain", "Control1")))
    assert len(estimates) == 15
    assert {one.n for one in estimates.values()} == {8}
    assert estimates["Control1"].value == pytest.approx(1.25375)
    expected = {
        "Control2": (2.080757727, 1.573071726, 2.752291993),
        "Manure10tha": (7.238285145, 5.893724807, 8.889585711),
        "TripleSuperPhosphate": (7.267198405, 5.747005387, 9.189511597),
    }
    for code, figure in expected.items():
        one = comparisons[code]
        assert (one.ratio, one.single_low, one.single_high) == pytest.approx(figure, rel=1e-8)


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
    ounces = trial(book(tmp_path, Log=rows(1.0)), PLANTS.replace('unit = "g"', 'unit = "oz"') + TRIAL)
    assert ounces.plants[0].fresh_weight == pytest.approx(28.349523125)  # NIST Handbook 44, appendix C
    held = [("Shelf", "No", "Warm?", "wt (kg)"), *rows(0.5)[1:]]
    toml = PLANTS.replace('{ from = "wt", unit = "g" }', '"wt (kg)"') + TRIAL
    assert trial(book(tmp_path, "kg.xlsx", Log=held), toml).plants[0].fresh_weight == pytest.approx(500)


def test_a_weight_without_any_unit_is_asked_for(tmp_path):
    found = said(book(tmp_path, Log=rows()), PLANTS.replace('{ from = "wt", unit = "g" }', '"wt"') + TRIAL)
    assert found == [
        'error log.adopt.toml, line 5: no unit is written for "wt"; expected the unit that it is in, such as g. '
        'Write it, as { from = "wt", unit = "g" }.'
    ]


def test_labels_are_filled_down_from_the_first_row_of_a_group(tmp_path):
    held = [row if not n or (n - 1) % 3 == 0 else (None, row[1], None, row[3]) for n, row in enumerate(rows())]
    toml = PLANTS + 'fill_down = ["Shelf", "Warm?"]\n' + TRIAL
    made = trial(book(tmp_path, Log=held), toml)
    assert [(tray.code, tray.treatment) for tray in made.trays] == [
        ("A", "warm"),
        ("B", "warm"),
        ("C", "plain"),
        ("D", "plain"),
    ]


def test_labels_in_merged_cells_hold_for_each_of_their_rows(tmp_path):
    path = book(tmp_path, Log=rows())
    from openpyxl import load_workbook

    made = load_workbook(path)
    made["Log"].merge_cells("A2:A4")
    made["Log"].merge_cells("C2:C7")
    made.save(path)
    assert [(one.code, one.plants_started) for one in trial(path, PLANTS + TRIAL).trays][:2] == [("A", 3), ("B", 3)]


def test_one_number_merged_over_several_rows_is_refused_at_its_cells(tmp_path):
    path = book(tmp_path, Log=rows())
    from openpyxl import load_workbook

    made = load_workbook(path)
    made["Log"].merge_cells("D3:D4")
    made.save(path)
    assert any(one.startswith("error Log!D3:D4") and "is merged" in one for one in said(path, PLANTS + TRIAL))


def test_headers_of_two_rows_are_joined(tmp_path):
    held = [("Harvest", None, None, None), ("Where", None, "How", None), ("Shelf", "No", "Warm?", "wt"), *rows()[1:]]
    toml = PLANTS.replace('sheet = "Log"', 'sheet = "Log"\nheader_row = "2-3"')
    for plain, joined in (("Shelf", "Where Shelf"), ("No", "Where No"), ("Warm?", "How Warm?"), ("wt", "How wt")):
        toml = toml.replace(f'"{plain}"', f'"{joined}"')
    assert len(trial(book(tmp_path, Log=held), toml + TRIAL).plants) == 12


def test_two_tables_side_by_side_are_told_apart_by_their_ranges(tmp_path):
    left, right = rows()[1:7], rows()[7:]
    held = [(*HEAD, None, *HEAD), *((*one, None, *other) for one, other in zip(left, right, strict=True))]
    one = PLANTS + 'range = "A1:D7"\n'
    other = PLANTS + 'range = "F1:I7"\n'
    made = trial(book(tmp_path, Log=held), one + other + TRIAL)
    assert [tray.code for tray in made.trays] == ["A", "B", "C", "D"]


def test_a_header_that_stands_twice_is_named_and_may_be_given_by_its_letter(tmp_path):
    held = [(*HEAD, "wt"), *((*row, 3.0) for row in rows()[1:])]
    path = book(tmp_path, Log=held)
    assert any('"wt" heads 2 columns' in one for one in said(path, PLANTS + TRIAL))
    assert trial(path, PLANTS.replace('from = "wt"', 'from = "column D"') + TRIAL).plants[0].fresh_weight == 20.5


def test_a_column_for_each_treatment_is_turned_long(tmp_path):
    held = [("plain (g)", "warm (g)"), (20.1, 25.0), (21.4, 26.5), (22.0, 27.3), (None, 24.9)]
    toml = """
[[table]]
sheet = "Log"
gives = "Plants"
wide = { names = "Treatment", values = "Fresh weight", headers = ["plain (g)", "warm (g)"] }
"""
    made = trial(book(tmp_path, Log=held), toml + POTS)
    assert [(tray.code, tray.treatment) for tray in made.trays][2:4] == [("plain-3", "plain"), ("warm-1", "warm")]
    assert [plant.fresh_weight for plant in made.plants] == [20.1, 21.4, 22.0, 25.0, 26.5, 27.3, 24.9]


def test_a_sheet_for_each_treatment_and_a_file_beside_it_give_one_table(tmp_path):
    held = [("Shelf", "No", "wt"), *((row[0], row[1], row[3]) for row in rows()[1:])]
    main = book(tmp_path, Warm=held[:7])
    other = book(tmp_path, "plain.xlsx", Plain=[held[0], *((row[0], row[1], row[2] / 1000) for row in held[7:])])
    table = (
        '[[table]]\nsheet = "{}"\n{}gives = "Plants"\nconstants = {{ Treatment = "{}" }}\ncolumns = {{ Tray = "Shelf", '
    )
    table += 'Plant = "No", "Fresh weight" = {{ from = "wt", unit = "{}" }} }}\n'
    toml = table.format("Warm", "", "warm", "g") + table.format("Plain", 'file = "plain.xlsx"\n', "plain", "kg")
    made = check(taken_in(main, toml + TRIAL, other=other))
    assert [plant.fresh_weight for plant in made.plants] == pytest.approx([row[3] for row in rows()[1:]])


def test_a_problem_in_another_file_names_that_file(tmp_path):
    main = book(tmp_path, Warm=rows()[:7])
    other = book(tmp_path, "plain.xlsx", Plain=[HEAD, *rows()[7:12], ("D", 3, "N", "heavy")])
    table = PLANTS.replace('"Log"', '"Warm"') + PLANTS.replace('"Log"', '"Plain"\nfile = "plain.xlsx"')
    made = taken_in(main, table + TRIAL, other=other)
    with pytest.raises(WorkbookError, match=r'\[plain.xlsx\]Plain!D7: "heavy" is not a number'):
        check(made)


def test_a_label_alone_above_its_rows_holds_for_them(tmp_path):
    held = [("No", "wt"), ("warm", None), (1, 25.0), (2, 26.2), (3, 27.1), ("plain", None), (1, 20.3), (2, 21.6)]
    toml = """
[[table]]
sheet = "Log"
gives = "Plants"
sections = "Treatment"
columns = { "Fresh weight" = { from = "wt", unit = "g" } }
"""
    made = trial(book(tmp_path, Log=held), toml + POTS)
    assert [tray.treatment for tray in made.trays] == ["warm", "warm", "warm", "plain", "plain"]


def test_lost_plants_count_as_started_and_missing_weights_are_left_out(tmp_path):
    held = rows("dead", "-", 21.0, 0)
    made = trial(book(tmp_path, Log=held), 'missing = ["-"]\nlost = ["dead", "0"]\n' + PLANTS + TRIAL)
    assert [(tray.code, tray.plants_started) for tray in made.trays][:2] == [("A", 2), ("B", 3)]
    assert [plant.status for plant in made.plants][:3] == ["dead", "harvested", "dead"]
    assert [plant.fresh_weight for plant in made.plants][:2] == [None, 21.0]


def test_a_word_cannot_stand_for_no_value_and_for_a_loss(tmp_path):
    toml = 'missing = ["-"]\nlost = ["-"]\n' + PLANTS + TRIAL
    assert any(
        'line 2: "-" stands for no value and for a plant' in one for one in said(book(tmp_path, Log=rows()), toml)
    )


def test_decimal_commas_and_dates_of_a_text_file_are_read_by_column(tmp_path):
    path = tmp_path / "log.csv"
    lines = [f"{shelf};{n};{warm};{weight:.3f}".replace(".", ",") for shelf, n, warm, weight in rows(1.234)[1:]]
    path.write_text("Shelf;No;Warm?;wt\n" + "\n".join([*lines[:-1], "D;3;N;21,5"]), "utf-8")
    made = trial(path, PLANTS.replace('sheet = "Log"\n', "").replace('"g"', '"oz"') + TRIAL)
    assert made.plants[0].fresh_weight == pytest.approx(1.234 * 28.349523125)
    assert not any("kept as text" in one.found for one in made.findings)


@pytest.mark.parametrize(("day_first", "day"), [("true", date(2026, 2, 3)), ("false", date(2026, 3, 2))])
def test_the_order_of_day_and_month_is_as_its_owner_says(tmp_path, day_first, day):
    trays = [("Shelf", "Warm?", "Cut"), *((shelf, warm, "3/2/26") for shelf, warm in zip("ABCD", "YYNN", strict=True))]
    more = f"""
[[table]]
sheet = "Where"
gives = "Trays"
day_first = {day_first}
columns = {{ Tray = "Shelf", Treatment = "Warm?", "Harvested on" = "Cut" }}
treatment = {{ Y = "warm", N = "plain" }}
"""
    made = trial(book(tmp_path, Log=rows(), Where=trays), PLANTS + more + TRIAL)
    assert made.trays[0].harvested_on == day
    assert made.trays[0].plants_started == 3  # as many as are written down


def test_amounts_since_the_reading_before_become_a_counter(tmp_path):
    power = [("when", "used"), (datetime(2026, 1, 19, 9), 4.5), (datetime(2026, 2, 16, 9), 6.25)]
    more = """
[[table]]
sheet = "Power"
gives = "Meter"
cumulative = false
columns = { "Read at" = "when", Reading = { from = "used", unit = "kWh" } }
constants = { Meter = "plug", Treatment = "all" }
"""
    made = trial(book(tmp_path, Log=rows(), Power=power), PLANTS + more + TRIAL)
    assert [(one.at, one.reading) for one in made.meter] == [
        (datetime(2026, 1, 5), 0.0),
        (datetime(2026, 1, 19, 9), 4.5),
        (datetime(2026, 2, 16, 9), 10.75),
    ]


def test_pots_weighed_as_a_whole_are_units_of_their_own(tmp_path):
    held = [("Pot", "Warm?", "wt"), *((f"P{n}", row[2], row[3]) for n, row in enumerate(rows()[1:]))]
    toml = PLANTS.replace('Tray = "Shelf", Plant = "No"', 'Tray = "Pot"') + 'per = "pot"\n' + TRIAL
    made = trial(book(tmp_path, Log=held), toml)
    assert made.experimental_unit == "plant"
    assert len(made.trays) == 12


def test_measurements_of_living_plants_find_the_pots_of_their_plants(tmp_path):
    growth = [("Shelf", "No", "day", "h"), ("A", 1, date(2026, 1, 20), 12.5), ("B", 2, date(2026, 1, 20), 13.0)]
    more = """
[[table]]
sheet = "Heights"
gives = "Growth"
columns = { Tray = "Shelf", Plant = "No", Date = "day", Height = { from = "h", unit = "cm" } }
"""
    made = trial(book(tmp_path, Log=rows(), Heights=growth), PLANTS + more + POTS)
    assert [one.tray for one in made.growth] == ["A-1", "B-2"]
    assert made.findings == ()


def test_a_tray_with_two_treatments_is_an_error_where_they_differ(tmp_path):
    held = rows()
    held[3] = ("A", 3, "N", 22.0)
    assert any(
        one.startswith('error Log!C4: tray "A" has the treatment')
        for one in said(book(tmp_path, Log=held), PLANTS + TRIAL)
    )


# --- places


def test_problems_stand_at_the_cells_of_the_owner(tmp_path):
    held = [("Harvest of the bench",), (), *rows("heavy", -3.0)]
    found = said(book(tmp_path, Log=held), PLANTS.replace('"Log"', '"Log"\nheader_row = 3') + TRIAL)
    assert any(one.startswith('error Log!D4: "heavy" is not a number') for one in found)
    assert any(one.startswith('error Log!D5: "-3" is not possible here') for one in found)


def test_rows_that_a_problem_names_are_those_of_the_owner(tmp_path):
    held = [("Harvest",), *rows()]
    held[4] = ("A", 1, "Y", 22.0)
    found = said(book(tmp_path, Log=held), PLANTS.replace('"Log"', '"Log"\nheader_row = 2') + TRIAL)
    assert any(one.startswith('error Log!B5: "A, 1" stands in row 3 too') for one in found)


def test_rows_of_a_second_table_on_a_sheet_are_named_as_their_owner_counts_them(tmp_path):
    power = [("Day", "a", "b"), *((datetime(2026, 1, 5 + day), 10 + day, 10 - day % 2) for day in range(6))]
    meters = "".join(
        f'[[table]]\nsheet = "Power"\ngives = "Meter"\ncolumns = {{ "Read at" = "Day", '
        f'Reading = {{ from = "{name}", unit = "kWh" }} }}\n'
        f'constants = {{ Meter = "{name}", Treatment = "all" }}\n'
        for name in "ab"
    )
    found = said(book(tmp_path, Log=rows(), Power=power), PLANTS + meters + TRIAL)
    assert any('Power!C3: meter "b" falls from 10 kWh in row 2 to 9 kWh' in one for one in found)


def test_a_problem_of_the_trial_stands_at_its_line(tmp_path):
    found = said(book(tmp_path, Log=rows()), PLANTS + TRIAL.replace('"plain"', '"plian"'))
    assert any("log.adopt.toml, line 13:" in one and '"plian"' in one and "Did you mean plain?" in one for one in found)


def test_everything_that_does_not_fit_comes_at_once(tmp_path):
    toml = """
[[table]]
sheet = "Logg"
gives = "Plants"
columns = { Tray = "Shelf", Treatment = "Warm?", "Fresh weight" = { from = "wt", unit = "g" } }

[[table]]
sheet = "Log"
gives = "Trays"
exclude_rows = [99]
confirmed = ["Z2"]
fill_down = ["Shelv"]
columns = { Tray = "Shelf", Treatment = "Warm" }

[[table]]
file = "other.csv"
gives = "Meter"
columns = { Reading = { from = "kWh", unit = "?" } }
"""
    found = said(book(tmp_path, Log=rows()), toml)
    for part in (
        'line 3: there is no sheet "Logg"; expected one of Log. Did you mean Log?',
        "line 10: row 99 is not in the table; expected a row from 2 to 13",
        "line 11: Z2 is not in the table",
        'line 12: there is no header "Shelv" in row 1',
        'line 13: there is no header "Warm" in row 1',
        "Did you mean Warm??",
        'line 16: "other.csv" is not there',
        'line 18: the unit of "kWh" is still "?"',
        "nothing says Title",
        "nothing says Reference treatment",
    ):
        assert any(part in one for one in found), (part, found)


def test_a_row_without_headers_and_a_table_without_trays_are_said(tmp_path):
    path = book(tmp_path, Log=[(), *rows()])
    assert any("row 1 of Log holds no headers" in one for one in said(path, PLANTS + TRIAL))
    toml = PLANTS.replace('"Log"', '"Log"\nheader_row = 2').replace('Tray = "Shelf", ', "")
    assert any('"Experimental unit" = "plant"' in one for one in said(path, toml + TRIAL))


def test_the_settings_beside_a_spreadsheet_are_used_and_it_stays_as_it_was(tmp_path):
    path = book(tmp_path, Log=rows())
    before = path.read_bytes()
    assert not is_adopted(path)
    (tmp_path / "log.adopt.toml").write_text(PLANTS + TRIAL, "utf-8")
    assert is_adopted(path)
    assert len(check(read_adopted(path)).plants) == 12
    assert path.read_bytes() == before


def test_a_formula_that_was_never_computed_is_said_at_its_cell(tmp_path):
    held = rows()
    held[5] = ("B", 2, "Y", "=D2+1")
    assert any(one.startswith("error Log!D6: 1 formula") for one in said(book(tmp_path, Log=held), PLANTS + TRIAL))


def test_codes_are_as_the_sheet_shows_them(tmp_path):
    made = Workbook()
    made.active.title = "Log"
    for row in rows():
        made.active.append(row)
    for row in range(2, 14):
        made.active.cell(row, 1, 1.1 if row < 8 else 1.2).number_format = "0.00"
        made.active.cell(row, 2, row)
    made.save(tmp_path / "log.xlsx")
    assert [tray.code for tray in trial(tmp_path / "log.xlsx", PLANTS + TRIAL).trays] == ["1.10", "1.20"]


@pytest.mark.parametrize("text", ["2026-01-20", "20/01/26", "20.1.2026", "2026-01-20 08:30"])
def test_dates_of_a_text_file_are_read_with_a_year_of_two_digits_or_four(tmp_path, text):
    log = tmp_path / "heights.csv"
    log.write_text(f"Shelf;day;h\nA;{text};12,5\n", "utf-8")
    more = """
[[table]]
file = "heights.csv"
gives = "Growth"
columns = { Tray = "Shelf", Date = "day", Height = { from = "h", unit = "cm" } }
"""
    made = check(taken_in(book(tmp_path, Log=rows()), PLANTS + more + TRIAL, other=log))
    assert [(one.on, one.values) for one in made.growth] == [(date(2026, 1, 20), (12.5,))]
