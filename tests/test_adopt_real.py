"""Real files, taken in as their owners would: what is asked, what is found in them, and the figures
of R and scipy.
"""

import shutil

import pandas as pd
import pytest

from reportgen import pipeline
from reportgen.importing import adopting
from reportgen.importing.settings import settings_file
from reportgen.model.problem import WorkbookError
from tests.adopting import DATA, adopt, answering, asked, measured

# The key that the file lacks, from the published analysis of its owners: odd groups had the low
# salinity.
SALINITY = {
    code: "high" if int(code[1]) % 2 == 0 else "low"
    for code in ("L1", "L2", "S3", "S4", "L5", "L6", "S7", "S8")
}
KEY = ", ".join(f'{code} = "{level}"' for code, level in SALINITY.items())

# Figures: R 4.2.2 agrees on them; means, and Welch's interval of the logarithms, by
#   t.test(log(weight) ~ treatment, var.equal = FALSE), its estimate and bounds to the power of e.
CLEAN = {"low": (36, 2.860555556), "high": (37, 3.506378378)}
CLEAN_RATIO = (1.22576832, 0.9923490492, 1.51409222)


# Pots of two soils, without units, with a stray number in the last row.
POTS = {
    "pots_raw.quantity.Yield": "Fresh weight",
    "pots_raw.measure.Yield": "g",
    "pots_raw.treatment": "Treatment + Soil",
    "pots_raw.unit": "tray: the rows, counted; each value is of a whole tray",
    "pots_raw.blank.Nrecovery": "not measured",
    "pots_raw.blank.Precovery": "not measured",
    "row.pots_raw!M122": "left out",
    "trial.title": "Pots",
    "trial.crop": "canola",
    "trial.started_on": "2020-05-01",
    "trial.harvested_on": "2020-07-01",
    "trial.reference": "Control1 Haverhill",
    "confirm": "yes",
}


@pytest.fixture
def owned(tmp_path):
    """Return a function that gives its owner a copy of a file."""

    def copy(name):
        shutil.copy(DATA / name, tmp_path)
        return tmp_path / name

    return copy


def groups(sheet):
    """Return the answers by which the column of groups is the treatment, and each plant a unit."""
    column = {
        f"{sheet}.treatment": "none of these",
        f"{sheet}.treatment.other": "Group",
        f"{sheet}.unit": "tray: none",
        f"{sheet}.unit.other": "none",
    }
    return {**column, "independent": "plant", "blank": "not measured"}


def salinity(log, sheet, **own):
    """Take in a salinity file by its groups, and write what these stand for into its settings file."""
    adopt(log, talk=answering(**groups(sheet), **own))
    settings = settings_file(log)
    text = settings.read_text()
    told = f'treatment = "column:Group"\nwords = {{ treatment = {{ {KEY} }} }}'
    named = text.replace('treatment = "column:Group"', told).replace(
        'treatment" = "L1"', 'treatment" = "low"'
    )
    settings.write_text(named[: named.index("[confirmed")])
    return log


def figures(log, key="fresh_weight"):
    found = measured(pipeline.checked(log), key)
    estimates = {code: (one.n, one.value) for code, one in found.estimates}
    return estimates, {
        code: (one.ratio, one.single_low, one.single_high) for code, one in found.comparisons
    }


def approximately(known):
    return {code: (n, pytest.approx(value, rel=1e-8)) for code, (n, value) in known.items()}


def test_lettuce_on_compost_has_the_figures_of_r(owned):
    log = owned("lettuce_compost.txt")
    adopt(log, talk=answering(tray="tray: id; each value is of one plant", reference="control"))
    estimates, ratios = figures(log)
    assert estimates == approximately(
        {
            "control": (7, 38.0),
            "compost": (7, 58.85714286),
            "refoak": (7, 36.14285714),
            "cobc": (7, 54.14285714),
        }
    )
    assert ratios["compost"] == pytest.approx((1.54887218, 1.34533169, 1.783207107), rel=1e-8)
    assert ratios["refoak"] == pytest.approx((0.9511278195, 0.8209345887, 1.101968587), rel=1e-8)
    assert ratios["cobc"] == pytest.approx((1.42481203, 1.218943246, 1.665450239), rel=1e-8)


def test_the_files_slipped_decimal_point_waits_for_its_owner_and_is_corrected(owned):
    log = owned("salinity_raw.xlsx")
    kept = {"row": "left out", "row.Hoja 1!I17": "keep as it is"}
    taken, _ = adopt(log, talk=answering(stop="row.Hoja 1!I67", **groups("Hoja 1"), **kept))
    (waiting,) = [one for one in taken.state.questions if one.key == "row.Hoja 1!I67"]
    assert waiting.ask.startswith("4248 is about 1,000 times")
    salinity(log, "Hoja 1", **kept, **{"row.Hoja 1!I67": "4.248"})
    estimates, ratios = figures(log)
    assert estimates == approximately(CLEAN)
    assert ratios["high"] == pytest.approx(CLEAN_RATIO, rel=1e-8)


def test_the_file_cleaned_by_hand_has_the_figures_of_r(owned):
    log = salinity(owned("salinity_clean.xlsx"), "Data", **{"row.Data!H17": "keep as it is"})
    estimates, ratios = figures(log)
    assert estimates == approximately(CLEAN)
    assert ratios["high"] == pytest.approx(CLEAN_RATIO, rel=1e-8)


@pytest.mark.parametrize(
    ("name", "keys"),
    [
        ("lettuce_compost.txt", {"lettuce_compost.measure.freshweight"}),
        ("salinity_raw.xlsx", {"Hoja 1.measure.wet weight"}),
        ("salinity_clean.xlsx", {"Data.measure.Wet_weight"}),
        ("pots_raw.csv", {"pots_raw.quantity.Yield", "pots_raw.measure.Yield"}),
    ],
)
def test_without_answers_nothing_of_a_real_file_is_guessed(owned, name, keys):
    log = owned(name)
    assert {question.key for question in asked(log)} == keys
    adopt(log)
    assert settings_file(log).exists()
    with pytest.raises(WorkbookError, match="settles no table"):
        pipeline.checked(log)


def test_pots_of_two_soils_have_the_means_that_pandas_finds_in_the_file(owned):
    log = owned("pots_raw.csv")
    table = pd.read_csv(log, encoding="utf-8-sig").dropna(subset=["Soil"])
    expected = {}
    for (soil, treatment), yields in table.groupby(["Soil", "Treatment"])["Yield"]:
        expected[f"{treatment} {soil}"] = (len(yields), yields.mean())
    adopting.take_in([log], POTS)
    figures = pipeline.checked(log).read_back.figures
    yields = {each.treatment: (each.n, each.mean) for each in figures if each.key == "tray_yield"}
    assert yields == approximately(expected)
