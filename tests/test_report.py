"""What the report says: rounding, sentences, sections, and the results file."""

import json
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen import metrics, report
from reportgen.model.document import Bullets, Paragraph, Table
from reportgen.model.problem import Problem, Severity
from reportgen.model.results import Comparison
from reportgen.model.trial import Instrument, LightReading, Observation
from reportgen.report import numbers, ratios, wording
from tests.test_samples import NAMES, trial_of
from tests.trials import WEIGHTS, fair_trial, plants, readings, trial


def plain(text):
    return text.replace("\u00a0", " ")


def composed(of):
    return report.compose(of, metrics.compute(of))


def answer(of):
    return [plain(sentence) for sentence in composed(of).answer]


@pytest.mark.parametrize(
    ("value", "low", "high", "shown"),
    [
        (138.868, 122.48, 155.26, "139 (122 to 155)"),
        (24.4319, 22.6746, 26.1893, "24.4 (22.7 to 26.2)"),
        (0.0078586, 0.0060722, 0.0096449, "0.0079 (0.0061 to 0.0096)"),
        (2.0, None, None, "2.00 (no interval)"),
        (2.0, 1.0, None, "2.00 (1.00 to no upper limit)"),
        (None, None, None, "not known"),
        (-7.7, -23.9, 8.5, "−8 (−24 to 9)"),
    ],
)
def test_a_number_shows_the_digits_that_its_interval_justifies(value, low, high, shown):
    assert plain(numbers.with_interval(value, low, high)) == shown


@pytest.mark.parametrize(
    ("percent", "shown"),
    [
        (100.0, "100%"),
        (99.99999999999997, "100%"),
        (0.0, "0%"),
        (99.98, "> 99.9%"),
        (99.7, "99.7%"),
        (0.02, "< 0.1%"),
        (91.6667, "91.7%"),
    ],
)
def test_0_and_100_percent_show_only_where_exactly_true(percent, shown):
    assert plain(numbers.share(percent)) == shown


@given(st.floats(1e-12, 1))
def test_a_p_value_never_shows_as_nothing(p):
    assert numbers.p_value(p) == "< 0.001" if p < 0.001 else float(numbers.p_value(p)) > 0


@pytest.mark.parametrize(
    ("ratio", "said"),
    [
        (1.31, "31% more"),
        (0.82, "18% less"),
        (1.0, "the same"),
        (1.0004, "less than 1% more"),
        (4.2, "4.2 times as much"),
    ],
)
def test_a_ratio_is_said_as_a_change(ratio, said):
    assert plain(ratios.change(ratio)) == said


def test_a_ratio_just_off_100_percent_does_not_show_as_100_percent():
    assert plain(ratios.ratio(1.2, 0.9998, 1.45)) == "120% (just under 100% to 145%)"
    assert plain(ratios.ratio(1.0, None, None)) == "100% (no interval)"


def test_the_answer_gives_the_change_with_its_interval():
    # R: 1.2959 (1.1726 to 1.4322), with the session above the digits in test_metrics
    assert (
        answer(fair_trial())[0]
        == "Full strength gave 30% more fresh weight per plant than half strength: 28.2 against"
        " 21.8 g/plant (95% interval 17% to 43% more)."
    )


def test_an_interval_that_includes_no_difference_does_not_tell():
    alike = WEIGHTS | {"B1": (20.0, 23.0, 24.0), "B2": (19.0, 21.0, 25.0), "B3": (18.0, 21.0, 25.0)}
    said = answer(trial(plants=plants(alike)))[0]
    assert said.startswith(
        "We cannot say whether full strength gave more or less fresh weight per plant"
    )
    assert "no difference" not in said


def test_one_tray_a_treatment_is_told_in_the_answer():
    of = trial(
        trays=tuple(tray for tray in trial().trays if tray.code in ("A1", "B1")),
        plants=plants({tray: WEIGHTS[tray] for tray in ("A1", "B1")}),
        solution=(),
        meter=(),
    )
    said = answer(of)[0]
    assert "29% more" in said
    assert "We cannot say how much of that is chance" in said
    assert " p " not in said


def test_losses_bring_the_yield_per_plant_started_into_the_answer():
    lossy = answer(trial(plants=plants(WEIGHTS | {"B1": (26.0, None, 31.0)})))
    assert any("per plant planted (dead plants counted as zero)" in sentence for sentence in lossy)
    assert not any("per plant planted" in sentence for sentence in answer(trial()))


def test_an_unbounded_ratio_is_said_in_words():
    unbounded = Comparison(ratio=2.0, ratio_low=1.1, ratio_high=None, p_value=0.03)
    assert plain(wording.interval(unbounded)) == "10% more to no upper limit"


def test_sections_stand_in_reading_order_and_only_where_there_is_data():
    read = [section.key for section in composed(trial()).sections]
    assert read == ["compared", "growth", "water", "energy", "fair"]
    annex = [section.key for section in composed(trial()).annex]
    assert annex == [
        "comparisons",
        "factors",
        "prices",
        "solution",
        "checks",
        "reporting",
        "methods",
        "glossary",
        "data",
    ]
    bare = composed(trial(solution=(), meter=()))
    assert [section.key for section in bare.sections] == ["compared", "growth", "fair"]
    assert [section.key for section in bare.annex] == [
        "comparisons",
        "checks",
        "reporting",
        "methods",
        "glossary",
        "data",
    ]
    seen = (Observation(date(2026, 4, 9), "first true leaves"),)
    rich = [section.key for section in composed(trial(observations=seen)).annex]
    assert rich[3:] == [
        "solution",
        "checks",
        "reporting",
        "observations",
        "methods",
        "glossary",
        "data",
    ]


def test_every_table_is_rectangular_and_names_a_unit_or_says_none():
    for section in composed(trial()).all_sections:
        for table in (block for block in section.blocks if isinstance(block, Table)):
            assert {len(row) for row in table.rows} == {len(table.head)} == {len(table.numeric)}


def test_what_only_the_author_can_mend_is_counted_and_not_printed():
    found, expected, advice = "read for 50% of the trial", "all of it", "Read it oftener."
    caution = Problem(
        Severity.CAUTION, "Meter", "C2", found, expected, advice, code="meter_not_whole_trial"
    )
    remark = replace(caution, severity=Severity.REMARK, found="no unit")
    said = " ".join(
        str(section) for section in composed(trial(findings=(caution, remark))).all_sections
    )
    assert "The check of the workbook left 1 caution open." in said
    assert found not in said
    assert advice not in said


def test_nothing_stated_is_said_of_a_missing_disclosure():
    assert composed(trial()).disclosure == "Who supplied or paid for what is not stated."


def test_a_shared_meter_is_told_in_the_energy_section():
    assert "One meter served all treatments" in text_of(trial(meter=readings(None, 20.0)), "energy")


def text_of(of, key):
    section = next(section for section in composed(of).all_sections if section.key == key)
    return plain(" ".join(str(block) for block in section.blocks))


def test_the_page_says_that_an_energy_interval_tells_of_weights_only():
    assert "interval covers the variation of weights only" in text_of(trial(), "comparisons")
    assert any(
        "We cannot say how much of that is chance" in sentence for sentence in answer(fair_trial())
    )


def test_the_answer_says_that_an_energy_interval_tells_of_the_instruments_too():
    exact = tuple(
        Instrument(f"meter of {kind}", kind, accuracy=1.0) for kind in ("weight", "energy")
    )
    said = " ".join(answer(fair_trial(instruments=exact)))
    assert "from the variation of weights and the accuracy of instruments" in said
    assert "alone" not in said


def test_a_shared_meter_is_never_said_to_have_used_more_or_less():
    said = " ".join(answer(fair_trial(meter=readings(None, 20.0))))
    assert "more electricity" not in said
    assert "cannot compare energy use" in said


def test_the_cost_at_another_price_is_in_proportion():
    energy = next(section for section in composed(trial()).annex if section.key == "prices")
    prices = next(block for block in energy.blocks if getattr(block, "key", "") == "prices")
    cost = dict(
        next(
            each
            for each in metrics.compute(trial()).measures
            if "cost_per_gram" in each.measure.key
        ).estimates
    )
    assert prices.rows[0][:2] == (
        "0.125",
        numbers.plain(1000 * 0.5 * cost["half"].value),
    )  # a kilogram
    assert prices.rows[4][0] == "0.5"


def test_dead_and_removed_plants_are_counted_apart():
    lost = plants(WEIGHTS | {"A1": (20.0, None, None)})
    apart = tuple(
        replace(one, status="removed") if (one.tray, one.code) == ("A1", "3") else one
        for one in lost
    )
    assert "16 were harvested; 1 died and 1 was removed" in text_of(trial(plants=apart), "growth")


def test_a_dead_tray_is_not_explained_by_the_meter():
    dead = trial(plants=plants(WEIGHTS | {"A1": (None, None, None)}))
    told = [
        sentence
        for sentence in answer(dead)
        if "is chance" in sentence or "is not known" in sentence
    ]
    assert not any("metered figure" in sentence for sentence in told)


def test_trays_left_out_are_said_beneath_the_table():
    events = tuple(
        event for event in trial().solution if (event.tray, event.kind) != ("A1", "remaining")
    )
    assert "1 tray without data left out" in text_of(trial(solution=events), "comparisons")


def test_the_methods_name_the_model():
    assert "one variance for all treatments where any has three trays or fewer" in text_of(
        trial(), "methods"
    )
    blocked = trial(trays=tuple(replace(tray, block=tray.code[1]) for tray in trial().trays))
    assert "the model multiplies block and treatment effects" in text_of(blocked, "methods")


def test_rounding_noise_shows_as_0():
    assert plain(numbers.with_interval(6e-14, -22.4, 22.4)) == "0 (−22 to 22)"


ESTIMATE_KEYS = (
    "metric treatment value low high standard_error degrees_of_freedom n unit method note"
)


def test_the_results_file_has_the_keys_that_scripts_rely_on():
    found = json.loads(composed(trial()).results)
    assert (
        " ".join(found)
        == "$schema format trial treatments estimates comparisons verdicts fragility money letters"
        " factors effects fairness reporting harvests problems to_come scores growth adjusted"
    )
    assert found["format"] == "trial-results/2"


def test_the_results_file_has_each_finding_as_code_and_values_beside_its_english():
    of = trial()
    spanish = replace(of, about=replace(of.about, language="es"))
    for found in (json.loads(composed(one).results) for one in (of, spanish)):
        verdicts = {entry["check"]: entry for entry in found["fairness"]}
        replication = verdicts["replication"]
        given, not_recorded = replication["findings"]
        assert given == {
            "code": "each_treatment_given_to",
            "values": {"trays": {"number": 3, "of": "tray"}},
            "text": "Each treatment was given to 3 trays.",
        }
        assert not_recorded["code"] == "units_not_recorded"
        for entry in verdicts.values():
            assert entry["finding"] == " ".join(one["text"] for one in entry["findings"])
        items = {entry["item"]: entry for entry in found["reporting"]}
        ec = {
            "span": {"low": 1.5, "high": 1.7, "unit": "mS/cm"},
            "readings": {"number": 18, "of": "reading"},
        }
        assert items["ec"] == {
            "item": "ec",
            "reported": True,
            "value": "1.5 to 1.7 mS/cm in 18 readings",
            "values": [{"code": "span_of_readings", "values": ec}],
            "missing": [],
        }
        assert (items["ppfd"]["reported"], items["ppfd"]["value"], items["ppfd"]["values"]) == (
            False,
            None,
            [],
        )


def test_the_results_file_has_the_code_of_each_problem_and_of_each_factor():
    problem = Problem(
        Severity.CAUTION, "Meter", "C2", "reset", "no reset", "None.", code="meter_reset"
    )
    lit = tuple(replace(one, photoperiod=16.0, canopy_area=0.1) for one in trial().treatments)
    light = tuple(LightReading(one.code, 200.0, date(2026, 4, 1)) for one in lit)
    found = json.loads(composed(trial(findings=(problem,), treatments=lit, light=light)).results)
    assert [entry["code"] for entry in found["problems"]] == ["meter_reset"]
    by_code = {entry["code"]: entry["factor"] for entry in found["factors"]}
    assert (
        by_code["light_better_used"] == "Growth per unit of light: fresh weight per mole of photons"
    )


def test_the_results_file_is_unrounded_and_null_where_there_is_no_number():
    of = trial()
    found = json.loads(composed(of).results)
    computed = dict(metrics.compute(of).measures[0].estimates)["half"]
    row = next(
        row
        for row in found["estimates"]
        if row["metric"] == "fresh_weight" and row["treatment"] == "half"
    )
    assert (row["value"], row["low"]) == (computed.value, computed.low)
    energy = next(row for row in found["estimates"] if row["metric"] == "energy_use")
    assert energy["low"] is None


def test_a_report_is_the_same_when_composed_again():
    assert composed(trial()) == composed(trial())


def test_a_site_lists_the_latest_harvest_first():
    earlier = replace(composed(trial()), slug="earlier", harvested_on="2025-01-01")
    site = report.collect("Trials", (earlier, composed(trial())))
    assert [each.slug for each in site.reports] == ["coriander", "earlier"]


def test_every_table_has_a_heading_and_a_kind_for_each_of_its_columns():
    for name in NAMES:
        for section in composed(trial_of(name)).all_sections:
            for block in section.blocks:
                if isinstance(block, Table):
                    assert {len(block.head)} == {len(row) for row in block.rows}, block.key
                    assert len(block.numeric) in (0, len(block.head)), block.key


# ---- an unfinished trial -------------------------------------------------------------------------


def unfinished():
    """Return a trial of two blocks, of which one tray of one treatment and two of the other are
    harvested.
    """
    trays = tuple(replace(tray, block=tray.code[1]) for tray in trial().trays)
    weights = {tray: WEIGHTS[tray] for tray in ("A1", "A2", "B1")}
    return trial(trays=trays, plants=plants(weights), interim=True, as_of=date(2026, 5, 6))


def test_figures_so_far_are_means_of_trays_whose_notes_deny_no_interval_that_is_there():
    results = metrics.compute(unfinished())
    weights = next(one for one in results.measures if one.measure.key == "fresh_weight")
    half, full = (estimate for _, estimate in weights.estimates)
    assert (half.value, full.value) == (
        pytest.approx(66.5 / 3),
        pytest.approx(85 / 3),
    )  # 66/3, 67/3 and 85/3
    assert (half.low is None, full.low is None) == (False, True)
    found = report.compose(unfinished(), results)
    (measures,) = [one for one in found.annex if one.key == "comparisons"]
    note = " ".join(getattr(block, "note", "") for block in measures.blocks)
    assert "One tray only" in note
    assert "adjusted for blocks" not in note
    assert "no degrees of freedom" not in note


def methods_of(of):
    """Return what the section on methods says in sentences and lists."""
    sections = report.compose(of, metrics.compute(of)).annex
    (methods,) = [one for one in sections if one.key == "methods"]
    said = [block.text for block in methods.blocks if isinstance(block, Paragraph)]
    for block in methods.blocks:
        said += block.items if isinstance(block, Bullets) else []
    return " ".join(said)


def test_methods_of_an_unfinished_trial_are_those_of_what_its_page_shows():
    said = methods_of(unfinished())
    for word in (
        "The change against",
        "Break-even",
        "Satterthwaite",
        "Iglewicz",
        "treatment + block",
    ):
        assert word not in said
    assert "Hurlbert" in said
    said = methods_of(trial())
    for word in ("The change against", "Break-even", "Wilson"):
        assert word in said
