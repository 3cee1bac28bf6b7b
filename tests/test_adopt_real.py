"""Real files, taken in as their owners would: what is asked, what is found in them, and the figures of R and scipy."""

import shutil

import pytest

from reportgen import pipeline
from reportgen.adopt.questions import LETTERS, ONE_BY_ONE, unanswered
from reportgen.adopt.understand import understand
from reportgen.model.problem import WorkbookError
from reportgen.workbook.cells import read
from tests.adopting import DATA, adopt, answering, fresh_weight

# The key that the file lacks, from the published analysis of its owners: odd groups had the low salinity.
SALINITY = {
    code: "high" if int(code[1]) % 2 == 0 else "low" for code in ("L1", "L2", "S3", "S4", "L5", "L6", "S7", "S8")
}
LOW_FIRST = {**SALINITY, "letters": ONE_BY_ONE, "independent": "each row", "Reference treatment": "low"}

# Figures: R 4.2.2 agrees on them; means, and Welch's interval of the logarithms by the lines of R in
# test_adopt_apply.py.
CLEAN = {"low": (36, 2.860555556), "high": (37, 3.506378378)}
CLEAN_RATIO = (1.22576832, 0.9923490492, 1.51409222)


@pytest.fixture
def owned(tmp_path):
    """Return a function that gives its owner a copy of a file."""

    def copy(name):
        shutil.copy(DATA / name, tmp_path)
        return tmp_path / name

    return copy


def figures(log):
    found = fresh_weight(pipeline.checked(log))
    estimates = {code: (one.n, one.value) for code, one in found.estimates}
    return estimates, {code: (one.ratio, one.single_low, one.single_high) for code, one in found.comparisons}


def approximately(known):
    return {code: (n, pytest.approx(value, rel=1e-8)) for code, (n, value) in known.items()}


def settle(log, key):
    """Write a line into the first table of a settings file, as its owner does with an editor."""
    settings = log.with_name(f"{log.stem}.adopt.toml")
    settings.write_text(settings.read_text().replace("[[table]]\n", f"[[table]]\n{key}\n", 1))


def test_lettuce_on_compost_has_the_figures_of_r(owned):
    log = owned("lettuce_compost.txt")
    adopt(log, talk=answering(independent="each row"))
    estimates, ratios = figures(log)
    assert estimates == approximately(
        {"control": (7, 38.0), "compost": (7, 58.85714286), "refoak": (7, 36.14285714), "cobc": (7, 54.14285714)}
    )
    assert ratios["compost"] == pytest.approx((1.54887218, 1.34533169, 1.783207107), rel=1e-8)
    assert ratios["refoak"] == pytest.approx((0.9511278195, 0.8209345887, 1.101968587), rel=1e-8)
    assert ratios["cobc"] == pytest.approx((1.42481203, 1.218943246, 1.665450239), rel=1e-8)


def test_the_treatments_behind_codes_are_asked_and_their_letters_are_no_default():
    found = understand({"": read(DATA / "salinity_raw.xlsx")})
    question = next(one for one in unanswered(found) if one.kind == "letters")
    assert (question.choices, question.default) == ((LETTERS, ONE_BY_ONE), "")


def test_the_files_slipped_decimal_point_stops_the_report_until_its_owner_says_what_holds(owned):
    log = owned("salinity_raw.xlsx")
    taken, _ = adopt(log, talk=answering(**LOW_FIRST))
    assert taken.open == ()
    with pytest.raises(WorkbookError) as caught:
        pipeline.checked(log)
    said = [f"{one.severity} {one}" for one in caught.value.problems]
    assert any(one.startswith("caution Hoja 1!I67: 4248 is about 1,000 times") for one in said)
    assert sum(one.startswith("error") for one in said) == 1


def test_the_corrected_file_has_the_figures_of_the_one_cleaned_by_hand(owned):
    log = owned("salinity_raw.xlsx")
    adopt(log, talk=answering(**LOW_FIRST))
    settle(log, "corrected = { I67 = 4.248 }")
    estimates, ratios = figures(log)
    assert estimates == approximately(CLEAN)
    assert ratios["high"] == pytest.approx(CLEAN_RATIO, rel=1e-8)
    (weight,) = [one for one in pipeline.checked(log).traces if one.quantity == "Fresh weight"]
    assert weight.corrected == (("I67", "4.248", "4248"),)


def test_the_plant_that_is_left_out_is_in_no_figure(owned):
    log = owned("salinity_raw.xlsx")
    adopt(log, talk=answering(**LOW_FIRST))
    settle(log, "exclude_rows = [67]")
    low = (36 * 2.860555556 - 4.248) / 35  # the clean mean without that plant
    assert figures(log)[0]["low"] == (35, pytest.approx(low, rel=1e-8))


def test_the_file_cleaned_by_hand_has_the_figures_of_r_and_its_note_tells_the_unit(owned):
    log = owned("salinity_clean.xlsx")
    assert not any(one.kind == "unit" for one in unanswered(understand({"": read(log)})))
    adopt(log, talk=answering(**LOW_FIRST))
    estimates, ratios = figures(log)
    assert estimates == approximately(CLEAN)
    assert ratios["high"] == pytest.approx(CLEAN_RATIO, rel=1e-8)


def test_pots_with_many_measurements_have_the_figures_of_r(owned):
    log = owned("pots_raw.csv")
    adopt(log, talk=answering(per="pot", independent="each row", **{"Reference treatment": "Control1"}))
    estimates, ratios = figures(log)
    assert len(estimates) == 15
    assert estimates["Control1"] == (8, pytest.approx(1.25375))
    assert ratios["Manure10tha"] == pytest.approx((7.238285145, 5.893724807, 8.889585711), rel=1e-8)


@pytest.mark.parametrize("name", ["lettuce_compost.txt", "salinity_raw.xlsx", "salinity_clean.xlsx", "pots_raw.csv"])
def test_without_answers_nothing_of_a_real_file_is_guessed(owned, name):
    log = owned(name)
    taken, _ = adopt(log)
    open_ones = "\n".join(map(str, taken.open))
    assert "Reference treatment" in open_ones
    assert "Experimental unit" in open_ones
    assert {str(one) for one in taken.open} == {str(one) for one in pipeline.check(log).problems}
