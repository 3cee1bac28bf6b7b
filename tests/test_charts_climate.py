from dataclasses import replace
from datetime import date, datetime, timedelta
from math import nan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.charts import climate, theme
from reportgen.charts.climate import DailyBand
from reportgen.model.trial import ClimateLog
from tests.test_charts import HOSTILE, START, drawn, invented, words
from tests.test_charts_light import UP_TO_60, _fonts, assert_readable, records, squeezed, units

assert _fonts  # the figures of this file are measured in the font too

AIR = "Air temperature (°C)"


def logged(*rows: tuple[str | None, datetime, float]) -> tuple[ClimateLog, np.ndarray]:
    """Return a log and its values, NaN where there is none."""
    values = np.array([value for _, _, value in rows])
    at = np.array([at for _, at, _ in rows], dtype="datetime64[s]")
    return (
        ClimateLog(tuple(code for code, _, _ in rows), at, values, values, values, values),
        values,
    )


def day(
    number: int, code: str | None = "N0", quantity: str = AIR, middle: float = 21.0
) -> DailyBand:
    return DailyBand(code, quantity, START + timedelta(days=number), middle - 2, middle, middle + 3)


def month(codes) -> list[DailyBand]:
    return [day(n, code, middle=21 + n % 3) for code in codes for n in range(30)]


# From readings to days


def test_a_day_has_its_lowest_mean_and_highest_reading():
    noon = datetime(2026, 2, 3, 12)
    log, values = logged(
        ("N0", noon, 22.0),
        ("N1", noon, 30.0),
        ("N0", noon.replace(hour=2), 18.0),
        ("N0", noon.replace(hour=3), nan),
        ("N0", noon + timedelta(days=1), 25.0),
        ("N0", noon.replace(hour=20), 26.0),
    )
    found = climate.by_day(log, AIR, values)
    assert found[0] == DailyBand("N0", AIR, date(2026, 2, 3), 18.0, 22.0, 26.0)
    assert found[1:] == (
        DailyBand("N0", AIR, date(2026, 2, 4), 25.0, 25.0, 25.0),
        DailyBand("N1", AIR, date(2026, 2, 3), 30.0, 30.0, 30.0),
    )


def test_midnight_begins_the_day():
    log, values = logged(
        (None, datetime(2026, 2, 3, 23, 59, 59), 1.0), (None, datetime(2026, 2, 4), 3.0)
    )
    assert [(a.day.day, a.mean) for a in climate.by_day(log, AIR, values)] == [(3, 1.0), (4, 3.0)]


def test_a_log_without_values_has_no_days():
    log, values = logged(("N0", datetime(2026, 2, 3), nan))
    assert climate.by_day(log, AIR, values) == ()
    assert climate.by_day(*(a for a in logged()[:1]), AIR, np.array([])) == ()


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["N0", "N1", None]),
            st.datetimes(datetime(2026, 2, 1), datetime(2026, 2, 9)),
            st.floats(-40, 60),
        ),
        min_size=1,
    )
)
def test_days_are_those_that_pandas_finds(rows):
    # The reference is the library pandas: groupby on treatment and date.
    pandas = pytest.importorskip("pandas")
    log, values = logged(*(row for row in rows))
    frame = pandas.DataFrame(
        {
            "code": [code or "" for code in log.treatments],
            "on": log.at.astype("datetime64[D]"),
            "value": values,
        }
    )
    wanted = frame.groupby(["code", "on"])["value"].agg(["min", "mean", "max"])
    found = {
        (a.treatment or "", a.day): (a.low, a.mean, a.high)
        for a in climate.by_day(log, AIR, values)
    }
    assert len(found) == len(wanted)
    for (code, on), row in wanted.iterrows():
        assert found[code, on.date()] == pytest.approx(tuple(row), abs=1e-9)


# The figure


@pytest.mark.parametrize("width", [theme.WIDTH, theme.NARROW])
@pytest.mark.parametrize("count", [1, 2, 3, 8])
def test_bands_of_up_to_eight_treatments_are_readable(count, width):
    names = [name[:28].rstrip() for name in UP_TO_60[:count]]
    chart = climate.bands(invented(names), month([f"N{n}" for n in range(count)]), width)
    assert_readable(chart, names, width)


@pytest.mark.parametrize("width", [theme.WIDTH, theme.NARROW])
def test_more_than_eight_lines_have_panels_of_their_own(width):
    names = [f"Feed of strength {n}" for n in range(10)]
    chart = climate.bands(invented(names), month([f"N{n}" for n in range(10)]), width)
    assert_readable(chart, names, width)
    assert len({row["panel"] for row in records(chart, "curves")}) == 10
    assert {row["panel"] for row in records(chart, "first")} == set(range(1, 10))


def test_shared_air_is_one_line():
    chart = climate.bands(invented(), month([None]))
    assert {row["treatment"] for row in records(chart, "curves")} == {climate.SHARED}


def test_the_figure_is_titled_with_its_quantity_and_days():
    text = " ".join(words(drawn(climate.bands(invented(), month(["N0", "N1"])))).split())
    assert AIR in text
    assert "Days since the start on 3 February 2026" in text


def test_a_band_spans_the_range_of_its_day_around_the_mean():
    row = records(climate.bands(invented(), [day(4)]), "bands") or records(
        climate.bands(invented(), [day(4)]), "curves"
    )
    assert [row[0][key] for key in ("day", "low", "value", "high")] == [4.5, 19, 21, 24]


def test_a_day_without_readings_breaks_the_line():
    rows = records(climate.bands(invented(), [day(0), day(1), day(5), day(6)]), "curves")
    assert [row["part"] for row in rows] == [0, 0, 1, 1]


def test_more_than_2000_days_are_drawn_in_steps():
    rows = [day(n, code, middle=float(n)) for code in ("N0", "N1", "N2") for n in range(1000)]
    steps = records(climate.bands(invented(), rows), "curves")
    assert len(steps) <= theme.MOST_MARKS
    assert [steps[0][key] for key in ("low", "value", "high", "day")] == [-2, 0.5, 4, 1]


def test_days_that_are_not_numbers_or_of_no_treatment_are_left_out():
    rows = [replace(day(0), mean=nan), day(1, "N9"), day(2)]
    assert len(records(climate.bands(invented(), rows), "curves")) == 1
    assert climate.bands(invented(), rows[:2]) is None
    assert climate.bands(invented(), []) is None


@pytest.mark.parametrize("value", [0.0, 21.0, -5.0])
def test_a_reading_that_never_changes_still_has_an_axis(value):
    chart = climate.bands(invented(), [DailyBand("N0", AIR, START, value, value, value)])
    low, high = next(
        unit["encoding"]["y"]["scale"]["domain"]
        for unit in units(chart)
        if unit["data"]["name"] == "curves"
    )
    assert low < value < high
    assert_readable(chart)


def test_no_name_breaks_the_bands():
    quantity = "Air 'in' [a].b \"x\" <°C>"
    days = [
        replace(one, quantity=quantity) for one in month([f"N{n}" for n in range(len(HOSTILE))])
    ]
    chart = climate.bands(invented(HOSTILE), days)
    assert_readable(chart, HOSTILE)
    assert squeezed(quantity) in squeezed(words(drawn(chart)))
    assert "Cool ?" in words(drawn(climate.bands(invented(("Cool \N{SEEDLING}",)), [day(0)])))


def test_lines_differ_in_dash_and_marks_in_shape_beside_colour():
    for unit in units(climate.bands(invented(UP_TO_60), month([f"N{n}" for n in range(8)]))):
        if {"color", "stroke"} & unit["encoding"].keys():
            assert {"shape", "strokeDash"} & unit["encoding"].keys()
