"""What the columns of a log are taken for: quantities, units, what one value is of."""

from dataclasses import dataclass

import pytest
from openpyxl import Workbook

from reportgen.importing import carriers, cells, tables
from reportgen.importing.contents import contents
from reportgen.importing.model.cells import Conventions
from reportgen.importing.model.claims import Contents
from reportgen.importing.model.layouts import Counts, Covers

ASKED = 4.0  # points within which another candidate is asked for


@dataclass(frozen=True)
class Told:
    """All candidates of each table by its key."""

    by_table: dict[str, tuple[Contents, ...]]

    @property
    def only(self) -> tuple[Contents, ...]:
        """Return the candidates of the only table."""
        (candidates,) = self.by_table.values()
        return candidates

    def best(self, quantity):
        """Return the likeliest values of a quantity in the only table."""
        return next(values for values in self.only[0].values if values.quantity == quantity)

    def likely(self, quantity):
        """Return what the quantity may be besides: the columns of all candidates that would be
        asked.
        """
        least = self.only[0].score - ASKED
        near = [candidate for candidate in self.only if candidate.score >= least]
        return [
            values
            for candidate in near
            for values in candidate.values
            if values.quantity == quantity
        ]


def told(folder, *sheets, hidden=()):
    """Return the contents of a spreadsheet; each sheet is a name and rows of cells parted by `|`;
    `'` begins a text.
    """
    book = Workbook()
    book.remove(book.active)
    for name, text in sheets:
        sheet = book.create_sheet(name)
        for line in text.strip().splitlines():
            sheet.append([_cell(cell.strip()) for cell in line.split("|")])
        if name in hidden:
            sheet.sheet_state = "hidden"
    path = folder / "log.xlsx"
    book.save(path)
    read = cells.read_log([path], Conventions())
    found = tables.find(read)
    return Told(
        {
            table.key: contents(table, carriers.labels_of(table, read), found, read)
            for table in found.tables
        }
    )


def _cell(text):
    if not text:
        return None
    if text.startswith("'"):
        return text[1:]
    try:
        return float(text) if "." in text else int(text)
    except ValueError:
        return text


def rows(line, count=8):
    """Return a row for each number from 1; `{n}` is the number, `{t}` a treatment, `{w}` a weight."""
    weights = (31.4, 28.9, 35.2, 30.7, 27.3, 33.8, 29.6, 36.1)
    lines = []
    for number in range(1, count + 1):
        weight = weights[(number - 1) % len(weights)]
        treatment = "fan" if number % 2 else "still"
        values = {
            "n": number,
            "t": treatment,
            "w": weight,
            "dry": round(weight * 0.07, 3),
            "tare": 5 + number % 3,
        }
        lines.append(line.format(**values))
    return "\n".join(lines)


def test_a_unit_in_brackets_is_that_of_the_values(tmp_path):
    log = told(
        tmp_path, ("Log", "Treatment|Tray|Plant|Fresh weight (g)\n" + rows("{t}|T{n}|1|{w}"))
    )
    assert log.best("Fresh weight").unit == "g"
    assert log.best("Fresh weight").covers is Covers.PLANT


def test_a_unit_alone_as_the_header_heads_weights(tmp_path):
    log = told(tmp_path, ("Log", "Treatment|Tray|Plant|kg\n" + rows("{t}|T{n}|1|{w}")))
    assert log.best("Fresh weight").columns == ("kg",)
    assert log.best("Fresh weight").unit == "kg"


def test_a_unit_in_the_title_holds_for_columns_without_one(tmp_path):
    log = told(
        tmp_path,
        ("Log", "Basil, fresh weights (oz)\n\nTreatment|Tray|1|2\n" + rows("{t}|T{n}|{w}|{w}")),
    )
    assert log.best("Fresh weight").unit == "oz"


def test_a_unit_that_nobody_wrote_stays_open(tmp_path):
    log = told(tmp_path, ("Log", "Treatment|Tray|Plant|Fresh weight\n" + rows("{t}|T{n}|1|{w}")))
    assert log.best("Fresh weight").unit == ""


def test_the_unit_of_a_bare_number_among_two_units_stays_open(tmp_path):
    body = "A|1|1.32 kg\nB|2|808 g\nA|3|983 g\nB|4|919\nA|5|1.02 kg"
    log = told(tmp_path, ("Log", "Net|Plot|Weight\n" + body))
    assert log.best("Fresh weight").unit == ""


def test_units_behind_the_numbers_are_those_of_the_column(tmp_path):
    log = told(tmp_path, ("Log", "Net|Plot|Weight\n" + rows("{t}|{n}|{w} oz")))
    assert log.best("Fresh weight").unit == "oz"


def test_fresh_or_dry_is_open_where_it_is_not_written(tmp_path):
    log = told(tmp_path, ("Log", "Treatment|Tray|Plant|Weight (g)\n" + rows("{t}|T{n}|1|{w}")))
    assert log.likely("Fresh weight")
    assert log.likely("Dry weight")


def test_a_weight_beside_a_dry_weight_is_the_fresh_one(tmp_path):
    log = told(
        tmp_path, ("Log", "Treatment|Tray|Plant|Weight (g)|DW (g)\n" + rows("{t}|T{n}|1|{w}|{dry}"))
    )
    assert log.best("Fresh weight").columns == ("Weight",)
    assert log.best("Dry weight").columns == ("DW",)
    assert len(log.likely("Dry weight")) == 1


@pytest.mark.parametrize(
    "header", ["Trockengewicht (g)", "Peso seco (g)", "Poids sec (g)", "Drooggewicht (g)"]
)
def test_a_dry_weight_is_never_offered_as_a_fresh_one(tmp_path, header):
    log = told(tmp_path, ("Log", f"T|Tray|Plant|{header}\n" + rows("{t}|T{n}|1|{dry}")))
    assert log.best("Dry weight")
    assert not log.likely("Fresh weight")


def test_shoots_roots_and_leaf_area_are_told_apart(tmp_path):
    head = (
        "treatment|tray|plant|shoot FW (g)|shoot DW (g)|root FW (g)|root DW (g)|leaf area (cm2)\n"
    )
    log = told(tmp_path, ("Log", head + rows("{t}|T{n}|1|{w}|{dry}|1{w}|0{dry}|9{w}")))
    quantities = {values.quantity: values.columns for values in log.only[0].values}
    assert quantities == {
        "Fresh weight": ("shoot FW",),
        "Dry weight": ("shoot DW",),
        "Root weight": ("root FW",),
        "root DW": ("root DW",),
        "leaf area": ("leaf area",),
    }


def test_a_tare_is_taken_off_the_gross_weight(tmp_path):
    log = told(
        tmp_path, ("Log", "Treatment|Tray|Gross oz|Empty tray oz\n" + rows("{t}|{n}|{w}|{tare}"))
    )
    assert log.best("Fresh weight").columns == ("Gross",)
    assert log.best("Fresh weight").tare == "Empty tray"
    assert log.best("Fresh weight").unit == "oz"


def test_a_net_weight_beside_gross_and_tare_is_the_weight(tmp_path):
    body = "\n".join(
        f"{'AB'[n % 2]}|{n}|{30 + n * 1.3:.1f}|5.{n % 3}|{25 + n * 1.3 - n % 3 / 10:.1f}"
        for n in range(1, 9)
    )
    log = told(tmp_path, ("Log", "Treatment|Tray|Gross (g)|Tare (g)|Net (g)\n" + body))
    assert log.best("Fresh weight").columns == ("Net",)
    assert log.best("Fresh weight").tare == ""


def test_pounds_and_ounces_make_one_weight(tmp_path):
    body = "\n".join(f"{'AB'[n % 2]}|{n}|{n % 3}|{n * 1.7 % 16:.1f}" for n in range(1, 9))
    log = told(tmp_path, ("Log", "Treatment|Bed|lb|oz\n" + body))
    weight = log.best("Fresh weight")
    assert (weight.columns, weight.unit, weight.plus) == (("lb",), "lb", (("oz", "oz"),))


def test_a_weight_that_grows_with_its_number_of_plants_covers_them_all(tmp_path):
    body = "\n".join(
        f"{'AB'[n % 2]}|{n}|{6 + n % 4}|{(6 + n % 4) * (20 + n % 2):.0f}" for n in range(1, 9)
    )
    log = told(tmp_path, ("Log", "Treatment|Gully|plants|fresh weight (g)\n" + body))
    weight = log.best("Fresh weight")
    assert (weight.covers, weight.count) == (Covers.UNIT, "plants")


def test_a_mean_per_plant_keeps_its_number_of_plants(tmp_path):
    body = "\n".join(f"{'AB'[n % 2]}|{n}|{6 + n % 4}|{20 + n % 3}.5" for n in range(1, 9))
    log = told(tmp_path, ("Log", "Treatment|Gully|plants|FW per plant (g)\n" + body))
    weight = log.best("Fresh weight")
    assert (weight.covers, weight.count) == (Covers.MEAN, "plants")


def test_plant_or_whole_tray_is_open_where_a_row_is_a_tray(tmp_path):
    log = told(tmp_path, ("Log", "Treatment|Tray|Fresh weight (g)\n" + rows("{t}|T{n}|{w}")))
    assert {values.covers for values in log.likely("Fresh weight")} == {Covers.UNIT, Covers.PLANT}


def test_pickings_side_by_side_are_one_quantity_and_their_total_is_none(tmp_path):
    body = "\n".join(
        f"{n}|{'AB'[n % 2]}|{90 + n}|{60 + n * n}|{33 - n}|{183 + n * n}" for n in range(1, 11)
    )
    log = told(
        tmp_path, ("Persil", "Bac|Engrais|Coupe 1 (g)|Coupe 2 (g)|Coupe 3 (g)|Total (g)\n" + body)
    )
    assert log.best("Fresh weight").columns == ("Coupe 1", "Coupe 2", "Coupe 3")
    assert log.best("Fresh weight").unit == "g"


def test_treatments_over_columns_of_weights_are_one_quantity(tmp_path):
    log = told(tmp_path, ("Fresh weights (g)", "Tray|Plant|fan|still\n" + rows("{n}|1|{w}|2{w}")))
    assert log.best("Fresh weight").columns == ("fan", "still")


def test_a_yield_per_area_goes_with_the_area_of_each_plot(tmp_path):
    body = "\n".join(f"{'AB'[n % 2]}|{n}|{1 + n % 4}.5|0.1{n}" for n in range(1, 9))
    log = told(tmp_path, ("Log", "Treatment|Plot|Area (m2)|Yield (kg/m2)\n" + body))
    weight = log.best("Fresh weight")
    assert (weight.unit, weight.area_column, weight.covers) == ("kg/m2", "Area", Covers.UNIT)


def test_sugar_and_scores_are_further_measures(tmp_path):
    body = rows("{t}|T{n}|1|{w}|1{dry}|{n}")
    log = told(
        tmp_path, ("Log", "Treatment|Tray|Plant|Fresh weight (g)|Brix|Tip burn score\n" + body)
    )
    assert [values.quantity for values in log.only[0].values] == [
        "Fresh weight",
        "Brix",
        "Tip burn score",
    ]


def test_a_dose_in_grams_is_no_weight(tmp_path):
    body = "\n".join(f"{'AB'[n % 2]}|T{n}|1|{2.5 + n % 2}|{30 + n * 1.7:.1f}" for n in range(1, 9))
    log = told(tmp_path, ("Log", "Treatment|Tray|Plant|Fertiliser (g)|Fresh weight (g)\n" + body))
    assert log.best("Fresh weight").columns == ("Fresh weight",)
    assert all("Fertiliser" not in values.columns for values in log.only[0].values)


def test_treatments_in_numbers_are_no_values(tmp_path):
    body = "\n".join(f"{n}|{(0, 100, 200)[n % 3]}|{1.2 + n / 50:.2f}" for n in range(1, 13))
    log = told(tmp_path, ("NFT", "gully|CO2 ppm|weight (kg)\n" + body))
    assert [values.columns for values in log.only[0].values] == [("weight",)]


def test_shuffled_numbers_of_trays_are_no_values(tmp_path):
    trays = (4, 2, 7, 1, 8, 3, 6, 5, 2, 4, 1, 7, 3, 8, 5, 6)
    body = "\n".join(
        f"{'AB'[tray % 2]}|{tray}|{at // 8 + 1}|{30 + at * 1.3:.1f}"
        for at, tray in enumerate(trays)
    )
    log = told(tmp_path, ("Frischmasse", "Behandlung|Schale|Pflanze|Frischmasse (g)\n" + body))
    assert [values.columns for values in log.only[0].values] == [("Frischmasse",)]


def test_contents_of_leaves_in_mg_per_kg_are_no_weights(tmp_path):
    weights = ("Log", "Treatment|Tray|Plant|Fresh weight (g)\n" + rows("{t}|T{n}|1|{w}"))
    log = told(
        tmp_path,
        weights,
        ("Lab", "Sample|NO3 mg/kg|K mg/kg|pH\nfan|1640|2200|6.1\nstill|1512|2318|6.3"),
    )
    assert [candidate.gives for candidate in log.by_table["Lab"]] == ["nothing"]


def test_a_table_of_means_beside_the_plants_gives_nothing(tmp_path):
    weights = ("Data", "treatment|pot|plant|fresh wt (g)\n" + rows("{t}|P{n}|1|{w}"))
    log = told(
        tmp_path,
        ("Results", "treatment|mean fresh wt (g)|sd\nfan|31.2|2.9\nstill|30.1|3.3"),
        weights,
    )
    assert log.by_table["Results"][0].gives == "nothing"
    assert log.by_table["Data"][0].gives == "Plants"


def test_a_hidden_sheet_gives_nothing(tmp_path):
    text = "treatment|pot|plant|fresh wt (g)\n" + rows("{t}|P{n}|1|{w}")
    log = told(tmp_path, ("2025", text), ("2024", text + "\nfan|P9|1|20.2"), hidden=("2024",))
    gives = {key: candidates[0].gives for key, candidates in log.by_table.items()}
    assert gives == {"2025": "Plants", "2024": "nothing"}


def test_numbers_that_no_word_explains_are_offered_rather_than_refused(tmp_path):
    log = told(tmp_path, ("Sheet1", "a|b|value\n" + rows("{t}|T{n}|{w}")))
    assert {values.quantity for candidate in log.only for values in candidate.values} >= {
        "Fresh weight",
        "Dry weight",
    }
    assert log.only[-1].gives == "nothing"


def test_water_by_what_was_done_with_it(tmp_path):
    body = "\n".join(
        f"2025-0{1 + n % 3}-0{n}|{'AB'[n % 2]}|{3 + n / 10:.1f}|0.{n}|0.{9 - n}"
        for n in range(1, 9)
    )
    log = told(tmp_path, ("Water", "date|tub|added (L)|drained (L)|left (L)\n" + body))
    events = {values.event: values.columns for values in log.only[0].values}
    assert log.only[0].gives == "Solution"
    assert events == {"top-up": ("added",), "drain": ("drained",), "remaining": ("left",)}


def test_water_of_a_season_has_no_days(tmp_path):
    log = told(tmp_path, ("Agua", "Tratamiento|Bandeja|Consumo (L)\n" + rows("{t}|B{n}|{w}")))
    (volume,) = log.only[0].values
    assert (volume.event, volume.counts, volume.unit) == ("used", Counts.SEASON, "L")


def test_readings_that_rise_are_those_of_a_counter(tmp_path):
    body = "\n".join(
        f"2025-01-{n + 10}|{1200 + 7 * n}.{n % 10}|{900 + 5 * n}.{n % 7}" for n in range(1, 15)
    )
    log = told(tmp_path, ("kWh", "Date|Meter A|Meter B\n" + body))
    (reading,) = log.only[0].values
    assert log.only[0].gives == "Meter"
    assert (reading.columns, reading.counts, reading.unit) == (
        ("Meter A", "Meter B"),
        Counts.COUNTER,
        "kWh",
    )


def test_a_meter_read_at_the_start_and_the_end_tells_what_was_used(tmp_path):
    log = told(
        tmp_path,
        (
            "Strom",
            (
                "Behandlung|Zähler Anfang (kWh)|Zähler Ende"
                " (kWh)\nmit|1204.5|1874.2\nohne|988.1|1523.9"
            ),
        ),
    )
    (reading,) = log.only[0].values
    assert (reading.columns, reading.tare) == (("Zähler Ende",), "Zähler Anfang")


def test_energy_used_each_day_is_no_counter(tmp_path):
    body = "\n".join(
        f"2025-01-{n + 10}|{'AB'[n % 2]}|{5 + n * 7 % 4}.{n % 10}" for n in range(1, 15)
    )
    log = told(tmp_path, ("Power", "Date|Treatment|kWh used\n" + body))
    assert log.only[0].values[0].counts is Counts.EACH


def test_a_climate_log_is_read_by_its_columns(tmp_path):
    body = "\n".join(
        f"2025-01-01 {n + 8:02}:00|{21 + n / 10:.1f}|{60 + n}|{850 + n * 3 % 40}|{19 + n / 10:.1f}"
        for n in range(9)
    )
    log = told(
        tmp_path, ("Klima", "Zeit|Temp °C|rel. Feuchte %|CO2 ppm|Wassertemperatur °C\n" + body)
    )
    assert log.only[0].gives == "Climate"
    assert [(values.quantity, values.unit) for values in log.only[0].values] == [
        ("Air temperature", "°C"),
        ("Relative humidity", "%"),
        ("CO2", "ppm"),
        ("Solution temperature", "°C"),
    ]


def test_a_light_map_takes_photons_and_no_lux(tmp_path):
    body = "\n".join(
        f"fan|{n % 3 * 10}|{n // 3 * 10}|{180 + n * 7 % 30}|{13000 + n * 91 % 800}"
        for n in range(9)
    )
    log = told(tmp_path, ("light map", "Treatment|X|Y|PPFD|lux\n" + body))
    best = log.only[0]
    assert (best.gives, [values.columns for values in best.values]) == ("Light", [("PPFD",)])
    assert (best.columns["X"], best.columns["Y"]) == ("X", "Y")


def test_ph_and_conductivity_of_the_solution(tmp_path):
    body = "\n".join(f"2025-01-{n + 10}|{'AB'[n % 2]}|5.{n}|1.{n % 7}" for n in range(1, 10))
    log = told(tmp_path, ("Nährlösung", "Datum|Becken|pH|EC mS/cm\n" + body))
    assert log.only[0].gives == "Solution"
    assert {values.quantity: values.unit for values in log.only[0].values} == {
        "EC": "mS/cm",
        "pH": "",
    }


def test_conductivity_of_feed_and_drain_are_kept_apart(tmp_path):
    body = "\n".join(f"2025-01-{n + 10}|{'AB'[n % 2]}|1.{n % 7}|2.{n % 6}" for n in range(1, 10))
    log = told(tmp_path, ("Feed", "Date|Treatment|EC in (mS/cm)|EC out (mS/cm)\n" + body))
    assert [(values.columns, values.event) for values in log.only[0].values] == [
        (("EC in",), "top-up"),
        (("EC out",), "drain"),
    ]


def test_what_is_computed_of_the_air_or_of_outside_is_no_air_temperature(tmp_path):
    body = "\n".join(f"2025-01-{n + 10}|2{n}.1|2{n}.9|1{n}.3|{n}.2" for n in range(1, 9))
    head = "Date|Temp avg °C|Temp max °C|Dew point °C|Outside temp °C\n"
    log = told(tmp_path, ("Climate", head + body))
    assert [values.columns for values in log.only[0].values] == [("Temp avg",)]


def test_weeks_over_weights_are_no_kilowatts(tmp_path):
    head = "Frischgewicht [g]\nBehandlung|Schale|KW 9|KW 10\n"
    log = told(tmp_path, ("Tabelle1", head + rows("{t}|{n}|{w}|1{w}")))
    assert log.best("Fresh weight").columns == ("KW 9", "KW 10")


def test_the_area_of_plots_in_a_title_holds_for_yields_per_area(tmp_path):
    head = "Barley, plots of 12 m2\n\nPlot|Mulch|Yield (t/ha)|Plants/m2\n"
    body = "\n".join(
        f"{n}|{'AB'[n % 2]}|{5 + n * 3 % 7}.{n}|{250 + n * 7 % 40}" for n in range(1, 10)
    )
    log = told(tmp_path, ("Plots", head + body))
    assert (log.best("Fresh weight").per_area, log.best("Fresh weight").unit) == (12.0, "t/ha")
    assert log.best("Plants/m2")


def test_grades_side_by_side_are_one_quantity(tmp_path):
    body = "\n".join(
        f"{'AB'[n % 2]}|{n}|{10 + n}.{n}|0.{n}|{10 + n}.{2 * n % 10}" for n in range(1, 5)
    )
    log = told(tmp_path, ("Picks", "Treatment|Bed|Marketable (kg)|Culls (kg)|Total (kg)\n" + body))
    assert log.best("Fresh weight").columns == ("Marketable", "Culls")


def test_the_weight_of_a_fruit_is_a_further_measure_beside_the_harvest(tmp_path):
    head = "Treatment|Plant|Fresh weight (g)|Number of fruits|Weight per fruit (g)\n"
    log = told(tmp_path, ("Picks", head + rows("{t}|{n}|4{w}|{n}|1{w}")))
    assert log.best("Fresh weight").columns == ("Fresh weight",)
    assert log.best("Weight per fruit").columns == ("Weight per fruit",)


def test_a_water_meter_that_rises_is_a_counter(tmp_path):
    body = "\n".join(f"2025-01-{n + 10}|{120 + 7 * n}.{n % 10}" for n in range(1, 9))
    log = told(tmp_path, ("Agua", "Fecha|Contador agua (L)\n" + body))
    assert (log.only[0].gives, log.only[0].values[0].counts) == ("Solution", Counts.COUNTER)


def test_a_net_weight_is_known_by_its_word_where_lids_are_weighed_too(tmp_path):
    weighed = [(n, 300 + n * 7.3, 41 + n % 3, 6 + n % 2) for n in range(1, 9)]
    lines = [f"{'AB'[n % 2]}|{n}|{g:.1f}|{t}|{lid}|{g - t - lid:.1f}" for n, g, t, lid in weighed]
    head = "Variante|Kiste|Brutto (g)|Tara (g)|Deckel (g)|Netto (g)\n"
    log = told(tmp_path, ("Ernte", head + "\n".join(lines)))
    assert (log.best("Fresh weight").columns, log.best("Fresh weight").tare) == (("Netto",), "")


def test_which_of_two_weights_counts_stays_open(tmp_path):
    head = "Treatment|Plant|Fresh weight before trimming (g)|Fresh weight trimmed (g)\n"
    log = told(tmp_path, ("Heads", head + rows("{t}|{n}|4{w}|3{w}")))
    columns = {values.columns for values in log.likely("Fresh weight")}
    assert columns >= {("Fresh weight before trimming",), ("Fresh weight trimmed",)}


def test_a_treatment_named_like_a_part_of_plants_is_one_of_its_series(tmp_path):
    log = told(
        tmp_path,
        ("Fresh weights (oz)", "Tray|Plant|mesh|bare|straw\n" + rows("{n}|1|2{w}|3{w}|2{w}")),
    )
    assert log.best("Fresh weight").columns == ("mesh", "bare", "straw")


def test_labels_under_a_header_that_reaches_over_them_are_no_weights(tmp_path):
    head = "||PF (g)||\nVaso|Planta|K|straw|M\n"
    body = "\n".join(f"{n % 3 + 1}|{n}|3{n}.1|4{n}.2|5{n}.3" for n in range(1, 9))
    log = told(tmp_path, ("log", head + body))
    assert log.best("Fresh weight").columns == ("K", "straw", "M")


def test_letters_over_columns_are_treatments_and_no_litres(tmp_path):
    log = told(tmp_path, ("Fresh weights (g)", "Tray|Plant|K|L\n" + rows("{n}|1|{w}|2{w}")))
    assert log.only[0].gives == "Plants"
    assert (log.best("Fresh weight").columns, log.best("Fresh weight").unit) == (("K", "L"), "g")


def test_ids_that_look_like_numbers_are_no_values(tmp_path):
    ids = [f"{tray}.{plant}" for tray in (1, 2, 3, 4) for plant in range(1, 12)]
    body = "\n".join(
        f"'{one}|{'AB'[int(one[0]) % 2]}|{30 + at * 7 % 9}.{at % 10}" for at, one in enumerate(ids)
    )
    log = told(tmp_path, ("Log", "Sample|Treatment|Fresh weight (g)\n" + body))
    assert [values.columns for values in log.only[0].values] == [("Fresh weight",)]


def test_weights_water_and_energy_in_one_table_stand_side_by_side(tmp_path):
    body = "\n".join(
        f"{'AB'[n % 2]}|T{n}|{30 + n * 1.3:.1f}|{4 + n * 3 % 5}.{n}|{8 + n * 5 % 7}.{n}"
        for n in range(1, 9)
    )
    log = told(
        tmp_path, ("Log", "Treatment|Tray|Fresh weight (g)|Water used (L)|Energy (kWh)\n" + body)
    )
    together = {candidate.gives for candidate in log.only if "together" in candidate.because}
    assert together == {"Plants", "Solution", "Meter"}


def test_remarks_go_with_the_rows(tmp_path):
    log = told(
        tmp_path,
        ("Log", "Treatment|Tray|Plant|Fresh weight (g)|Bemerkung\n" + rows("{t}|T{n}|1|{w}|blass")),
    )
    assert log.only[0].columns["Note"] == "Bemerkung"


@pytest.mark.parametrize(
    ("log", "table", "gives"),
    [
        ("lettuce_compost.txt", "lettuce_compost", ["freshweight"]),
        ("salinity_clean.xlsx", "Data", ["Wet_weight"]),
    ],
)
def test_fresh_weights_of_real_files_are_found(log, table, gives):
    from pathlib import Path

    read = cells.read_log([Path(__file__).parent / "data" / log], Conventions())
    found = tables.find(read)
    chosen = next(each for each in found.tables if each.key == table)
    best = contents(chosen, carriers.labels_of(chosen, read), found, read)[0]
    weight = next(values for values in best.values if values.quantity == "Fresh weight")
    assert list(weight.columns) == gives


def test_a_total_in_kg_of_weights_in_g_is_no_plant(tmp_path):
    weights = [(908, 782, 817), (800, 904, 831), (659, 703, 823), (845, 747, 800)]
    lines = [
        f"{n}|{'ab'[n % 2]}|{a}|{b}|{c}|{(a + b + c) / 1000:.2f}"
        for n, (a, b, c) in enumerate(weights)
    ]
    header = "Bag|Treatment|Weight per plant (g)|||Total (kg)\n||A|B|C|\n"
    log = told(tmp_path, ("Log", header + "\n".join(lines)))
    assert log.best("Fresh weight").columns == ("A", "B", "C")
    assert log.best("Fresh weight").unit == "g"
    assert not any("Total" in values.columns for values in log.only[0].values)


def test_a_number_of_fruits_covers_no_plants(tmp_path):
    log = told(
        tmp_path, ("Log", "Traitement|Parcelle|Poids (kg)|Nb fruits\n" + rows("{t}|{n}|{w}|{tare}"))
    )
    assert all(values.count == "" for values in log.only[0].values)
    assert log.best("Nb fruits")


def test_numbers_that_stand_in_equally_many_rows_are_what_was_varied_and_not_measured(tmp_path):
    lines = [f"{100 + n} | {40 if n % 2 else 75} | {800 + 37 * n % 101}" for n in range(1, 11)]
    found = told(tmp_path, ("Log", "\n".join(["plot | spacing (cm) | yield (g)", *lines])))
    assert all("spacing" not in values.columns for values in found.only[0].values)


def test_pounds_and_ounces_are_one_weight_and_culls_another(tmp_path):
    lines = "\n".join(
        f"{n}|{'ab'[n % 2]}|{3 + n % 4}|{n * 5 % 16}|0|{n * 3 % 16}" for n in range(1, 9)
    )
    log = told(tmp_path, ("Log", "Row|Treatment|lb|oz|Culls lb|Culls oz\n" + lines))
    assert log.best("Fresh weight").columns == ("lb",)
    assert log.best("Fresh weight").plus == (("oz", "oz"),)
    culls = log.only[0].values[1]
    assert (culls.unit, culls.plus) == ("lb", (("Culls (2 of 2)", "oz"),))


def test_weights_in_several_units_are_not_read_as_one(tmp_path):
    log = told(
        tmp_path, ("Log", "Treatment|Tray|Leaves (g)|Stems (kg)\n" + rows("{t}|{n}|{w}|{dry}"))
    )
    assert all(len(values.columns) == 1 for candidate in log.only for values in candidate.values)


@pytest.mark.parametrize(
    ("vessel", "with_plant"),
    [("cup", "cup+dry"), ("Becher", "Becher + trocken"), ("tare", "gross dry")],
)
def test_a_cup_is_taken_off_what_was_weighed_in_it(tmp_path, vessel, with_plant):
    log = told(
        tmp_path,
        (
            "Log",
            f"T|Tray|Plant|Leaf FW (g)|{vessel} (g)|{with_plant} (g)\n"
            + rows("{t}|T{n}|1|{w}|2.1{n}|2.9{n}"),
        ),
    )
    assert log.best("Fresh weight").columns == ("Leaf FW",)
    assert (log.best("Dry weight").columns[0], log.best("Dry weight").tare) == (with_plant, vessel)


def test_a_number_of_those_pulled_may_be_that_of_plants_weighed_together(tmp_path):
    log = told(
        tmp_path, ("Log", "Bed|Cover|No. pulled|Total wt (g)\n" + rows("R{n}|{t}|{tare}|{w}"))
    )
    assert log.best("Fresh weight").count == "No. pulled"
    assert "" in {values.count for values in log.likely("Fresh weight")}


def test_a_number_of_tubers_is_a_measure_of_its_own(tmp_path):
    log = told(tmp_path, ("Log", "Bag|Cover|Weight (g)|No. tubers\n" + rows("B{n}|{t}|{w}|{tare}")))
    assert log.best("No. tubers").columns == ("No. tubers",)
