"""The door for scripts and notebooks: its values are those of the report, its errors say what there
is.
"""

import csv
import json
import pickle
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

import reportgen as rg
from reportgen.charts.theme import INK_ON_LIGHT
from reportgen.door.trial import Trial
from reportgen.model.settings import DEFAULTS
from reportgen.render import data
from reportgen.report.results_file import results_json
from tests.pots import LETTUCE, write_pots
from tests.scored import scored_trial
from tests.test_layers import HEAVY
from tests.test_metrics_published import LETTUCE_FIGURES
from tests.workbooks import good, put, write

SAMPLES = sorted((Path(__file__).parents[1] / "sample_workbook").glob("*.xlsx"))
SHOWN = ("title", "layer", "mark", "encoding", "width", "height", "resolve", "hconcat", "vconcat")
PAK_CHOI = next(path for path in SAMPLES if path.stem.startswith("pak-choi"))


@pytest.fixture(scope="module", params=SAMPLES, ids=lambda path: path.stem)
def sample(request):
    trial = rg.read(request.param)
    return trial, rg.analyse(trial)


@pytest.fixture(scope="module")
def pak_choi():
    trial = rg.read(PAK_CHOI)
    return trial, rg.analyse(trial)


def file_of(trial, results):
    return json.loads(results_json(trial.model, results.model))


def test_importing_loads_nothing_heavy_and_offers_every_name():
    program = (
        "import sys, reportgen as rg;"
        f"print([name for name in (*{HEAVY!r}, 'click') if name in sys.modules],"
        "all(hasattr(rg, name) for name in (*rg.__all__, 'Trial', 'Results', 'Measure')))"
    )
    command = [sys.executable, "-c", program]
    shown = subprocess.run(command, capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[] True"


def test_a_name_that_is_not_there_is_an_attribute_error():
    assert not hasattr(rg, "analyze_everything")


# ---- values --------------------------------------------------------------------------------------


def test_every_estimate_and_comparison_is_that_of_the_results_file(sample):
    trial, results = sample
    file = file_of(trial, results)
    assert list(results) == list(dict.fromkeys(one["metric"] for one in file["estimates"]))
    for one in file["estimates"]:
        measure = results[one["metric"]]
        found = measure[one["treatment"]]
        assert (found.value, found.low, found.high, found.n, measure.unit) == (
            one["value"],
            one["low"],
            one["high"],
            one["n"],
            one["unit"],
        )
    for one in file["comparisons"]:
        compared = results[one["metric"]].comparisons[one["treatment"]]
        assert (compared.ratio, compared.ratio_low, compared.p_value) == (
            one["ratio"],
            one["ratio_low"],
            one["p_value"],
        )
    for one in file["verdicts"]:
        if one["metric"] in results:
            assert results[one["metric"]].verdicts[one["treatment"]].code == one["code"]


@pytest.mark.parametrize("treatment", LETTUCE_FIGURES)
def test_a_ratio_through_the_door_is_that_of_r(tmp_path, treatment):
    # R 4.2.2 on lettuce_compost.txt, as said above LETTUCE_FIGURES.
    trial = rg.read(write_pots(tmp_path / "lettuce.xlsx", LETTUCE))
    frame = rg.analyse(trial).frame("comparisons").set_index(["metric", "treatment"])
    names = ["ratio", "single_low", "single_high", "degrees_of_freedom", "p_value"]
    found = frame.loc[("fresh_weight", treatment), names]
    assert list(found) == pytest.approx(LETTUCE_FIGURES[treatment]["ratio"], rel=1e-8)


def test_means_of_recorded_plants_are_the_estimates(pak_choi):
    # The arithmetic of the definition, by pandas: the mean over trays of the mean over plants.
    trial, results = pak_choi
    plants = trial.frame("Plants").merge(trial.frame("Trays"), on="Tray")
    by_tray = plants.groupby(["Treatment", "Tray"])["Fresh weight (g)"].mean()
    for treatment, mean in by_tray.groupby("Treatment").mean().items():
        assert results["fresh_weight"][treatment].value == pytest.approx(mean, rel=1e-12)


# ---- tables --------------------------------------------------------------------------------------


def rows_of(file, name):
    """Return the entries of a list of a results file, by the names that lead to it."""
    entries = [file]
    for key in name.split("."):
        inner = []
        for entry in entries:
            value = entry[key]
            inner += value if isinstance(value, list) else [value]
        entries = inner
    return entries


def test_every_list_of_the_results_file_is_a_table_with_its_numbers(sample):
    trial, results = sample
    file = file_of(trial, results)
    lists = [name for name, value in file.items() if isinstance(value, list)]
    assert set(lists) <= set(results.frames)
    assert {"growth.days", "scores.trays", "effects.levels", "harvests.days"} <= set(results.frames)
    for name in results.frames:
        frame, entries = results.frame(name), rows_of(file, name)
        assert len(frame) == len(entries), name
        for key in set(frame.columns) & set(entries[0] if entries else ()):
            numbers = [entry[key] for entry in entries]
            if all(isinstance(one, int | float | None) for one in numbers):
                expected = pd.Series(numbers, dtype="float64")
                found = frame[key].astype("float64")
                pd.testing.assert_series_equal(found, expected, check_names=False)


def test_rows_within_an_entry_say_to_which_they_belong(pak_choi):
    trial, results = pak_choi
    days = results.frame("growth.days")
    assert list(days.columns[:4]) == ["trait", "metric", "treatment", "unit"]
    file = file_of(trial, results)
    for entry in file["growth"]:
        own = days[(days["trait"] == entry["trait"]) & (days["treatment"] == entry["treatment"])]
        assert list(own["on"]) == [day["on"] for day in entry["days"]]


def test_notes_are_codes_and_numbers_that_are_not_known_are_missing(pak_choi):
    _, results = pak_choi
    estimates = results.frame("estimates")
    assert estimates["value"].dtype == "float64"
    codes = {code for notes in estimates["notes"] for code in notes}
    assert codes
    assert all(isinstance(code, str) and " " not in code for code in codes)
    empty = results.frame("scores")
    assert (len(empty), list(empty.columns)) == (0, ["metric", "label", "classes", "cut"])


def test_every_sheet_is_a_table_as_in_the_file_of_recorded_data(sample):
    trial, results = sample
    files = data.render(results.report, {})
    for table in trial.model.data:
        frame = trial.frame(table.name)
        text = files[f"{trial.model.slug}/data/{table.file_name}"].decode()
        header, *rows = csv.reader(text.splitlines(keepends=True))
        assert list(frame.columns) == header
        assert len(frame) == len(rows)
        for number, column in enumerate(table.columns):
            cells = [row[number] for row in rows]
            assert list(frame[header[number]].isna()) == [cell == "" for cell in cells]
            if column.type == "number":
                expected = [float(cell) for cell in cells if cell]
                assert list(frame[header[number]].dropna()) == expected
            if column.type in ("date", "datetime"):
                expected = pd.to_datetime(pd.Series([cell or None for cell in cells]))
                assert list(frame[header[number]].dropna()) == list(expected.dropna())


def test_the_summary_is_the_answer_box(sample):
    _, results = sample
    changes = [one for row in results.report.box.rows for one in row.changes]
    summary = results.summary()
    assert list(summary["change"]) == [one.change for one in changes]
    assert list(summary["verdict"]) == [one.verdict for one in changes]


def test_an_unfinished_trial_has_estimates_and_a_summary_of_them(tmp_path):
    sheets = good()
    sheets["Trial"] = [
        [*row[:1], None] if row[0] == "Harvested on" else row for row in sheets["Trial"]
    ]
    results = rg.analyse(rg.read(write(sheets, tmp_path / "interim.xlsx")))
    assert results.trial.model.interim
    assert results.frame("comparisons").empty
    assert set(results.summary()["metric"]) == {results.main_measure}
    assert "<table" in results._repr_html_()


# ---- what is shown -------------------------------------------------------------------------------


def test_what_is_shown_is_short_and_no_name_is_taken_for_markup(tmp_path):
    sheets = put(good(), Trial_B2="Beds <b>& pots</b>")
    trial = rg.read(write(sheets, tmp_path / "names.xlsx"))
    results = rg.analyse(trial)
    for value in (trial, results, results[results.main_measure]):
        assert len(repr(value)) < 160
        assert "\n" not in repr(value)
    shown = trial._repr_html_()
    assert "Beds &lt;b&gt;&amp; pots&lt;/b&gt;" in shown
    assert "<b>" not in shown + results._repr_html_()


def test_every_figure_of_the_report_is_named_and_its_chart_draws_the_same(pak_choi):
    trial, results = pak_choi
    named = rg.figures(trial, results)
    assert "changes" in named
    assert all(named.values())
    drawn = {
        block.key: block
        for section in results.report.all_sections
        for outer in section.blocks
        for block in getattr(outer, "blocks", (outer,))
        if hasattr(block, "spec")
    }
    assert set(named) == set(drawn)
    for key, figure in list(drawn.items())[::4]:  # each takes altair half a second
        chart = rg.figure(trial, results, key)
        found = chart.to_dict()
        assert "currentColor" not in json.dumps(found)
        expected = json.loads(figure.spec.replace("currentColor", INK_ON_LIGHT))
        assert shown(found) == shown(expected)
        for part, values in expected["config"].items():
            own = found["config"][part]
            assert own == values or values.items() <= own.items(), part


def shown(specification):
    """Return what a drawing shows: all but its style, its rows of data in place of their names."""
    rows = specification.get("datasets", {})
    parts = {key: value for key, value in specification.items() if key in SHOWN}
    data = specification.get("data", {})
    return {**parts, "data": rows.get(data.get("name"), data.get("values"))}


# ---- errors --------------------------------------------------------------------------------------


def test_a_key_that_is_not_there_names_those_that_are(pak_choi):
    trial, results = pak_choi
    for wrong, known in (
        (lambda: results["fresh_wieght"], "Perhaps 'fresh_weight'"),
        (lambda: results["fresh_weight"]["hot"], "'plain', 'warm'"),
        (lambda: results.frame("estimate"), "Perhaps 'estimates'"),
        (lambda: trial.frame("Plant"), "Perhaps 'Plants'"),
        (lambda: rg.figure(trial, results, "change"), "Perhaps 'changes'"),
    ):
        with pytest.raises(KeyError) as raised:
            wrong()
        assert known in str(raised.value)
    assert results.get("fresh_wieght") is None
    assert "fresh_wieght" not in results


def test_a_score_has_tables_and_says_where_they_are():
    results = rg.analyse(Trial(scored_trial(), DEFAULTS))
    with pytest.raises(KeyError, match=r"scores\.treatments"):
        results["tip_burn"]
    classes = results.frame("scores.treatments").set_index("treatment")
    assert classes.loc["still", "counts"] == (0, 1, 2, 7, 8, 2)  # counted by hand in FIVE
    assert list(classes.loc["still", "shares"]) == [0, 0.05, 0.1, 0.35, 0.4, 0.1]
    # All five medians lie above the other five: exactly 2 of the choose(10, 5) = 252 orders do so.
    (p_value,) = results.frame("scores.comparisons")["p_value"]
    assert p_value == pytest.approx(2 / 252)


def test_results_of_another_trial_are_refused(pak_choi, tmp_path):
    _, results = pak_choi
    other = rg.read(write(good(), tmp_path / "other.xlsx"))
    for asked in (rg.figures, lambda *both: rg.figure(*both, "changes")):
        with pytest.raises(ValueError, match=r"rg\.analyse\(trial\)"):
            asked(other, results)


def test_errors_of_a_workbook_are_raised_by_read_and_returned_by_check(tmp_path):
    sheets = good()
    sheets["Plants"][1][2] = "12O"
    wrong = write(sheets, tmp_path / "wrong.xlsx")
    with pytest.raises(rg.WorkbookError) as raised:
        rg.read(wrong)
    assert [one.code for one in raised.value.problems] == ["not_a_number"]
    found = rg.check(wrong)
    assert [one.code for one in found if one.severity == "error"] == ["not_a_number"]
    assert all(isinstance(one, rg.Problem) for one in found)
    (missing,) = rg.check(tmp_path / "none.xlsx")
    assert missing.severity == "error"


# ---- building and settings -----------------------------------------------------------------------


def test_build_writes_what_is_right_and_raises_what_is_wrong(tmp_path):
    right = write(good(), tmp_path / "right.xlsx")
    sheets = good()
    sheets["Plants"][1][2] = "12O"
    wrong = write(sheets, tmp_path / "wrong.xlsx")
    site = tmp_path / "site"
    with pytest.raises(rg.WorkbookError) as raised:
        rg.build([wrong, right], site, pdf=False)
    assert [one.code for one in raised.value.problems] == ["not_a_number"]
    assert raised.value.__notes__ == ["Not built: wrong.xlsx"]
    page = site / "right/index.html"
    before = page.stat().st_mtime_ns
    assert rg.build(str(right), site, pdf=False) == [page]
    assert page.stat().st_mtime_ns == before  # nothing has changed


def test_the_settings_beside_a_workbook_count_as_for_the_command(tmp_path):
    book = write(good(), tmp_path / "right.xlsx")
    (tmp_path / "reportgen.toml").write_text('language = "es"\n', encoding="utf-8")
    assert rg.read(book).model.about.language == "es"
    own = tmp_path / "own.toml"
    own.write_text('language = "en"\n', encoding="utf-8")
    assert rg.read(book, settings=own).model.about.language == "en"
    own.write_text("colour = 1\n", encoding="utf-8")
    for asked in (rg.read, rg.check):
        with pytest.raises(rg.WorkbookError, match="colour"):
            asked(book, own)


def test_views_are_frozen_and_go_from_one_process_to_another(pak_choi):
    trial, results = pak_choi
    with pytest.raises(AttributeError):
        trial.model = None
    again = pickle.loads(pickle.dumps(replace(results)))
    assert again["fresh_weight"]["warm"] == results["fresh_weight"]["warm"]
