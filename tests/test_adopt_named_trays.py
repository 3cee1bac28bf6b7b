"""Whole sheets, files or treatments that are one experimental unit: by their names, or as their owner says."""

import pytest

from reportgen import pipeline
from reportgen.adopt.adopting import log_of, understood
from reportgen.adopt.named_trays import Named, numbered, placed
from reportgen.adopt.questions import BESIDE, HEADED, IN_HEADERS, IN_SHEETS, ROW_ALONE, SHEETED, TOGETHER, unanswered
from reportgen.adopt.toml_file import settings_file
from reportgen.metrics import compute
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, book, fresh_weight

FAN, STILL = (30.0, 31.0), (25.0, 26.0)
MEANS = {"fan": (2, pytest.approx(32.45)), "still": (2, pytest.approx(27.45))}
ONE_EACH = {"fan": (1, pytest.approx(32.75)), "still": (1, pytest.approx(27.75))}


def plants(lightest):
    """Return a sheet of four plants, their mean 1.95 g above the lightest."""
    return [("Plant", "Fresh weight (g)"), *((at + 1, lightest + at * 1.3) for at in range(4))]


def sheets(tmp_path, *names, **more):
    held = dict(zip(names, map(plants, (*FAN, *STILL)), strict=True))
    return book(tmp_path, **held, **more)


def questions(*paths):
    return {one.kind: one for one in unanswered(understood(log_of(paths)))}


def means(log):
    found = fresh_weight(pipeline.checked(log)).estimates
    return {code.casefold(): (one.n, one.value) for code, one in found}


def answers(**own):
    return answering(**{"Reference treatment": "still", "independent": IN_SHEETS, **own})


# --- names


@pytest.mark.parametrize(
    ("names", "trays", "treatments"),
    [
        (("Tray 1 fan", "Tray 2 still"), ("Tray 1", "Tray 2"), ("fan", "still")),
        (("Fan tub 1", "Still tub 1"), ("Fan tub 1", "Still tub 1"), ("Fan", "Still")),
        (("Bandeja_1_con_malla", "Bandeja_2_sin_malla"), ("Bandeja_1", "Bandeja_2"), ("con malla", "sin malla")),
        (("Schale 1 (warm)", "Schale 2 (kalt)"), ("Schale 1", "Schale 2"), ("warm", "kalt")),
        (("Bac A - ombre", "Bac B - soleil"), ("Bac A", "Bac B"), ("ombre", "soleil")),
        (("Tent 1", "Tent 2"), ("Tent 1", "Tent 2"), ("", "")),
    ],
)
def test_a_name_tells_a_tray_and_what_else_it_says(names, trays, treatments):
    assert placed(names) == tuple(map(Named, trays, treatments))


@pytest.mark.parametrize(
    "names", [("Shelf 30 cm", "Shelf 60 cm"), ("Tray 1 fan", "still"), ("Plant 1", "Plant 2"), ("20 °C", "25 °C")]
)
def test_doses_and_other_things_are_no_trays(names):
    assert placed(names) == ()


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (("fan 1", "fan 2", "still 1", "still 2"), ("fan", "fan", "still", "still")),
        (("fan1", "fan2", "still1", "still2"), ("fan", "fan", "still", "still")),
        (("T1 warm", "T2 warm", "T3 cold"), ("warm", "warm", "cold")),
        (("warm A", "warm B", "cold A", "cold B"), ("warm", "warm", "cold", "cold")),
        (("EC 1", "EC 2"), ()),
        (("12 h", "16 h", "18 h"), ()),
        (("fan 1", "still 1"), ()),
        (("EC 1.2", "EC 2.4"), ()),
    ],
)
def test_words_that_come_again_beside_numbers_may_be_treatments(names, words):
    assert tuple(one.treatment for one in numbered(names)) == words


# --- sheets and files


@pytest.mark.parametrize(
    "names",
    [
        ("Tray 1 fan", "Tray 2 fan", "Tray 3 still", "Tray 4 still"),
        ("Fan tray 1", "Fan tray 2", "Still tray 1", "Still tray 2"),
        ("Bench A fan", "Bench B fan", "Bench C still", "Bench D still"),
    ],
)
def test_a_sheet_a_tray_with_its_treatment_in_the_name(tmp_path, names):
    log = sheets(tmp_path, *names)
    asked = questions(log)
    assert "named" not in asked
    assert asked["independent"].default == IN_SHEETS
    adopt(log, talk=answers(**{"Reference treatment": asked["field"].choices[1]}))
    assert means(log) == MEANS


def test_names_with_numbers_are_asked_and_may_be_trays_or_treatments(tmp_path):
    log = sheets(tmp_path, "fan 1", "fan 2", "still 1", "still 2")
    assert questions(log)["named"].choices == (*HEADED, BESIDE)
    adopt(log, talk=answers(named=BESIDE))
    assert means(log) == MEANS
    settings_file(log).unlink()
    adopt(log, talk=answers(named=HEADED[0], **{"Reference treatment": "still 1"}))
    assert set(means(log)) == {"fan 1", "fan 2", "still 1", "still 2"}


def test_each_row_may_still_be_a_unit_of_its_own(tmp_path):
    log = sheets(tmp_path, "fan 1", "fan 2", "still 1", "still 2")
    adopt(log, talk=answers(named=BESIDE, independent=ROW_ALONE))
    assert {code: n for code, (n, _) in means(log).items()} == {"fan": 8, "still": 8}


def test_the_treatments_of_trays_are_told_one_by_one_and_kept_when_it_is_broken_off(tmp_path):
    log = sheets(tmp_path, "T1", "T2", "T3", "T4")
    adopt(log, talk=answers(named=HEADED[1], T1="fan", T2="fan", T3="quit"))
    kept = settings_file(log).read_text()
    assert kept.count('Treatment = "fan"') == kept.count('Treatment = "?"') == 2
    with pytest.raises(WorkbookError, match=r'Treatment is still "[?]"; expected the treatment of the whole table'):
        pipeline.checked(log)
    adopt(log, talk=answers(T3="still", T4="still"))
    assert means(log) == MEANS
    before = settings_file(log).read_text()
    adopt(log)
    assert settings_file(log).read_text() == before


@pytest.mark.parametrize("codes", ["T{}", "Tray {}"])
@pytest.mark.parametrize("head", [("Tray", "Treatment"), ("Code", "Meaning")])
def test_a_key_tells_the_treatments_of_sheets(tmp_path, codes, head):
    names = tuple(codes.format(at) for at in (1, 2, 3, 4))
    log = sheets(tmp_path, *names, Key=[head, *zip(names, ("fan", "fan", "still", "still"), strict=True)])
    adopt(log, talk=answers())
    assert means(log) == MEANS


def test_trays_on_sheets_of_files_that_are_treatments(tmp_path):
    for name, lightest in (("fan", FAN), ("still", STILL)):
        held = {f"Tray {at}": plants(first) for at, first in enumerate(lightest, 1)}
        book(tmp_path, f"{name}.xlsx", **held)
    log = tmp_path / "fan.xlsx"
    adopt(log, tmp_path / "still.xlsx", talk=answers())
    assert means(log) == MEANS


def test_trays_on_sheets_with_the_treatment_in_a_column(tmp_path):
    held = {}
    for at, (kind, lightest) in enumerate(zip(("fan", "fan", "still", "still"), (*FAN, *STILL), strict=True), 1):
        head, *lines = plants(lightest)
        held[f"Tray {at}"] = [(*head, "Treatment"), *((*line, kind) for line in lines)]
    log = book(tmp_path, **held)
    adopt(log, talk=answers())
    assert means(log) == MEANS


def test_a_sheet_a_treatment_may_be_one_unit(tmp_path):
    log = book(tmp_path, fan=plants(30.8), still=plants(25.8))
    adopt(log, talk=answers())
    assert means(log) == ONE_EACH


@pytest.mark.parametrize("heads", [("T1", "T2", "T3"), ("A", "B", "C"), ("A (g)", "B (g)", "C (g)")])
def test_columns_of_trays_on_sheets_of_treatments(tmp_path, heads):
    held = {
        kind: [heads, *(tuple(lightest + row + at * 0.3 for at in range(3)) for row in range(5))]
        for kind, lightest in (("fan", 30.0), ("still", 25.0))
    }
    log = book(tmp_path, **held)
    assert questions(log)["headers"].choices == (*HEADED, SHEETED)
    adopt(log, talk=answers(headers=SHEETED, mass="Fresh weight", independent=IN_HEADERS))
    assert means(log) == {"fan": (3, pytest.approx(32.3)), "still": (3, pytest.approx(27.3))}


def test_codes_with_a_unit_may_head_the_weights_of_treatments(tmp_path):
    rows = [(30.0 + at, 28 + at * 1.1, 25 + at * 0.9) for at in range(6)]
    log = book(tmp_path, Weights=[("T1 (g)", "T2 (g)", "C (g)"), *rows])
    assert "pickings" not in questions(log)
    adopt(
        log, talk=answers(mass="Fresh weight", headers=HEADED[0], independent=ROW_ALONE, **{"Reference treatment": "C"})
    )
    found = {"t1": (6, pytest.approx(32.5)), "t2": (6, pytest.approx(30.75)), "c": (6, pytest.approx(27.25))}
    assert means(log) == found


# --- all plants of a treatment together

LIGHTEST = {"fan": 30.0, "still": 25.0}
WEIGHTS = {kind: [lightest + at * 1.1 for at in range(6)] for kind, lightest in LIGHTEST.items()}


@pytest.mark.parametrize(
    "rows",
    [
        [("Treatment", "Fresh weight (g)"), *((kind, one) for kind, held in WEIGHTS.items() for one in held)],
        [
            ("Plant", "Fresh weight (g)"),
            *(row for kind, held in WEIGHTS.items() for row in ((kind,), *enumerate(held, 1))),
        ],
        [("Fresh weight (g)",), tuple(WEIGHTS), *zip(*WEIGHTS.values(), strict=True)],
    ],
    ids=["a column", "rows above", "headers"],
)
def test_all_plants_of_a_treatment_that_stood_together_are_one_unit(tmp_path, rows):
    log = book(tmp_path, Log=rows)
    assert {ROW_ALONE, TOGETHER} <= set(questions(log)["independent"].choices)
    adopt(log, talk=answers(independent=TOGETHER))
    assert means(log) == ONE_EACH
    measures = compute(pipeline.checked(log)).measures
    weighed = next(one for one in measures if one.measure.key == "fresh_weight")
    assert all(one.low is None and one.high is None for _, one in weighed.estimates)
    before = settings_file(log).read_text()
    adopt(log)
    assert settings_file(log).read_text() == before
