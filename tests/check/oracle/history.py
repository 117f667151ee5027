"""Random customers: cars, jobs, readings and events with every feature on, on whole minutes."""
import zoneinfo

from . import civil, facts, gather

ZONES = ("Europe/London", "Europe/Budapest", "America/New_York", "Australia/Sydney",
         "Australia/Lord_Howe", "America/Santiago", "Asia/Kolkata", "Africa/Cairo")
FIRST = 1735689600  # 2025-01-01
DAY, MINUTE = civil.DAY, 60
CLIMATES = (None, (3.9, 4.2, 6.1, 8.8, 12.1, 15.2, 17.4, 17.1, 14.4, 10.8, 7.0, 4.6),
            (-2.5, -1.0, 4.4, 10.2, 15.8, 19.1, 21.2, 20.7, 15.9, 10.1, 4.6, -0.5),
            (23.5, 23.4, 22.1, 19.4, 16.3, 13.9, 13.1, 14.2, 16.7, 18.9, 20.4, 22.4))
PARTS = ("", "", "", "bonnet")


def minute(rng, first, last):
    """A whole minute in [first, last]."""
    return (first + rng.randrange(max(last - first, MINUTE))) // MINUTE * MINUTE


def shop(rng):
    zone = zoneinfo.ZoneInfo(rng.choice(ZONES))
    days = {0, 1, 2, 3, 4, 5} if rng.random() < 0.6 else {
        d for d in range(7) if rng.random() < 0.6} or {2}
    opens, closes = rng.choice(((9, 19), (9, 19), (8, 21), (12, 14)))
    start = civil.date_of(zone, FIRST)
    closed = set()
    for _ in range(rng.randrange(4)):
        first = start + civil.ONE_DAY * rng.randrange(1500)
        closed |= {first + civil.ONE_DAY * i for i in range(rng.choice((1, 1, 5, 16)))}
    salt = rng.choice(((11, 12, 1, 2, 3), (12, 1, 2), (6, 7), ()))
    return facts.Shop(zone, gather.Hours(zone, days, opens * 3600, closes * 3600, closed),
                      rng.choice(CLIMATES), salt, rng.choice((8000.0, 12000.0, 15500.0)),
                      rng.choice((0, 14, 21, 21, 60)))


def cure(rng):
    low = rng.choice((0.0, 0.0, 1.0, 2.5, 7.0, 14.0, 14.0))
    if low == 0:
        return facts.Cure(drive_h=rng.choice((0.0, 1.0)))
    high = low * rng.choice((1.0, 1.5, 2.0))
    return facts.Cure(1.0, rng.choice((0.0, 12.0)), rng.choice((None, 1.0)), (low, high),
                      rng.choice((0.0, 24.0)), rng.choice((10.0, 10.0, 20.0)),
                      rng.choice((0.531, 0.531, 0.8)), rng.choice((None, None, 5.0, 0.0)),
                      high * rng.choice((1.5, 1.5, 1.0, 3.0)))


def wear(rng):
    if rng.random() < 0.08:
        return facts.Wear()
    low = rng.choice((7.0, 28.0, 42.5, 91.3125, 182.625, 182.625, 365.25, 700.0, 1000.0,
                      36525.0 if rng.random() < 0.2 else 28.0))
    return facts.Wear((low, low * rng.choice((1.0, 1.25, 1.5, 2.0))),
                      rng.choice((0.0, 0.25, 0.5, 0.6, 0.625, 1.0)),
                      rng.choice((10000.0, 12000.0, 12000.0, 19312.5)),
                      rng.choice(((0.6, 2.0), (0.6, 2.0), (0.5, 3.0), (1.0, 1.0))),
                      rng.choice((None, None, None, 1500.0, 20000.0)),
                      rng.choice((None, None, None, 0.0, 10.0, 45.0)))


def care(rng, life):
    if rng.random() < 0.4:
        return facts.Care()
    longest = life[0] if life else 200.0
    interval = rng.choice([d for d in (3.5, 14.0, 28.0, 30.4375, 56.0, 91.0)
                           if d < longest * 1.5] or [3.5])
    return facts.Care(interval, interval * rng.choice((0.0, 0.25, 0.5, 1.0)),
                      rng.choice((1.0, 1.25, 1.5, 2.0, 3.0)), rng.random() < 0.4,
                      rng.random() < 0.75)


def rule(rng, number):
    wears = wear(rng)
    exposed = {name: rng.choice((0.75, 1.15, 1.25, 1.3, 1.5, 2.0))
               for name in facts.EXPOSURES if rng.random() < 0.2}
    if rng.random() < 0.3:
        exposed["winter salt"] = 1.25
    return facts.Rule(number, f"product-{number}", rng.choice(facts.SURFACES[:5]),
                      rng.choice(("base", "base", "topper", "film", "dressing")),
                      rng.choice((facts.SHOP, facts.SHOP, facts.NEXT_BOOKING, facts.CUSTOMER)),
                      cure(rng), wears, care(rng, wears.life_days),
                      rng.choice((0, 0, 12, 6)), exposed,
                      tuple(s for s in facts.STRIPPERS if rng.random() < 0.25))


class Maker:
    """Numbers what it makes."""

    def __init__(self, rng):
        self.rng, self.last = rng, 0
        self.zone, self.now = None, 0

    def number(self):
        self.last += 1
        return self.last

    def readings(self, first, last):
        rng, found = self.rng, []
        at, km, instrument = first, float(rng.randrange(100000)), 0
        daily = rng.choice((8, 20, 33, 55, 130))
        for _ in range(rng.randrange(8)):
            found.append(facts.Reading(self.number(), at, km, instrument))
            if rng.random() < 0.05:  # a slip of the pen
                slip = rng.choice((-500.0, 90000.0))
                found.append(facts.Reading(self.number(), at + 30 * MINUTE,
                                           max(km + slip, 0), instrument))
            if rng.random() < 0.06:  # a long day
                at += rng.randrange(1, 20) * 60 * MINUTE
                km += rng.choice((400.0, 1500.0, 1999.0, 2001.0))
                found.append(facts.Reading(self.number(), at, km, instrument))
            if rng.random() < 0.07:
                instrument, km = instrument + 1, float(rng.randrange(2000))
            gone = minute(rng, MINUTE, rng.choice((3, 60, 200)) * DAY)
            at += gone
            km = round(km + gone / DAY * daily * rng.choice((0.2, 0.8, 1.0, 1.3, 3.0)),
                       rng.choice((0, 0, 1, 3)))
            if at > last:
                break
        return found

    def job(self, customer, rules, first, last):
        """A job and its treatments."""
        rng = self.rng
        at = minute(rng, first, last)
        zone = self.zone
        told = min(at + minute(rng, 0, rng.choice((60 * MINUTE, 3 * DAY))), self.now)
        job = facts.Job(self.number(), at, customer, told,
                        None if rng.random() < 0.2 else float(rng.randrange(-6, 70)) / 2,
                        None, rng.random() < 0.06)
        if rng.random() < 0.12:
            job.wash_from = civil.date_of(zone, at) + civil.ONE_DAY * rng.randrange(40)
        put = []
        for one in rng.sample(rules, min(len(rules), rng.randrange(5))):
            coats = rng.choice((1, 1, 2, 3))
            coat = at - rng.choice((0, 0, 0, 60, 60, 600, 1500)) * MINUTE
            put.append(facts.Treatment(
                self.number(), job.id, one, one.surface, rng.choice(PARTS), coat, coats,
                rng.choice((None, None, None, facts.SHOP, facts.NEXT_BOOKING,
                            facts.CUSTOMER))))
        return job, put

    def cares(self, put, last):
        """Cares of one treatment, in time or not."""
        rng, found = self.rng, []
        interval = put.rule.care.interval_days
        at = put.last_coat_at
        while True:
            most = int(interval * DAY * rng.choice((0.5, 1.2, 1.2, 2.5)))
            at += minute(rng, MINUTE, most)
            if rng.random() < 0.1:  # to the minute at the end of what is allowed
                allowed = interval + rng.choice((0, put.rule.care.grace_days))
                at = found[-1].at if found else put.last_coat_at
                at += int(allowed * DAY) // MINUTE * MINUTE
            if at > last or len(found) > 12:
                return found
            by_number = rng.random() < 0.5
            found.append(facts.Event(self.number(), at, "care",
                                     put.id if by_number else 0,
                                     None if by_number else put.surface,
                                     None if by_number or rng.random() < 0.6
                                     else put.part or None))

    def event(self, puts, first, last):
        rng = self.rng
        event = facts.Event(self.number(), minute(rng, first, last), rng.choice((
            "harsh wash", "stripped", "stripped", "polished", "part replaced", "resprayed",
            "wet too early", "etched", "wheels off", "cured indoors", "cured indoors",
            "inspection")))
        put = rng.choice(puts)
        if rng.random() < 0.1:
            event.at = put.last_coat_at
        how = rng.random()
        if how < 0.3:
            event.treatment = put.id
        elif how < 0.85:
            event.surface = put.surface
            event.part = rng.choice((None, None, "bonnet"))
        if event.happening in ("harsh wash", "stripped"):
            event.with_ = rng.choice((None, "wheel cleaner") + put.rule.stripped_by)
        if event.happening == "inspection":
            event.with_ = rng.choice(("beading", "came back after decontamination", "gone"))
        if event.happening == "cured indoors":
            event.at = put.last_coat_at + minute(rng, 0, 10 * DAY)
            if rng.random() < 0.6:
                event.hours = float(rng.choice((1, 4, 12, 30)))
                event.temp_c = float(rng.choice((5, 15, 25, 60)))
        return event

    def car(self, customer, rules, first, now):
        rng = self.rng
        car = facts.Car(self.number(), rng.choice((None, None, 9000.0, 19400.0, 48280.25)),
                        minute(rng, first - 300 * DAY, first + 60 * DAY), None,
                        tuple(e for e in facts.EXPOSURES if rng.random() < 0.25))
        owners = [customer] if rng.random() < 0.8 else [customer, 900]
        past = max(first + DAY, min(now, first + 1200 * DAY))
        for _ in range(rng.choice((1, 1, 2, 2, 3, 5))):
            job, put = self.job(customer, rules, first, past)
            if job.at < car.since:
                job.customer = owners[-1]
            car.jobs.append(job)
            car.treatments += put
        car.readings = self.readings(minute(rng, first - 90 * DAY, first + 90 * DAY), now + 4 * DAY)
        for put in car.treatments:
            if put.rule.care.interval_days is not None and rng.random() < 0.6:
                car.events += self.cares(put, now)
        if car.treatments:
            for _ in range(rng.choice((0, 0, 1, 1, 2, 4))):
                car.events.append(self.event(car.treatments, first, now + 3 * DAY))
        if rng.random() < 0.04:
            car.gone_at = minute(rng, first, now)
        car.offers_held = car.id % 13 == 0  # by the number: other histories stay what they were
        for rows in (car.readings, car.jobs, car.events):
            rows.sort(key=lambda row: (row.at, row.id))
        car.treatments.sort(key=lambda put: (put.last_coat_at, put.id))
        return car


def endings(rng, cars, now):
    """Dues that have their end: top-ups sent at another likely end, and others."""
    found = []
    for put in (put for car in cars for put in car.treatments):
        if put.rule.wear.life_days and rng.random() < 0.2:
            guess = put.last_coat_at + int(put.rule.wear.life_days[0] * DAY
                                           * rng.choice((0.3, 0.6, 0.9, 1.0, 1.5)))
            sent = minute(rng, min(put.last_coat_at, now - DAY), now)
            found.append(facts.Ended("top-up", put.id, 0, rng.choice((0, guess, guess)),
                                     rng.choice((0, sent, sent))))
            if rng.random() < 0.2:
                found.append(facts.Ended("top-up", put.id, 2, guess, sent))
        if rng.random() < 0.1:
            found.append(facts.Ended("care", put.id, rng.choice((1, 2, 3))))
        if rng.random() < 0.05:
            found.append(facts.Ended("look-over", put.id, 1))
    for job in (job for car in cars for job in car.jobs):
        if rng.random() < 0.5:
            found.append(facts.Ended(rng.choice(("handover", "wash")), job.id, 0))
    return found


def messages(rng, now):
    """What the customer was sent of late."""
    found = [facts.Told(i, minute(rng, now - 400 * DAY, now + 1),
                        rng.choice(("handover", "wash", "care", "care", "mileage", "mileage",
                                    "top-up", "look-over")), "sent")
             for i in range(rng.choice((0, 0, 0, 2, 5)))]
    return sorted(found, key=lambda told: told.at)


def make(rng):
    """One customer's facts and the instant they are planned at."""
    the_shop = shop(rng)
    maker = Maker(rng)
    rules = [rule(rng, maker.number()) for _ in range(rng.choice((2, 4, 7)))]
    first = minute(rng, FIRST, FIRST + 365 * DAY)
    now = first + minute(rng, 0, rng.choice((2, 30, 200, 800, 1500)) * DAY)
    maker.zone, maker.now = the_shop.zone, now
    cars = [maker.car(1, rules, first, now) for _ in range(rng.choice((1, 1, 1, 2, 3)))]
    return facts.Facts(1, the_shop, rng.choice(("sms", "mail", "by hand")),
                       (rng.random() < 0.97, rng.random() < 0.85, rng.random() < 0.85),
                       rng.choice(("normal", "normal", "often", "seldom", "never")),
                       rng.random() < 0.03, rules, cars, messages(rng, now),
                       endings(rng, cars, now), now)
