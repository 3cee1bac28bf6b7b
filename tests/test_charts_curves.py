from dataclasses import replace
from datetime import timedelta
from math import nan

import pytest

from reportgen.charts import curves, theme
from reportgen.model.trial import GrowthMeasurement, Trait, Trial
from tests.test_charts import HOSTILE, START, drawn, invented, words
from tests.test_charts_light import UP_TO_60, _fonts, assert_readable, axis_titles, records, units

assert _fonts  # the figures of this file are measured in the font too

TRAITS = (Trait("height", "Plant height", "cm"), Trait("leaves", "Leaves", ""))


def row(tray: str, number: int, *values: float | None, plant: str = "1") -> GrowthMeasurement:
    return GrowthMeasurement(tray, plant, START + timedelta(days=number), values)


def measured(names=UP_TO_60[:2], blocks=4, days=range(0, 30, 6)) -> Trial:
    """Return a trial whose plants grow straight, those of later treatments and trays faster."""
    trial = invented(names, blocks)
    rows = tuple(
        row(tray.code, n, 1.0 + n * (1 + place / 10), float(n), plant=plant)
        for place, tray in enumerate(trial.trays)
        for n in days
        for plant in ("1", "2")
    )
    return replace(trial, growth=rows, growth_traits=TRAITS)


def of(*rows: GrowthMeasurement, trait: str = "height"):
    return curves.growth(replace(invented(), growth=rows, growth_traits=TRAITS), trait)


@pytest.mark.parametrize("count", [1, 2, 5, 8])
def test_curves_of_up_to_eight_treatments_are_readable(count):
    assert_readable(curves.growth(measured(UP_TO_60[:count]), "height"), UP_TO_60[:count])


def test_a_thin_line_is_the_mean_of_a_tray_and_a_strong_one_the_mean_of_trays():
    chart = of(row("T0-0", 3, 4.0), row("T0-0", 3, 6.0, plant="2"), row("T1-0", 3, 11.0), row("T0-1", 3, 7.0))
    assert {a["tray"]: a["value"] for a in records(chart, "trays")} == {"T0-0": 5.0, "T1-0": 11.0, "T0-1": 7.0}
    assert [a["value"] for a in records(chart, "treatments")] == [8.0, 7.0]


def test_a_measurement_of_a_whole_tray_counts_as_it_stands():
    assert [a["value"] for a in records(of(row("T0-0", 3, 4.0, plant="")), "trays")] == [4.0]


def test_days_count_from_the_start():
    assert [a["day"] for a in records(of(row("T0-0", 9, 4.0), row("T0-0", 2, 3.0)), "treatments")] == [2, 9]


def test_each_trait_is_drawn_from_its_own_column():
    rows = (row("T0-0", 3, 4.0, 2.0), row("T0-0", 9, None, 5.0))
    assert [a["value"] for a in records(of(*rows), "treatments")] == [4.0]
    assert [a["value"] for a in records(of(*rows, trait="leaves"), "treatments")] == [2.0, 5.0]
    with pytest.raises(KeyError):
        of(*rows, trait="width")


def test_what_was_not_measured_is_left_out():
    assert of() is None
    assert of(row("T0-0", 3, None), row("T0-0", 4, nan), row("T0-0", 5), row("elsewhere", 3, 4.0)) is None


def test_axes_name_trait_unit_and_the_meaning_of_lines():
    title = axis_titles(curves.growth(measured(), "height"))
    assert "Plant height (cm) strong: treatment mean; thin: tray means" in title
    assert "Days since the start on 2026-02-03 (d)" in title
    pots = replace(measured(), experimental_unit="plant")
    assert "Leaves strong: treatment mean; thin: pot means" in axis_titles(curves.growth(pots, "leaves"))


def test_zero_is_on_the_axis():
    assert units(curves.growth(measured(), "height"))[0]["encoding"]["y"]["scale"]["zero"] is True


def test_lines_differ_in_dash_and_points_in_shape_beside_colour():
    for unit in units(curves.growth(measured(UP_TO_60), "height")):
        encoding = unit["encoding"]
        assert {"shape", "strokeDash"} & encoding.keys()
    pairs = zip(encoding["color"]["scale"]["range"], encoding["shape"]["scale"]["range"], strict=True)
    assert len(set(pairs)) == 8


def test_more_than_2000_means_are_thinned_but_the_last_date_stays():
    trial = measured(blocks=20, days=range(0, 600, 4))
    chart = curves.growth(trial, "height")
    assert len(trial.growth) == 12_000
    assert len(records(chart, "trays")) <= 1.1 * theme.MOST_MARKS
    assert max(a["day"] for a in records(chart, "trays")) == 596


def test_one_date_is_drawn_as_points():
    chart = of(row("T0-0", 3, 4.0), row("T0-1", 3, 5.0))
    assert_readable(chart)
    assert len(records(chart, "points")) == 2


def test_no_name_breaks_the_curves():
    chart = curves.growth(measured(HOSTILE), "height")
    assert_readable(chart, HOSTILE)
    assert "<" not in theme.spec(chart)
    assert "Cool ?" in words(drawn(curves.growth(measured(("Cool \N{SEEDLING}",)), "height")))
