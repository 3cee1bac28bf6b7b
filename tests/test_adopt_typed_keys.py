"""Treatments that nothing in a log tells, and that its owner spells out: `1-4 = hay; 5-8 = fleece`."""

import pytest

from reportgen import pipeline
from reportgen.importing.session import understand
from reportgen.importing.settings import read_settings, settings_file
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, asked, book, means

HEAD = ("Plot", "Plant", "Fresh weight (g)")
PLOTS = {plot: 40.5 + plot if plot > 4 else 20.5 + plot for plot in range(1, 9)}
ROWS = [(plot, plant, weight + plant) for plot, weight in PLOTS.items() for plant in (1, 2, 3)]
MEANS = {"hay": (4, pytest.approx(25.0)), "fleece": (4, pytest.approx(49.0))}


def log_of(tmp_path, rows=ROWS, above=()):
    return book(tmp_path, Plots=[*above, HEAD, *rows])


@pytest.mark.parametrize(
    "key",
    [
        "1-4 = hay; 5-8 = fleece",
        "1 to 4 = hay; 5, 6, 7 and 8 = fleece",
        "plots 1-4 = hay, plots 5..8 = fleece",
        "1–4=hay\n5 bis 8=fleece",
    ],
)
def test_a_typed_key_tells_the_treatments_of_plots(tmp_path, key):
    log = log_of(tmp_path)
    adopt(log, talk=answering(treatment=key, as_read="yes"))
    assert means(log) == MEANS
    (layout,) = read_settings(settings_file(log)).layouts
    assert layout.words["treatment"] == {
        **dict.fromkeys("1234", "hay"),
        **dict.fromkeys("5678", "fleece"),
    }


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("1-4 = hay; 5-9 = fleece", "labels of Plot (1, 2, 3, 4, 5, 6, 7, 8), not 5-9"),
        ("1-4 = hay; 5-7 = fleece", "all labels of Plot (1, 2, 3, 4, 5, 6, 7, 8), 8 too"),
        (
            "1-4 = hay; 4-8 = fleece",
            "each label of Plot (1, 2, 3, 4, 5, 6, 7, 8) once, not 4 twice",
        ),
        ("1-4 hay; 5-8 = fleece", '"1-4 hay" to be written as 1-4 = hay; 5-8 = fleece'),
    ],
)
def test_a_key_that_names_other_plots_or_not_all_is_refused_with_them(tmp_path, key, said):
    log = log_of(tmp_path)
    question = next(each for each in asked(log) if each.key.endswith("treatment"))
    (problem,) = understand([log], None, {question.key: key}).problems
    assert (problem.code, problem.expected) == ("answer_does_not_fit", said)


def test_lines_above_the_table_that_are_a_key_are_the_answer_offered(tmp_path):
    above = [("Courgettes",), ("Plots 1 to 4: hay",), ("Plots 5 to 8: fleece",), ()]
    log = log_of(tmp_path, above=above)
    question = next(each for each in asked(log) if each.key.endswith("treatment"))
    assert question.default == "Plots 1 to 4= hay; Plots 5 to 8= fleece"
    adopt(log, talk=answering(treatment=question.default, as_read="yes"))
    assert means(log) == MEANS


def test_ids_with_letters_and_ids_that_are_no_range_are_spelled_out(tmp_path):
    rows = [(f"K{plot}-{plot}", plant, weight) for plot, plant, weight in ROWS]
    log = log_of(tmp_path, rows)
    adopt(
        log,
        talk=answering(
            treatment="K1-1, K2-2, K3-3, K4-4 = hay; K5-5, K6-6 + K7-7 and K8-8 = fleece",
            as_read="yes",
        ),
    )
    assert means(log) == MEANS


def test_a_plot_that_is_added_later_stops_the_report_and_is_asked_for(tmp_path):
    log = log_of(tmp_path)
    adopt(log, talk=answering(treatment="1-4 = hay; 5-8 = fleece", as_read="yes"))
    log_of(tmp_path, [*ROWS, (9, 1, 50.0), (9, 2, 51.0), (9, 3, 52.0)])
    with pytest.raises(WorkbookError) as caught:
        pipeline.checked(log)
    assert ("treatment_not_told", "C26") in {(one.code, one.cell) for one in caught.value.problems}
    adopt(log, talk=answering(**{"Plots.treatment.9": "fleece"}))
    assert means(log) == {"hay": MEANS["hay"], "fleece": (5, pytest.approx((4 * 49.0 + 51.0) / 5))}
