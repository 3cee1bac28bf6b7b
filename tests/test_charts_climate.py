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
from tests.test_charts_light import UP_TO_60, _fonts, assert_readable, axis_titles, records, squeezed, units

assert _fonts  # the figures of this file are measured in the font too

AIR, HUMIDITY, DEFICIT = "Air temperature (°C)", "Relative humidity (%)", "Vapour pressure deficit (kPa)"


def logged(*rows: tuple[str | None, datetime, float]) -> tuple[ClimateLog, np.ndarray]:
    """Return a log and its values, NaN where there is none."""
    values = np.array([value for _, _, value in rows])
    at = np.array([at for _, at, _ in rows], dtype="datetime64[s]")
    return ClimateLog(tuple(code for code, _, _ in rows), at, values, values, values, values), values


def day(number: int, code: str | None = "N0", quantity: str = AIR, middle: float = 21.0) -> DailyBand:
    return DailyBand(code, quantity, START + timedelta(days=number), middle - 2, middle, middle + 3)


def month(codes, quantities=(AIR,)) -> list[DailyBand]:
    return [day(n, code, quantity, 21 + n % 3) for quantity in quantities for code in codes for n in range(30)]


def panels(chart) -> list[str]:
    """Return the names of the panels from the top."""
    return [panel["title"]["text"] for panel in chart.to_dict(validate=False)["vconcat"]]


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
    log, values = logged((None, datetime(2026, 2, 3, 23, 59, 59), 1.0), (None, datetime(2026, 2, 4), 3.0))
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
        {"code": [code or "" for code in log.treatments], "on": log.at.astype("datetime64[D]"), "value": values}
    )
    wanted = frame.groupby(["code", "on"])["value"].agg(["min", "mean", "max"])
    found = {(a.treatment or "", a.day): (a.low, a.mean, a.high) for a in climate.by_day(log, AIR, values)}
    assert len(found) == len(wanted)
    for (code, on), row in wanted.iterrows():
        assert found[code, on.date()] == pytest.approx(tuple(row), abs=1e-9)


# The figure


@pytest.mark.parametrize("count", [1, 2, 3, 8])
def test_bands_of_up_to_eight_treatments_are_readable(count):
    chart = climate.bands(invented(UP_TO_60[:count]), month([f"N{n}" for n in range(count)]))
    assert_readable(chart, UP_TO_60[:count])
    assert panels(chart) == list(UP_TO_60[:count])


def test_three_quantities_of_two_treatments_fit_a_page():
    chart = climate.bands(invented(UP_TO_60[:2]), month(["N0", "N1"], (AIR, HUMIDITY, DEFICIT)))
    assert_readable(chart, UP_TO_60[:2])
    assert {AIR, HUMIDITY, DEFICIT} <= set(axis_titles(chart).split("\n"))


def test_shared_air_is_one_panel():
    chart = climate.bands(invented(), month([None]))
    assert panels(chart) == [climate.SHARED]
    assert "thin dashed line" not in axis_titles(chart)


def test_titles_say_what_band_and_lines_are():
    title = axis_titles(climate.bands(invented(), month(["N0", "N1"])))
    assert "Days since the start on 2026-02-03 (d)" in title
    assert "Band: lowest to highest of a day; strong line: mean thin dashed line: mean of Full strength" in title


def test_every_other_panel_shows_the_mean_of_the_reference():
    views = units(climate.bands(replace(invented(), reference="N1"), month(["N0", "N1"])))
    thin = [view for view in views if view["mark"]["type"] == "line" and view["mark"].get("strokeDash")]
    assert [view["transform"] for view in thin] == [[{"filter": "datum.panel === 0"}]]
    assert panels(climate.bands(replace(invented(), reference="N1"), month(["N0", "N1"])))[0] == "Half strength"


def test_panels_of_a_quantity_have_one_scale_and_other_quantities_their_own():
    rows = [day(0, "N0"), day(0, "N1", middle=30.0), day(0, "N0", HUMIDITY, 60.0)]
    views = [view for view in units(climate.bands(invented(), rows)) if view["mark"]["type"] == "rect"]
    first, second, other = (view["encoding"]["y"]["scale"]["domain"] for view in views)
    assert first == second != other
    assert first[0] < 19
    assert first[1] > 33


def test_a_band_spans_its_day_and_its_range():
    row = records(climate.bands(invented(), [day(4)]), "days")[0]
    assert [row[key] for key in ("day", "middle", "to", "low", "mean", "high")] == [4, 4.5, 5, 19, 21, 24]


def test_a_day_without_readings_breaks_the_line():
    rows = records(climate.bands(invented(), [day(0), day(1), day(5), day(6)]), "days")
    assert [row["part"] for row in rows] == [0, 0, 1, 1]


def test_more_than_2000_days_are_drawn_in_steps():
    rows = [day(n, code, middle=float(n)) for code in ("N0", "N1", "N2") for n in range(1000)]
    chart = climate.bands(invented(), rows)
    steps = records(chart, "days")
    assert len(steps) <= theme.MOST_MARKS
    assert [steps[0][key] for key in ("low", "mean", "high", "to")] == [-2, 0.5, 4, 2]
    assert "lowest to highest of 2 days" in axis_titles(chart)


def test_days_that_are_not_numbers_or_of_no_treatment_are_left_out():
    rows = [replace(day(0), mean=nan), day(1, "N9"), day(2)]
    assert len(records(climate.bands(invented(), rows), "days")) == 1
    assert climate.bands(invented(), rows[:2]) is None
    assert climate.bands(invented(), []) is None


@pytest.mark.parametrize("value", [0.0, 21.0, -5.0])
def test_a_reading_that_never_changes_still_has_an_axis(value):
    chart = climate.bands(invented(), [DailyBand("N0", AIR, START, value, value, value)])
    low, high = units(chart)[0]["encoding"]["y"]["scale"]["domain"]
    assert low < value < high
    assert_readable(chart)


def test_no_name_breaks_the_bands():
    chart = climate.bands(
        invented(HOSTILE), month([f"N{n}" for n in range(len(HOSTILE))], ("Air 'in' [a].b \"x\" <°C>",))
    )
    assert_readable(chart, HOSTILE)
    assert squeezed("Air 'in' [a].b \"x\" <°C>") in squeezed(words(drawn(chart)))
    assert "Cool ?" in words(drawn(climate.bands(invented(("Cool \N{SEEDLING}",)), [day(0)])))


def test_every_panel_names_its_treatment_so_that_colour_does_not_stand_alone():
    chart = climate.bands(invented(UP_TO_60), month([f"N{n}" for n in range(8)]))
    assert len(panels(chart)) == len(set(panels(chart))) == 8
    assert not any({"color", "fill", "stroke"} & view["encoding"].keys() for view in units(chart))
