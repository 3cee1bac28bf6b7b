"""Matching the light from the command line: a workbook that need not be finished, the plan in
words, its figure.
"""

from math import sqrt

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen import workbook
from reportgen.charts.light_heights import LightAt, LightLine, light_over_height
from reportgen.cli import main
from reportgen.metrics.light_matching import LightTarget, match_light
from reportgen.model.problem import WorkbookError
from reportgen.model.trial import Instrument, LightReading, LightSurvey, Treatment
from reportgen.report import light_planning
from tests.lamps import small_lamp
from tests.test_charts import drawn, words
from tests.test_charts_light import _fonts, assert_readable, axis_titles, records, units
from tests.workbooks import findings, good, put, write

assert _fonts  # the figures of this file are measured in the font too

HEAD = ["Treatment", "Date", "X (cm)", "Y (cm)", "Height (cm)", "PPFD (µmol/m2/s)"]
LAMPS = {"half": small_lamp(180_000), "full": small_lamp(120_000)}


def rows(heights=(20, 30, 45), places=((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))):
    """Return readings of two small lamps near the middle of their canopies, where an inverse square
    is exact.
    """
    return [
        [code, None, x, y, height, lamp(0.0, 0.0, height) * (1 + 0.01 * (x - y))]
        for code, lamp in LAMPS.items()
        for height in heights
        for x, y in places
    ]


def sheets(**more):
    """Return a workbook with the sheets that light is matched by, and nothing else."""
    treatments = [
        ["Treatment", "Name", "Photoperiod (h)"],
        ["half", "Half", 16],
        ["full", "Full", 12],
    ]
    return {"Treatments": treatments, "Light": [HEAD, *rows()], **more}


def run(path, *options):
    return CliRunner().invoke(main, ["plan", "--light", str(path), *map(str, options)])


def row_of(output, name):
    """Return the cells of the first row that begins with a name."""
    line = next(line for line in output.splitlines() if line.startswith(f"{name} "))
    return line.split()


def test_a_workbook_with_treatments_and_light_alone_gives_heights(tmp_path):
    # 180,000 / height2 is 200 at 30 cm; 120,000 / height2 at 24.49 cm (by hand)
    done = run(write(sheets(), tmp_path / "trial.xlsx"), "--ppfd", 200)
    assert done.exit_code == 0
    assert "Target: mean light (PPFD) of 200 µmol/m²/s, as typed." in done.output
    assert float(row_of(done.stdout, "Half")[2]) == pytest.approx(30, abs=0.1)
    assert float(row_of(done.stdout, "Full")[2]) == pytest.approx(sqrt(600), abs=0.1)
    assert "inverse-square law" in done.stdout
    assert "two treatments may still differ by" in done.stdout
    assert "Mains power near water can kill." in done.stdout
    assert "Very bright light can harm the eyes." in done.stdout
    assert done.stderr == ""


def test_a_light_of_a_day_gives_heights_and_hours(tmp_path):
    done = run(write(sheets(), tmp_path / "trial.xlsx"), "--dli", 11.52)
    assert "at the Photoperiod of each treatment" in done.stdout
    assert float(row_of(done.stdout, "Half")[1]) == 200
    assert float(row_of(done.stdout, "Full")[1]) == 267
    hours = [line.split() for line in done.stdout.splitlines() if line.startswith("Half ")]
    assert ["Half", "30", "16"] in [[*row[:2], row[2].removesuffix(".0")] for row in hours]


def test_hours_that_no_day_has_are_said_to_be_impossible_and_not_given(tmp_path):
    # 60 mol/m2/d by 24 h takes 694 µmol/m2/s, more than was read at any height; 30 by 450 at 20 cm
    # 18.5 h (by hand)
    path = write(sheets(), tmp_path / "trial.xlsx")
    none = run(path, "--dli", 60).stdout
    assert "Under Half no day is long enough for that light of a day at 20, 30 and 45 cm." in none
    assert "hours a day" not in none
    assert "When the lamps hang" not in none
    some = run(path, "--dli", 30).stdout
    assert "Under Half no day is long enough for that light of a day at 30 and 45 cm." in some
    hours = some.partition("Or hours of light a day")[2]
    assert row_of(hours, "Half")[:3] == ["Half", "20", "18.5"]
    assert row_of(hours, "Full")[1:3] != ["20", "27.8"]
    assert "When the lamps hang" in run(path, "--ppfd", 200).stdout


def test_without_a_target_it_says_which_level_was_taken(tmp_path):
    one_day = sheets(Treatments=[["Treatment", "Name"], ["half", "Half"], ["full", "Full"]])
    done = run(write(one_day, tmp_path / "trial.xlsx"))
    # 120,000 / 20^2 = 300 and 180,000 / 45^2 = 88.9 are what both reach; the root of their product
    # is 163
    assert "all treatments reach a mean light (PPFD) of 88.9 to 300 µmol/m²/s" in done.stdout
    assert "163 µmol/m²/s" in done.stdout
    unlike = run(write(sheets(), tmp_path / "other.xlsx"))
    assert "light of a day (DLI)" in unlike.stdout.splitlines()[0]


def test_what_lies_beyond_the_readings_is_not_given_and_the_missing_ones_are_named(tmp_path):
    done = run(write(sheets(Light=[HEAD, *rows((20, 30))]), tmp_path / "trial.xlsx"), "--ppfd", 150)
    assert (
        "150 µmol/m²/s lies beyond what was read under Half: 200 to 450 µmol/m²/s from 20 to 30 cm."
        in done.stdout
    )
    assert (
        "Missing: readings at 35 to 38 cm" in done.stdout
    )  # 180,000 / 150 is 34.64 cm squared, and a tenth beyond
    assert float(row_of(done.stdout, "Full")[2]) == pytest.approx(sqrt(800), abs=0.1)


def test_problems_of_other_sheets_do_not_matter_and_those_of_these_are_listed(tmp_path):
    unfinished = sheets(
        Trial=[["Field", "Value"], ["Title", None], ["Harvested on", None]],
        Trays=[["Tray", "Treatment", "Plants started"], ["A1", "nothing", "many"]],
        Instruments=[["Instrument", "Measures", "Accuracy (%)"], ["sensor", "light", 5]],
        Notes=[["hang it on Monday"]],
    )
    done = run(write(unfinished, tmp_path / "trial.xlsx"), "--ppfd", 200)
    assert (done.exit_code, done.stderr) == (0, "")
    assert "against the target" in done.stdout
    put(unfinished, Light_F3="2oo", Light_A4="fulll", Instruments_C2=500)
    wrong = run(write(unfinished, tmp_path / "wrong.xlsx"), "--ppfd", 200)
    assert wrong.exit_code == 1
    assert wrong.stdout == ""
    for place in ("Light!F3", "Light!A4", "Instruments!C2"):
        assert f"error: {place}" in wrong.stderr
    assert "Trays" not in wrong.stderr


def test_a_workbook_without_readings_is_told_what_to_read(tmp_path):
    for name, light in (("none", {}), ("empty", {"Light": [HEAD]})):
        made = {"Treatments": sheets()["Treatments"], **light}
        with pytest.raises(WorkbookError) as error:
            workbook.light_survey(workbook.read(write(made, tmp_path / f"{name}.xlsx")))
        assert [problem.code for problem in error.value.problems] == ["no_light_readings"]


def test_the_survey_holds_what_was_typed(tmp_path):
    made = sheets(Trial=[["Field", "Value"], ["Reference treatment", "full"]])
    put(made, Treatments_D1="Light height (cm)", Treatments_D2=30)
    survey = workbook.light_survey(workbook.read(write(made, tmp_path / "trial.xlsx")))
    assert survey.reference == "full"
    assert [one.light_height for one in survey.treatments] == [30, None]
    assert len(survey.light) == len(rows())
    assert survey.findings == ()


ADOPTED = """
adopt = 2

[[table]]
sheets = ["Harvest"]
header_rows = [1]
gives = "Plants"
treatment = "column:Lamp"
unit = "column:Tray"
plant = "column:Plant"
values = { "Fresh weight" = { columns = ["weight"], unit = "g" } }

[[table]]
sheets = ["Sensor"]
header_rows = [1]
gives = "Light"
treatment = "column:Lamp"
columns = { Height = "high" }
values = { PPFD = { columns = ["sun"], unit = "µmol/m2/s" } }

[trial]
Title = "Two lamps"
Crop = "basil"
"Started on" = 2026-03-01
"Harvested on" = 2026-04-01
"Reference treatment" = "cool"
"""


def test_a_log_that_was_taken_in_is_read_too(tmp_path):
    # 180,000 / (30 / 2.54)^2 in inches: 200 at 30 cm
    sensor = [
        ["cool", inches, round(180_000 / (2.54 * inches) ** 2 * x)]
        for inches in (8, 12, 18)
        for x in (0.98, 1.02)
    ]
    weights = [["cool", f"T{tray}", plant, 20 + plant] for tray in (1, 2) for plant in (1, 2)]
    weights += [["warm", f"U{tray}", plant, 20 + plant] for tray in (1, 2) for plant in (1, 2)]
    log = {
        "Harvest": [["Lamp", "Tray", "Plant", "weight"], *weights],
        "Sensor": [["Lamp", "high (in)", "sun"], *sensor],
    }
    path = write(log, tmp_path / "log.xlsx")
    (tmp_path / "log.adopt.toml").write_text(ADOPTED, "utf-8")
    done = run(path, "--ppfd", 200)
    assert float(row_of(done.stdout, "cool")[2]) == pytest.approx(30, abs=0.2)
    assert "No light was read under warm" in done.stdout
    path = write(put(log, Sensor_C3="2oo"), path)
    wrong = run(path, "--ppfd", 200)
    assert wrong.exit_code == 1
    assert "Sensor!C3" in wrong.stderr


def test_options_that_do_not_go_together_are_refused(tmp_path):
    path = write(sheets(), tmp_path / "trial.xlsx")
    for words_ in (
        ["--ppfd", 1, "--dli", 1],
        ["--difference", 20],
        ["--treatment", "a"],
        ["--blocks"],
        [path],
    ):
        assert run(path, *words_).exit_code == 2, words_
    assert CliRunner().invoke(main, ["plan", "--ppfd", "200", "--difference", "20"]).exit_code == 2
    assert run(path, "--ppfd", 0).exit_code == 2


def test_a_file_that_is_not_there_is_an_error(tmp_path):
    done = run(tmp_path / "none.xlsx")
    assert done.exit_code == 1
    assert "none.xlsx is not there" in done.stderr


def test_check_asks_for_the_height_in_use(tmp_path):
    made = good() | {"Light": [HEAD, *rows()]}
    path = write(made, tmp_path / "trial.xlsx")
    assert [one.code for one in findings(path)].count("light_height_missing") == 2
    put(made, Treatments_D1="Light height (cm)", Treatments_D2=30, Treatments_D3=60)
    found = {one.code: f"{one.sheet}!{one.cell}" for one in findings(write(made, path))}
    assert "light_height_missing" not in found
    assert found["light_height_not_measured"] == "Treatments!D3"


def test_readings_of_one_height_a_day_need_no_height_in_use(tmp_path):
    made = good() | {"Light": [HEAD, *rows((30,))]}
    assert "light_height_missing" not in [
        one.code for one in findings(write(made, tmp_path / "trial.xlsx"))
    ]


def test_the_figure_is_written_and_readable(tmp_path):
    drawing = tmp_path / "light.svg"
    done = run(write(sheets(), tmp_path / "trial.xlsx"), "--ppfd", 200, "--figure", drawing)
    assert done.exit_code == 0
    shown = " ".join(words(drawing.read_text("utf-8")).split())
    assert "Target: 200 µmol/m²/s" in shown
    assert "currentColor" not in drawing.read_text("utf-8")
    assert "30 cm" in shown


# ---- the figure ----------------------------------------------------------------------------------


def line(name, strength, heights=(20, 30, 45), matched=30.0):
    def at(height):
        light = strength / height**2
        return LightAt(height, light, 0.95 * light, 1.05 * light)

    measured = tuple(map(at, heights))
    course = tuple(at(heights[0] + (heights[-1] - heights[0]) * step / 50) for step in range(51))
    return LightLine(
        name, course, measured, LightAt(matched, strength / matched**2) if matched else None
    )


LINES = (
    line("Cool white", 180_000),
    line("Warm white from the far end of the shelf", 120_000, matched=sqrt(600)),
)


def test_the_figure_names_treatments_axes_target_and_heights():
    chart = light_over_height(
        LINES, "Mean light (PPFD) (µmol/m²/s)", 200.0, "Target: 200 µmol/m²/s"
    )
    assert_readable(chart, [one.name for one in LINES])
    assert "Height (cm)" in axis_titles(chart)
    text = words(drawn(chart))
    assert {"30 cm", "24.5 cm"} <= set(text.split("\n"))
    assert "Target: 200 µmol/m²/s" in " ".join(text.split())


def test_the_figure_shows_what_was_measured_and_nothing_beyond():
    chart = light_over_height(LINES, "light", 200.0, "Target")
    assert [row["height"] for row in records(chart, "measured")] == [20, 30, 45, 20, 30, 45]
    drawn_heights = [row["height"] for row in records(chart, "courses")]
    assert (min(drawn_heights), max(drawn_heights)) == (20, 45)
    band = records(chart, "band Cool white")
    assert all(row["low"] < row["light"] < row["high"] for row in band)


def test_treatments_of_the_figure_differ_without_colour():
    coloured = [unit["encoding"] for unit in units(light_over_height(LINES, "light", None, ""))]
    shapes = next(one["shape"]["scale"]["range"] for one in coloured if "shape" in one)
    dashes = next(one["strokeDash"]["scale"]["range"] for one in coloured if "strokeDash" in one)
    assert len({str(shape) for shape in shapes}) == len({str(dash) for dash in dashes}) == 2


def test_a_treatment_of_one_height_is_a_point():
    single = line("Cool white", 180_000, (30,), None)
    assert_readable(light_over_height((single,), "light", 200.0, "Target"), ["Cool white"])


# ---- whatever was read ---------------------------------------------------------------------------

HEIGHTS = st.sampled_from([None, 0.0, 0.04, 10.0, 10.02, 10.2, 25.0, 1e5])
LEVELS = st.sampled_from([0.0, 1e-4, 3.0, 200.0, 200.0, 1e4])
READINGS = st.builds(
    LightReading,
    treatment=st.sampled_from(["a", "b"]),
    ppfd=LEVELS,
    x=st.sampled_from([None, 0.0, 10.0]),
    y=st.sampled_from([None, 0.0]),
    height=HEIGHTS,
)
HOURS = st.sampled_from([None, 0.0, 12.0, 24.0])
TREATMENTS = st.tuples(
    *(
        st.builds(
            Treatment, st.just(code), st.just("Name"), photoperiod=HOURS, light_height=HEIGHTS
        )
        for code in "ab"
    )
)
TARGETS = st.builds(
    LightTarget, st.sampled_from(["ppfd", "dli"]), st.sampled_from([None, 0.1, 12.0, 200.0])
)


@settings(max_examples=150, deadline=None)
@given(
    st.lists(READINGS, min_size=1, max_size=12),
    TREATMENTS,
    TARGETS,
    st.sampled_from([0.5, 0.95, 0.999]),
)
def test_whatever_was_read_gives_a_plan_within_it(readings, treatments, target, level):
    survey = LightSurvey(
        treatments, tuple(readings), (Instrument("sensor", "light", accuracy=5.0),)
    )
    match = match_light(survey, target, level)
    assert "nan" not in light_planning.text(survey, match, level).split()
    for light in match.treatments:
        if light.matched:
            heights = [
                one.height
                for one in readings
                if one.treatment == light.code and one.height is not None
            ]
            between, absolute = light.matched.between, light.matched.absolute
            assert min(heights) - 0.05 <= light.matched.height <= max(heights) + 0.05
            assert between.low is None or between.low <= light.matched.height * (1 + 1e-9)
            assert between.high is None or between.high >= light.matched.height * (1 - 1e-9)
            assert between.low is not None or absolute.low is None
