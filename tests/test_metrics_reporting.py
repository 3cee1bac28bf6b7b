"""What was recorded: each item of the checklist reported with its value, or missing with the place
where it goes.
"""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from reportgen import metrics, report
from reportgen.metrics.reporting import reporting
from reportgen.metrics.reporting.phrases import PHRASES
from reportgen.model.document import Bullets
from reportgen.model.message import (
    Amount,
    Count,
    Day,
    Quote,
    Several,
    Span,
    Term,
    TreatmentName,
    message,
)
from reportgen.model.trial import (
    ClimateLog,
    Instrument,
    LightReading,
    Load,
    Observation,
    SolutionEvent,
    Tray,
)
from reportgen.report import messages, terms
from reportgen.workbook.declaration import SHEETS
from reportgen.workbook.vocabulary import vocabularies
from tests.trials import WEIGHTS, plants, trial


def item(of, key):
    return next(each for each in reporting(of) if each.item == key)


def known(of, key):
    """Return the values of an item that is reported."""
    found = item(of, key)
    assert found.reported, found
    return found.values


def value(of, key):
    """Return the one value of an item that is reported."""
    (only,) = known(of, key)
    return only


def by_treatment(of, key):
    """Return the values of an item that is reported for each treatment, those of one as a list."""
    found = {}
    for each in known(of, key):
        found.setdefault(each.treatment, []).append(each.value)
    return found


def alike(*values):
    """Return values that are known of both treatments."""
    return {"half": list(values), "full": list(values)}


def missing(of, key):
    """Return what an item is missing for, nothing where it is not known at all."""
    found = item(of, key)
    assert not found.reported, found
    return found.missing if found.values else ()


def span(low, high, unit, readings):
    return message(
        "span_of_readings", span=Span(low, high, unit), readings=Count(readings, "reading")
    )


def quoted(words):
    return message("quoted", words=Quote(words))


def tray(code):
    return message("tray_named", tray=Quote(code))


def treatments(half, full):
    """Return the trial with fields of its two treatments changed."""
    first, second = trial().treatments
    return trial(treatments=(replace(first, **half), replace(second, **full)))


def described(**fields):
    return trial(about=replace(trial().about, **fields))


def observed(text, on=date(2026, 4, 10)):
    return trial(observations=(Observation(on, text),))


def light(half, full):
    maps = (("half", half), ("full", full))
    return trial(
        light=tuple(
            LightReading(code, ppfd, date(2026, 4, 2)) for code, points in maps for ppfd in points
        )
    )


def log(codes, **columns):
    arrays = {name: np.array(values) for name, values in columns.items()}
    none = np.full(len(codes), np.nan)
    at = np.arange(len(codes)).astype("datetime64[s]")
    fields = ("air_temperature", "relative_humidity", "co2", "solution_temperature")
    return trial(
        climate=ClimateLog(codes, at, **{field: arrays.get(field, none) for field in fields})
    )


# The items of Krizek (USDA-ARS publication 123064), Poorter et al. 2012 (Funct. Plant Biol.
# 39:821-838, table 2) and ARRIVE 2.0 items 1-4, by our keys.
CHECKLIST = {
    "ppfd",
    "photoperiod",
    "dli",
    "lamp_type",
    "spectrum",
    "lamp_distance",
    "power",
    "uniformity",
    "air_temperature",
    "humidity",
    "co2",
    "air_speed",
    "solution_temperature",
    "dissolved_oxygen",
    "ec",
    "ph",
    "solution_composition",
    "volumes",
    "container_type",
    "container_volume",
    "plants_per_container",
    "spacing",
    "cultivar",
    "seed_source",
    "sown_on",
    "transplanted_on",
    "harvested_on",
    "instruments",
    "calibration",
    "accuracy",
    "experimental_unit",
    "replicates",
    "blocks",
    "randomisation",
    "exclusions",
}


def test_every_item_of_the_published_checklists_is_there_once():
    keys = [each.item for each in reporting(trial())]
    assert len(keys) == len(set(keys))
    assert set(keys) >= CHECKLIST


def test_every_item_has_a_label_and_a_place_in_the_words_of_the_report():
    keys = [each.item for each in reporting(trial())]
    assert keys == list(terms.ITEMS) == list(terms.PLACES)


def test_the_places_named_are_sheets_and_columns_of_the_workbook():
    columns = {sheet.name: {column.name for column in sheet.columns} for sheet in SHEETS}
    for place in (place for places in terms.PLACES.values() for place in places.split(", and ")):
        for part in place.split(", or "):
            sheet, _, column = part.partition(", ")
            assert sheet in columns, place
            named = column.removeprefix("column ").removeprefix("field ").split(",")[0]
            assert named in columns[sheet] or named.startswith("a row"), place


def test_light_is_the_mean_of_each_treatment_with_its_unit():
    unit = "µmol/m²/s"
    found = by_treatment(light((200.0, 220.0), (300.0,)), "ppfd")
    assert found == {"half": [Amount(210.0, unit)], "full": [Amount(300.0, unit)]}
    assert missing(trial(), "ppfd") == ()


def test_what_is_the_same_for_all_treatments_is_said_once():
    of = light((200.0,), (200.0,))
    assert messages.known_values(of, known(of, "ppfd")) == "200 µmol/m²/s"
    other = light((200.0,), (300.0,))
    said = messages.known_values(other, known(other, "ppfd"))
    assert said == "Half strength: 200 µmol/m²/s; Full strength: 300 µmol/m²/s"


def test_an_item_known_of_one_treatment_only_is_missing_for_the_other():
    assert missing(light((200.0,), ()), "ppfd") == (TreatmentName("full"),)
    assert missing(treatments({"photoperiod": 16.0}, {}), "photoperiod") == (TreatmentName("full"),)


def test_days_of_measuring_light_stand_in_order():
    first, last = Day("2026-04-02"), Day("2026-04-20")
    later = LightReading("half", 200.0, date(2026, 4, 20))
    of = light((200.0,), (200.0,))
    assert by_treatment(of, "light_days") == alike(Several((first,)))
    found = by_treatment(replace(of, light=(later, *of.light)), "light_days")
    assert found == {"half": [Several((first, last))], "full": [Several((first,))]}


@pytest.mark.parametrize(
    ("ppfd", "hours", "dli"), [(250, 16, 14.4), (340, 12, 14.688), (170, 24, 14.688)]
)
def test_light_of_a_day_is_ppfd_times_hours(ppfd, hours, dli):
    # DLI = PPFD x h x 0.0036: 250 x 16, 340 x 12, 170 x 24 give 14.4, 14.688, 14.688 mol m-2 d-1,
    # by hand
    of = treatments({"photoperiod": float(hours)}, {"photoperiod": float(hours)})
    lit = replace(of, light=light((float(ppfd),), (float(ppfd),)).light)
    for (amount,) in by_treatment(lit, "dli").values():
        assert (amount.value, amount.unit) == (pytest.approx(dli), "mol/m²/d")
    assert by_treatment(lit, "photoperiod") == alike(Amount(float(hours), "h"))


def test_a_day_without_light_is_0_hours_and_not_missing():
    assert by_treatment(
        treatments({"photoperiod": 0.0}, {"photoperiod": 0.0}), "photoperiod"
    ) == alike(Amount(0.0, "h"))


def test_evenness_has_lowest_highest_mean_and_coefficient_of_variation():
    # standard deviation of 180, 200, 220 with n - 1 is 20, a tenth of the mean, by hand
    unit = "µmol/m²/s"
    evenness = message(
        "map_of_light",
        span=Span(180.0, 220.0, unit),
        mean=Amount(200.0, unit),
        variation=Amount(10.0, "%"),
        points=Count(3, "point"),
    )
    assert by_treatment(light((180.0, 200.0, 220.0), (180.0, 200.0, 220.0)), "uniformity") == alike(
        evenness
    )
    assert missing(light((180.0, 220.0), (180.0, 220.0)), "uniformity") == ()


def test_lamps_and_power_are_as_typed_or_those_of_the_loads():
    of = treatments(
        {"equipment": "2 lamps", "rated_power": 120.0},
        {"equipment": "3 lamps", "rated_power": 180.0},
    )
    assert by_treatment(of, "lamp_type") == {"half": [Quote("2 lamps")], "full": [Quote("3 lamps")]}
    rated = {
        code: [message("rated_power", power=Amount(watts, "W"))]
        for code, watts in (("half", 120.0), ("full", 180.0))
    }
    assert by_treatment(of, "power") == rated
    loads = (
        Load("half", "lamp", 60.0, 16.0),
        Load("half", "pump", 4.0, 24.0),
        Load("full", "lamp", 75.0, 16.0),
    )
    lamp, pump, strong = (
        message("device_of_power", device=Quote(device), power=Amount(watts, "W"))
        for device, watts in (("lamp", 60.0), ("pump", 4.0), ("lamp", 75.0))
    )
    found = by_treatment(trial(loads=loads), "power")
    assert found == {"half": [Several((lamp, pump))], "full": [Several((strong,))]}


# All that the grower may write in words, by the name that the report gives the place.
WORDS = {
    "Treatments, column Description": lambda words: treatments({"description": words}, {}),
    "Treatments, column Equipment": lambda words: treatments({"equipment": words}, {}),
    "Trial, field Cultivar": lambda words: described(cultivar=words),
    "Trial, field Growing system": lambda words: described(growing_system=words),
    "Trial, field Layout": lambda words: described(layout=words),
    "Trial, field Nutrient recipe": lambda words: described(nutrient_recipe=words),
    "Trial, field Summary": lambda words: described(summary=words),
    "Observations, column Observation": observed,
    "Trays, column Note": lambda words: trial(
        trays=tuple(replace(one, note=words) for one in trial().trays)
    ),
    "Solution, column Note": lambda words: trial(
        solution=tuple(replace(one, note=words) for one in trial().solution)
    ),
}


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("spectrum", "White lamps of 4000 K"),
        ("spectrum", "R:FR of 6 by the data sheet"),
        ("lamp_distance", "Lamps hung 40 cm above the canopy"),
        ("air_speed", "A fan gave 0.4 m/s at the canopy"),
        ("dissolved_oxygen", "Dissolved oxygen was 7.9 mg/L"),
        ("co2", "CO2 was not controlled"),
        ("seed_source", "Seed from last year's own harvest"),
        ("container_volume", "Tubs of 15 L"),
    ],
)
@pytest.mark.parametrize("place", WORDS)
def test_what_has_no_column_is_found_in_the_growers_words_where_the_report_says_that_it_goes(
    place, key, words
):
    of = WORDS[place](f"Leaves look well. {words}.")
    if place in terms.PLACES[key]:
        assert value(of, key) == quoted(words)
    else:
        assert missing(of, key) == ()


def test_the_source_of_seed_is_not_read_out_of_the_random_draw():
    of = described(layout="Trays drawn with seed 42 from the program", randomised=True)
    assert not item(of, "seed_source").reported
    assert not item(observed("Seeds came up on day 4"), "seed_source").reported


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("spectrum", "Red leaves on two plants"),
        ("lamp_distance", "Plants were 12 cm tall"),
        ("air_speed", "A fan was on"),
        ("dissolved_oxygen", "Roots lacked oxygen"),
        ("co2", "A CO2 bottle was bought"),
        ("container_volume", "Pots on a bench"),
        ("seed_source", "Seedlings thinned to one"),
        ("transplanted_on", "Plants stand well"),
    ],
)
def test_words_that_do_not_tell_are_not_taken_for_a_report(key, words):
    assert not item(observed(words), key).reported


# What a grower may write in each language that workbooks are read in, with the item that it tells
# of.
IN_LANGUAGES = {
    "de": {
        "spectrum": "Vollspektrum mit Dunkelrot",
        "lamp_distance": "Lampen 30 cm über dem Bestand",
        "air_speed": "Luftgeschwindigkeit am Bestand gering",
        "dissolved_oxygen": "Gelöster Sauerstoff 7,9 mg/L",
        "co2": "CO2 wurde nicht geregelt",
        "seed_source": "Eigenes Saatgut vom Vorjahr",
        "transplanted_on": "In die Wannen umgepflanzt",
    },
    "es": {
        "spectrum": "Espectro amplio con rojo lejano",
        "lamp_distance": "Lámparas a 30 cm por encima de las hojas",
        "air_speed": "Velocidad del aire baja",
        "dissolved_oxygen": "Oxígeno disuelto de 7,9 mg/L",
        "co2": "El CO2 no se controló",
        "seed_source": "Un tipo de mata baja, semilla propia",
        "transplanted_on": "Trasplante a la maceta definitiva",
    },
    "fr": {
        "spectrum": "Spectre large",
        "lamp_distance": "Lampes à 30 cm au-dessus des feuilles",
        "air_speed": "Vitesse de l'air faible",
        "dissolved_oxygen": "Oxygène dissous de 7,9 mg/L",
        "co2": "Le CO2 n'a pas été réglé",
        "seed_source": "Graines récoltées sur place",
        "transplanted_on": "Plants repiqués dans les bacs",
    },
    "it": {
        "spectrum": "Spettro ampio",
        "lamp_distance": "Lampade 30 cm sopra le foglie",
        "air_speed": "Velocità dell'aria bassa",
        "dissolved_oxygen": "Ossigeno disciolto di 7,9 mg/L",
        "co2": "La CO2 non era controllata",
        "seed_source": "Semi acquistati in un vivaio",
        "transplanted_on": "Piante trapiantate nelle vasche",
    },
    "nl": {
        "spectrum": "Breed spectrum met verrood",
        "lamp_distance": "Lampen 30 cm boven het gewas",
        "air_speed": "Luchtsnelheid laag",
        "dissolved_oxygen": "Opgeloste zuurstof 7,9 mg/L",
        "co2": "CO2 werd niet geregeld",
        "seed_source": "Eigen zaad van vorig jaar",
        "transplanted_on": "Planten verspeend in de bakken",
    },
    "pt": {
        "spectrum": "Espectro largo",
        "lamp_distance": "Lâmpadas 30 cm acima das folhas",
        "air_speed": "Velocidade do ar baixa",
        "dissolved_oxygen": "Oxigénio dissolvido de 7,9 mg/L",
        "co2": "O CO2 não foi controlado",
        "seed_source": "Sementes compradas numa loja",
        "transplanted_on": "Transplantadas para os tabuleiros",
    },
}
TELLING = [(key, words) for said in IN_LANGUAGES.values() for key, words in said.items()]
CONTAINERS = [
    "Bacs de 15 litres",
    "15-Liter-Kübel",
    "Cubos de 15 litros",
    "Vasche da 15 litri",
    "Bakken van 15 liter",
]


@pytest.mark.parametrize(("key", "words"), TELLING)
def test_words_of_every_language_of_workbooks_tell(key, words):
    assert item(observed(words), key).reported


@pytest.mark.parametrize("words", CONTAINERS)
def test_the_volume_of_a_container_is_read_in_every_language(words):
    assert item(described(growing_system=words), "container_volume").reported


@pytest.mark.parametrize("key", PHRASES)
def test_items_are_looked_for_in_every_language_of_workbooks(key):
    assert {one.tag for one in vocabularies()} <= {*PHRASES[key]}


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("lamp_distance", "Las plantas medían 12 cm de alto"),
        ("lamp_distance", "Pflanzen waren 12 cm hoch"),
        ("seed_source", "Las semillas germinaron el cuarto día"),
        ("seed_source", "Les graines ont germé"),
        ("transplanted_on", "Las plantas están bien"),
        ("transplanted_on", "Die Pflanzen stehen gut"),
        ("co2", "Se compró una botella de CO2"),
    ],
)
def test_words_of_other_languages_that_do_not_tell_are_not_taken_for_a_report(key, words):
    assert not item(observed(words), key).reported


def test_a_long_sentence_is_cut_at_a_word():
    said = value(observed("Dissolved oxygen " + "was measured again " * 20), "dissolved_oxygen")
    words = said.value("words").text
    assert words.endswith(" was ...")
    assert len(words) < 130


def test_climate_is_the_range_of_its_log_and_a_shared_log_tells_of_all():
    shared = log(
        (None, None),
        air_temperature=[19.5, 24.0],
        relative_humidity=[55.0, 70.0],
        co2=[420.0, 420.0],
    )
    assert value(shared, "air_temperature") == span(19.5, 24.0, "°C", 2)
    assert value(shared, "humidity") == span(55.0, 70.0, "%", 2)
    assert value(shared, "co2") == span(420.0, 420.0, "ppm", 2)
    assert missing(shared, "solution_temperature") == ()


def test_climate_logged_for_one_treatment_is_missing_for_the_other():
    one = log(("half", "full"), air_temperature=[19.5, np.nan])
    assert missing(one, "air_temperature") == (TreatmentName("full"),)


def test_temperature_of_the_solution_is_read_in_trays_or_logged():
    read_in_trays = tuple(replace(event, temperature=20.0) for event in trial().solution)
    assert value(trial(solution=read_in_trays), "solution_temperature") == span(
        20.0, 20.0, "°C", 24
    )
    assert value(log((None,), solution_temperature=[21.0]), "solution_temperature") == span(
        21.0, 21.0, "°C", 1
    )


def test_ec_and_ph_are_ranges_over_trays_and_trays_without_a_reading_are_named():
    assert value(trial(), "ec") == span(1.5, 1.7, "mS/cm", 18)
    assert value(trial(), "ph") == span(5.9, 6.1, "", 18)
    silent = tuple(
        replace(event, ec=None) if event.tray == "B2" else event for event in trial().solution
    )
    assert missing(trial(solution=silent), "ec") == (tray("B2"),)


def test_missing_trays_are_named_up_to_five():
    read_in_one = tuple(
        replace(event, ph=6.0 if event.tray == "A1" else None) for event in trial().solution
    )
    assert missing(trial(solution=read_in_one), "ph") == tuple(
        map(tray, ("A2", "A3", "B1", "B2", "B3"))
    )
    more = (*trial().trays, Tray("B4", "full", 3))
    of = trial(solution=read_in_one, trays=more)
    (section,) = [
        one for one in report.compose(of, metrics.compute(of)).annex if one.key == "reporting"
    ]
    (bullets,) = [block for block in section.blocks if isinstance(block, Bullets)]
    assert "pH (for tray A2, tray A3, tray B1, tray B2, tray B3 and 1 more)" in bullets.items


def test_a_tray_without_plants_is_asked_for_nothing():
    control = Tray("C1", "half", 0)
    of = trial(
        trays=(*trial().trays, control),
        solution=(*trial().solution, SolutionEvent("C1", date(2026, 4, 1), "fill", 90.0)),
    )
    for key in ("ec", "volumes", "replicates", "plants_per_container"):
        assert item(of, key) == item(trial(), key)


def test_volumes_are_summed_and_need_a_fill_and_a_remaining():
    # fills 6 x 5 L; top-ups 1.5 + 1.65 + 1.7 + 1.85 + 1.9 + 2.05 = 10.65 L
    volumes = value(trial(), "volumes")
    assert volumes.value("volume").value == pytest.approx(40.65)
    assert volumes.value("volumes") == Count(24, "volume")
    lacking = tuple(
        event for event in trial().solution if (event.tray, event.kind) != ("A1", "remaining")
    )
    assert missing(trial(solution=lacking), "volumes") == (tray("A1"),)


def test_items_on_what_a_trial_has_nothing_of_are_not_asked_for():
    bare = trial(plants=(), solution=(), meter=(), light=(), climate=None, instruments=())
    asked = {"volumes", "exclusions", "instruments", "calibration", "accuracy"}
    assert asked <= {one.item for one in reporting(trial())}
    assert not asked & {one.item for one in reporting(bare)}


def test_containers_are_told_by_the_growing_system_the_trays_and_the_canopy_area():
    of = described(growing_system="Rafts on 15 L tubs", nutrient_recipe="Two parts, 1.6 mS/cm")
    assert value(of, "container_type") == Quote("Rafts on 15 L tubs")
    assert value(of, "container_volume") == quoted("Rafts on 15 L tubs")
    assert value(of, "solution_composition") == Quote("Two parts, 1.6 mS/cm")
    assert value(of, "plants_per_container") == message(
        "plants_a_container", plants=Count(3, "plant")
    )
    dense = by_treatment(treatments({"canopy_area": 0.15}, {"canopy_area": 0.15}), "spacing")
    assert dense == alike(Span(20.0, 20.0, "plants/m²"))
    assert missing(of, "spacing") == ()


def test_trays_of_different_size_give_a_range():
    uneven = trial(trays=(replace(trial().trays[0], plants_started=1), *trial().trays[1:]))
    plants_a_tray = message(
        "plants_a_container_from_to", fewest=Amount(1.0), plants=Count(3, "plant")
    )
    assert value(uneven, "plants_per_container") == plants_a_tray


def test_plant_and_days_are_reported_as_typed():
    of = replace(described(cultivar="a slow type"), sown_on=date(2026, 3, 10))
    assert value(of, "cultivar") == Quote("a slow type")
    assert value(of, "sown_on") == Day("2026-03-10")
    assert value(of, "harvested_on") == Day("2026-05-06")
    assert missing(trial(), "sown_on") == ()
    early = trial(
        trays=(replace(trial().trays[0], harvested_on=date(2026, 5, 4)), *trial().trays[1:])
    )
    days = message("from_day_to_day", first=Day("2026-05-04"), last=Day("2026-05-06"))
    assert value(early, "harvested_on") == days


def test_the_first_observation_of_transplanting_tells_its_day():
    first, second = (
        Observation(date(2026, 4, day), "Transplanted into the trays.") for day in (2, 9)
    )
    seen = message("seen_on_day", day=Day("2026-04-02"), words=Quote("Transplanted into the trays"))
    assert value(trial(observations=(second, first)), "transplanted_on") == seen


def test_instruments_are_missing_for_what_was_measured_without_one():
    scale = Instrument("scale", "weight", model="K1", accuracy=0.5, calibrated_on=date(2026, 3, 1))
    of = trial(instruments=(scale,), solution=(), meter=())
    what = {"name": Quote("scale"), "kind": Term("weight")}
    assert value(of, "instruments") == message("instrument_of_model", **what, model=Quote("K1"))
    assert value(of, "calibration") == message(
        "instrument_calibrated", **what, day=Day("2026-03-01")
    )
    assert value(of, "accuracy") == message(
        "instrument_accuracy", **what, accuracy=Amount(0.5, "%")
    )
    without = tuple(Term(kind) for kind in ("volume", "energy", "EC", "pH"))
    assert missing(trial(instruments=(scale,)), "accuracy") == without
    unknown = trial(instruments=(Instrument("scale", "weight"),), solution=(), meter=())
    assert value(unknown, "instruments") == message("instrument", **what)
    assert missing(unknown, "accuracy") == ()


def test_the_design_is_reported_with_unit_replicates_blocks_and_draw():
    assert value(trial(), "experimental_unit") == Term("tray")
    assert value(trial(experimental_unit="plant"), "experimental_unit") == Term("plant")
    assert by_treatment(trial(), "replicates") == alike(Count(3, "tray"))
    assert missing(trial(), "blocks") == ()
    assert value(described(layout="completely randomised"), "blocks") == message(
        "no_blocks_by_layout"
    )
    blocked = tuple(replace(tray, block=tray.code[1]) for tray in trial().trays)
    assert value(trial(trays=blocked), "blocks") == Count(3, "block")
    partly = (replace(blocked[0], block=""), *blocked[1:])
    assert missing(trial(trays=partly), "blocks") == (tray("A1"),)


@pytest.mark.parametrize(
    ("randomised", "layout", "said"),
    [
        (True, "in blocks", message("drawn_by_layout", layout=Quote("in blocks"))),
        (True, "", message("drawn")),
        (False, "", message("not_drawn")),
        (False, "in rows", message("not_drawn_by_layout", layout=Quote("in rows"))),
    ],
)
def test_the_draw_is_reported_whichever_way_it_was(randomised, layout, said):
    assert value(described(randomised=randomised, layout=layout), "randomisation") == said
    assert missing(described(randomised=None, layout=layout), "randomisation") == ()


def test_lost_plants_are_reported_with_their_reason():
    plants_started = Count(18, "plant")
    assert value(trial(), "exclusions") == message("no_plant_left_out", plants=plants_started)
    dead = plants(WEIGHTS | {"A1": (20.0, None, 24.0)})
    one = {"number": Amount(1.0), "plants": plants_started}
    died = message("plant_died", plant=Quote("A1 2"))
    assert value(trial(plants=dead), "exclusions") == message(
        "plants_left_out", **one, lost=Several((died,))
    )
    noted = tuple(
        replace(one, status="removed", note="stem broken") if one.fresh_weight is None else one
        for one in dead
    )
    removed = message("plant_removed_why", plant=Quote("A1 2"), note=Quote("stem broken"))
    assert value(trial(plants=noted), "exclusions") == message(
        "plants_left_out", **one, lost=Several((removed,))
    )


def test_a_plant_taken_out_without_a_reason_or_without_a_row_is_not_accounted_for():
    dead = plants(WEIGHTS | {"A1": (20.0, None, 24.0)})
    removed = tuple(
        replace(one, status="removed") if one.fresh_weight is None else one for one in dead
    )
    unexplained = message("plant_of_tray", plant=Quote("2"), tray=Quote("A1"))
    assert missing(trial(plants=removed), "exclusions") == (unexplained,)
    assert missing(trial(plants=trial().plants[:-2]), "exclusions") == (
        Count(2, "plant without a row"),
    )
