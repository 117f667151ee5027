"""How far a car is driven: measured stretches, and the forecast after them."""
import math
from fractions import Fraction

from . import civil

HALF_LIFE = 365.0
PRIOR_DAYS = 90.0
YEAR_DAYS = Fraction(1461, 4)


def prior_km_a_day(car, shop):
    yearly = car.km_a_year if car.km_a_year is not None else shop.km_a_year
    return Fraction(yearly) / YEAR_DAYS


def believed(readings):
    """Readings without those that go back or leap, against the last one believed."""
    kept = []
    for reading in readings:
        if kept and kept[-1].instrument == reading.instrument:
            km = Fraction(reading.km) - Fraction(kept[-1].km)
            days = Fraction(reading.at - kept[-1].at, civil.DAY)
            if km < 0 or km > 2000 * max(Fraction(1), days):
                continue
        kept.append(reading)
    return kept


def measured(readings):
    """(from, to, km a day) of neighbours on one instrument."""
    pairs = []
    for a, b in zip(readings, readings[1:]):
        if a.instrument == b.instrument and b.at > a.at:
            days = Fraction(b.at - a.at, civil.DAY)
            pairs.append((a.at, b.at, (Fraction(b.km) - Fraction(a.km)) / days))
    return pairs


def km_a_day(readings, prior):
    """The weighted mean with the prior; ages count from the newest reading."""
    if not readings:
        return prior
    newest = readings[-1].at

    def faded(at):
        return 2.0 ** (-((newest - at) / civil.DAY) / HALF_LIFE)

    weight = PRIOR_DAYS * faded(readings[0].at)
    weights, total = weight, float(prior) * weight
    for first, last, daily in measured(readings):
        weight = HALF_LIFE / math.log(2) * (faded(last) - faded(first))
        weights += weight
        total += float(daily) * weight
    return Fraction(total / weights)


def driven(readings, prior, forecast):
    """Km a day as steps: [(from, rate)], the first from the beginning of time."""
    steps = [(-math.inf, prior)]
    if not readings:
        return steps
    rates = {first: rate for first, _, rate in measured(readings)}
    for reading in readings:
        steps.append((reading.at, rates.get(reading.at, forecast)))
    return steps
