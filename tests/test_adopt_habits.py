"""Files of one habit each, from the disk to the figures: what is recognised, asked, caught; what is not taken."""

from datetime import datetime, timedelta

import openpyxl
import pytest
import xlwt
from openpyxl.comments import Comment
from openpyxl.styles import PatternFill

from reportgen import pipeline
from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.matching import roles_of
from reportgen.adopt.questions import HEADED, IN_HEADERS, KEPT, LEFT_OUT, unanswered
from reportgen.adopt.toml_file import read_adoption, settings_file
from reportgen.model.problem import NotYetError, WorkbookError
from tests.adopting import adopt, answering, book, fresh_weight

WARM, PLAIN = (30.5, 31.2, 33.1, 29.8), (25.4, 26.6, 24.9, 27.0)
ROWS = [
    (f"T{tray}", kind, plant, held[plant - 1] + tray / 10)
    for tray, kind, held in ((1, "warm", WARM), (2, "plain", PLAIN), (3, "warm", WARM), (4, "plain", PLAIN))
    for plant in (1, 2, 3, 4)
]
HEAD = ("Tray", "Treatment", "Plant", "Fresh weight (g)")
MEANS = {"warm": (2, pytest.approx(31.15 + 0.2)), "plain": (2, pytest.approx(25.975 + 0.3))}
TRAYS = {"independent": "Tray", "Reference treatment": "plain"}


def means(log):
    return {code: (one.n, one.value) for code, one in fresh_weight(pipeline.checked(log)).estimates}


def questions(*paths):
    return unanswered(understood(log_of(paths)))


def kinds(*paths):
    return {question.kind for question in questions(*paths)}


def text_file(tmp_path, *lines, name="log.csv", encoding="utf-8"):
    (tmp_path / name).write_text("\n".join(lines) + "\n", encoding=encoding)
    return tmp_path / name


def settled(log):
    return read_adoption(settings_file(log))


# --- kinds of file


def test_a_sheet_for_each_treatment_in_an_old_workbook(tmp_path):
    made = xlwt.Workbook()
    for kind in ("plain water", "seaweed feed"):
        sheet = made.add_sheet(kind)
        lines = [("Harvest of week 6",), (), ("Tub", "Plant", "Fresh wt (g)")]
        for tray in (1, 2):
            for plant in (1, 2, 3):
                lines.append(
                    (f"tub {tray}" if plant == 1 else "", plant, 40 + tray + plant + 5 * (kind != "plain water"))
                )
        for at, line in enumerate([*lines, ("Average", "", 43.5)]):
            for column, value in enumerate(line):
                sheet.write(at, column, value)
    log = tmp_path / "tubs.xls"
    made.save(str(log))
    adopt(log, talk=answering(independent="Tub"))
    assert means(log) == {"plain water": (2, pytest.approx(43.5)), "seaweed feed": (2, pytest.approx(48.5))}
    assert settled(log).tables[0].exclude_rows == (10,)  # the row of the mean


def test_a_workbook_of_open_document(tmp_path):
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    made = OpenDocumentSpreadsheet()
    sheet = Table(name="Harvest")
    for line in (HEAD, *ROWS):
        row = TableRow()
        for value in line:
            typed = (
                {"valuetype": "float", "value": value} if isinstance(value, int | float) else {"valuetype": "string"}
            )
            cell = TableCell(**typed)
            cell.addElement(P(text=str(value)))
            row.addElement(cell)
        sheet.addElement(row)
    made.spreadsheet.addElement(sheet)
    log = tmp_path / "log.ods"
    made.save(str(log))
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEANS


def test_headers_on_row_eleven_with_numbers_kept_as_text_and_facts_above(tmp_path):
    above = [
        ("Winter trial, back room",),
        ("Crop", "basil"),
        ("Sown", "2025-01-03"),
        (),
        ("Start", "2025-01-20"),
        ("Harvest", "2025-02-24"),
        (),
        ("Scale in the shed",),
        (),
        (),
    ]
    rows = [(tray, kind, plant, f"{weight:.2f}" if plant != 3 else "dead") for tray, kind, plant, weight in ROWS]
    log = book(
        tmp_path, Log=[*above, ("Shelf", "Heat", "Plant #", "fresh wt (g)"), *rows, (None, None, "total", "412.3")]
    )
    adopt(log, talk=answering(**{"Reference treatment": "plain"}))
    made = settled(log)
    assert (made.tables[0].header_row, made.tables[0].exclude_rows, made.lost) == ("11", (28,), ("dead",))
    assert made.trial["Crop"] == "basil"
    assert str(made.trial["Started on"]) == "2025-01-20"
    assert str(made.trial["Harvested on"]) == "2025-02-24"
    assert means(log)["warm"] == (2, pytest.approx((30.5 + 31.2 + 29.8) / 3 + 0.2))


def test_the_treatment_in_the_names_of_text_files(tmp_path):
    for name, held in (("chard_blue_mulch.csv", WARM), ("chard_no_mulch.csv", PLAIN)):
        text_file(tmp_path, "Bed,Fresh mass (g)", *(f"N{at % 2},{weight}" for at, weight in enumerate(held)), name=name)
    log = tmp_path / "chard_blue_mulch.csv"
    adopt(log, tmp_path / "chard_no_mulch.csv", talk=answering(independent="Bed"))
    assert means(log) == {"blue mulch": (2, pytest.approx(31.15)), "no mulch": (2, pytest.approx(25.975))}


def test_french_headers_with_decimal_commas_and_days_before_months(tmp_path):
    names = {"warm": "tiède", "plain": "témoin"}
    told = [(tray[1], names[kind], plant, f"{weight:.2f}".replace(".", ",")) for tray, kind, plant, weight in ROWS]
    lines = [f"B{tray};{kind};{plant};{weight};1{tray}/04/2026" for tray, kind, plant, weight in told]
    log = text_file(
        tmp_path,
        "Essai;;;;",
        "Bac;Traitement;Plante n°;Masse fraîche (g);Date de récolte",
        *lines,
        "Moyenne;;;28,8;",
        encoding="cp1252",
    )
    asked = questions(log)
    assert next(one for one in asked if one.column == "Reference treatment").default == "témoin"
    adopt(log, talk=answering(independent="Bac"))
    assert means(log) == {"témoin": MEANS["plain"], "tiède": MEANS["warm"]}
    assert str(settled(log).trial["Harvested on"]) == "2026-04-14"


def test_a_month_of_a_meter_and_of_a_climate_logger(tmp_path):
    begin = datetime(2026, 1, 5)
    power = [
        ("Date", "Warm kWh", "Plain kWh"),
        *((begin + timedelta(days=day), 1200 + 2.5 * day, 800 + 2.0 * day) for day in range(43)),
    ]
    air = [
        ("Logger 3",),
        (),
        ("Time", "Temp (°C)", "RH (% RH)"),
        *((begin + timedelta(hours=hour), 20 + hour % 5 / 2, 60.0 + hour % 7) for hour in range(42 * 24)),
    ]
    log = book(tmp_path, Plants=[HEAD, *ROWS], Power=power, Logger=air)
    asked = {one.column: one.default for one in questions(log) if one.kind == "day"}
    assert asked == {"Started on": "2026-01-05", "Harvested on": "2026-02-16"}
    adopt(log, talk=answering(whose="all", **TRAYS))
    made = pipeline.checked(log)
    assert {one.treatment for one in made.meter} == {"warm", "plain"}
    assert len(made.climate.at) == 42 * 24
    assert set(made.climate.treatments) == {None}


# --- layouts


def test_a_column_for_each_tray_beside_a_list_of_trays(tmp_path):
    wide = [(plant, *(weight for tray, _, number, weight in ROWS if number == plant)) for plant in (1, 2, 3, 4)]
    log = book(
        tmp_path,
        Weights=[("Fresh weight, g",), (), ("Plant", "T1", "T2", "T3", "T4"), *wide],
        Trays=[("Tray", "Treatment"), ("T1", "warm"), ("T2", "plain"), ("T3", "warm"), ("T4", "plain")],
    )
    adopt(log, talk=answering(independent=IN_HEADERS, **{"Reference treatment": "plain"}))
    assert means(log) == MEANS


def test_codes_over_columns_are_asked_for_trays_and_their_treatments(tmp_path):
    wide = [(plant, *(weight for tray, _, number, weight in ROWS if number == plant)) for plant in (1, 2, 3, 4)]
    log = book(tmp_path, Weights=[("Fresh weight, g",), (), ("Plant", "T1", "T2", "T3", "T4"), *wide])
    question = next(one for one in questions(log) if one.kind == "headers")
    assert (question.choices, question.default) == (HEADED, "")
    told = {"T1": "warm", "T2": "plain", "T3": "warm", "T4": "plain"}
    adopt(log, talk=answering(headers="trays", independent=IN_HEADERS, **told, **{"Reference treatment": "plain"}))
    assert means(log) == MEANS


def test_a_column_for_each_week_is_growth(tmp_path):
    days = [datetime(2026, 1, 12) + timedelta(days=7 * week) for week in range(4)]
    heights = [
        (tray, plant, *(round(3.0 + plant / 5 + 2.2 * week, 1) for week in range(4))) for tray, _, plant, _ in ROWS
    ]
    log = book(tmp_path, Harvest=[HEAD, *ROWS], **{"Height cm": [("Tray", "Plant", *days), *heights]})
    adopt(log, talk=answering(**TRAYS))
    made = pipeline.checked(log)
    assert len(made.growth) == 16 * 4
    assert made.growth[0].values == (3.2,)
    assert made.findings == ()  # the unit stands in the sheet's name


def test_a_unit_in_a_row_of_its_own_is_read(tmp_path):
    rows = [(tray, kind, plant, weight / 1000) for tray, kind, plant, weight in ROWS]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Plant", "Fresh weight"), (None, None, None, "kg"), *rows])
    assert "unit" not in kinds(log)
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEANS


@pytest.mark.parametrize(
    ("note", "factor"),
    [("Wet weight is measured in grams", 1), ("All weights in kg", 1000), ("Peso fresco en gramos", 1)],
)
def test_a_unit_in_a_note_is_read(tmp_path, note, factor):
    rows = [(tray, kind, plant, weight / factor) for tray, kind, plant, weight in ROWS]
    log = book(
        tmp_path, Log=[("Tray", "Treatment", "Plant", "Wet weight"), *rows], Notes=[(note,), ("One lamp broke",)]
    )
    adopt(log, talk=answering(unit="oz", **TRAYS))
    assert means(log) == MEANS


@pytest.mark.parametrize(
    "note", ["Weight of pot with soil in g", "Dry weight in mg", "Leaf length in cm", "Weighed in May"]
)
def test_a_note_of_something_else_tells_no_unit(tmp_path, note):
    log = book(
        tmp_path, Log=[("Tray", "Treatment", "Plant", "Wet weight"), *ROWS], Notes=[(note,), ("One lamp broke",)]
    )
    assert "unit" in kinds(log)


@pytest.mark.parametrize("unit", ["gramos", "Gramm", "grammes", "grammi", "g/plant"])
def test_units_of_other_languages_are_converted(tmp_path, unit):
    log = book(tmp_path, Log=[(*HEAD[:3], f"Fresh weight ({unit})"), *ROWS])
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEANS


@pytest.mark.parametrize("word", ["NA", "n/a", "nd"])
def test_words_for_no_value_are_known(tmp_path, word):
    log = book(tmp_path, Log=[HEAD, *ROWS, ("T1", "warm", 5, word)])
    assert "word" not in kinds(log)
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEANS


@pytest.mark.parametrize("word", ["died", "failed to grow", "rotted"])
def test_words_for_a_loss_are_known_and_the_plant_counts_as_started(tmp_path, word):
    log = book(tmp_path, Log=[HEAD, *ROWS, ("T1", "warm", 5, word)])
    adopt(log, talk=answering(**TRAYS))
    made = pipeline.checked(log)
    assert made.trays[0].plants_started == 5
    assert means(log) == MEANS


def wide_rows(head):
    """Return a row for each tray, with a column for each of its four plants."""
    trays = dict.fromkeys(row[:2] for row in ROWS)
    body = [(*tray, *(row[3] for row in ROWS if row[:2] == tray)) for tray in trays]
    return [("Fresh weight, g",), (), head, *((*row, round(sum(row[2:]) / 4, 3)) for row in body)]


def test_a_column_for_each_plant_of_a_tray_without_its_mean(tmp_path):
    head = ("Tray", "Treatment", "Plant 1", "Plant 2", "Plant 3", "Plant 4", "Mean")
    log = book(tmp_path, Log=wide_rows(head))
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEANS
    assert settled(log).tables[0].wide.headers == head[2:6]


def test_a_column_for_each_repetition_is_a_block(tmp_path):
    head = ("Line", "Treatment", "Rep 1", "Rep 2", "Rep 3", "Rep 4", "SD")
    log = book(tmp_path, Log=wide_rows(head))
    adopt(log, talk=answering(independent="each row", per="pot", **{"Reference treatment": "plain"}))
    assert means(log) == {"warm": (8, pytest.approx(31.35)), "plain": (8, pytest.approx(26.275))}
    assert {tray.block for tray in pipeline.checked(log).trays} == {"Rep 1", "Rep 2", "Rep 3", "Rep 4"}


def test_units_behind_the_numbers_in_cells_are_read(tmp_path):
    rows = [(tray, kind, plant, f"{weight / 1000:.5f} kg") for tray, kind, plant, weight in ROWS]
    log = book(tmp_path, Log=[(*HEAD[:3], "Fresh weight"), *rows])
    assert "unit" not in kinds(log)
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEANS


def test_a_column_for_each_event_of_a_tray(tmp_path):
    water = [("Date", "Tray", "Filled (L)", "Topped up (L)", "Left (L)", "EC (mS/cm)")]
    for number, (filled, topped, left) in enumerate(((20, None, None), (None, 4.5, None), (None, None, 3))):
        day = datetime(2026, 1, 5) + timedelta(days=14 * number)
        water += [(day, f"T{tray}", filled, topped, left, 1.6) for tray in (1, 2, 3, 4)]
    log = book(tmp_path, Plants=[HEAD, *ROWS], Water=water)
    adopt(log, talk=answering(**TRAYS))
    events = [(one.kind, one.volume, one.ec) for one in pipeline.checked(log).solution if one.tray == "T1"]
    assert sorted(events) == [("fill", 20, 1.6), ("remaining", 3, 1.6), ("top-up", 4.5, 1.6)]


def logger(tmp_path, head, line):
    """Return a log beside a logger's file with a line for each hour of five weeks."""
    begin = datetime(2026, 1, 5)
    lines = [line(begin + timedelta(hours=hour), 20 + hour % 5) for hour in range(35 * 24)]
    text_file(tmp_path, "Logger 12", "", head, *lines, name="logger.txt")
    return book(tmp_path, Log=[HEAD, *ROWS]), tmp_path / "logger.txt"


@pytest.mark.parametrize(
    ("head", "line"),
    [
        ("Date Time\tTemp, °C", lambda at, value: f"{at:%m/%d/%Y %I:%M:%S %p}\t{value}"),
        ("Timestamp;Temp (°C)", lambda at, value: f"{at:%Y-%m-%dT%H:%M:%S.000Z};{value}"),
        ("Datum;Zeit;Temp (°C)", lambda at, value: f"{at:%d.%m.%Y};{at:%H:%M};{value},0"),
        ("Date,Time,Temp (°C)", lambda at, value: f"{at:%m/%d/%y},{at:%I:%M %p},{value}"),
    ],
)
def test_moments_of_loggers_keep_their_hours(tmp_path, head, line):
    paths = logger(tmp_path, head, line)
    adopt(*paths, talk=answering(whose="all", **TRAYS))
    air = pipeline.checked(paths[0]).climate
    assert len(air.at) == 35 * 24
    assert [str(air.at[place]) for place in (0, 13, 839)] == [
        "2026-01-05T00:00:00",
        "2026-01-05T13:00:00",
        "2026-02-08T23:00:00",
    ]


def test_a_number_of_plants_that_were_weighed_together_tells_of_no_losses(tmp_path):
    rows = [(f"S{at}", "ab"[at % 2], 12, 800.5 + at) for at in range(8)]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Number of plants", "Fresh weight (g)"), *rows])
    adopt(log, talk=answering(independent="Tray", **{"Reference treatment": "a"}))
    assert {tray.started_known for tray in pipeline.checked(log).trays} == {False}


def test_trays_that_are_cut_on_several_sheets_are_pointed_out(tmp_path):
    head = ("Tray", "Treatment", "Fresh weight (g)")
    week = [head, *((row[0], row[1], row[3]) for row in ROWS)]
    again = [head, *((row[0], row[1], row[3] + 1) for row in ROWS)]
    log = book(tmp_path, **{"Week 1": week, "Week 2": again})
    adopt(log, talk=answering(**TRAYS))
    said = [(str(one.severity), one.sheet, one.cell) for one in pipeline.check(log).problems]
    assert said == [("caution", "Week 2", "A2")]


# --- asked


def marked(tmp_path, rows, *, colour="", comment=""):
    log = book(tmp_path, Log=[HEAD, *ROWS])
    made = openpyxl.load_workbook(log)
    for row in rows:
        cell = made["Log"].cell(row, 4)
        if colour:
            cell.fill = PatternFill("solid", fgColor=colour)
        if comment:
            cell.comment = Comment(comment, "A. Grower")
    made.save(log)
    return log


@pytest.mark.parametrize("mark", [{"colour": "FFFF00"}, {"comment": "fell off the scale"}])
def test_rows_that_a_colour_or_a_comment_marks_are_asked_about(tmp_path, mark):
    log = marked(tmp_path, [3, 9], **mark)
    question = next(one for one in questions(log) if one.kind == "marked")
    assert (question.marked, question.choices, question.default) == ((3, 9), (KEPT, LEFT_OUT), "")
    assert mark.get("comment", "colour") in question.why
    taken, _ = adopt(log)
    assert any("marked_rows is still" in one.found for one in taken.open)


@pytest.mark.parametrize(("answer", "rows"), [(KEPT, ()), (LEFT_OUT, (3, 9))])
def test_marked_rows_are_left_out_only_where_their_owner_says_so(tmp_path, answer, rows):
    log = marked(tmp_path, [3, 9], colour="FFFF00")
    adopt(log)
    taken, _ = adopt(log, talk=answering(marked=answer, **TRAYS))
    assert taken.open == ()
    assert settled(log).tables[0].exclude_rows == rows


def test_a_colour_of_every_other_row_marks_nothing(tmp_path):
    assert "marked" not in kinds(marked(tmp_path, range(2, 18, 2), colour="DDDDDD"))


def test_a_colour_of_a_whole_column_marks_nothing(tmp_path):
    assert "marked" not in kinds(marked(tmp_path, range(1, 18), colour="DDDDDD"))


@pytest.mark.parametrize(
    ("head", "kind"),
    [
        (("Tray", "Treatment", "Plant", "Fresh weight"), "unit"),
        (("Tray", "Treatment", "Plant", "Weight (g)"), "mass"),
        (("Tray", "Treatment", "Sample", "Fresh weight (g)"), "per"),
        (HEAD, "independent"),
        (HEAD, "field"),
    ],
)
def test_what_a_header_does_not_say_is_asked_and_left_open_without_an_answer(tmp_path, head, kind):
    log = book(tmp_path, Log=[head, *ROWS])
    assert kind in kinds(log)
    taken, _ = adopt(log)
    assert pipeline.check(log).problems == taken.open != ()


@pytest.mark.parametrize("cell", [None, 0, "-"])
def test_what_a_blank_a_zero_and_a_dash_mean_is_asked(tmp_path, cell):
    log = book(tmp_path, Log=[HEAD, *ROWS, ("T1", "warm", 5, cell)])
    assert "word" in kinds(log)
    adopt(log, talk=answering(word="the plant was lost", **TRAYS))
    assert pipeline.checked(log).trays[0].plants_started == 5


FACTORS = [(row[0], row[1], "N1" if row[0] in ("T1", "T2") else "N2", *row[2:]) for row in ROWS]


@pytest.mark.parametrize(
    ("answer", "codes"),
    [
        ("Light", {"warm", "plain"}),
        ("Nutrient", {"N1", "N2"}),
        ("Light + Nutrient", {"warm + N1", "warm + N2", "plain + N1", "plain + N2"}),
    ],
)
def test_two_things_that_were_varied_are_asked_about_and_may_be_taken_together(tmp_path, answer, codes):
    log = book(tmp_path, Log=[("Tray", "Light", "Nutrient", "Plant", "Fresh weight (g)"), *FACTORS])
    question = next(one for one in questions(log) if one.kind == "treatment")
    assert (question.choices, question.default) == (("Light", "Nutrient", "Light + Nutrient"), "")
    taken, _ = adopt(log)
    assert any("Treatment is still" in one.found for one in taken.open)
    adopt(log, talk=answering(treatment=answer, independent="Tray", **{"Reference treatment": sorted(codes)[0]}))
    assert set(means(log)) == codes


def test_a_second_column_that_follows_the_treatment_is_no_second_factor(tmp_path):
    rows = [(row[0], row[1], {"warm": "room A", "plain": "room B"}[row[1]], *row[2:]) for row in ROWS]
    log = book(tmp_path, Log=[("Tray", "Light", "Place", "Plant", "Fresh weight (g)"), *rows])
    assert "treatment" not in kinds(log)


# --- false friends


def test_a_table_of_means_below_the_plants_is_not_taken(tmp_path):
    summary = [
        (),
        ("treatment", "mean fresh weight (g)", "n"),
        ("warm", 31.4, 8),
        ("plain", 26.3, 8),
        ("all", 28.8, 16),
    ]
    log = book(tmp_path, Log=[HEAD, *ROWS, *summary])
    _, said = adopt(log, talk=answering(**TRAYS))
    assert len(settled(log).tables) == 1
    assert "means or totals of what stands in another table" in said
    assert means(log) == MEANS


def test_numbers_of_rows_are_no_measurement(tmp_path):
    rows = [(at, *row, at % 5 + 7) for at, row in enumerate(ROWS, 1)]
    log = book(tmp_path, Log=[("#", *HEAD, "Number_after"), *rows])
    adopt(log, talk=answering(**TRAYS))
    assert "#" not in settled(log).tables[0].columns
    assert "Number_after" in settled(log).tables[0].columns


def test_an_ec_that_is_a_place_is_not_taken(tmp_path):
    log = book(tmp_path, Log=[(*HEAD, "EC"), *((*row, "east corner") for row in ROWS)])
    adopt(log, talk=answering(**TRAYS))
    assert "EC" not in settled(log).tables[0].columns


def test_a_weight_of_plant_and_pot_together_is_not_taken(tmp_path):
    log = book(tmp_path, Log=[(*HEAD[:3], "weight with pot (g)"), *ROWS])
    _, said = adopt(log, talk=answering(**TRAYS))
    assert "a weight of plant and pot together is no fresh weight" in said
    assert "Fresh weight" not in settled(log).tables[0].columns
    with pytest.raises(NotYetError, match="nothing was recorded"):
        pipeline.checked(log)


def test_water_as_a_factor_is_the_treatment(tmp_path):
    log = book(tmp_path, Log=[("Tray", "Water", "Plant", "Fresh weight (g)"), *ROWS])
    adopt(log, talk=answering(**TRAYS))
    assert settled(log).tables[0].columns["Treatment"].header == "Water"
    assert means(log) == MEANS


# --- seven languages: English, Spanish, French, German, Italian, Portuguese, Dutch (common practice of the trade)

LANGUAGES = {
    "Fresh weight": (
        "Fresh weight; Peso fresco; Poids frais; Frischgewicht; Versgewicht; Wet mass; Masa fresca; Masse "
        "fraîche; Frischmasse; Massa fresca; Vers gewicht"
    ),
    "Dry weight": "Dry weight; Peso seco; Poids sec; Trockengewicht; Peso secco; Massa seca; Drooggewicht",
    "Root weight": "Root weight; Peso de raíz; Poids racine; Wurzelgewicht; Peso radici; Peso da raiz; Wortelgewicht",
    "Height": "Plant height; Altura de planta; Hauteur; Pflanzenhöhe; Altezza pianta; Altura da planta; Planthoogte",
    "Leaves": (
        "Number of leaves; Número de hojas; Nombre de feuilles; Blattanzahl; Numero foglie; Número de folhas; "
        "Aantal bladeren"
    ),
    "Treatment": "Treatment; Tratamiento; Traitement; Behandlung; Trattamento; Tratamento; Behandeling",
    "Tray": (
        "Tray; Bandeja; Bac; Schale; Vassoio; Tabuleiro; Bak; Pot; Maceta; Topf; Vaso; Tent; Carpa; Tente; "
        "Zelt; Tenda; Kweektent"
    ),
    "Plant": "Plant no.; Planta n.º; N° plante; Pflanze Nr.; Pianta n.; Planta nº; Plantnummer",
    "Block": (
        "Block; Bloque; Bloc; Blocco; Bloco; Blok; Replicate; Repetición; Répétition; Wiederholung; "
        "Ripetizione; Repetição; Herhaling"
    ),
    "Position": "Position; Posición; Emplacement; Platz; Posizione; Posição; Plaats",
    "Status": "Status; Estado; État; Zustand; Stato; Toestand",
    "Note": "Notes; Observaciones; Remarques; Bemerkung; Osservazioni; Observações; Opmerkingen",
    "Date": "Date; Fecha; Datum; Data",
    "Harvested on": (
        "Harvest date; Fecha de cosecha; Date de récolte; Erntedatum; Data di raccolta; Data da colheita; Oogstdatum"
    ),
    "Sown on": (
        "Sowing date; Fecha de siembra; Date de semis; Aussaatdatum; Data di semina; Data de semeadura; Zaaidatum"
    ),
    "Event": "Event; Evento; Événement; Vorgang; Gebeurtenis",
    "Volume": "Volume (L); Volumen (L); Hoeveelheid (L)",
    "EC": "EC; CE (mS/cm); Conductivité; Leitfähigkeit; Conducibilità; Condutividade; Geleidbaarheid",
    "pH": "pH; pH-Wert",
    "Temperature": (
        "Solution temperature; Temperatura de la solución; Température solution; Lösungstemperatur; "
        "Temperatura soluzione; Temperatura da solução; Watertemperatuur"
    ),
    "Meter": "Meter; Contador; Compteur; Zähler; Contatore; Medidor",
    "Reading": (
        "Meter reading; Lectura contador; Relevé compteur; Zählerstand; Lettura contatore; Leitura do "
        "medidor; Meterstand; Energy (kWh); Energía (kWh); Énergie (kWh); Energie (kWh); Energia (kWh)"
    ),
    "Air temperature": (
        "Air temperature; Temperatura del aire; Température de l'air; Lufttemperatur; Temperatura aria; "
        "Temperatura do ar; Luchttemperatuur"
    ),
    "Relative humidity": (
        "Relative humidity; Humedad relativa; Humidité relative; Luftfeuchtigkeit; Umidità relativa; Umidade "
        "relativa; Luchtvochtigheid"
    ),
    "CO2": "CO2 (ppm)",
    "PPFD": "PPFD (µmol/m2/s)",
}


@pytest.mark.parametrize(
    ("name", "header"), [(name, text) for name, texts in LANGUAGES.items() for text in texts.split("; ")]
)
def test_a_header_is_known_in_seven_languages(name, header):
    assert roles_of(header)[0].role.name == name


# --- names and numbers that only look like something else


def test_a_height_in_the_name_of_a_sheet_keeps_its_unit(tmp_path):
    head = ("Tray", "Plant", "Fresh weight (g)")
    rows = [(f"T{tray}", plant, 30 + tray + plant) for tray in (1, 2) for plant in (1, 2, 3)]
    log = book(tmp_path, **{"25 cm": [head, *rows], "40 cm": [head, *rows]})
    assert [table.constants["Treatment"] for table in understood(log_of((log,))).adoption.tables] == ["25 cm", "40 cm"]


def test_trays_that_count_anew_under_each_treatment_are_different_trays(tmp_path):
    rows = [(plant, 30 + plant, 31 + plant, None, plant, 36 + plant, 38 + plant) for plant in (1, 2, 3, 4)]
    head = [
        ("", "plain", "", None, "", "warm", ""),
        ("Plant", "Tray 1", "Tray 2", None, "Plant", "Tray 1", "Tray 2"),
    ]
    log = book(tmp_path, Harvest=[*head, *rows])
    adopt(log, talk=answering(unit="g", per="plant", measure="Fresh weight", independent=IN_HEADERS))
    assert means(log) == {"plain": (2, pytest.approx(33.0)), "warm": (2, pytest.approx(39.5))}


def test_a_meter_whose_column_is_named_after_a_treatment_is_no_treatment(tmp_path):
    days = [datetime(2026, 3, 1) + timedelta(days) for days in range(0, 31, 5)]
    meter = [(day, 100 + 5.5 * at, 200 + 9.5 * at) for at, day in enumerate(days)]
    log = book(tmp_path, Log=[HEAD, *ROWS], Electricity=[("Date", "plain kWh meter", "warm kWh meter"), *meter])
    tables = [table for table in understood(log_of((log,))).adoption.tables if table.gives == "Meter"]
    assert [(one.constants["Treatment"], one.columns["Reading"].header) for one in tables] == [
        ("plain", "plain kWh meter"),
        ("warm", "warm kWh meter"),
    ]


def test_a_numbered_plant_that_weighs_the_mean_of_those_before_it_fresh_and_dry_is_a_plant(tmp_path):
    # the fifth plant of each tray is the mean of the four before it, to the decimals of the scale
    held = [30.1, 33.4, 28.2, 31.5]
    weights = [*held, round(sum(held) / 4, 1), 35.0]
    rows = [
        (f"T{tray}", kind, plant, weight, round(0.06 * weight, 2))
        for tray, kind in ((1, "warm"), (2, "plain"), (3, "warm"), (4, "plain"))
        for plant, weight in enumerate(weights, start=1)
    ]
    log = book(tmp_path, Log=[(*HEAD, "Dry weight (g)"), *rows])
    adopt(log, talk=answering(**TRAYS))
    assert not [one for one in pipeline.checked(log).findings if "mean of the rows" in str(one)]


def test_of_several_pickings_side_by_side_the_total_is_the_weight(tmp_path):
    picked = [(f"B{at}", "straw" if at % 2 else "straw and coffee", 400 + 7 * at, 150 + 3 * at) for at in range(1, 9)]
    rows = [(*row, row[2] + row[3]) for row in picked]
    log = book(tmp_path, Log=[("Bag", "Substrate", "Flush 1 (g)", "Flush 2 (g)", "Total (g)"), *rows])
    (question,) = [one for one in questions(log) if one.choices[:2] == ("Fresh weight", "Dry weight")]
    assert "Total (g)" in question.text
    assert "Flush 1" not in question.text


def test_pickings_of_the_same_plants_on_several_days_are_not_taken_and_the_message_says_what_to_do(tmp_path):
    lines = [
        f"2026-06-{day:02},R{row},R{row}P{plant},{'rich' if row % 2 else 'plain'},{80 + day + row + plant}"
        for day in (1, 4, 8)
        for row in (1, 2, 3, 4)
        for plant in (1, 2, 3)
    ]
    log = text_file(tmp_path, "date,row,plant,feed,weight_g", *lines)
    with pytest.raises(WorkbookError, match="pickings of the same plants, add them up first, one row a plant"):
        adopt(log)


def test_a_plant_written_below_the_range_of_a_table_is_pointed_out(tmp_path):
    blocks = [("Tray", "Plant", "Fresh weight (g)", None, "Tray", "Plant", "Fresh weight (g)")]
    blocks += [(f"P{at % 2}", at, 30.0 + at, None, f"W{at % 2}", at, 36.5 + at) for at in range(1, 9)]
    log = book(tmp_path, Log=[("plain", *[None] * 3, "warm"), *blocks])
    adopt(log, talk=answering(**TRAYS))
    below = [one for one in pipeline.checked(log).findings if "right below the range" in one.found]
    assert not below
    made = openpyxl.load_workbook(log)
    made["Log"].append(("P1", 9, 33.3, None, "W1", 9, 41.2))
    made.save(log)
    below = [one for one in pipeline.checked(log).findings if "right below the range" in one.found]
    assert [one.cell for one in below] == ["C11", "G11"]
    made["Log"]["A11"] = "Total"
    made.save(log)
    assert not [one for one in pipeline.checked(log).findings if one.cell == "C11"]


def test_a_total_that_moved_down_tells_of_the_row_that_is_left_out_in_its_place(tmp_path):
    log = book(tmp_path, Log=[HEAD, *ROWS, ("Total", None, None, sum(row[3] for row in ROWS))])
    adopt(log, talk=answering(**TRAYS))
    assert settled(log).tables[0].exclude_rows == (18,)
    made = openpyxl.load_workbook(log)
    made["Log"].insert_rows(5)
    for column, value in enumerate(("T1", "warm", 5, 31.0), start=1):
        made["Log"].cell(5, column, value)
    made.save(log)
    with pytest.raises(WorkbookError, match=r"It stands in row 19 now: write 19 for 18 in exclude_rows"):
        pipeline.checked(log)
