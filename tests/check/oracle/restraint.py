"""What must hold of the messages of a plan, however they were found."""
from . import civil

DAY = civil.DAY
TIPS = ("care", "mileage")
OFFERS = ("top-up", "look-over")
KINDS = ("handover", "wash", "booking") + TIPS + OFFERS


def key_of(words):
    return (words[0], int(words[1]), int(words[2]))


def state(one, key, due, ended):
    """Whether the due wants a message."""
    if due["held"] != "-":
        return "held"
    if key in ended:
        return "ended"
    past = due["not_after"] is not None and due["not_after"] < one.now
    return "past" if past else "open"


def wrong_ends(one, plan):
    """Every open due is on exactly one message, the others on none; classes without consent and
    wishes of none are held, and so are the offers for a car whose owner complained."""
    complained = {car.id for car in one.cars if car.offers_held}
    ended = {(e.kind, e.subject, e.ordinal) for e in one.ended}
    carried = {}
    for intent in plan.intents:
        for words in intent["dues"]:
            carried[key_of(words)] = carried.get(key_of(words), 0) + 1
    for key, due in plan.dues.items():
        wanted = int(state(one, key, due, ended) == "open")
        if carried.get(key, 0) != wanted:
            yield f"{key} is on {carried.get(key, 0)} messages, wanted {wanted}"
        allowed = one.consent[1 if key[0] in TIPS else 2 if key[0] in OFFERS else 0]
        unwished = one.wish == "never" and key[0] in TIPS + OFFERS
        if due["held"] == "-" and (not allowed or unwished or one.silenced):
            yield f"{key} goes against the customer's word"
        offered = key[0] in OFFERS and due["car"] in complained
        if (offered and due["held"] == "-") or (not offered and "complaint" in due["held"]):
            yield f"{key} of car {due['car']} is held: {due['held']}, wanted: {offered}"


def going(plan):
    return [intent for intent in plan.intents if not intent["lapse"]]


def wrong_times(one, plan):
    """Inside the sending hours and every window, and not before now."""
    hours = one.shop.hours
    for intent in going(plan):
        at = intent["send_at"]
        if at < one.now or not hours.open(at):
            yield f"{intent['kind']} at {at}, before now or outside the hours"
        for words in intent["dues"]:
            due = plan.dues[key_of(words)]
            if at < due["start"] or (due["not_after"] is not None and at > due["not_after"]):
                yield f"{key_of(words)} at {at}, outside its window"


class Calendar:
    """What the customer was sent and will be, by civil day."""

    def __init__(self, one, plan):
        self.one, zone = one, one.shop.zone
        self.sent = [(civil.date_of(zone, told.at), told.kind) for told in one.told]
        self.new = [(civil.date_of(zone, i["send_at"]), i["kind"]) for i in going(plan)]
        self.asked = [civil.date_of(zone, i["send_at"]) for i in going(plan)
                      if i["kind"] != "mileage"
                      and any(words[0] == "mileage" for words in i["dues"])]

    def days(self, kinds):
        return sorted(day for day, kind in self.sent + self.new if kind in kinds)

    def blocks(self, day, kind):
        """The restraints one more message of that kind on that day would break."""
        _, weeks, yearly = self.one.shop.restraint
        if self.one.route != "by hand" and day in self.days(KINDS):
            yield "a day to an address"
        if kind == "care" and any(abs((day - other).days) < weeks
                                  for other in self.days(("care",))):
            yield "one care tip"
        if kind in TIPS + OFFERS and crowded(self.days(TIPS + OFFERS) + [day], yearly):
            yield "tips and offers a year"
        if kind == "mileage" and crowded(self.days(("mileage",)) + self.asked + [day],
                                         2):
            yield "the mileage is asked for"


def crowded(days, most):
    """Whether more than `most` fall within one year, its last day included (their hours count)."""
    days = sorted(days)
    return any((b - a).days <= 365 for a, b in zip(days, days[most:]))


def wrong_restraint(one, plan):
    """One message a day, care weeks apart, a few tips and offers a year."""
    calendar = Calendar(one, plan)
    if one.route != "by hand":
        days = [day for day, _ in calendar.new]
        sent = {day for day, _ in calendar.sent}
        for day in sorted(set(days)):
            if days.count(day) + (day in sent) > 1:
                yield f"more than one message on {day}"
    if one.wish != "normal":
        return
    _, weeks, yearly = one.shop.restraint
    today = civil.date_of(one.shop.zone, one.now)
    care = calendar.days(("care",))
    for a, b in zip(care, care[1:]):
        if b >= today and (b - a).days < weeks:
            yield f"care on {a} and {b}"
    some = calendar.days(TIPS + OFFERS)
    for a, b in zip(some, some[yearly:]):
        if b >= today and (b - a).days < 365:
            yield f"{yearly + 1} tips and offers from {a} to {b}"


def wrong_lapses(one, plan):
    """What lapses could not have gone on any day of its window, and says why."""
    hours, zone = one.shop.hours, one.shop.zone
    calendar = Calendar(one, plan)
    for intent in plan.intents:
        if not intent["lapse"] or one.wish != "normal":
            continue
        first = max([one.now] + [plan.dues[key_of(w)]["start"] for w in intent["dues"]])
        last = min(plan.dues[key_of(w)]["not_after"] for w in intent["dues"])
        days = sorted({civil.date_of(zone, at) for at in hours.last_of(first, last)})
        blocks = {day: list(calendar.blocks(day, intent["kind"])) for day in days}
        free = [day for day in days if not blocks[day]]
        reasons = {reason for found in blocks.values() for reason in found}
        if free:
            yield f"{intent} lapses, yet could go on {free[0]}"
        elif not any(reason in intent["lapse"] for reason in reasons or {"sending hour"}):
            yield f"{intent} lapses for another reason: {sorted(reasons)}"


def faults(one, plan):
    for check in (wrong_ends, wrong_times, wrong_restraint, wrong_lapses):
        yield from check(one, plan)
