"""What columns are: by words in seven languages, units and values; and what they are not."""

import pytest

from reportgen.adopt.matching import dimension, roles_of, split_unit
from reportgen.adopt.roles import Profile, understood
from reportgen.adopt.tables import tables_of
from tests.logs import climate_rows, meter_rows, sheet, text_sheet


def read(raw):
    return understood(tables_of(raw).tables[0])


def first(text):
    found = roles_of(text)
    return found[0].role.name if found else ""


# Common practice: the words of growers' handbooks and of column headers in published plant-trial data.
@pytest.mark.parametrize(
    ("text", "name"),
    [
        *(
            (text, "Fresh weight")
            for text in ("Fresh weight (g)", "wet_weight", "Plant FW", "freshwt:21", "FW/ pot (g)")
        ),
        *((text, "Fresh weight") for text in ("Frischgewicht", "Frischmasse [g]", "Masse fraîche", "Poids frais (g)")),
        *((text, "Fresh weight") for text in ("Peso fresco", "Massa fresca (g)", "Versgewicht", "Frischgewciht")),
        *(
            (text, "Dry weight")
            for text in ("Dry Weight [mg]", "Dry_Wt_mg", "Shoot DW (g)", "Trockengewicht", "Poids sec")
        ),
        *((text, "Dry weight") for text in ("Peso seco", "Peso secco", "Massa seca", "Drooggewicht", "Matière sèche")),
        *((text, "Root weight") for text in ("Root weight", "Wurzelgewicht", "Roots_fresh_weight", "Peso raíz")),
        *((text, "Height") for text in ("Height (cm)", "Höhe", "Hauteur", "Altura", "Altezza", "Hoogte")),
        *(
            (text, "Leaves")
            for text in ("Number_leaves", "Blattzahl", "Nombre de feuilles", "Número de hojas", "# leaves")
        ),
        *((text, "Treatment") for text in ("trt", "Behandlung", "Traitement", "Tratamiento", "Tesi", "Behandeling")),
        *((text, "Tray") for text in ("tray_id", "Schale", "Bandeja", "Vassoio", "Plateau", "NFT Channel", "Bak")),
        *((text, "Block") for text in ("REP", "bloc", "Bloque", "Wiederholung", "Herhaling", "Repetição")),
        *((text, "Plant") for text in ("PlantId", "Pflanze Nr.", "Plante", "Planta nº", "Pianta", "SampleID")),
        *((text, "EC") for text in ("EC", "Leitfähigkeit", "Conductivité", "CE (mS/cm)", "Electrical_conductivity")),
        *((text, "pH") for text in ("pH", "drain_PH", "pH-Wert", "In pH")),
        *((text, "Relative humidity") for text in ("RH (%)", "Luftfeuchte", "Humidité", "HR", "Umidità", "gem RV")),
        *(
            (text, "Air temperature")
            for text in ("Temp. (°C)", "Lufttemperatur", "Température", "gem kastemp", "Temp (F)")
        ),
        *((text, "CO2") for text in ("CO2(ppm)", "CarbonDioxide", "gem CO2/conc")),
        *((text, "Reading") for text in ("Zählerstand", "Energy (kWh)", "Relevé compteur", "Lectura del contador")),
        *((text, "PPFD") for text in ("PPFD (umol/m2/s)", "PAR µmol/m²s")),
    ],
)
def test_headers_of_seven_languages_are_known(text, name):
    assert first(text) == name


# From the same published headers: what must not be taken for a plant's weight, its number, or light.
@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("DLI (mol/m2/d)", "PPFD"),
        ("Global Rad (MJ/m²)", "PPFD"),
        ("Fruit Fresh Weight (3)", "Fresh weight"),
        ("rdt_kgha", "Weight"),
        ("percent_dead", "Status"),
        ("Drainage (%)", "Tray"),
        ("plant_density", "Plant"),
        ("leaf area", "Leaves"),
        ("harvest_date", "Date"),
    ],
)
def test_false_friends_among_headers_are_not_taken(text, wrong):
    assert first(text) != wrong


@pytest.mark.parametrize(
    ("text", "parted"),
    [
        ("Fresh weight (g)", ("Fresh weight", "g")),
        ("masse en [g]", ("masse en", "g")),
        ("Gewicht in kg", ("Gewicht", "kg")),
        ("dry_weight_g", ("dry_weight", "g")),
        ("Dry weight[mg]", ("Dry weight", "mg")),
        ("Height, cm", ("Height", "cm")),
        ("Treatment (strains)", ("Treatment (strains)", "")),
        ("Group C", ("Group C", "")),
    ],
)
def test_units_are_parted_from_headers(text, parted):
    assert split_unit(text) == parted


def test_a_unit_counted_by_plants_is_still_a_mass():
    assert dimension("g/plant") == "mass"
    assert dimension("furlong") == ""


def test_each_guess_has_its_reason_in_plain_words():
    table = read(
        text_sheet(
            "Schale | Frischgewicht (g) | Variante\nS1 | 20.1 | warm\nS1 | 19.4 | warm\n"
            "S2 | 18.1 | kalt\nS2 | 17 | kalt"
        )
    )
    assert table.names["Fresh weight"].reason == "the header says 'frischgewicht', and its unit is g"
    assert table.names["Treatment"].reason.endswith("a few values stand there again and again")


def test_an_ec_that_is_a_place_is_left_alone():
    table = read(
        text_sheet(
            "EC | Plant | Fresh weight (g)\nEast corner | 1 | 20.1\nWest corner | 2 | 19.4\nEast corner | 3 | 18.8"
        )
    )
    assert "EC" not in table.names
    assert "no conductivity" in table.refused[0].reason


def test_a_weight_of_plant_and_pot_is_no_fresh_weight():
    table = read(
        text_sheet(
            "Tray | weight of plant and pot (g) | Fresh wt (g)\nT1 | 300.1 | 20.1\nT1 | 301.4 | 21.2\nT2 | 299.1 | 19.2"
        )
    )
    assert table.names["Fresh weight"].header == "Fresh wt (g)"
    assert [one.header for one in table.refused] == ["weight of plant and pot (g)"]


def test_water_as_a_factor_is_a_treatment_and_no_volume():
    table = read(
        text_sheet("Pot | Water | Fresh weight (g)\n1 | low | 20.1\n2 | low | 21.3\n3 | high | 25\n4 | high | 26.1")
    )
    assert table.names["Treatment"].header == "Water"
    assert table.gives == "Plants"


def test_further_numbers_of_plants_are_traits():
    table = read(
        text_sheet(
            "Tray | Fresh weight (g) | Sugar | Leaf area (cm2)\nT1 | 20.1 | 4.5 | 30\n"
            "T2 | 21.2 | 4.8 | 31\nT3 | 20 | 5 | 29"
        )
    )
    assert {"Sugar", "Leaf area"} <= set(table.names)


def test_a_logger_is_a_climate():
    table = read(sheet([["Zeitstempel", "Lufttemperatur °C", "rel. Luftfeuchte %"], *climate_rows()]))
    assert table.gives == "Climate"
    assert set(table.names) == {"Read at", "Air temperature", "Relative humidity"}


def test_a_counter_is_a_meter():
    table = read(sheet([["Zähler", "Datum", "Zählerstand (kWh)"], *meter_rows()]))
    assert table.gives == "Meter"
    assert set(table.names) == {"Meter", "Read at", "Reading"}


def test_heights_on_several_days_are_growth():
    table = read(
        text_sheet(
            "Tray | Date | Height (cm)\nT1 | 2025-03-01 | 3\nT1 | 2025-03-08 | 6\n"
            "T2 | 2025-03-01 | 2\nT2 | 2025-03-08 | 5"
        )
    )
    assert table.gives == "Growth"


def test_a_table_that_fits_nothing_gives_nothing():
    assert read(text_sheet("Supplier | Invoice\nSeed house | 12\nHardware | 14")).gives == ""


def test_values_speak_against_words():
    table = read(text_sheet("Tray | pH | Fresh weight (g)\nT1 | 216 | 20.1\nT2 | 301 | 21.2\nT3 | 212 | 20.7"))
    assert "pH" not in table.names


def test_a_profile_leaves_out_words_for_no_value():
    assert Profile.of(("1,5", "-", None, "n/a", "2,5")).numbers == (1.5, 2.5)
