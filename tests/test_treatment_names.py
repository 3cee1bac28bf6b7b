"""How names of treatments stand in texts, and what is said of pairs apart."""

from dataclasses import replace

import pytest

from reportgen import metrics, report
from reportgen.model.results import Letters
from reportgen.report import messages, pairs_apart, treatment_names
from tests.made_trials import FIVE
from tests.test_referee import half_lost
from tests.trials import fair_trial

NO_BREAK = "\N{NO-BREAK SPACE}"


def named(*names):
    """Return a trial whose treatments bear these names."""
    made = fair_trial()
    treatments = tuple(
        replace(made.treatments[0], code=f"t{number}", name=name)
        for number, name in enumerate(names)
    )
    return replace(made, treatments=treatments, reference="t0")


@pytest.mark.parametrize(
    ("name", "label", "within"),
    [
        ("Warm trays", "Warm trays", "warm trays"),
        ("LED bars", "LED bars", "LED bars"),
        ("12 h day", f"12{NO_BREAK}h day", f"“12{NO_BREAK}h day”"),
        ("Deep, aerated", "Deep, aerated", "“Deep, aerated”"),
        ("Bandeja con manta gruesa", "Bandeja con manta gruesa", "“Bandeja con manta gruesa”"),
    ],
)
def test_a_name_stands_as_a_label_and_in_quotes_where_it_is_no_part_of_a_sentence(
    name, label, within
):
    of = named("Plain", name)
    assert treatment_names.label(of, "t1") == label
    assert treatment_names.within(of, "t1") == within


def test_long_names_end_at_a_natural_break_and_stay_apart():
    of = named(*(name for _, name in FIVE))
    labels = [treatment_names.label(of, one.code) for one in of.treatments]
    assert labels == [
        "Reference feed mixed to the label",
        "Reference feed with twice the calcium",
        "Reference feed at half strength",
        "Compost extract brewed for two days",
        "Compost extract with seaweed",
    ]
    for label, treatment in zip(labels, of.treatments, strict=True):
        assert treatment.name.startswith(label)
        assert sum(one.name.startswith(label) for one in of.treatments) == 1


def test_a_long_name_without_a_break_of_its_own_is_a_number():
    same = "Feed of the same maker mixed very strong again, pot "
    of = named("Plain", f"{same}one", f"{same}two")
    assert treatment_names.label(of, "t1") == "treatment 2 of 3"
    assert treatment_names.within(of, "t2") == "treatment 3 of 3"


def test_no_headline_cuts_a_name():
    of = half_lost()
    long = tuple(
        replace(one, name=f"{one.name} warmed from below with a cable under sand, every night")
        for one in of.treatments
    )
    renamed = replace(of, treatments=long)
    said = report.compose(renamed, metrics.compute(renamed)).headline
    assert "…" not in said
    assert said.startswith("B warmed from below with a cable: 17 of 32 plants lost")


# ---- all treatments ------------------------------------------------------------------------------


def test_what_holds_of_no_treatment_names_none():
    from reportgen.model.message import Amount, Several, TreatmentName, message

    of = fair_trial()
    codes = [one.code for one in of.treatments]
    said = []
    for named in (codes, codes[:1]):
        members = Several(tuple(map(TreatmentName, named)))
        said.append(
            messages.text(of, message("no_map_of_light", number=Amount(3.0), treatments=members))
        )
    assert said[0] == "No map of 3 points or more is recorded for any treatment."
    assert said[1].endswith(f"recorded for {of.treatments[0].name}.")


# ---- pairs ---------------------------------------------------------------------------------------


def three_apart(codes, letters):
    """Return a trial of three treatments and results whose verdicts and letters are these."""
    from tests.test_referee import of_trays

    weights = {code: [[mean] * 6 for mean in (98.0, 101.0, 100.0, 103.0)] for code in "ABC"}
    of = of_trays(weights)
    results = metrics.compute(of)
    key = results.main_measure
    judged = tuple(
        replace(one, code=codes[one.treatment]) if one.measure == key else one
        for one in results.conclusions
    )
    measures = tuple(
        replace(one, letters=Letters((), letters)) if one.measure.key == key else one
        for one in results.measures
    )
    return of, replace(results, conclusions=judged, measures=measures), key


@pytest.mark.parametrize(
    ("codes", "letters", "is_said"),
    [
        ({"B": "unclear", "C": "unclear"}, (("A", "ab"), ("B", "a"), ("C", "b")), True),
        ({"B": "alike", "C": "unclear"}, (("A", "ab"), ("B", "a"), ("C", "b")), True),
        ({"B": "more", "C": "unclear"}, (("A", "b"), ("B", "a"), ("C", "b")), False),
        ({"B": "untestable", "C": "untestable"}, (("A", "ab"), ("B", "a"), ("C", "b")), False),
        ({"B": "unclear", "C": "unclear"}, (("A", "a"), ("B", "a"), ("C", "a")), False),
    ],
)
def test_two_treatments_that_differ_from_each_other_alone_are_told(codes, letters, is_said):
    of, results, key = three_apart(codes, letters)
    said = pairs_apart.sentence(of, results, (key,))
    assert bool(said) == is_said
    if is_said:
        assert said.endswith("though neither is clearly apart from A.")
