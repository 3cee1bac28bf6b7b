"""What the calculation finds has words: every code a text, every text a code, each value a place in
it.
"""

import ast
import re
from functools import cache
from pathlib import Path
from typing import get_args

import pytest
from babel.messages.pofile import read_po

import reportgen
from reportgen import language, metrics
from reportgen.metrics.measures import METRICS, TREATMENT_METRICS
from reportgen.model.message import (
    Amount,
    Count,
    Day,
    Message,
    OfTreatment,
    Quote,
    Several,
    Share,
    Span,
    Term,
    TreatmentName,
    message,
)
from reportgen.model.trial import Measured
from reportgen.report import message_data, message_texts, messages, terms
from tests.trials import trial

PACKAGE = Path(reportgen.__file__).parent
UNIT_WORDS = {"unit", "units", "Unit", "Units"}
PLACEHOLDER = re.compile(r"\{(\w+)\}")


@cache
def calls(*names):
    """Return every call of functions of these names in the program."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Name)
                and node.func.id in names
            ):
                found.append((f"{path.relative_to(PACKAGE)}:{node.lineno}", node))
    return found


@cache
def messages_made():
    """Return every call that makes a message, alone or as a note, with its code in the call."""
    return [
        (place, node)
        for place, node in calls("message", "note")
        if isinstance(node.args[0], ast.Constant)
    ]


def test_every_code_has_a_text_and_every_text_a_code():
    codes = {node.args[0].value for _, node in messages_made()}
    assert codes == set(message_texts.TEXTS)


@pytest.mark.parametrize(
    ("place", "node"), messages_made(), ids=[place for place, _ in messages_made()]
)
def test_a_message_gives_every_value_that_its_text_names_and_no_other(place, node):
    given = {keyword.arg for keyword in node.keywords}
    named = set(PLACEHOLDER.findall(message_texts.TEXTS[node.args[0].value]))
    assert given == named - UNIT_WORDS


def test_every_text_and_term_is_translated():
    known = {}
    for path in language.FOLDER.glob("*/LC_MESSAGES/reportgen.po"):
        with path.open("rb") as file:
            known = {one.id for one in read_po(file) if one.string}
        for texts in (message_texts.TEXTS, terms.TERMS, terms.CHECKS, terms.ITEMS, terms.PLACES):
            assert set(texts.values()) <= known
        assert set(terms.COUNTED.values()) <= known
        assert {part for parts in terms.FACTORS.values() for part in parts} <= known
    assert known


def test_every_term_and_noun_that_is_named_has_a_word():
    named = {
        node.args[0].value for _, node in calls("Term") if isinstance(node.args[0], ast.Constant)
    }
    assert named | set(get_args(Measured)) <= set(terms.TERMS)
    nouns = {
        node.args[1].value for _, node in calls("Count") if isinstance(node.args[1], ast.Constant)
    }
    assert nouns <= {*terms.COUNTED, "unit"}  # the trial's own word for a unit


def test_every_measure_has_a_label_in_the_catalogues():
    assert {metric.label for metric in (*METRICS, *TREATMENT_METRICS)} <= set(terms.LABELS)


def test_a_code_without_a_text_is_refused():
    with pytest.raises(KeyError):
        messages.text(trial(), Message("never heard of"))


VALUES = [
    (Amount(1234.5, "g"), "1230 g", "1230 g"),
    (Amount(12.345), "12.3", "12,3"),
    (Amount(0.0499), "0.0499", "0,0499"),
    (Amount(1e6), "1000000", "1000000"),
    (Amount(1e-12, "pH units"), "less than 0.01 pH units", "menos de 0,01 unidades de pH"),
    (Amount(-3.25, "°C"), "−3.25 °C", "−3,25 °C"),
    (Amount(2.5, "%"), "2.5%", "2,5 %"),
    (Span(19.54, 24.0, "°C"), "19.5 to 24 °C", "19,5 a 24 °C"),
    (Span(55.0, 70.0, "%"), "55 to 70%", "55 a 70 %"),
    (Span(20.01, 20.02, "h"), "20 h", "20 h"),
    (Share(1.0), "100%", "100 %"),
    (Share(0.9999), "just under 100%", "casi 100 %"),
    (Share(0.956), "95.6%", "95,6 %"),
    (Share(0.0), "0%", "0 %"),
    (Share(1e-9), "less than 0.01%", "menos de 0,01 %"),
    (Count(1, "tray"), "1 tray", "1 bandeja"),
    (Count(3, "tray"), "3 trays", "3 bandejas"),
    (Day("2026-05-06"), "6 May 2026", "6 de mayo de 2026"),
    (Term("air temperature"), "air temperature", "temperatura del aire"),
    (Term("tray"), "tray", "bandeja"),
    (TreatmentName("half"), "Half strength", "Half strength"),
    (Quote("LED {x} 5 %"), "LED {x} 5 %", "LED {x} 5 %"),
    (Several((Quote("a"), Quote("b"), Quote("c"))), "a, b and c", "a, b y c"),
    (OfTreatment(Amount(21.0, "°C"), "half"), "21 °C for Half strength", "21 °C en Half strength"),
]


@pytest.mark.parametrize(("value", "english", "spanish"), VALUES)
def test_a_value_is_said_in_the_language_of_the_report(value, english, spanish):
    by = messages.speaker(trial())
    assert by.value(value).replace("\u00a0", " ") == english
    with language.using(language.of("es")):
        assert by.value(value).replace("\u00a0", " ") == spanish


def test_a_message_has_the_trials_own_word_for_its_unit():
    found = message("ran_out", tray=Quote("T1"))
    assert messages.text(trial(), found) == "Tray T1 ran out or was emptied (0 L left at the end)."
    pots = trial(experimental_unit="plant")
    assert messages.text(pots, found) == "Pot T1 ran out or was emptied (0 L left at the end)."


def test_lists_whose_members_have_commas_are_parted_by_semicolons():
    lost = Several(
        (message("plant_died", plant=Quote("A1 2")), message("plant_removed", plant=Quote("A1 3")))
    )
    found = message("plants_left_out", number=Amount(2.0), plants=Count(18, "plant"), lost=lost)
    assert messages.text(trial(), found) == "2 of 18 plants: A1 2 dead; A1 3 removed"


def test_a_message_is_plain_data_for_scripts_at_full_precision():
    each = Several((OfTreatment(Amount(1 / 3, "mS/cm"), "half"),))
    found = message("quantity_apart", quantity=Term("mean EC"), each=each, apart=Share(0.1 + 0.2))
    assert message_data.entry(found, "said") == {
        "code": "quantity_apart",
        "values": {
            "quantity": {"term": "mean EC"},
            "each": [{"treatment": "half", "known": {"value": 1 / 3, "unit": "mS/cm"}}],
            "apart": {"share": 0.1 + 0.2},
        },
        "text": "said",
    }


@pytest.mark.parametrize("value", [value for value, *_ in VALUES])
def test_every_kind_of_value_is_plain_data_of_a_shape_of_its_own(value):
    plain = message_data.plain(value)
    assert isinstance(plain, dict | list)
    assert plain


def test_every_finding_of_a_trial_has_words_in_every_language():
    of = trial()
    found = metrics.compute(of)
    with language.using(language.of("es")):
        for verdict in found.fairness:
            assert messages.texts(of, verdict.findings)
