"""The oracle's dues and lives beside plan_tool's."""
import collections
import math

from . import dues, ends, forecast, known, stepped, washing

TOLERANCE = 120  # seconds
SHORT_DAYS = 120  # lives that are walked by the minute


class Tally:
    """What was compared, the largest difference of each, and what was wrong."""

    def __init__(self):
        self.count = collections.Counter()
        self.largest = collections.Counter()
        self.customers = collections.Counter()  # that a kind of message was for
        self.wrong = []
        self.needless = []  # replan_at at which nothing changes

    def instant(self, label, ours, theirs, where):
        self.count[label] += 1
        if ours is None or theirs is None:
            if ours is not theirs:
                self.wrong.append(f"{where} {label}: {ours} here, {theirs} there")
            return
        apart = abs(float(ours - theirs))
        self.largest[label] = max(self.largest[label], apart)
        if apart > TOLERANCE:
            self.wrong.append(f"{where} {label}: {float(ours):.0f} here, {theirs} there")

    def print(self):
        for label in sorted(self.count):
            print(f"  {label}: {self.count[label]} compared, largest difference "
                  f"{self.largest[label]:.3g} s")
        print("  customers with", ", ".join(f"{kind} {number}" for kind, number
                                            in sorted(self.customers.items())))


def lives(one, plan, tally, where):
    """When each treatment was taken off; early, likely and late of those still on; cure ends."""
    for car in one.cars:
        car = known.car_at(car, one.now)
        prior = forecast.prior_km_a_day(car, one.shop)
        daily = float(forecast.km_a_day(car.readings, prior))
        for put in car.treatments:
            theirs, place = plan.lives[put.id], f"{where} treatment {put.id}"
            tally.instant("taken off", ends.ended_at(car, put), theirs["ended_at"], place)
            if abs(daily - theirs["km_a_day"]) > 1e-9 * max(daily, 1):
                tally.wrong.append(f"{place}: {daily} km a day here, {theirs['km_a_day']} there")
            job = next(job for job in car.jobs if job.id == put.job)
            cured = washing.cured_at(car, put, job, one.shop)
            if not washing.voided(car, put, cured):
                tally.instant("cure end", math.ceil(cured), theirs["cure_end"], place)
            if ends.ended_at(car, put) is not None:
                continue
            life = known.Life(car, put, one.shop, one.now)
            for name, end in zip(("early", "likely", "late"), life.found):
                tally.instant(name, end, theirs[name], place)


def walked(one, plan, tally, where):
    """Short lives walked by the minute; whether there was one."""
    found = False
    for car in one.cars:
        car = known.car_at(car, one.now)
        for put in car.treatments:
            theirs = plan.lives[put.id]
            if not put.rule.wear.life_days or theirs["ended_at"] is not None:
                continue
            furthest = put.last_coat_at + SHORT_DAYS * 86400
            if theirs["late"] is None or theirs["late"] > furthest - 86400:
                continue
            life = known.Life(car, put, one.shop, one.now)
            minutes = stepped.walk(put.rule, put.last_coat_at, life.cares,
                                   stepped.steps(life.driven), stepped.steps(life.factors()),
                                   life.trusted, furthest)
            for name, end in zip(("early", "likely", "late"), minutes):
                tally.instant(f"{name}, by the minute", end, theirs[name],
                              f"{where} treatment {put.id}")
            found = True
    return found


def plans(one, plan, tally, where):
    """Every due in both, and its dates."""
    ours = dues.of(one)
    for key in sorted(set(ours) | set(plan.dues)):
        if key not in ours or key not in plan.dues:
            side = "only there" if key in plan.dues else "only here"
            tally.wrong.append(f"{where} {key} is {side}: {ours.get(key) or plan.dues[key]}")
            continue
        for name in ("start", "best_by", "not_after", "early", "likely", "late"):
            label = f"{key[0]} {'from' if name == 'start' else name}"
            mine, theirs = getattr(ours[key], name), plan.dues[key][name]
            if mine is not None or theirs is not None:
                tally.instant(label, mine, theirs, f"{where} {key}")
