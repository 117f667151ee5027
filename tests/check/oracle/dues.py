"""What wants doing, kind by kind, and all of a customer's."""
import dataclasses
from fractions import Fraction

from . import civil, ends, facts, known, washing
from .due import DAY, Due

HALF_A_YEAR = Fraction(365.25) / 2
WISHES = {"often": Fraction(1, 2), "seldom": 2}  # of the weeks between two cares


def later(at, days):
    return at + Fraction(days) * DAY


def lead_of(life, shop):
    """Seconds before its end a top-up is offered: the rule's own, else the shop's, held to a
    quarter of a short life."""
    own = life.put.rule.wear.lead_days
    if own is not None:
        return Fraction(own) * DAY
    return min(Fraction(shop.lead_days) * DAY, (life.found[0] - life.put.last_coat_at) / 4)


def heard_until(car, put, one):
    """What the customer renews himself waits a care's weeks after he was told of another such
    treatment of that surface (and is held when its window is over by then)."""
    same = {other.id for other in car.treatments if other.surface == put.surface
            and (other.again or other.rule.again) == facts.CUSTOMER}
    if put.id not in same:
        return 0
    others = same - {put.id}
    told = [end.at for end in one.ended
            if end.kind == "top-up" and end.subject in others and end.at]
    weeks = Fraction(one.shop.restraint[1]) * WISHES.get(one.wish, 1)
    return max(told) + weeks * DAY if told else 0


def top_up(life, shop, washable, sent, heard):
    """The top-up, and the one armed again when the first was sent and its end moved away; none
    for what may outlast 200 years."""
    early, likely, late = life.found
    if late is None:
        return []
    lead = lead_of(life, shop)
    start = max(early - lead, washable or 0)
    until = max(start, later(late, 30))
    if heard <= until:
        start = max(start, heard)
    best_by = max(start, likely - lead)
    due = Due("top-up", life.put.id, 0, start, best_by, until, early, likely, late, heard > until)
    was = sent.get(("top-up", life.put.id, 0))
    if was:
        quarter = Fraction(round(early) - life.put.last_coat_at, 4)
        if round(early) - was > max(lead, quarter):
            return [due, dataclasses.replace(due, ordinal=2)]
    return [due]


def care_due(life, washable, car):
    care = life.put.rule.care
    if care.interval_days is None or not care.by_customer:
        return []
    last = life.cares[-1] if life.cares else life.put.last_coat_at
    opened = 0
    if life.cares:
        opened = max(event.id for event in car.events
                     if event.happening == "care" and event.at == last
                     and ends.same_place(event, life.put))
    k = 0
    while True:
        k += 1
        due = life.scale.after(last, k * Fraction(care.interval_days), care.on_calendar)
        until = life.scale.after(last, (k + Fraction(1, 2)) * Fraction(care.interval_days),
                                 care.on_calendar)
        if due is None or until is None:
            return []
        if until >= max(life.now, washable or 0):
            break
    likely = life.found[1]
    start = max(due, washable or 0)
    if life.put.rule.wear.life_days and likely is not None and round(due) > round(likely):
        return []
    return [Due("care", life.put.id, 1000 * opened + k, start, max(start, until),
                max(start, until))]


def look_over(life, shop, washable):
    months = life.put.rule.look_over_months
    if months == 0:
        return []
    on = civil.date_of(shop.zone, life.put.last_coat_at)
    n = 0
    while True:
        n += 1
        due = civil.begin(shop.zone, civil.add_months(on, n * months))
        if due + 60 * DAY >= max(life.now, washable or 0):
            break
    likely = life.found[1]
    if life.put.rule.wear.life_days and likely is not None and round(due) > round(likely):
        return []
    start = max(due, washable or 0)
    return [Due("look-over", life.put.id, n, start, max(start, due + 30 * DAY),
                max(start, due + 60 * DAY))]


def lasts(life):
    """Whether its label's mean life is over half a year."""
    days = life.put.rule.wear.life_days
    return bool(days) and sum(map(Fraction, days)) / 2 > HALF_A_YEAR


def earliest_offer(lives, top_ups, ended):
    """The top-up due first of all that last long and are to be offered, and its life; of equals
    the first put on."""
    wanted = []
    for life in lives:
        again = life.put.again or life.put.rule.again
        if not lasts(life) or again == facts.NEXT_BOOKING:
            continue
        wanted += [(due, life) for due in top_ups.get(life.put.id, ())
                   if due.key not in ended and not due.lately]
    return min(wanted, default=(None, None), key=lambda pair: (
        pair[0].start, pair[1].put.last_coat_at, pair[1].put.id))


def mileage(car, one, lives, top_ups, ended):
    """One for the newest reading, when not knowing better would move that top-up a lot."""
    due, life = earliest_offer(lives, top_ups, ended)
    if due is None or not car.readings:
        return []
    reading = car.readings[-1]
    stretch = due.start - reading.at
    if stretch <= 0:
        return []
    for times in (Fraction(1, 2), Fraction(3, 2)):
        other = known.Life(car, life.put, one.shop, one.now, times, life.trusted).found[1]
        if other is None or abs(other - due.likely) > stretch / 5:
            return [Due("mileage", reading.id, 0, reading.at + Fraction(stretch) / 2,
                        reading.at + Fraction(stretch) * 3 / 4, due.start)]
    return []


def windowed(due, hours):
    """A window without any sending hour reaches to the end of the next sending day."""
    if due.start > due.not_after:
        return due
    opening = hours.next(int(-(-due.start // 1)))
    if opening is not None and opening > due.not_after:
        until = hours.of(civil.date_of(hours.zone, opening))[1]
        return dataclasses.replace(due, not_after=until)
    return due


def of_car(car, one):
    shop, now = one.shop, one.now
    car = known.car_at(car, now)
    if car.gone_at is not None and car.gone_at <= now:
        return []
    sent = {(e.kind, e.subject, e.ordinal): e.early for e in one.ended if e.early}
    ended = {(e.kind, e.subject, e.ordinal) for e in one.ended}
    washable = washing.wash_begin(car, shop)
    found = washing.handover_dues(car, shop, one.customer)
    found += washing.wash_due(car, shop, one.customer)
    lives = [known.Life(car, put, shop, now) for put in car.treatments]
    lives = [life for life in lives if life.ended_at is None]
    top_ups = {life.put.id: top_up(life, shop, washable, sent, heard_until(car, life.put, one))
               for life in lives}
    for life in lives:
        found += top_ups[life.put.id]
        found += care_due(life, washable, car)
        found += look_over(life, shop, washable)
    return found + mileage(car, one, lives, top_ups, ended)


def of(one):
    """Every due of the customer, by key."""
    found = {}
    for car in one.cars:
        for due in of_car(car, one):
            found[due.key] = windowed(due, one.shop.hours)
    return found
