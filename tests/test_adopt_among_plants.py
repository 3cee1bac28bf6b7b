"""What stands among the rows of plants and is no plant of its own: statistics, other parts, lots, other crops."""

import pytest

from reportgen import pipeline
from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.matching import split_unit
from reportgen.adopt.questions import unanswered
from reportgen.adopt.toml_file import settings_file
from reportgen.metrics import compute
from reportgen.model.problem import Severity, WorkbookError
from tests.adopting import adopt, answering, book, fresh_weight

HEAD = ("Tray", "Treatment", "Plant", "Fresh weight (g)")
BASES = (("T1", "plain", 31.0), ("T2", "warm", 40.0), ("T3", "plain", 33.0), ("T4", "warm", 42.0))
TRAYS = {"Reference treatment": "plain", "independent": "Tray"}
MEANS = {"plain": (2, pytest.approx(33.0)), "warm": (2, pytest.approx(42.0))}


def rows(*more):
    """Return three plants a tray; `more` is a row at the end of each."""
    found = []
    for tray, kind, base in BASES:
        found += [(tray, kind, plant, base + plant - 1) for plant in (1, 2, 3)]
        found += [(tray, kind, *one) for one in more]
    return found


def means(log):
    return {code: (one.n, one.value) for code, one in fresh_weight(pipeline.checked(log)).estimates}


def in_tables(log, line):
    settings = settings_file(log)
    settings.write_text(settings.read_text().replace("[[table]]", f"[[table]]\n{line}"))


@pytest.mark.parametrize("word", ["Desv. est.", "StdAbw", "Dev. st.", "s", "LSD", "roots", "Wurzeln", "leftover", "x̄"])
def test_a_word_among_numbered_plants_waits(tmp_path, word):
    log = book(tmp_path, Log=[HEAD, *rows((word, 20.0))])
    adopt(log, talk=answering(**TRAYS))
    with pytest.raises(WorkbookError, match=r"C5, C9, C13, C17 look wrong, and the report waits"):
        pipeline.checked(log)
    in_tables(log, "exclude_rows = [5, 9, 13, 17]")
    assert means(log) == {"plain": (2, pytest.approx(33.0)), "warm": (2, pytest.approx(42.0))}


def test_a_word_that_is_a_plant_is_confirmed(tmp_path):
    log = book(tmp_path, Log=[HEAD, *rows(("edge", 30.0))])
    adopt(log, talk=answering(**TRAYS))
    in_tables(log, 'confirmed = ["C5", "C9", "C13", "C17"]')
    assert sum(plant.number for plant in pipeline.checked(log).plants) == 16


def test_plants_that_are_all_named_by_words_do_not_wait(tmp_path):
    names = {1: "left", 2: "middle", 3: "right"}
    log = book(tmp_path, Log=[HEAD, *((*row[:2], names[row[2]], row[3]) for row in rows())])
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEANS


@pytest.mark.parametrize(
    "names", [("1-5", "6-10"), ("1 - 5", "6 - 10"), ("1 to 5", "6 to 10"), ("plants 1-5", "plants 6-10")]
)
def test_lots_of_plants_wait_for_their_number(tmp_path, names):
    lots = [(tray, kind, name, 5 * base) for tray, kind, base in BASES for name in names]
    log = book(tmp_path, Log=[("Tray", "Treatment", "Plants", "Fresh weight (g)"), *lots])
    adopt(log, talk=answering(**TRAYS))
    with pytest.raises(WorkbookError, match="and the like name several plants, and count as one"):
        pipeline.checked(log)


def test_plants_named_by_tray_and_number_are_no_lots(tmp_path):
    plants = [(tray, kind, f"{tray[1]}-{number}", weight) for tray, kind, number, weight in rows()]
    log = book(tmp_path, Log=[HEAD, *plants])
    adopt(log, talk=answering(**TRAYS))
    assert means(log) == MEANS


def test_a_tray_is_the_unit_where_its_owner_says_so_though_each_row_is_a_pot(tmp_path):
    log = book(tmp_path, Log=[("Tray", "Treatment", "Sample", "Bunch weight (g)"), *rows()])
    adopt(log, talk=answering(per="pot", mass="Fresh weight", **TRAYS))
    assert means(log) == MEANS


def test_trays_of_several_plants_by_a_list_wait_for_how_many_were_weighed(tmp_path):
    plots = [(f"P{at}", kind, 10) for at, kind in enumerate(("warm", "plain", "warm", "plain"), 1)]
    weights = [(f"P{at}", weight) for at, weight in enumerate((12.0, 10.0, 12.4, 10.4), 1)]
    log = book(tmp_path, Plots=[("Plot", "Treatment", "Plants"), *plots], Yield=[("Plot", "Total kg"), *weights])
    adopt(log, talk=answering(per="pot", mass="Fresh weight", **{**TRAYS, "independent": "Plot"}))
    with pytest.raises(WorkbookError, match="nothing tells how many plants of 10 it held") as stopped:
        pipeline.checked(log)
    assert [one.cell for one in stopped.value.problems if one.severity is Severity.ERROR] == ["B2"]
    settings = settings_file(log)
    settings.write_text(settings.read_text().replace('per = "pot"', 'per = "pot"\nconstants."Plants weighed" = "10"'))
    measures = {one.measure.key: one for one in compute(pipeline.checked(log)).measures}
    assert {code: one.value for code, one in measures["fresh_weight"].estimates} == pytest.approx(
        {"plain": 1020.0, "warm": 1220.0}
    )
    assert {code: one.value for code, one in measures["survival"].estimates} == {"plain": 100.0, "warm": 100.0}


@pytest.mark.parametrize(
    ("crops", "severity"), [(("chard",) * 3 + ("basil",) * 9, "caution"), (("chard", "basil", "basil") * 4, "remark")]
)
def test_several_crops_in_one_table_are_pointed_out(tmp_path, crops, severity):
    log = book(tmp_path, Log=[(*HEAD, "Crop"), *((*row, crop) for row, crop in zip(rows(), crops, strict=True))])
    adopt(log, talk=answering(**TRAYS))
    found = [one for one in pipeline.checked(log).findings if 'Crop" tells of basil, chard' in one.found]
    assert [str(one.severity) for one in found] == [severity]


# --- units that stand alone, or before brackets


@pytest.mark.parametrize("unit", ["g", "kg", "oz", "lbs"])
def test_a_unit_alone_heads_a_weight(tmp_path, unit):
    held = [("1", "fish", 1.2), ("2", "none", 1.0), ("3", "fish", 1.3), ("4", "none", 1.1)]
    beds = [(bed, feed, plant, weight + plant) for bed, feed, weight in held for plant in (1, 2, 3)]
    log = book(tmp_path, Log=[("Row", "Feed", "Plant", unit), *beds])
    assert {one.kind for one in unanswered(understood(log_of((log,))))} >= {"mass", "independent"}
    adopt(log, talk=answering(mass="Fresh weight", independent="Row", **{"Reference treatment": "none"}))
    grams = {"g": 1, "kg": 1000, "oz": 28.349523125, "lbs": 453.59237}[unit]  # the avoirdupois ounce and pound
    assert means(log) == {"none": (2, pytest.approx(3.05 * grams)), "fish": (2, pytest.approx(3.25 * grams))}


@pytest.mark.parametrize(
    ("header", "parted"),
    [
        ("Temp, °C (LGR S/N: 201, SEN S/N: 201)", ("Temp", "°C")),
        ("RH, % (probe 7)", ("RH", "%")),
        ("Height, cm (to the tip)", ("Height", "cm")),
        ("Fresh weight (g)", ("Fresh weight", "g")),
        ("EC (water mS/cm)", ("EC (water mS/cm)", "mS/cm")),
        ("Time (local)", ("Time (local)", "")),
    ],
)
def test_a_unit_behind_a_comma_stays_one_before_brackets(header, parted):
    assert split_unit(header) == parted
