"""Meters, loggers and water beside the plants: what is of the trial, whose it is, what came before
and after.
"""

from datetime import datetime, timedelta

import pytest

from reportgen import pipeline
from reportgen.metrics.energy import energy_of_treatments
from reportgen.metrics.totals import water_used
from reportgen.model.problem import Severity, WorkbookError
from tests.adopting import TRIAL, adopt, answering, book, trial

ROWS = [
    (f"T{tray}", kind, plant, 25.5 + 5 * (kind == "warm") + plant + tray / 10)
    for tray, kind in enumerate(("warm", "plain", "warm", "plain"), start=1)
    for plant in (1, 2, 3, 4)
]
HEAD = ("Tray", "Treatment", "Plant", "Fresh weight (g)")
RATES = (("warm", 14), ("plain", 7))  # kWh a week
START, END = datetime(2026, 1, 5), datetime(2026, 2, 16)  # 42 days
LOG = """
[[table]]
sheets = ["Log"]
header_rows = [1]
gives = "Plants"
treatment = "column:Treatment"
unit = "column:Tray"
plant = "column:Plant"
values = { "Fresh weight" = { columns = ["Fresh weight"], unit = "g" } }
"""
POWER = """
[[table]]
sheets = ["Power"]
header_rows = [1]
gives = "Meter"
treatment = "over:1"
occasion = "column:Date"
values = {{ Reading = {{ columns = ["warm", "plain"], unit = "kWh", counts = "{counts}" }} }}
"""
WATER = """
[[table]]
sheets = ["Water"]
header_rows = [1]
gives = "Solution"
unit = "column:Tray"
occasion = "column:Date"
event = "column:Event"
values = { Volume = { columns = ["Volume"], unit = "L" } }
"""
AIR = """
[[table]]
sheets = ["Air"]
header_rows = [1]
gives = "Climate"
occasion = "column:Time"
values."Air temperature" = { columns = ["Temp"], unit = "°C" }
values."Relative humidity" = { columns = ["RH"], unit = "%" }
"""


def days_from(first, last, step=1):
    return [START + timedelta(day) for day in range(first, last, step)]


def of_trial(tmp_path, settings, **sheets):
    return trial(book(tmp_path, Log=[HEAD, *ROWS], **sheets), LOG + settings + TRIAL)


def metered(tmp_path, rows, counts="counter"):
    head = ("Date", "warm (kWh)", "plain (kWh)")
    return of_trial(tmp_path, POWER.format(counts=counts), Power=[head, *rows])


def energy(made):
    """Return the energy of each treatment, kWh."""
    return {code: share.total for code, share in energy_of_treatments(made).items()}


def outside(made):
    return [one for one in made.findings if "before the trial" in one.found]


# --- readings from before the trial or after it


@pytest.mark.parametrize("first", [-28, -24, -1])
def test_what_a_counter_counted_before_and_after_the_trial_is_no_energy_of_it(tmp_path, first):
    rows = [
        (day, 100 + 2 * (day - START).days, 300 + (day - START).days)
        for day in days_from(first, 71, 7)
    ]
    made = metered(tmp_path, rows)
    assert energy(made) == {"warm": pytest.approx(84), "plain": pytest.approx(42)}
    assert {one.severity for one in outside(made)} == {Severity.CAUTION}


def test_a_counter_that_was_read_only_once_in_a_long_while_around_the_start_tells_no_energy(
    tmp_path,
):
    rows = [
        (day, 100 + 2 * (day - START).days, 300 + (day - START).days)
        for day in days_from(-20, 80, 40)
    ]
    made = metered(tmp_path, rows)
    assert {one.sheet for one in made.findings if "read once" in one.found} == {"Power"}


@pytest.mark.parametrize(("first", "days"), [(-20, 42), (0, 43), (1, 42)])
def test_amounts_of_days_that_begin_before_the_trial_or_on_its_first_day(tmp_path, first, days):
    rows = [(day, 2.0 + at % 2, 1.0) for at, day in enumerate(days_from(first, 43))]
    made = metered(tmp_path, rows, "each")
    assert energy(made) == {
        "warm": pytest.approx(2.5 * days, abs=0.5),
        "plain": pytest.approx(days),
    }
    assert bool(outside(made)) is (first < 0)


def test_amounts_of_weeks_whose_first_is_of_the_week_before_the_trial(tmp_path):
    made = metered(tmp_path, [(day, 14.0, 7.0) for day in days_from(0, 43, 7)], "each")
    assert energy(made) == {"warm": pytest.approx(84), "plain": pytest.approx(42)}


def test_the_air_before_and_after_the_trial_does_not_count(tmp_path):
    air = [(day, 20 if START <= day <= END else 8, 60) for day in days_from(-60, 90)]
    made = of_trial(tmp_path, AIR, Air=[("Time", "Temp (°C)", "RH (%)"), *air])
    assert set(made.climate.air_temperature) == {20.0}
    (found,) = outside(made)
    assert "107" in found.found


@pytest.mark.parametrize(
    "events",
    [
        [
            (-30, "fill", 10),
            (-10, "remaining", 2),
            (0, "fill", 10),
            (20, "top-up", 3),
            (42, "remaining", 4),
        ],
        [
            (-1, "fill", 10),
            (20, "top-up", 3),
            (43, "remaining", 4),
            (44, "fill", 10),
            (80, "remaining", 1),
        ],
    ],
)
def test_water_of_the_crop_before_or_after_does_not_count(tmp_path, events):
    rows = [
        (f"T{tray}", START + timedelta(day), *rest)
        for tray in (1, 2, 3, 4)
        for day, *rest in events
    ]
    made = of_trial(tmp_path, WATER, Water=[("Tray", "Date", "Event", "Volume (L)"), *rows])
    assert set(water_used(made)) == {9.0}


def test_the_report_says_which_readings_are_from_outside_the_trial(tmp_path):
    rows = [
        (day, 100 + 2 * (day - START).days, 300 + (day - START).days)
        for day in days_from(-14, 57, 7)
    ]
    made = metered(tmp_path, rows)
    trace = next(one for one in made.traces if one.sheet == "Power")
    assert {4, 5, 6, 7, 8, 9, 10} <= set(trace.rows)
    assert {2, 3, 11, 12} <= {row for _, own in trace.left_out for row in own}


# --- whose a meter is


def by_name(names):
    return [
        (day, name, 100 + rate * at)
        for at, day in enumerate(days_from(0, 43, 7))
        for name, rate in names
    ]


OF_COUNTERS = {"warm": (1, pytest.approx(84)), "plain": (1, pytest.approx(42))}


@pytest.mark.parametrize(
    ("head", "before"),
    [
        (("Date", "Meter", "Reading (kWh)"), ""),
        (("Datum", "Zähler", "Stand (kWh)"), "Zähler "),
        (("Date", "Treatment", "Reading (kWh)"), ""),
    ],
)
def test_meters_that_are_named_like_the_treatments_are_theirs(tmp_path, head, before):
    names = [(f"{before}{kind}", rate) for kind, rate in RATES]
    log = book(tmp_path, Log=[HEAD, *ROWS], Power=[head, *by_name(names)])
    adopt(log, talk=answering(truth=OF_COUNTERS))
    assert energy(pipeline.checked(log)) == {"warm": 84, "plain": 42}


def of_a_room(tmp_path):
    rows = [
        (day, 100 + 14 * at, 300 + 7 * at, 500.5 + 22 * at)
        for at, day in enumerate(days_from(0, 43, 7))
    ]
    head = ("Date", "warm (kWh)", "plain (kWh)", "Whole room (kWh)")
    return book(tmp_path, Log=[HEAD, *ROWS], Power=[head, *rows])


def test_a_column_of_energy_that_names_no_treatment_is_asked_about_or_stops_the_report(tmp_path):
    log = of_a_room(tmp_path)
    of_counters = {"warm": (1, 84), "plain": (1, 42), "Whole room": (1, 132)}
    adopt(log, talk=answering(truth=of_counters, stop="Power.means.Whole room"))
    with pytest.raises(WorkbookError):
        pipeline.checked(log)


def test_a_column_of_energy_that_is_the_total_of_the_others_counts_nothing_twice(tmp_path):
    rows = [
        (day, 10 + 14 * at, 30 + 7 * at, 40 + 21 * at) for at, day in enumerate(days_from(0, 43, 7))
    ]
    log = book(
        tmp_path,
        Log=[HEAD, *ROWS],
        Power=[("Date", "warm (kWh)", "plain (kWh)", "Both (kWh)"), *rows],
    )
    adopt(log, talk=answering(truth=OF_COUNTERS))
    assert energy(pipeline.checked(log)) == {"warm": 84, "plain": 42}
