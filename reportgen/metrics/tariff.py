"""The price of a treatment's electricity: one for the trial, or by the time of day."""

from itertools import pairwise

from reportgen.model.trial import TariffPeriod, Treatment, Trial

HOURS_PER_DAY = 24.0


def prices(trial: Trial) -> dict[str, float]:
    """Return the price per kWh that each treatment paid, in the trial's currency.

    Empty where there is none.

    With a tariff it is the mean price over the hours of light, as if electricity were used evenly
    then; over the whole day where these are not known.
    """
    if trial.tariff:
        means: dict[str, float] = {}
        for treatment in trial.treatments:
            means[treatment.code] = _mean_price(trial.tariff, *_lit(treatment))
        return means
    if trial.electricity_price is None:
        return {}
    return {treatment.code: trial.electricity_price for treatment in trial.treatments}


def _lit(treatment: Treatment) -> tuple[float, float]:
    """Return when light begins and for how many hours it lasts.

    The whole day where it is not known or never on.
    """
    if treatment.lights_on_at is None or not treatment.photoperiod:
        return 0.0, HOURS_PER_DAY
    return treatment.lights_on_at, treatment.photoperiod


def _mean_price(tariff: tuple[TariffPeriod, ...], start: float, hours: float) -> float:
    """Return the mean price over `hours` from `start`, weighted by time."""
    changes = {start, start + hours}
    for day in (0.0, HOURS_PER_DAY):
        for period in tariff:
            change = period.start + day
            if start < change < start + hours:
                changes.add(change)
    paid = 0.0
    for begin, end in pairwise(sorted(changes)):
        middle = (begin + end) / 2
        paid += _price_at(tariff, middle % HOURS_PER_DAY) * (end - begin)
    return paid / hours


def _price_at(tariff: tuple[TariffPeriod, ...], hour: float) -> float:
    """Return the price that holds at an hour.

    That of the latest period begun, of the day before if need be.
    """
    begun = [period for period in tariff if period.start <= hour]
    return max(begun or tariff, key=lambda period: period.start).price
