"""Cost at other prices, and equipment that pays for itself."""

from dataclasses import replace

import pytest

from reportgen.metrics import compute
from reportgen.metrics.price import costs_of_gram, paybacks
from reportgen.metrics.tariff import prices
from reportgen.model.trial import Cost, TariffPeriod, Treatment
from reportgen.stats.intersections import intersections
from tests.trials import readings, trial

GRAMS = {"half": (66 + 67 + 63) / 3, "full": (85 + 80 + 89) / 3}  # of a tray, from tests/trials.py


def measures(made):
    return {result.measure.key: result for result in compute(made).measures}


def test_a_gram_costs_what_is_paid_for_it_and_its_energy_at_a_price():
    made = trial(costs=(Cost("feed", "half", 3.0), Cost("feed", "full", 6.0)))
    half, full = costs_of_gram(made, measures(made))
    assert (half.start, full.start) == pytest.approx(
        (1 / GRAMS["half"], 2 / GRAMS["full"]), rel=1e-12
    )
    assert (half.slope, full.slope) == pytest.approx(
        (4 / GRAMS["half"], 14 / 3 / GRAMS["full"]), rel=1e-12
    )
    assert half.at(0.25) == pytest.approx(
        dict(measures(made)["running_cost_per_gram"].estimates)["half"].value, rel=1e-12
    )


def test_the_price_at_which_both_cost_the_same_is_where_the_lines_cross():
    made = trial(costs=(Cost("feed", "half", 3.0), Cost("feed", "full", 6.0)))
    costs = costs_of_gram(made, measures(made))
    (crossing,) = intersections(costs)
    assert costs[0].at(crossing.x) == pytest.approx(costs[1].at(crossing.x), rel=1e-12)
    assert costs[0].at(crossing.x) == pytest.approx(crossing.y, rel=1e-12)
    cheaper = min(costs, key=lambda one: one.at(crossing.x / 2))
    assert crossing.below == cheaper.name


def test_lines_that_do_not_cross_at_a_price_above_nothing_give_no_crossing():
    made = trial(costs=(Cost("feed", "half", 6.0), Cost("feed", "full", 3.0)))
    assert intersections(costs_of_gram(made, measures(made))) == ()
    assert intersections(()) == ()


def test_a_shared_meter_compares_no_costs():
    made = trial(meter=readings(None, 20.0))
    assert costs_of_gram(made, measures(made)) == ()
    assert paybacks(made) == ()


def test_equipment_pays_for_itself_by_what_a_days_harvest_saves():
    # Simple payback = extra cost / saving a day (common practice: without interest).
    lamps = (
        Cost("lamp", "half", 30.0, 20_000.0, 560.0),
        Cost("lamp", "full", 90.0, 30_000.0, 560.0),
    )
    made = trial(costs=lamps)
    (found,) = paybacks(made)
    per_gram = 0.25 * (4 / GRAMS["half"] - 14 / 3 / GRAMS["full"])
    assert found.extra == pytest.approx((90 - 30) / 3, rel=1e-12)
    assert found.saving == pytest.approx(per_gram * GRAMS["full"] / 35, rel=1e-9)
    assert found.days == pytest.approx(found.extra / found.saving, rel=1e-12)


def test_dearer_equipment_that_saves_nothing_never_pays_and_cheaper_needs_not():
    lamps = (
        Cost("lamp", "half", 30.0, 20_000.0, 560.0),
        Cost("lamp", "full", 90.0, 30_000.0, 560.0),
    )
    wasteful = trial(costs=lamps, meter=readings("half", 12.0) + readings("full", 40.0))
    assert paybacks(wasteful) == ()
    cheaper = trial(costs=tuple(replace(one, cost=120.0 - one.cost) for one in lamps))
    assert paybacks(cheaper) == ()


def lit(start, hours):
    return (
        Treatment("half", "Half", photoperiod=hours, lights_on_at=start),
        Treatment("full", "Full"),
    )


NIGHT = (TariffPeriod(22.0, 6.0, 0.1), TariffPeriod(6.0, 17.0, 0.3), TariffPeriod(17.0, 22.0, 0.5))


@pytest.mark.parametrize(
    ("start", "hours", "mean"),
    [
        (22.0, 8.0, 0.1),
        (6.0, 11.0, 0.3),
        (5.0, 2.0, 0.2),
        (16.0, 8.0, (0.3 + 5 * 0.5 + 2 * 0.1) / 8),
        (0.0, 24.0, (8 * 0.1 + 11 * 0.3 + 5 * 0.5) / 24),
        (20.0, 16.0, (2 * 0.5 + 8 * 0.1 + 6 * 0.3) / 16),
        (None, 16.0, (8 * 0.1 + 11 * 0.3 + 5 * 0.5) / 24),
    ],
)
def test_the_price_of_a_treatment_is_the_mean_over_its_hours_of_light(start, hours, mean):
    made = trial(treatments=lit(start, hours), tariff=NIGHT)
    assert prices(made)["half"] == pytest.approx(mean, rel=1e-12)
    assert prices(made)["full"] == pytest.approx((8 * 0.1 + 11 * 0.3 + 5 * 0.5) / 24, rel=1e-12)


def test_without_a_tariff_the_trials_price_holds_and_without_both_none():
    assert prices(trial()) == {"half": 0.25, "full": 0.25}
    assert prices(trial(electricity_price=None)) == {}
