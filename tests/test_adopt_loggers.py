"""Exports of loggers and meters beside a trial workbook: their layout is learnt once, their rows
count as its own.
"""

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from reportgen import pipeline
from reportgen.cli import main
from reportgen.importing import checking
from reportgen.importing.adopting import take_in
from reportgen.model.problem import Severity, WorkbookError
from reportgen.workbook.vocabulary import vocabularies, vocabulary
from tests.translating import translated
from tests.workbooks import good, put, write

START = datetime(2026, 4, 1)
HARVEST = datetime(2026, 5, 6)
US = "%m/%d/%Y %I:%M:%S %p"
GERMAN = "%d.%m.%Y %H:%M"
ISO = "%Y-%m-%d %H:%M"
WHOLE = "whole trial"
HALF_ON = {"[meter.csv]meter.treatment.A": "half", "[meter.csv]meter.treatment.B": "full"}
EVERYWHERE = {"[logger.csv]logger.treatment": WHOLE}


def moments(count: int, hours: int = 6, start: datetime = START) -> list[datetime]:
    """Return moments some hours apart."""
    return [start + timedelta(hours=hours * n) for n in range(count)]


def warmth(n: int) -> float:
    """Return a temperature in °C that changes from reading to reading."""
    return round(19 + n % 7 * 0.6, 1)


def logger(
    folder: Path, form: str = ISO, count: int = 141, comma: bool = False, name: str = "logger.csv"
) -> Path:
    """Write what a logger of temperature and humidity exports."""
    sign = ";" if comma else ","
    lines = [sign.join(("Time", "Temperature (°C)", "Humidity (%)"))]
    for n, moment in enumerate(moments(count)):
        cells = [moment.strftime(form), str(warmth(n)), str(60 + n % 5)]
        lines.append(
            sign.join(
                cell.replace(".", ",") if comma and at else cell for at, cell in enumerate(cells)
            )
        )
    path = folder / name
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


def meter(folder: Path, count: int = 36, first: int = 100) -> Path:
    """Write what two meters showed each morning; A counts 2 kWh a day, B 3 kWh."""
    lines = ["Date;Meter;Reading (kWh)"]
    for n, moment in enumerate(moments(count, 24, START + timedelta(hours=9))):
        for name, a_day in (("A", 2), ("B", 3)):
            lines.append(f"{moment.strftime(GERMAN)};{name};{first + a_day * n},5")
    path = folder / "meter.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


def book(folder: Path, without: str = "Meter", **cells: object) -> Path:
    """Write a trial workbook, without one of its sheets."""
    sheets = put(good(), **cells) if cells else good()
    return write(
        {name: rows for name, rows in sheets.items() if name != without}, folder / "trial.xlsx"
    )


def adopt(*paths: Path, **answers: str):
    """Take in files with answers by question key; return what is understood."""
    return take_in(paths, answers).state


def keys(state) -> list[str]:
    """Return the keys of the open questions."""
    return [question.key for question in state.questions]


def trial(path: Path):
    """Return the trial of a workbook and of the files beside it."""
    return checking.check(checking.read_adopted(path))


def codes(path: Path) -> list[str]:
    """Return the codes of all problems that `check` finds."""
    return [problem.code for problem in pipeline.check(path).problems]


def air(path: Path) -> dict[str | None, dict[datetime, float]]:
    """Return the air temperature in °C by treatment and moment; treatment None where all share the
    air.
    """
    log = trial(path).climate
    read: dict[str | None, dict[datetime, float]] = {}
    rows = zip(log.treatments, log.at.tolist(), log.air_temperature.tolist(), strict=True)
    for treatment, moment, value in rows:
        read.setdefault(treatment, {})[moment] = value
    return read


def as_written(count: int = 141) -> dict[datetime, float]:
    """Return what `logger` writes."""
    return {moment: warmth(n) for n, moment in enumerate(moments(count))}


# ---- a logger and a meter ------------------------------------------------------------------------


def test_rows_of_a_logger_and_of_meters_count_as_rows_of_the_workbook(tmp_path):
    workbook = book(tmp_path)
    state = adopt(workbook, logger(tmp_path), meter(tmp_path), **HALF_ON, **EVERYWHERE)
    assert keys(state) == []
    assert (tmp_path / "trial.adopt.toml").is_file()
    assert air(workbook) == {None: as_written()}
    counters = {}
    for reading in trial(workbook).meter:
        counters.setdefault((reading.meter, reading.treatment), []).append(reading.reading)
    used = {name: (len(own), own[-1] - own[0]) for name, own in counters.items()}
    assert used == {("A", "half"): (36, 70), ("B", "full"): (36, 105)}


@pytest.mark.parametrize(
    ("form", "comma"), [(US, False), (GERMAN, True), (ISO, False)], ids=["US", "German", "ISO"]
)
def test_times_of_the_united_states_and_of_europe_are_the_same_moments(tmp_path, form, comma):
    workbook = book(tmp_path)
    adopt(workbook, logger(tmp_path, form, comma=comma), **EVERYWHERE)
    assert air(workbook) == {None: as_written()}


def test_days_and_times_of_day_may_stand_in_two_columns(tmp_path):
    workbook = book(tmp_path)
    lines = ["Serial number: 4711", "", "Date,Time,Temperature (°C)"]
    lines += [
        f"{moment:%m/%d/%Y},{moment:%I:%M %p},{warmth(n)}" for n, moment in enumerate(moments(141))
    ]
    path = tmp_path / "logger.csv"
    path.write_text("\n".join(lines), "utf-8")
    state = adopt(workbook, path, **EVERYWHERE)
    assert keys(state) == []
    assert air(workbook) == {None: as_written()}


def test_degrees_fahrenheit_become_the_unit_of_the_workbook_s_own_column(tmp_path):
    sheets = good() | {
        "Climate": [["Treatment", "Read at", "Air temperature (°F)"], ["all", START, 68.0]]
    }
    workbook = write(sheets, tmp_path / "trial.xlsx")
    rows = [
        f"{moment:{ISO}},{warmth(n)}"
        for n, moment in enumerate(moments(140, start=START + timedelta(hours=3)))
    ]
    (tmp_path / "logger.csv").write_text("\n".join(["Time,Temperature (°C)", *rows]), "utf-8")
    adopt(workbook, tmp_path / "logger.csv", **EVERYWHERE)
    read = air(workbook)[None]
    assert len(read) == 141
    assert read[START] == pytest.approx(20.0)
    assert read[START + timedelta(hours=9)] == pytest.approx(warmth(1))


def test_water_and_light_are_added_too(tmp_path):
    sheets = {name: rows for name, rows in good().items() if name != "Solution"}
    workbook = write(sheets, tmp_path / "trial.xlsx")
    lines = ["Date;Tray;Event;Volume (L);pH"]
    for tray in ("A1", "A2", "A3", "B1", "B2", "B3"):
        for day, event, volume in (("01.04.2026", "fill", "5,0"), ("20.04.2026", "top-up", "1,5")):
            lines.append(f"{day};{tray};{event};{volume};5,9")
        lines.append(f"06.05.2026;{tray};remaining;4,0;6,1")
    (tmp_path / "water.csv").write_text("\n".join(lines), "utf-8")
    light = ["Treatment,X (cm),Y (cm),PPFD (µmol/m2/s)"]
    light += [
        f"{code},{x},{y},{200 + x * 7 % 13 + y}"
        for code in ("half", "full")
        for x in (10, 20, 30)
        for y in (5, 9)
    ]
    (tmp_path / "light.csv").write_text("\n".join(light), "utf-8")
    state = adopt(workbook, tmp_path / "water.csv", tmp_path / "light.csv")
    assert keys(state) == []
    read = trial(workbook)
    budget = [(one.kind, one.volume) for one in read.solution if one.tray == "B2"]
    assert budget == [("fill", 5.0), ("top-up", 1.5), ("remaining", 4.0)]
    assert [one.ppfd for one in read.light if one.treatment == "full"][:2] == [210.0, 214.0]


# ---- what is asked -------------------------------------------------------------------------------


def test_the_order_of_day_and_month_is_asked_once(tmp_path):
    workbook = book(tmp_path)
    few = logger(
        tmp_path, "%m/%d/%Y %H:%M", count=30
    )  # to 8 April: each date may be read in two ways
    question = "convention.[logger.csv]logger.day_first"
    first = adopt(workbook, few, **EVERYWHERE)
    assert keys(first) == [question]
    assert (
        first.questions[0].default == "month first"
    )  # the only order in which they lie within the trial
    assert keys(adopt(workbook, few, **EVERYWHERE, **{question: "month first"})) == []
    assert air(workbook) == {None: as_written(30)}
    logger(tmp_path, "%m/%d/%Y %H:%M", count=40)
    assert keys(adopt(workbook, few)) == []
    assert air(workbook) == {None: as_written(40)}


def test_only_what_the_files_leave_open_is_asked(tmp_path):
    workbook = book(tmp_path)
    state = adopt(workbook, logger(tmp_path), meter(tmp_path))
    assert sorted(keys(state)) == sorted([*EVERYWHERE, *HALF_ON])
    choices = [choice.answer for choice in state.questions[0].choices]
    assert choices == ["half", "full", WHOLE, "no part of the trial"]


def test_codes_names_and_meters_of_the_workbook_need_no_question(tmp_path):
    workbook = book(
        tmp_path, without="", Treatments_B2="Half strength", Treatments_B3="Full strength"
    )
    lines = ["Time,Room,Temperature (°C)"]
    for n, moment in enumerate(moments(141)):
        lines += [
            f"{moment:{ISO}},half strength,{warmth(n)}",
            f"{moment:{ISO}},FULL,{warmth(n + 1)}",
        ]
    (tmp_path / "logger.csv").write_text("\n".join(lines), "utf-8")
    days = moments(6, 24, datetime(2026, 4, 21, 9))
    power = [f"{day:{ISO}},m-half,{106.75 + n / 4}" for n, day in enumerate(days)]
    (tmp_path / "meter.csv").write_text("\n".join(["Time,Meter,Reading (kWh)", *power]), "utf-8")
    assert keys(adopt(workbook, tmp_path / "logger.csv", tmp_path / "meter.csv")) == []
    assert {treatment: read[START] for treatment, read in air(workbook).items()} == {
        "half": 19.0,
        "full": 19.6,
    }
    assert [one.treatment for one in trial(workbook).meter if one.meter == "m-half"] == ["half"] * 9


def test_columns_headed_by_treatments_are_of_these(tmp_path):
    workbook = book(tmp_path)
    lines = ["Time,Temp half (°C),Temp full (°C)"]
    lines += [
        f"{moment:{ISO}},{warmth(n)},{warmth(n + 2)}" for n, moment in enumerate(moments(141))
    ]
    (tmp_path / "logger.csv").write_text("\n".join(lines), "utf-8")
    assert keys(adopt(workbook, tmp_path / "logger.csv")) == []
    assert {treatment: read[START] for treatment, read in air(workbook).items()} == {
        "half": 19.0,
        "full": 20.2,
    }


def test_a_sensor_that_is_no_part_of_the_trial_is_left_out(tmp_path):
    workbook = book(tmp_path)
    lines = ["Time,Sensor,Temperature (°C)"]
    for n, moment in enumerate(moments(141)):
        lines += [f"{moment:{ISO}},S{sensor},{warmth(n + sensor)}" for sensor in (1, 2, 3)]
    (tmp_path / "logger.csv").write_text("\n".join(lines), "utf-8")
    answers = {"1": "half", "2": "full", "3": "no part of the trial"}
    said = {f"[logger.csv]logger.treatment.S{sensor}": answer for sensor, answer in answers.items()}
    state = adopt(workbook, tmp_path / "logger.csv", **said)
    assert keys(state) == []
    read = air(workbook)
    assert {treatment: own[START] for treatment, own in read.items()} == {
        "half": warmth(1),
        "full": warmth(2),
    }


def test_the_treatment_in_the_name_of_a_file_is_proposed(tmp_path):
    workbook = book(tmp_path)
    state = adopt(workbook, logger(tmp_path, name="logger full.csv"))
    assert [question.default for question in state.questions] == ["full"]


# ---- next week -----------------------------------------------------------------------------------


def test_a_longer_export_under_the_same_name_is_just_read(tmp_path):
    workbook = book(tmp_path)
    adopt(workbook, logger(tmp_path, count=100), meter(tmp_path, count=30), **HALF_ON, **EVERYWHERE)
    settings = (tmp_path / "trial.adopt.toml").read_text("utf-8")
    logger(tmp_path, count=141)
    meter(tmp_path)
    assert codes(workbook) == []
    assert air(workbook) == {None: as_written()}
    assert (tmp_path / "trial.adopt.toml").read_text("utf-8") == settings


def test_a_further_file_is_added_to_those_that_are_known(tmp_path):
    workbook = book(tmp_path)
    adopt(workbook, logger(tmp_path), **EVERYWHERE)
    state = adopt(workbook, meter(tmp_path), **HALF_ON)
    assert state.settings.files == ("logger.csv", "meter.csv")
    assert keys(state) == []
    assert air(workbook) == {None: as_written()}
    assert {one.meter for one in trial(workbook).meter} == {"A", "B"}


def test_an_export_that_lacks_a_column_now_is_told_with_its_file(tmp_path):
    workbook = book(tmp_path)
    path = logger(tmp_path)
    adopt(workbook, path, **EVERYWHERE)
    path.write_text(path.read_text("utf-8").replace("Humidity (%)", "Dew point (°C)"), "utf-8")
    found = [
        problem
        for problem in pipeline.check(workbook).problems
        if problem.severity is Severity.ERROR
    ]
    assert found
    assert all("logger.csv" in str(problem) for problem in found)


def test_an_export_that_is_gone_is_told(tmp_path):
    workbook = book(tmp_path)
    path = logger(tmp_path)
    adopt(workbook, path, **EVERYWHERE)
    path.unlink()
    assert "missing_file" in codes(workbook)


# ---- the workbook's own rows ---------------------------------------------------------------------


def test_rows_that_stand_in_the_workbook_too_count_once_and_are_told_once(tmp_path):
    own = [["all", moment, warmth(n)] for n, moment in enumerate(moments(20))]
    sheets = good() | {"Climate": [["Treatment", "Read at", "Air temperature (°C)"], *own]}
    workbook = write(sheets, tmp_path / "trial.xlsx")
    adopt(workbook, logger(tmp_path), **EVERYWHERE)
    assert len(trial(workbook).climate.at) == 141
    told = [
        problem
        for problem in pipeline.check(workbook).problems
        if problem.code == "rows_in_workbook_too"
    ]
    assert [(problem.sheet, problem.cell) for problem in told] == [("[logger.csv]logger", "2:21")]
    assert "20 rows from row 2 to row 21 stand in the sheet Climate, too" in told[0].found


def test_readings_from_outside_the_trial_are_left_out_and_told(tmp_path):
    workbook = book(tmp_path)
    lines = ["Time,Temperature (°C)"]
    lines += [
        f"{moment:{ISO}},{warmth(n)}"
        for n, moment in enumerate(moments(200, start=START - timedelta(days=4)))
    ]
    (tmp_path / "logger.csv").write_text("\n".join(lines), "utf-8")
    adopt(workbook, tmp_path / "logger.csv", **EVERYWHERE)
    read = air(workbook)[None]
    assert min(read) == START
    assert max(read) < HARVEST + timedelta(days=1)
    assert "span_not_covered" in codes(workbook)


def test_a_wrong_value_is_told_at_its_line_of_the_export(tmp_path):
    workbook = book(tmp_path)
    path = logger(tmp_path)
    adopt(workbook, path, **EVERYWHERE)
    lines = path.read_text("utf-8").splitlines()
    lines[9] = lines[9].replace(f",{warmth(8)},", ",123,")
    path.write_text("\n".join(lines), "utf-8")
    places = [(problem.sheet, problem.cell) for problem in pipeline.check(workbook).problems]
    assert ("[logger.csv]logger", "B10") in places


def test_a_wrong_value_in_the_workbook_is_told_at_its_own_cell(tmp_path):
    workbook = book(tmp_path, Plants_C7="12O")
    adopt(workbook, logger(tmp_path), **EVERYWHERE)
    found = [
        problem
        for problem in pipeline.check(workbook).problems
        if problem.severity is Severity.ERROR
    ]
    assert [(problem.sheet, problem.cell) for problem in found] == [("Plants", "C7")]
    with pytest.raises(WorkbookError):
        trial(workbook)


@pytest.mark.parametrize("words", vocabularies()[1:], ids=lambda words: words.tag)
def test_a_workbook_in_any_language_takes_the_rows(tmp_path, words):
    own = [["all", moment, warmth(n)] for n, moment in enumerate(moments(20))]
    sheets = good() | {"Climate": [["Treatment", "Read at", "Air temperature (°C)"], *own]}
    workbook = write(translated(sheets, words), tmp_path / "trial.xlsx")
    state = adopt(workbook, logger(tmp_path), **EVERYWHERE)
    assert keys(state) == []
    assert air(workbook) == {None: as_written()}
    told = [
        problem
        for problem in pipeline.check(workbook).problems
        if problem.code == "rows_in_workbook_too"
    ]
    assert [problem.cell for problem in told] == ["2:21"]


def test_a_sheet_that_the_workbook_lacks_is_named_in_its_language(tmp_path):
    words = vocabulary("de")
    sheets = {name: rows for name, rows in good().items() if name != "Meter"}
    workbook = write(translated(sheets, words), tmp_path / "trial.xlsx")
    adopt(workbook, meter(tmp_path), **HALF_ON)
    named = [raw.name for raw in checking.read_adopted(workbook).workbook.sheets]
    assert named[-1] == words.sheet_name("Meter")
    assert {one.meter for one in trial(workbook).meter} == {"A", "B"}


# ---- the commands --------------------------------------------------------------------------------


def test_check_says_what_was_read_and_what_to_record_next(tmp_path):
    unfinished = put(good(), Trial_B6=None)
    workbook = write(
        {name: rows for name, rows in unfinished.items() if name != "Meter"},
        tmp_path / "trial.xlsx",
    )
    adopt(workbook, logger(tmp_path), **EVERYWHERE)
    shown = CliRunner().invoke(main, ["check", str(workbook)]).output
    assert "Air temperature" in shown
    assert "Next to record:" in shown


def test_a_folder_takes_an_export_for_no_log_of_its_own(tmp_path):
    workbook = book(tmp_path)
    adopt(workbook, logger(tmp_path), **EVERYWHERE)
    assert pipeline.workbooks((tmp_path,)) == (workbook,)


@pytest.mark.usefixtures("made_once", "drawn_once")
def test_a_build_sees_that_an_export_has_changed(tmp_path):
    workbook = book(tmp_path)
    adopt(workbook, logger(tmp_path, count=100), **EVERYWHERE)
    plain = pipeline.BuildOptions(pdf=False, jobs=1)

    def built():
        (one,) = pipeline.build((workbook,), tmp_path / "site", options=plain)
        return one

    assert not built().unchanged
    assert built().unchanged
    logger(tmp_path, count=141)
    assert not built().unchanged
    assert built().unchanged


def test_a_workbook_that_lost_its_sheets_is_told(tmp_path):
    workbook = book(tmp_path)
    adopt(workbook, logger(tmp_path), **EVERYWHERE)
    write({"Notes": [["nothing"]]}, workbook)
    assert codes(workbook) == ["no_trial_workbook"]
