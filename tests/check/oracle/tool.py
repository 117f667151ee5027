"""The other side: facts as lines for plan_tool, and its answers read."""
import dataclasses
import subprocess

NEVER = "-"


def line(word, **fields):
    given = [f"{name.rstrip('_')}={value}" for name, value in fields.items()
             if value is not None and value != ""]
    return "\t".join([word] + given)


def shop_lines(shop):
    climate = ",".join(map(repr, shop.climate_c)) if shop.climate_c else None
    yield line("shop", zone=shop.zone.key, km_a_year=shop.km_a_year, lead_days=shop.lead_days,
               messages_a_day=shop.restraint[0], care_days=shop.restraint[1],
               tips_offers_a_year=shop.restraint[2], climate=climate,
               salt_months=",".join(map(str, shop.salt_months)))
    for day in range(7):
        there = day in shop.hours.days
        yield line("hours", day=day + 1, open=shop.hours.opens if there else 0,
                   close=shop.hours.closes if there else 0)
    for date in sorted(shop.hours.closed):
        yield line("closed", first=date, last=date)


def rule_line(rule):
    cure, wear, care = rule.cure, rule.wear, rule.care
    life = wear.life_days or (None, None)
    return line("rule", id=rule.id, product=rule.product, surface=rule.surface, role=rule.role,
                again=rule.again, drive_h=cure.drive_h, dry_h=cure.dry_h,
                rinse_days=cure.rinse_days, wash_lo=cure.wash_days[0], wash_hi=cure.wash_days[1],
                wiper_h=cure.wiper_h, reference_c=cure.reference_c, ea_ev=cure.ea_ev,
                stall_c=cure.stall_c, longest_days=cure.longest_days, life_lo=life[0],
                life_hi=life[1], share=wear.share, km_a_year=wear.km_a_year,
                limit_lo=wear.limits[0], limit_hi=wear.limits[1], max_km=wear.max_km,
                lead_days=wear.lead_days, interval_days=care.interval_days,
                grace_days=care.grace_days, extends=care.extends,
                on_calendar=int(care.on_calendar), by_customer=int(care.by_customer),
                look_over_months=rule.look_over_months,
                exposures=",".join(f"{name}:{factor}" for name, factor
                                   in sorted(rule.exposures.items())),
                stripped_by=",".join(rule.stripped_by))


def car_lines(car):
    yield line("car", id=car.id, km_a_year=car.km_a_year, since=car.since, gone_at=car.gone_at,
               offers_held=int(car.offers_held), exposures=",".join(car.exposures))
    for reading in car.readings:
        yield line("reading", **dataclasses.asdict(reading))
    for job in car.jobs:
        yield line("job", **{**dataclasses.asdict(job), "cured_indoors": int(job.cured_indoors)})
    for put in car.treatments:
        yield line("treatment", id=put.id, job=put.job, rule=put.rule.id, at=put.last_coat_at,
                   surface=put.surface, again=put.again, part=put.part)
    for event in car.events:
        fields = dataclasses.asdict(event)
        fields["treatment"] = event.treatment or None
        yield line("event", **fields)


def facts_lines(one):
    yield "reset"
    yield from shop_lines(one.shop)
    yield line("customer", id=one.customer, phone="+447700900123", mail="ada@example.com",
               route=one.route, wish=one.wish,
               consent=",".join(name for name, yes in zip(("service", "tips", "offers"),
                                                          one.consent) if yes) or "none",
               silenced=int(one.silenced))
    for rule in one.rules:
        yield rule_line(rule)
    for car in one.cars:
        yield from car_lines(car)
    for told in one.told:
        yield line("told", at=told.at, kind=told.kind, state=told.state)
    for end in one.ended:
        yield line("ended", kind=end.kind, subject=end.subject, ordinal=end.ordinal,
                   early=end.early or None, at=end.at or None)


def text(one, *questions):
    return "\n".join(list(facts_lines(one)) + list(questions)) + "\n"


@dataclasses.dataclass
class Planned:
    dues: dict
    intents: list
    skipped: list
    replan_at: int
    lives: dict


def instant(word):
    return None if word == NEVER else int(word)


def number(word):
    return None if word == NEVER else float(word)


def read(blocks):
    """The answers of "plan" and "lives", as Planned."""
    plan = Planned({}, [], [], None, {})
    for words in (answer.split("\t") for block in blocks for answer in block):
        if words[0] == "due":
            key = (words[1], int(words[2]), int(words[3]))
            names = ("start", "best_by", "not_after", "early", "likely", "late")
            plan.dues[key] = dict(zip(names, map(instant, words[5:11])), held=words[11],
                                  car=int(words[4]))
        elif words[0] == "intent":
            plan.intents.append(dict(kind=words[1], channel=words[2], send_at=instant(words[3]),
                                     start=instant(words[4]), not_after=instant(words[5]),
                                     lapse=None if words[6] == NEVER else words[6],
                                     dues=[tuple(due.split("/")) for due in words[7].split(",")]))
        elif words[0] == "skipped":
            plan.skipped.append(words[1])
        elif words[0] == "replan":
            plan.replan_at = instant(words[1])
        elif words[0] == "life":
            names = ("early", "likely", "late", "ended_at")
            plan.lives[int(words[1])] = dict(zip(names, map(instant, words[2:6])),
                                             speed=number(words[6]), km_a_day=number(words[7]),
                                             cure_end=instant(words[8]))
    return plan


class Tool:
    """One run of plan_tool for many questions."""

    def __init__(self, path):
        self.run = subprocess.Popen([path], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                    text=True)

    def ask(self, one, *questions):
        """The answers, a list of lines each."""
        self.run.stdin.write(text(one, *questions))
        self.run.stdin.flush()
        return [self._answer() for _ in questions]

    def plan(self, one):
        return read(self.ask(one, line("plan", at=one.now), line("lives", at=one.now)))

    def _answer(self):
        lines = []
        while True:
            answer = self.run.stdout.readline()
            if not answer:
                raise RuntimeError("plan_tool ended")
            if answer == ".\n":
                return lines
            lines.append(answer.rstrip("\n"))

    def close(self):
        self.run.stdin.close()
        return self.run.wait()
