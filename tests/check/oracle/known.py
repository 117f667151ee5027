"""What counts at an instant: nothing dated over a day ahead, no reading that cannot be believed;
and one car's durability reckoned from that."""
import dataclasses
from fractions import Fraction

from . import civil, ends, forecast, wear

SALT = "winter salt"


def car_at(car, now):
    """The car with only the facts that count."""
    limit = now + civil.DAY
    jobs = [job for job in car.jobs if job.at <= limit]
    entered = {job.id for job in jobs}
    readings = [reading for reading in car.readings if reading.at <= limit]
    return dataclasses.replace(
        car, jobs=jobs, readings=forecast.believed(readings),
        events=[event for event in car.events if event.at <= limit],
        treatments=[put for put in car.treatments
                    if put.job in entered and put.last_coat_at <= limit])


class Exposure:
    """The factor that applies at an instant, and the instants at which it may change."""

    def __init__(self, rule, car, shop):
        self.shop = shop
        names = [name for name in rule.exposures if name in car.exposures]
        self.seasonal = SALT in names and 0 < len(shop.salt_months) < 12
        self.always = Fraction(1)
        for name in names:
            if name != SALT or not self.seasonal:
                self.always *= Fraction(rule.exposures[name])
        self.salt = Fraction(rule.exposures[SALT]) if self.seasonal else Fraction(1)

    def cuts(self, first, last):
        return civil.month_begins(self.shop.zone, first, last) if self.seasonal else []

    def at(self, at):
        if not self.seasonal:
            return self.always
        month = civil.date_of(self.shop.zone, int(at)).month
        return self.always * (self.salt if month in self.shop.salt_months else 1)


class Life:
    """One treatment: its scale of use, its cares, its ends. `times`: the forecast multiplied,
    `trusted`: the habit given."""

    def __init__(self, car, put, shop, now, times=1, trusted=None):
        self.put, self.now = put, now
        self.cares = ends.cares(car, put)
        self.ended_at = ends.ended_at(car, put)
        prior = forecast.prior_km_a_day(car, shop)
        self.km_a_day = forecast.km_a_day(car.readings, prior)
        self.driven = forecast.driven(car.readings, prior, self.km_a_day * Fraction(times))
        self.exposure = Exposure(put.rule, car, shop)
        self.given = trusted
        self.found = [None] * 3
        self.by_distance = False
        self._solve()

    def _scale(self, horizon):
        start = self.put.last_coat_at
        self.scale = wear.Scale(self.put.rule, start, horizon, self.driven, self.exposure.at,
                                self.exposure.cuts(start, horizon))

    def _solve(self):
        """Looks further and further ahead, up to 200 years."""
        rule, start = self.put.rule, self.put.last_coat_at
        furthest = start + int(wear.FURTHEST_DAYS) * civil.DAY
        days = 2 * rule.wear.life_days[1] if rule.wear.life_days else 400
        horizon = max(start, self.now) + int(days + 200) * civil.DAY
        beyond = furthest + civil.DAY
        while True:
            horizon = min(horizon, max(beyond, self.now + 400 * civil.DAY))
            self._scale(horizon)
            if not rule.wear.life_days:
                return
            self.found, self.by_distance = wear.ends(self.scale, rule, self.cares, self.trusted)
            if None not in self.found or horizon >= beyond:
                break
            horizon += 2 * (horizon - start)
        self.found = [None if end is None or round(end) > furthest else end
                      for end in self.found]

    def factors(self):
        """The exposure as steps, each month of the scale asked for itself."""
        start = self.put.last_coat_at
        cuts = self.exposure.cuts(start, int(self.scale.use.times[-1]))
        return [(at, self.exposure.at(at)) for at in [start] + [c for c in cuts if c > start]]

    @property
    def trusted(self):
        if self.given is not None:
            return self.given
        return wear.habit(self.scale, self.put.rule.care, self.cares, self.now)
