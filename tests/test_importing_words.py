"""Words of headers and cells in seven languages."""

import pytest

from reportgen.importing import words

FRESH = (
    "Fresh weight",
    "Frischgewicht",
    "Peso fresco",
    "Poids frais",
    "Peso fresco (g)",
    "Versgewicht",
    "FW",
)
DRY = (
    "Dry weight",
    "Trockenmasse",
    "Peso seco",
    "Masse sèche",
    "Peso secco",
    "Drooggewicht",
    "Shoot_DW_g",
)


@pytest.mark.parametrize("header", FRESH)
def test_a_fresh_weight_is_known_in_seven_languages(header):
    assert "fresh" in words.meanings(header)
    assert "dry" not in words.meanings(header)


@pytest.mark.parametrize("header", DRY)
def test_a_dry_weight_is_known_in_seven_languages(header):
    assert "dry" in words.meanings(header)
    assert "fresh" not in words.meanings(header)


@pytest.mark.parametrize(
    ("header", "meaning"),
    [
        ("Behandlung", "treatment"),
        ("Modalité", "treatment"),
        ("Tesi", "treatment"),
        ("Bandeja nº", "unit"),
        ("Krat", "unit"),
        ("Herhaling", "block"),
        ("Pflanze Nr.", "plant"),
        ("Fecha", "date"),
        ("Pluk 2", "picking"),
        ("Totaal rij 1", "sum"),
        ("Ø", "mean"),
        ("Mittelwert", "mean"),
        ("Desv. est.", "spread"),
        ("Zählerstand", "reading"),
        ("CO2(ppm)", "co2"),
        ("gem kastemp", "temperature"),
        ("Osservazioni", "remark"),
        ("№", "number"),
    ],
)
def test_a_header_has_the_meaning_of_its_words(header, meaning):
    assert meaning in words.meanings(header)


def test_words_are_told_apart_in_headers_that_are_written_together():
    assert words.tokens("FreshWt_1 (g)") == ("fresh", "wt", "1", "g")


def test_a_part_of_a_word_means_nothing():
    assert "unit" not in words.meanings("Potassium")  # holds `pot`
    assert "dry" not in words.meanings("Section")  # begins with `sec`


@pytest.mark.parametrize("word", ["dead", "Tot", " MUERTA ", "morte", "dood", "persa"])
def test_a_word_for_a_lost_plant_is_known_as_a_whole_cell(word):
    assert words.is_word(word, "lost")


def test_a_word_within_a_sentence_is_no_whole_cell():
    assert not words.is_word("dead leaf at the base", "lost")


@pytest.mark.parametrize("word", ["-", "n/a", "fehlt", "manquant", "s/d"])
def test_a_word_for_a_missing_value_is_known_as_a_whole_cell(word):
    assert words.is_word(word, "missing")
    assert not words.is_word(word, "lost")


@pytest.mark.parametrize(
    ("text", "event"),
    [
        ("filled", "fill"),
        ("nachgefüllt", "top-up"),
        ("reste à la fin", "remaining"),
        ("drenado", "drain"),
        ("Verbrauch", "used"),
        ("cleaned the pump", ""),
    ],
)
def test_what_was_done_to_a_solution_is_known(text, event):
    assert words.event_of(text) == event


def test_a_meaning_that_is_not_declared_is_refused():
    with pytest.raises(KeyError):
        words.says("Weight", "wieght")
