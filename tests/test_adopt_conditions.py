"""Water, energy and climate beside plants: amounts, counters, events, moments of loggers, whose
they are.
"""

from datetime import datetime, time, timedelta

import pytest

from reportgen import pipeline
from reportgen.importing.settings import settings_file
from reportgen.model.problem import WorkbookError
from tests.adopting import adopt, answering, asked, book, means, measured, understood

HEAD = ("Tray", "Treatment", "Plant", "Fresh weight (g)")
WEIGHTS = {"F1": (24.0, 26.0), "F2": (25.0, 27.0), "P1": (20.0, 22.0), "P2": (21.0, 23.0)}
ROWS = [
    (tray, "fed" if tray[0] == "F" else "plain", number, weight)
    for tray, weights in WEIGHTS.items()
    for number, weight in enumerate(weights, 1)
]
PLANTS = {"fed": (2, pytest.approx(25.5)), "plain": (2, pytest.approx(21.5))}
FIRST = datetime(2026, 1, 5)
DAYS = [FIRST + timedelta(14 * at) for at in range(4)]
EACH = "the numbers are: each"


def used(log, key):
    return {code: one.value for code, one in measured(pipeline.checked(log), key).estimates}


# --- water


def water(header, event=None):
    """Return four lines a tray: 2, 3, 4 and 5 litres, 14 in all."""
    head = ("Tray", "Date", header) if event is None else ("Tray", "Date", "What", header)
    lines = []
    for tray in WEIGHTS:
        for at, day in enumerate(DAYS):
            what = (event[at],) if event else ()
            lines.append((tray, day, *what, at + 2))
    return [head, *lines]


@pytest.mark.parametrize("header", ["Water (L)", "Wasser (L)", "Water used (L)"])
def test_what_the_numbers_of_a_column_of_water_count_is_asked(tmp_path, header):
    log = book(tmp_path, Log=[HEAD, *ROWS], Water=water(header))
    (question,) = asked(log)
    assert question.key == "Water.counts"
    assert question.choices[0].gives["water"]["fed"].mean == pytest.approx(14.0)
    adopt(log, talk=answering(counts=EACH))
    assert (
        sum(
            one.volume
            for one in pipeline.checked(log).solution
            if one.tray == "F1" and one.kind != "remaining"
        )
        == 14
    )


def test_an_event_that_no_word_tells_is_told_and_named_in_the_settings_file(tmp_path):
    log = book(
        tmp_path,
        Log=[HEAD, *ROWS],
        Water=water("Volume (L)", ("fill", "top-up", "eingegossen", "drain")),
    )
    adopt(log, talk=answering(event="event: What", counts=EACH))
    with pytest.raises(WorkbookError, match='Water, row 4: "eingegossen" is not one of the words'):
        pipeline.checked(log)
    settings = settings_file(log)
    told = 'event = "column:What"\nwords = { event = { eingegossen = "top-up" } }'
    settings.write_text(settings.read_text().replace('event = "column:What"', told))
    found = [(one.kind, one.volume) for one in pipeline.checked(log).solution if one.tray == "F1"]
    assert found[:4] == [("fill", 2), ("top-up", 3), ("top-up", 4), ("drain", 5)]


def test_litres_used_up_that_are_worked_out_from_the_columns_beside_them_are_not_added(tmp_path):
    head = ("Tray", "Date", "Filled (L)", "Topped up (L)", "Left over (L)", "Used (L)")
    log = book(
        tmp_path,
        Log=[HEAD, *ROWS],
        Water=[head, *((tray, DAYS[3], 4.0, 12.0, 2.0, 14.0) for tray in WEIGHTS)],
    )
    adopt(log, talk=answering(row="left out"))
    assert used(log, "water_use") == {"fed": pytest.approx(14), "plain": pytest.approx(14)}


def test_a_column_for_each_event_of_a_tray(tmp_path):
    lines = [("Date", "Tray", "Filled (L)", "Topped up (L)", "Left (L)", "EC (mS/cm)")]
    for number, volumes in enumerate(((20, None, None), (None, 4.5, None), (None, None, 3))):
        lines += [(DAYS[number], tray, *volumes, 1.6) for tray in WEIGHTS]
    log = book(tmp_path, Log=[HEAD, *ROWS], Water=lines)
    adopt(log, talk=answering())
    events = [
        (one.kind, one.volume, one.ec) for one in pipeline.checked(log).solution if one.tray == "F1"
    ]
    assert sorted(events) == [("fill", 20, 1.6), ("remaining", 3, 1.6), ("top-up", 4.5, 1.6)]


def test_readings_of_a_solution_alone_need_no_volume(tmp_path):
    lines = [(day, tray, 1.8, 5.9) for day in DAYS for tray in WEIGHTS]
    log = book(tmp_path, Log=[HEAD, *ROWS], Solution=[("Date", "Tray", "EC (mS/cm)", "pH"), *lines])
    adopt(log, talk=answering())
    assert not [one for one in pipeline.check(log).problems if "Volume" in one.found]
    assert means(log) == PLANTS


# --- energy


@pytest.mark.parametrize(
    "headers",
    [("fed (kWh)", "plain (kWh)"), ("fed (kWh/day)", "plain (kWh/day)"), ("kWh fed", "kWh plain")],
)
@pytest.mark.parametrize("rise", [0, 1 / 50])
def test_kilowatt_hours_of_each_day_are_added_up(tmp_path, headers, rise):
    days = [(FIRST + timedelta(at), 1.5 + at * rise, 2.0 + at * rise) for at in range(43)]
    log = book(tmp_path, Log=[HEAD, *ROWS], Power=[("Date", *headers), *days])
    adopt(log, talk=answering(counts=EACH))
    assert means(log) == PLANTS
    sums = (43 * (1.5 + 21 * rise), 43 * (2.0 + 21 * rise))
    readings = {}
    for one in pipeline.checked(log).meter:
        readings.setdefault(one.treatment, []).append(one.reading)
    assert {code: max(values) for code, values in readings.items()} == {
        "fed": pytest.approx(sums[0]),
        "plain": pytest.approx(sums[1]),
    }


def test_a_month_of_a_meter_and_of_a_climate_logger(tmp_path):
    power = [(FIRST + timedelta(at), 1200 + 2.5 * at, 800 + 2.0 * at) for at in range(43)]
    air = [(FIRST + timedelta(hours=at), 20 + at % 5 / 2, 60.0 + at % 7) for at in range(42 * 24)]
    log = book(
        tmp_path,
        Log=[HEAD, *ROWS],
        Power=[("Date", "Fed kWh", "Plain kWh"), *power],
        Logger=[("Logger 3",), (), ("Time", "Temp (°C)", "RH (% RH)"), *air],
    )
    adopt(log, talk=answering())
    made = pipeline.checked(log)
    assert {one.treatment for one in made.meter} == {"fed", "plain"}
    assert len(made.climate.at) == 42 * 24
    assert set(made.climate.treatments) == {None}


# --- climate


def test_a_day_that_stands_in_its_first_row_of_a_logger_holds_for_the_rows_below(tmp_path):
    lines = [("Date", "Time", "Temp (°C)", "RH (%)")]
    for day in range(5, 12):
        for at, hour in enumerate((0, 6, 12, 18)):
            lines.append(
                (
                    None if at else datetime(2026, 1, day),
                    time(hour),
                    20.0 + at / 2 + day / 10,
                    60.0 + at,
                )
            )
    log = book(tmp_path, Log=[HEAD, *ROWS], Climate=lines)
    assert set(understood((log,), {}).summary["air_temperature"]) == {""}
    adopt(log, talk=answering())
    climate = pipeline.checked(log).climate
    assert len(climate.at) == 28
    assert climate.at[1] == datetime(2026, 1, 5, 6)


@pytest.mark.parametrize(
    ("head", "line"),
    [
        ("Date Time\tTemp, °C", lambda at, value: f"{at:%m/%d/%Y %I:%M:%S %p}\t{value}"),
        ("Timestamp;Temp (°C)", lambda at, value: f"{at:%Y-%m-%dT%H:%M:%S.000Z};{value}"),
        ("Datum;Zeit;Temp (°C)", lambda at, value: f"{at:%d.%m.%Y};{at:%H:%M};{value},0"),
        ("Date,Time,Temp (°C)", lambda at, value: f"{at:%m/%d/%y},{at:%I:%M %p},{value}"),
    ],
)
def test_moments_of_loggers_keep_their_hours(tmp_path, head, line):
    lines = [line(FIRST + timedelta(hours=hour), 20 + hour % 5) for hour in range(35 * 24)]
    logger = tmp_path / "logger.txt"
    logger.write_text("\n".join(["Logger 12", "", head, *lines]) + "\n")
    log = book(tmp_path, Log=[HEAD, *ROWS])
    adopt(log, logger, talk=answering(order="month first"))
    air = pipeline.checked(log).climate
    assert [str(air.at[place]) for place in (0, 13, 839)] == [
        "2026-01-05T00:00:00",
        "2026-01-05T13:00:00",
        "2026-02-08T23:00:00",
    ]


def test_climate_of_each_treatment_headed_by_its_unit_alone_is_read(tmp_path):
    head = ("Date", "fed °C", "fed %", "plain °C", "plain %")
    lines = [(FIRST + timedelta(hours=3 * at), 21.0, 55.0, 23.0, 65.0 + at % 3) for at in range(60)]
    log = book(tmp_path, Log=[HEAD, *ROWS], Climate=[head, *lines])
    adopt(log, talk=answering())
    climate = pipeline.checked(log).climate
    of_plain = [at for at, code in enumerate(climate.treatments) if code == "plain"]
    assert {climate.air_temperature[at] for at in of_plain} == {23.0}


def test_probes_are_no_treatments(tmp_path):
    lines = [(FIRST + timedelta(hours=6 * at), 20 + at % 4, 24 + at % 4) for at in range(160)]
    log = book(
        tmp_path, Log=[HEAD, *ROWS], Climate=[("Date", "Probe 1 (°C)", "Probe 2 (°C)"), *lines]
    )
    adopt(log, talk=answering())
    assert set(pipeline.checked(log).climate.treatments) <= {None, "fed", "plain"}
    assert {one.code for one in pipeline.checked(log).treatments} == {"fed", "plain"}


@pytest.mark.parametrize("headers", [("T1", "T2"), ("Sonde 1", "Sonde 2")])
def test_a_log_of_the_climate_without_units_is_no_table_of_weights_without_a_word(
    tmp_path, headers
):
    lines = [(FIRST + timedelta(hours=6 * at), 20.1 + at % 4, 24.3 + at % 4) for at in range(160)]
    log = book(tmp_path, Log=[HEAD, *ROWS], Climate=[("Date", *headers), *lines])
    assert any(question.key.startswith("Climate.") for question in asked(log))
    adopt(log, talk=answering(**{f"Climate.quantity.{headers[0]}": "no part of the trial"}))
    assert means(log) == PLANTS
