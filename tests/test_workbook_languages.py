"""Workbooks in seven languages: every word has its translation, none has two meanings, and all are
read alike.
"""

import re
import string
from collections import defaultdict
from dataclasses import replace

import pytest
from click.testing import CliRunner
from markdown_it import MarkdownIt

from reportgen import language, pipeline
from reportgen.cli import main
from reportgen.report import terms
from reportgen.workbook.blank import blank_workbook
from reportgen.workbook.declaration import SHEETS, Column, Kind, Sheet
from reportgen.workbook.dictionary import dictionary
from reportgen.workbook.groups import GROUPS
from reportgen.workbook.headers import folded
from reportgen.workbook.plan import planned
from reportgen.workbook.units import conversion
from reportgen.workbook.vocabulary import ENGLISH, Vocabulary, vocabularies, vocabulary
from tests.translating import translated
from tests.workbooks import findings, good, least, put, trial, whole, write

OTHERS = vocabularies()[1:]
each_language = pytest.mark.parametrize("words", OTHERS, ids=lambda words: words.tag)
SPANISH = vocabulary("es")
OF_EVERY_BOUND = (
    Column("a", Kind.NUMBER, at_least=0),
    Column("b", Kind.NUMBER, above=0),
    Column("c", Kind.NUMBER, at_most=1),
    Column("d", Kind.NUMBER, unit="g"),
)


@pytest.fixture(scope="module")
def texts_of_the_program():
    """Return every text that blank workbooks and the data dictionary ask for."""
    asked = set()

    def listening(self, message, /, **values):
        asked.add(message)
        return message.format(**values) if values else message

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Vocabulary, "text", listening)
        for blocks in (0, 2):
            plan = planned(["a", "b"], blocks=blocks, trays=1, plants=1, seed=1)
            blank_workbook(plan)
        blank_workbook(plan, (Sheet("More", OF_EVERY_BOUND),))
        dictionary()
    return asked


def placeholders(text):
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


# ---- each catalogue is whole ---------------------------------------------------------------------


@each_language
def test_a_catalogue_names_every_sheet_and_column_and_has_help_where_there_is_some(words):
    for sheet in SHEETS:
        assert sheet.name in words.sheets, f"{words.tag}.toml lacks the sheet {sheet.name}"
        said = words.sheets[sheet.name]
        assert said.name
        assert bool(said.help) == bool(sheet.help), f"help of {sheet.name}"
        for column in sheet.columns:
            assert column.name in said.columns, (
                f"{words.tag}.toml lacks {column.name} of {sheet.name}"
            )
            name, text = said.columns[column.name]
            assert name
            assert bool(text) == bool(column.help), (
                f"{words.tag}.toml, help of {column.name} of {sheet.name}"
            )


@each_language
def test_a_catalogue_has_every_choice_and_every_word_for_all_codes(words):
    for sheet in SHEETS:
        assert sheet.family in {"", *words.words}
        for column in sheet.columns:
            lacking = {*column.choices, *column.also} - set(words.words)
            assert not lacking, f"{words.tag}.toml lacks words of {column.name} of {sheet.name}"


@each_language
def test_a_catalogue_has_every_text_with_the_same_placeholders(words, texts_of_the_program):
    assert set(words.texts) == texts_of_the_program
    for text, said in words.texts.items():
        assert placeholders(said) == placeholders(text), text


@each_language
def test_a_catalogue_names_nothing_that_is_gone(words):
    declared = {sheet.name: {column.name for column in sheet.columns} for sheet in SHEETS}
    choices = {
        word
        for sheet in SHEETS
        for column in sheet.columns
        for word in (*column.choices, *column.also)
    }
    choices |= {sheet.family for sheet in SHEETS}
    of_groups = {name for names in GROUPS.values() for name in names}
    assert set(words.sheets) <= set(declared) | of_groups
    assert set(words.words) <= choices
    for name, said in words.sheets.items():
        assert set(said.columns) <= declared.get(name, set(said.columns)), name


def test_the_commands_offer_the_languages_that_have_a_catalogue():
    for command in ("new", "dictionary"):
        (option,) = [one for one in main.commands[command].params if one.name == "language"]
        assert set(option.type.choices) == {words.tag for words in vocabularies()}


# ---- no word has two meanings --------------------------------------------------------------------


def meanings(said):
    """Return the words, over all languages, that stand for more than one thing; `said` are pairs of
    word and thing.
    """
    found = defaultdict(set)
    for word, thing in said:
        found[folded(word)].add(thing)
    return {word: things for word, things in found.items() if len(things) > 1}


def test_no_name_in_any_language_means_two_sheets():
    assert not meanings(
        (words.sheet_name(sheet.name), sheet.name) for words in vocabularies() for sheet in SHEETS
    )


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_no_name_in_any_language_means_two_columns_of_a_sheet(sheet):
    names = [column.name for column in sheet.columns]
    assert not meanings(
        (words.column_name(sheet.name, name), name) for words in vocabularies() for name in names
    )


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_no_word_in_any_language_means_two_choices_of_a_column(sheet):
    for column in sheet.columns:
        words = (*column.choices, *column.also)
        assert not meanings((one.word(word), word) for one in vocabularies() for word in words), (
            column.name
        )


def test_no_word_says_both_yes_and_no():
    assert not {word for one in vocabularies() for word in one.yes} & {
        word for one in vocabularies() for word in one.no
    }


@each_language
def test_the_word_for_per_stands_in_units(words):
    assert conversion(f"{words.per} kWh", "1/kWh") == (1.0, 0.0)
    assert conversion(f"EUR {words.per} m3", "1/L") == pytest.approx((0.001, 0.0))


# ---- a workbook in any of them is read like the English one --------------------------------------


def alike(found):
    """Return a trial without what tells of the file alone."""
    return replace(found, slug="", source_sha256="", climate=None, findings=())


@each_language
def test_every_sheet_in_another_language_gives_the_same_trial(tmp_path, words):
    english = trial(write(whole(), tmp_path / "a.xlsx"))
    other = trial(write(translated(whole(), words), tmp_path / "b.xlsx"))
    assert alike(other) == alike(english)
    assert other.climate.treatments == english.climate.treatments
    assert [one.code for one in other.findings] == [one.code for one in english.findings]


def test_names_are_matched_without_case_and_accents_and_languages_may_be_mixed(tmp_path):
    sheets = least()
    plants = [["BANDEJA", "Pflanze", "poids frais (g)", "estado"], *sheets["Plants"][1:]]
    mixed = {
        "ensayo": sheets["Trial"],
        "Behandlungen": sheets["Treatments"],
        "Trays": sheets["Trays"],
        "Plants": plants,
    }
    put(
        mixed,
        Plants_C2=None,
        Plants_D2="Dead",
        Plants_C3=None,
        Plants_D3="tot",
        Plants_C4=None,
        Plants_D4="RETIREE",
    )
    found = trial(write(mixed, tmp_path / "a.xlsx"))
    assert [plant.status for plant in found.plants[:4]] == ["dead", "dead", "removed", "harvested"]


def test_a_column_of_the_owners_own_stays_a_measurement_in_any_language(tmp_path):
    sheets = translated(good(), SPANISH)
    sheets["Plantas"] = [
        [*row, "Nota" if number == 0 else number % 5]
        for number, row in enumerate(sheets["Plantas"])
    ]
    labels = [trait.label for trait in trial(write(sheets, tmp_path / "a.xlsx")).traits]
    assert labels == ["Height", "Nota"]


@each_language
def test_the_word_for_all_is_shared_in_that_language_and_no_treatment_may_have_it(tmp_path, words):
    shared = put(
        good(),
        Meter_B2=words.word("all"),
        Meter_B3=words.word("all"),
        Meter_B4=words.word("all").upper(),
    )
    assert trial(write(shared, tmp_path / "a.xlsx")).meter[0].treatment is None
    named = put(least(), Treatments_A2=words.word("all"))
    assert "reserved_code" in {one.code for one in findings(write(named, tmp_path / "b.xlsx"))}


@pytest.mark.parametrize(
    "name", ["Peso fresco", "peso fresco (g)", "Frischgewicht", "Fresh weight", "fresh_weight"]
)
def test_the_main_measure_may_be_named_as_its_column_is(tmp_path, name):
    sheets = put(good(), Trial_A9="Main measure", Trial_B9=name)
    assert trial(write(sheets, tmp_path / "a.xlsx")).main_measure == "fresh_weight"


def test_the_main_measure_may_be_named_as_a_report_in_spanish_names_it(tmp_path):
    # "Supervivencia" is what the Spanish catalogue of reports says for Survival.
    sheets = put(good(), Trial_A9="Medida principal", Trial_B9="supervivencia")
    assert trial(write(sheets, tmp_path / "a.xlsx")).main_measure == "survival"


# ---- messages name things as the grower's sheet does ---------------------------------------------


PLANTED = {
    "a blank": ({"Bandejas_A2": None}, "Bandejas", "Bandeja is not filled in yet"),
    "a choice": ({"Plantas_E2": "marchita"}, "Plantas", "one of cosechada, muerta, retirada"),
    "a missing weight": ({"Plantas_C2": None}, "Plantas", "Peso fresco is not filled in yet"),
    "what to do about it": (
        {"Plantas_C2": None},
        "Plantas",
        "a weight, or the status muerta or retirada",
    ),
    "an unknown code": ({"Plantas_A2": "Z9"}, "Plantas", "is not on the sheet Bandejas"),
    "a unit": (
        {"Plantas_C1": "Peso fresco (cm)"},
        "Plantas",
        '"Peso fresco (cm)" is not in a unit',
    ),
    "a name twice": (
        {"Plantas_F1": "Fresh weight (g)"},
        "Plantas",
        '"Fresh weight (g)" stands here and in C1',
    ),
    "no name": ({"Bandejas_B1": None}, "Bandejas", "Tratamiento"),
    "yes or no": ({"Contador_E2": "quizás"}, "Contador", "is neither sí nor no"),
    "another currency": (
        {"Ensayo_A8": "Precio de la electricidad (EUR por kWh)"},
        "Ensayo",
        "Moneda on the sheet Ensayo",
    ),
    "an unknown measure": (
        {"Ensayo_A9": "Medida principal", "Ensayo_B9": "x"},
        "Ensayo",
        "Plantas or Crecimiento",
    ),
    "an event": ({"Solución_C4": "muestra"}, "Bandejas", "no restante on the sheet Solución"),
}


@pytest.mark.parametrize(("cells", "sheet", "said"), PLANTED.values(), ids=PLANTED)
def test_a_message_names_sheets_columns_and_choices_as_they_stand(tmp_path, cells, sheet, said):
    found = findings(write(put(translated(good(), SPANISH), **cells), tmp_path / "a.xlsx"))
    assert any(one.sheet == sheet and said in str(one) for one in found), [
        str(one) for one in found
    ]


def test_a_missing_sheet_is_asked_for_in_the_language_of_the_others(tmp_path):
    sheets = translated(least(), SPANISH)
    sheets["Bandeja"] = sheets.pop("Bandejas")
    (found,) = [
        one for one in findings(write(sheets, tmp_path / "a.xlsx")) if one.code == "missing_sheet"
    ]
    assert (found.sheet, found.advice) == ("Bandejas", "Rename it to Bandejas.")


@pytest.mark.parametrize("word", ["Promedio", "Summe", "moyenne:", "TOTALE", "Soma", "gemiddelde"])
def test_a_total_among_the_data_is_told_in_each_language(tmp_path, word):
    sheets = good()
    sheets["Plants"].append([word, None, 612.0, None, None])
    assert "not_data" in {one.code for one in findings(write(sheets, tmp_path / "a.xlsx"))}


# ---- reports and pages ---------------------------------------------------------------------------


def test_a_spanish_workbook_becomes_a_spanish_report(tmp_path):
    sheets = translated(put(good(), Trial_A9="Language", Trial_B9="es"), SPANISH)
    path = write(sheets, tmp_path / "ensayo.xlsx")
    (built,) = pipeline.build((path,), tmp_path / "site", options=pipeline.BuildOptions(pdf=False))
    page = built.page.read_text()
    assert '<html lang="es"' in page
    assert "Altura" in page


def test_adopt_refuses_a_trial_workbook_in_any_language(tmp_path):
    path = write(translated(least(), SPANISH), tmp_path / "ensayo.xlsx")
    done = CliRunner().invoke(main, ["adopt", str(path), "--no-input"])
    assert done.exit_code == 1
    assert "is a trial workbook already" in done.output


@each_language
def test_the_data_dictionary_is_printed_in_each_language(words):
    page = CliRunner().invoke(main, ["dictionary", "--language", words.tag]).output
    texts = [
        token.content
        for token in MarkdownIt("commonmark").enable("table").parse(page)
        if token.type == "inline"
    ]
    for sheet in map(words.spoken, SHEETS):
        assert f"{sheet.name}{'*' * sheet.required}" in texts
        for column in sheet.columns:
            assert f"{column.header}{'*' * column.required}" in texts
    assert not re.search(r"\{\w+\}", page)


def test_places_that_were_given_by_hand_are_told_in_each_language(tmp_path):
    for number, layout in enumerate(["a mano", "von Hand", "à la main", "à mão", "met de hand"]):
        sheets = put(least(), Trial_A8="Layout", Trial_B8=layout)
        found = trial(write(sheets, tmp_path / f"{number}.xlsx"))
        assert _judged(found) == "places_by_hand", layout


def _judged(found):
    from reportgen.metrics.validity.design import randomisation

    return randomisation(found)[1][0].code


def test_english_is_the_declaration_itself():
    assert all(ENGLISH.spoken(sheet) is sheet for sheet in SHEETS)


NAMED = "|".join(sheet.name for sheet in SHEETS)
NAMED_IN_REPORTS = re.compile(rf"({NAMED}), (?:column|field) (\w+(?: [a-z]+)*?)(?=,|$)")


def test_a_spanish_report_names_sheets_and_columns_as_a_spanish_workbook_does():
    named = 0
    with language.using(language.of("es")):
        for text in terms.PLACES.values():
            for sheet, column in NAMED_IN_REPORTS.findall(text):
                named += 1
                said = language.say(text)
                assert SPANISH.sheet_name(sheet) in said, text
                assert SPANISH.column_name(sheet, column) in said, text
    assert named > 20
