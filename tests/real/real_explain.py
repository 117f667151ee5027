"""Explaining as an owner with a pocket calculator would check it: every date that `explain` prints is
reckoned again from the printed numbers alone, and once more from --json, and compared."""
import math
import os
import random
import re
import subprocess
from datetime import date, datetime, timedelta

from shop import COMMAND, Shop, run_tests

DAY = timedelta(days=1)
HAIR = timedelta(minutes=5)  # days are printed to a thousandth, instants to the minute
MONTHS = {name: i + 1 for i, name in enumerate(
    "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split())}
ENDS = ("early", "likely", "late")
NOW = "2026-11-25 12:00"
MILE = 1.609344
FILM = '''products = { rain-film = { title = { en = "rain film"; }; surface = "soft top"; role = "topper";
again = "shop"; wear = { life_days = [120, 240]; share = 0.5; max_km = 8000; };
basis = { life = "from memory"; share = "from memory"; max_km = "from memory"; }; }; };'''
WINTER = ("climate = [ 3.0, 4.0, 7.0, 9.5, 12.5, 15.5, 17.5, 17.5, 15.0, 11.5, 6.0, 4.0 ];"
          " salt_months = [11, 12, 1, 2, 3];")


# --- reading what was printed ---------------------------------------------------------------------


def moment(text):
    """"Thu 12 Mar 2026 15:40" as wall clock; the zone of these tests has no summer time."""
    day, month, year, clock = re.match(r"(?:\w{3} )?(\d+) (\w{3}) (\d{4})(?: (\d\d:\d\d))?", text).groups()
    hour, minute = map(int, (clock or "00:00").split(":"))
    return datetime(int(year), MONTHS[month], int(day), hour, minute)


def cells(line):
    """The cells of a line of a table with where each begins and ends."""
    return [(found.group(), found.start(), found.end())
            for found in re.finditer(r"\S+(?: \S+)*", line)]


def table(lines, first):
    """The rows under the head at lines[first], each title -> text; a cell is under the title it
    begins or ends with."""
    head = cells(lines[first])
    rows = []
    for line in lines[first + 1:]:
        row = {}
        for text, start, end in cells(line):
            row.update({title: text for title, from_, to in head if from_ == start or to == end})
        if len(row) != len(cells(line)) or len(row) < 3:
            break
        rows.append(row)
    return rows


class Block:
    """A heading with what stands under it."""

    def __init__(self, lines):
        self.name = lines[0]
        self.lines = lines[1:]
        self.labels = {}
        label = None
        for line in self.lines:
            found = re.match(r"  (\S.{0,9}\S|\S)? {1,}(?<=^.{13})(\S.*)", line)
            if found:
                label = found.group(1) or label
                said = self.labels.get(label, "")
                self.labels[label] = f"{said} {found.group(2)}".strip()

    def table(self, *titles):
        for i, line in enumerate(self.lines):
            if [text for text, _, _ in cells(line)][:len(titles)] == list(titles):
                return table(self.lines, i)
        return []

    def numbers(self, label, pattern):
        found = re.search(pattern, self.labels[label])
        assert found, (label, pattern, self.labels[label])
        return [float(one) for one in found.groups()]


def flat(text):
    """The text as if no line had been broken."""
    return re.sub(r"\s+", " ", text)


def blocks(text):
    return [Block(part.splitlines()) for part in text.split("\n\n")[1:] if part.strip()]


def near(got, want, by, what):
    assert abs(got - want) <= by, f"{what}: printed {got}, reckoned {want}"


# --- the sums, by hand ----------------------------------------------------------------------------


def check_distance(block):
    """The weighted mean, its weights and the days a stretch has."""
    forecast = block.numbers("Forecast", r"([\d.]+) \w+ a day x 365.25")[0]
    rows = block.table("from", "to") or block.table("from")
    if not rows:
        return forecast
    first_age = block.numbers("Weights", r"90 x 2\^\(-([\d.]+)/365\)")[0]
    top = bottom = 0.0
    for row in rows:
        weight, daily = float(row["weight"]), float(row["a day"])
        if "age" in row:
            age, days = float(row["age"]), float(row["days"])
            near(days, (moment(row["to"]) - moment(row["from"])) / DAY, 0.0008, "days")
            near(daily, float(row["driven"]) / days, 1e-4 + 1e-6 * daily / days, "distance a day")
            half = 365 / math.log(2)
            near(weight, half * (2 ** (-(age - days) / 365) - 2 ** (-age / 365)), 1.1e-3, "weight")
        else:
            near(weight, 90 * 2 ** (-first_age / 365), 1e-3, "the prior's weight")
        top += weight * daily
        bottom += weight
    mean = top / bottom
    # What half a unit in the last place of each weight and rate can do.
    hair = 1.1e-5 + sum(5e-6 * abs(float(row["a day"]) - mean) for row in rows) / bottom
    near(forecast, mean, hair, "the mean")
    said = block.labels["Mean"]
    sum_, told = re.match(r"(.*) = ([\d.]+) \w+ a day", said).groups()
    assert set(sum_) <= set("0123456789.+x()/ "), sum_
    near(float(told), eval(sum_.replace("x", "*")), hair, "the mean as it is written")
    return forecast


class Wear:
    """One protection's sum, reckoned again from its block."""

    def __init__(self, block):
        self.block = block
        self.coat = moment(block.labels["Last coat"])
        self.lives = self.read_lives()
        self.use = block.table("#", "until")
        self.wear = block.table("#", "adds to V")
        self.check_speeds()
        self.ends = self.reckon_ends()

    def read_lives(self):
        label = self.block.labels.get("Label") or self.block.labels["Learned"]
        lo = float(re.match(r"[\d.]+", label).group())
        found = re.match(r"[\d.]+ to ([\d.]+) days \(mean ([\d.]+)\)", label)
        hi, mean = map(float, found.groups()) if found else (lo, lo)
        near(mean, (lo + hi) / 2, 1e-6, "the mean life")
        return {"early": lo, "likely": mean, "late": hi}

    def check_speeds(self):
        speed = self.block.labels["Speed"]
        found = re.match(r"1 - ([\d.]+) \+ ([\d.]+) x \w+ a day / ([\d.]+); held at ([\d.]+) at least,"
                         r" ([\d.]+) at most", speed)
        share, reference, least, most = (0, 1, 0, 9) if not found else \
            [float(found.group(i)) for i in (1, 3, 4, 5)]
        used = at = 0.0
        for row in self.use:
            raw = 1 - share + share * float(row["a day"]) / reference
            near(float(row["speed"]), raw, 2e-6, "speed")
            held = min(max(raw, least), most)
            assert ("held" in row) == (held != raw) or abs(held - raw) < 2e-6, row
            near(float(row.get("held", row["speed"])), held, 2e-6, "speed held")
            days = float(row["days"])
            near(float(row["day"]), at + days, 0.0011, "day")
            near((moment(row["until"]) - self.coat) / DAY, float(row["day"]), 0.0013, "until")
            at = float(row["day"])
            rate = float(row.get("held", row["speed"])) * float(row.get("times", 1))
            near(float(row["use V"]), used + days * rate, 0.0011 + 0.0006 * rate, "V")
            used = float(row["use V"])

    def extends(self):
        care = self.block.labels.get("Care")
        return float(re.search(r"wears 1/([\d.]+)", care).group(1)) if care else 1.0

    def reckon_ends(self):
        """The day each end comes, crossing by crossing."""
        most = re.search(r"not beyond ([\d.]+)", " ".join(self.block.labels.values()))
        ends = {}
        for end in ENDS:
            worn = driven = at = 0.0
            for use, wear in zip(self.use, self.wear):
                days = float(use["days"])
                rate = float(use.get("held", use["speed"])) * float(use.get("times", 1))
                kept = wear.get("kept up for", "")
                rate /= self.extends() if end in kept or kept == "all three" else 1
                in_wear = (self.lives[end] - worn) / rate
                in_km = (float(most.group(1)) - driven) / float(use["a day"]) \
                    if most and float(use["a day"]) > 0 else math.inf
                if min(in_wear, in_km) <= days + 0.002:
                    ends[end] = at + min(in_wear, in_km)
                    break
                near(float(wear[f"W {end}"]), worn + days * rate, 0.0011 + 0.0006 * rate, "W")
                worn, at = float(wear[f"W {end}"]), float(use["day"])
                if most:
                    far = float(wear.get("miles so far") or wear["km so far"])
                    near(far, driven + days * float(use["a day"]),
                         0.02 + 6e-4 * float(use["a day"]), "distance so far")
                    driven = far
        return ends

    def check_ends(self):
        for end in ENDS:
            said = self.block.labels[end.title()]
            if said == "over 200 years off":
                assert end not in self.ends, self.block.lines
                continue
            assert end in self.ends, (end, self.block.lines)
            day = float(re.search(r"day ([\d.]+)", said).group(1))
            near(day, self.ends[end], 0.004, end)
            at = self.coat + timedelta(days=self.ends[end])
            on = moment(said).date()
            assert (at - HAIR).date() <= on <= (at + HAIR).date(), (end, said, at)
        return len(self.ends)

    def at(self, end):
        return self.coat + timedelta(days=self.ends[end])

    def use_from(self, since, days):
        """The instant so many days of use after an instant."""
        begun = (since - self.coat) / DAY
        at = used = 0.0
        left = None
        for row in self.use:
            to = float(row["day"])
            rate = float(row.get("held", row["speed"])) * float(row.get("times", 1))
            if left is None and begun <= to:
                left = days
                at = begun
            if left is not None:
                if left <= (to - at) * rate:
                    return self.coat + timedelta(days=at + left / rate)
                left -= (to - at) * rate
            at = to
        return None


def check_due(block, wears):
    """A due's window from its words; returns its kind."""
    kind, _, name = block.name.partition(": ")
    wear = next((one for one in wears if one.block.name == name), None)
    own = re.search(r"\(else (.*)\)", block.labels["From"])
    begins, why = re.match(r"(.{15,21}?): (.*)", own.group(1) if own else block.labels["From"]).groups()
    begins = moment(begins)
    best_by, not_after = moment(block.labels["Best by"]), moment(block.labels["Not after"])
    extended = "the end of the next sending day" in block.labels["Not after"]
    waits = moment(block.labels["From"])
    if kind == "Top-up" and wear and len(wear.ends) == 3:
        lead = timedelta(days=float(re.match(r"early, less ([\d.]+) days", why).group(1)))
        if "a quarter" in why:
            near(lead / DAY, wear.ends["early"] / 4, 0.002, "the lead")
        close(begins, wear.at("early") - lead)
        close(best_by, max(waits, wear.at("likely") - lead))
        if not extended:
            close(not_after, max(best_by, wear.at("late") + 30 * DAY))
    elif kind == "Care":
        days, of, since = re.match(r"([\d.]+) days( of use)? after (.*)", why).groups()
        since = moment(since)
        at = wear.use_from(since, float(days)) if of else since + float(days) * DAY
        if at:
            close(begins, at)
    elif kind == "Look-over":
        months, since = re.match(r"(\d+) months after (.*)", why).groups()
        since = moment(since)
        month = since.month - 1 + int(months)
        assert begins == since.replace(year=since.year + month // 12, month=month % 12 + 1), why
        assert best_by == max(waits, begins + 30 * DAY), block.lines
    elif kind == "Wash":
        assert best_by == begins and (extended or not_after == begins + 14 * DAY)
    if "Goes" in block.labels:
        assert waits - HAIR <= moment(block.labels["Goes"]) <= not_after + HAIR, block.lines
    return kind


def close(got, want):
    assert abs(got - want) <= HAIR, f"printed {got}, reckoned {want}"


def check_cure(block):
    """The days of the cure and the date they make."""
    coat = moment(re.search(r"last coat (.*?) \(job", block.labels["Cures"]).group(1))
    asked, longest = block.numbers("Label", r"to ([\d.]+) days;.*over ([\d.]+) days")
    stall = re.search(r"below (-?[\d.]+) °C nothing cures", block.labels["Label"])
    ea, boltzmann, kelvin = block.numbers(
        "Speed", r"e\^\(([\d.]+) / ([\d.]+) x \(1/([\d.]+) - ")
    gathered, at, end = 0.0, coat, None
    for row in block.table("day", "days"):
        days = float(row["days"])
        rate = 1.0
        if row["from"] != "label":
            temp = float(row["°C"])
            rate = math.exp(ea / boltzmann * (1 / kelvin - 1 / (273.15 + temp)))
            if stall and temp < float(stall.group(1)):
                assert row["speed a"] == "stalled"
                rate = 0.0
            else:
                near(float(row["speed a"]), rate, 1e-4, "a(T)")
            rate = min(1.0, rate)
        near(float(row["gathered"]), days * rate, 2e-4, "gathered")
        assert moment(row["day"]).date() in {(at + HAIR).date(), at.date()}, (row, at)
        if end is None and rate > 0 and gathered + days * rate >= asked - 2e-3:
            end = at + timedelta(days=(asked - gathered) / rate)
        gathered += days * rate
        at += timedelta(days=days)
        near(float(row["sum"]), gathered, 4e-3, "the sum")
    latest = coat + timedelta(days=longest)
    held = end is None or end > latest + HAIR
    end = min(end or latest, latest)
    assert ("the longest" in block.labels["Over"]) == held, block.labels["Over"]
    close(moment(block.labels["Over"]), end)
    wash = moment(block.labels["Wash from"]).date()
    assert wash in {first_day(end - HAIR), first_day(end + HAIR)}, (wash, end)


def first_day(at):
    return at.date() if at == datetime.combine(at.date(), datetime.min.time()) else \
        at.date() + timedelta(days=1)


def check_text(text):
    """Everything of a car's explanation; how many ends, and which kinds of dues, were reckoned."""
    parts = blocks(text)
    wears, kinds, ends, cures = [], set(), 0, 0
    for line in text.splitlines():
        assert len(line) <= 100, line
    for block in parts:
        if "Last coat" in block.labels and "Early" in block.labels:
            wears.append(Wear(block))
            ends += wears[-1].check_ends()
        elif block.name == "How far it is driven":
            check_distance(block)
        elif block.name == "When it may be washed" and "Cures" in block.labels:
            check_cure(block)
            cures += 1
    for block in parts:
        if "Best by" in block.labels and "From" in block.labels:
            kinds.add(check_due(block, wears))
    return ends, kinds, cures


# --- the same from --json ---------------------------------------------------------------------------


def instant(text):
    return datetime.fromisoformat(text)


def seconds(got, want, what):
    assert abs((instant(got) - want).total_seconds()) <= 1.5, f"{what}: {got}, reckoned {want}"


def check_json_distance(distance):
    top = distance["prior_weight_days"] * distance["prior_km_a_day"]
    bottom = distance["prior_weight_days"]
    for one in distance["stretches"]:
        weight = 365 / math.log(2) * (2 ** (-one["to_age_days"] / 365)
                                      - 2 ** (-one["from_age_days"] / 365))
        near(one["weight_days"], weight, 1e-6, "weight")
        near(one["km_a_day"], one["km"] / one["days"], 1e-8 * one["km_a_day"] + 1e-9, "km a day")
        top += weight * one["km_a_day"]
        bottom += weight
    near(distance["forecast_km_a_day"], top / bottom, 1e-6, "the mean")


def check_json_wear(row):
    lo, hi = row["life_days"]
    lives = {"early": lo, "likely": (lo + hi) / 2, "late": hi}
    factors = {one["name"]: one["factor"] for one in row["exposure_factors"]}
    reference = row["reference_km_a_year"] / 365.25
    coat = instant(row["last_coat_at"])
    for end in row["ends"]:
        name, worn, km, at = end["end"], 0.0, 0.0, None
        assert end["wear_to_reach_days"] == lives[name]
        for one in row["stretches"]:
            raw = 1 - row["share"] + row["share"] * one["km_a_day"] / reference
            speed = min(max(raw, row["limits"][0]), row["limits"][1])
            near(one["free_speed"], raw, 1e-7, "free speed")
            near(one["speed"], speed, 1e-7, "speed")
            rate = speed * math.prod(factors[name] for name in one["exposed_to"])
            near(one["use_days"], one["days"] * rate, 1e-4, "use")
            rate /= row["extends"] if one["kept_up"][name] else 1
            by_wear = (lives[name] - worn) / rate
            by_km = (row["max_km"] - km) / one["km_a_day"] if row["max_km"] else math.inf
            if min(by_wear, by_km) <= one["days"] + 2e-5:
                at = instant(one["from"]) + timedelta(days=min(by_wear, by_km))
                assert end["by_distance"] == (by_km < by_wear), end
                break
            worn += one["days"] * rate
            km += one["days"] * one["km_a_day"]
        if end["at"]:
            seconds(end["at"], at, name)
            near(end["after_days"], (at - coat) / DAY, 1e-3, name)
    return len(row["ends"])


def check_json_due(due, rows):
    if due["kind"] == "top-up":
        lead = timedelta(days=due["lead_days"])
        own = {one["end"]: one["at"] for one in rows[due["treatment"]]["ends"]}
        assert [due[end] for end in ENDS] == [own[end] for end in ENDS], due
        seconds(due["own_from"], instant(due["early"]) - lead, "from")
        best_by = max(instant(due["from"]), instant(due["likely"]) - lead)
        seconds(due["best_by"], best_by, "best by")
        seconds(due["extended_from"] or due["not_after"],
                max(best_by, instant(due["late"]) + 30 * DAY), "not after")
        if due["lead_by"] == "quarter of the early life":
            coat = instant(rows[due["treatment"]]["last_coat_at"])
            near(lead / DAY, (instant(due["early"]) - coat) / DAY / 4, 1e-4, "lead")
    if due["no_message"] is None:
        assert instant(due["from"]) <= instant(due["send_at"]) <= instant(due["not_after"]), due


def check_json_cure(cure):
    for one in cure["cures"]:
        gathered = 0.0
        for day in one["days"]:
            rate = 1.0
            if day["temp_c"] is not None:
                kelvin = 1 / (one["reference_c"] + 273.15) - 1 / (day["temp_c"] + 273.15)
                rate = min(1.0, math.exp(one["ea_ev"] / 8.617333262e-5 * kelvin))
                rate = 0.0 if day["stalled"] else rate
            gathered += rate * ((instant(day["to"]) - instant(day["from"])) / DAY)
            near(day["sum_days"], gathered, 3e-5, "the cure's sum")
        assert one["held_at_longest"] or one["indoors"] or abs(gathered - one["asked_days"]) < 3e-5
        if one["held_at_longest"]:
            seconds(one["end_at"], instant(one["last_coat_at"]) + one["longest_days"] * DAY, "end")
    ends = [instant(one["end_at"]) for one in cure["cures"]]
    if cure["binds"] == "treatment":
        last = str(first_day(max(ends).replace(tzinfo=None)))
        assert cure["wash_from"] == last and instant(cure["end_at"]) in ends, cure


def check_json(got):
    rows = {row["treatment"]: row for row in got["treatments"]}
    check_json_distance(got["distance"])
    ends = sum(check_json_wear(row) for row in got["treatments"] if row.get("stretches"))
    for due in got["dues"]:
        check_json_due(due, rows)
    if got["cure"]:
        check_json_cure(got["cure"])
    return ends


# --- shops ------------------------------------------------------------------------------------------


def winter_shop(more="", units="miles"):
    shop = Shop(hours='saturday = "09:00-13:00";', zone="Etc/UTC",
                more=f'units = "{units}"; {WINTER} {more}').__enter__()
    (shop.root / "catalogue" / "mine.conf").write_text(FILM)
    return shop


def add_owner(shop, now="2026-06-01 09:00"):
    shop.must("add", "customer", "Ada Example", "--phone", "07700 900123", "--tips", "yes",
              "--offers", "yes", "--how", "asked", now=now)


def hard_car(shop):
    """Three readings, two cares in time, a harsh wash, an open cure in winter, a wheel spray at 34 000
    miles a year, a product with a distance of its own."""
    add_owner(shop)
    for words, now in (
            (("add", "car", "ada", "AB12 CDE", "--name", "blue estate", "--exposed", "winter-salt",
              "--exposed", "stored-outdoors", "--distance-a-year", "34000"), "2026-06-01 09:00"),
            (("add", "mileage", "AB12 CDE", "30000"), "2026-06-01 10:00"),
            (("add", "job", "AB12 CDE", "glass-coating", "windscreen-coating", "wheel-spray",
              "tyre-dressing", "--at", "2026-06-15 15:40", "--mileage", "31300", "--temp", "18"),
             "2026-06-15 16:00"),
            (("add", "event", "AB12 CDE", "care", "--surface", "glass"), "2026-07-04 10:00"),
            (("add", "event", "AB12 CDE", "care", "--surface", "glass"), "2026-07-24 10:00"),
            (("add", "job", "AB12 CDE", "wheel-spray", "rain-film", "--at", "2026-11-10 15:00",
              "--mileage", "45600", "--temp", "9"), "2026-11-10 16:00"),
            (("add", "event", "AB12 CDE", "harsh-wash", "--with", "strong pre-wash"),
             "2026-11-12 10:00"),
            (("add", "job", "AB12 CDE", "coating-3y:2", "wheel-spray", "--at", "2026-11-20 15:40",
              "--temp", "5"), "2026-11-20 16:00")):
        shop.must(*words, now=now)


def leave(shop):
    shop.__exit__()


def test_a_hard_cars_sum_is_reckoned_again_from_what_is_printed_and_from_json():
    shop = winter_shop()
    try:
        hard_car(shop)
        text = shop.must("explain", "blue estate", now=NOW)
        ends, kinds, cures = check_text(text)
        assert ends == 15 and cures == 1, (ends, cures)
        assert {"Top-up", "Wash", "Handover", "Care", "Look-over", "Mileage"} <= kinds, kinds
        assert text.startswith("blue estate (AB12 CDE): 35 000 miles a year, about five times the"
                               " usual, winter salt: two weeks,"), text
        for part in ("two weeks, not five", "early, likely, late by distance",
                     "4970.970 miles, whichever is first", "winter salt x 1.2 in Nov, Dec, Jan, Feb,",
                     "its owner's word", "kept up and wears 1/2", "on the next booking",
                     "31.5 days, has come before the 21 are gathered", "harsh wash"):
            assert part in text, f"no {part!r} in\n{text}"
        assert check_json(shop.json("explain", "blue estate", now=NOW)[0]) == 24
    finally:
        leave(shop)


def random_car(chance, shop, plate, start):
    """A car with a random history, in whole minutes."""
    now = start
    words = ["add", "car", "ada", plate]
    if chance.random() < 0.6:
        words += ["--distance-a-year", str(chance.randrange(1000, 40000))]
    for name in chance.sample(("winter-salt", "stored-outdoors", "brush-wash"), chance.randrange(3)):
        words += ["--exposed", name]
    shop.must(*words, now=str(now)[:16])
    mileage = chance.randrange(1000, 90000)
    for _ in range(chance.randrange(2, 6)):
        now += timedelta(minutes=chance.randrange(60, 80000))
        mileage += chance.randrange(0, 9000)
        at = str(now)[:16]
        what = chance.random()
        if what < 0.3:
            shop.run("add", "mileage", plate, str(mileage), now=at)
        elif what < 0.5:
            shop.must("add", "event", plate, "care", now=at)
        else:
            products = chance.sample(("coating-3y", "coating-1y", "glass-coating", "wheel-spray",
                                      "windscreen-coating", "rain-film", "tyre-dressing",
                                      "wheel-coating", "soft-top-protection"), 3)
            shop.run("add", "job", plate, *products, "--temp", str(chance.randrange(2, 28)), "--at",
                     at, "--mileage", str(mileage), now=at)
    return now + timedelta(minutes=chance.randrange(1, 20000))


def test_random_cars_sums_are_reckoned_again():
    seed = int(os.environ.get("BL_SEED", "20261125"))
    print(f"seed {seed}")
    chance = random.Random(seed)
    ends = 0
    kinds = set()
    for units in ("miles", "km"):
        shop = winter_shop(units=units)
        try:
            add_owner(shop, now="2026-01-01 09:00")
            for i in range(12):
                now = str(random_car(chance, shop, f"AB{i:02} CDE", datetime(2026, 1, 5, 9, 0)))[:16]
                try:
                    some, seen, _ = check_text(shop.must("explain", "car", f"AB{i:02} CDE", now=now))
                    got = check_json(shop.json("explain", "car", f"AB{i:02} CDE", now=now)[0])
                except AssertionError as error:
                    raise AssertionError(f"seed {seed}, car {i} in {units}: {error}") from error
                assert got >= some
                ends += some
                kinds |= seen
        finally:
            leave(shop)
    assert ends > 100 and {"Top-up", "Care"} <= kinds, (ends, kinds)


def test_a_cure_by_the_jobs_temperature_and_one_by_the_label_and_an_own_date():
    with Shop(zone="Etc/UTC") as shop:
        add_owner(shop)
        shop.must("add", "car", "ada", "AB12 CDE", now="2026-06-01 09:00")
        shop.must("add", "job", "AB12 CDE", "coating-3y", "--at", "10:00", "--temp", "6",
                  now="2026-06-01 11:00")
        text = shop.must("explain", "ab12cde", now="2026-06-02 11:00")
        assert check_text(text)[2] == 1 and "in the settings" not in text
        assert "the settings name none: the job's temperature counts throughout" in text, text
        wash = message_of(shop, "wash", "2026-06-02 11:00")
        text = shop.must("explain", "message", str(wash), now="2026-06-02 11:00")
        # 21 days at a(6 degrees) = 0.7321 of their speed, by Arrhenius with 0.531 eV.
        assert "in the cold the three-year paint coating cures 28.7 days, not 21" in flat(text), text
        shop.must("add", "car", "ada", "XY34 ZZZ", now="2026-06-01 09:00")
        shop.must("add", "job", "XY34 ZZZ", "coating-3y", "--at", "10:00", now="2026-06-01 11:00")
        text = shop.must("explain", "xy34zzz", now="2026-06-02 11:00")
        assert check_text(text)[2] == 1 and " label " in text, text
        shop.must("add", "job", "XY34 ZZZ", "wheel-spray", "--wash-from", "2026-07-20",
                  now="2026-06-03 11:00")
        text = shop.must("explain", "xy34zzz", now="2026-06-03 12:00")
        assert "Mon 20 Jul 2026: the date you set yourself with job #3" in text, text
        got = shop.json("explain", "xy34zzz", now="2026-06-03 12:00")[0]["cure"]
        assert got["binds"] == "own date" and got["wash_from"] == "2026-07-20", got


# --- messages ---------------------------------------------------------------------------------------


def message_of(shop, kind, now):
    return [row["message"] for row in shop.json("queue", now=now) if row["kind"] == kind][0]


def test_a_message_is_explained_with_the_sum_it_stands_on_and_what_it_goes_with():
    shop = winter_shop()
    try:
        add_owner(shop)
        shop.must("add", "car", "ada", "AB12 CDE", now="2026-06-01 09:00")
        shop.must("add", "job", "AB12 CDE", "glass-coating", "windscreen-coating", "--at", "10:00",
                  "--mileage", "20000", "--temp", "15", now="2026-06-01 11:00")
        now = "2026-06-01 12:00"
        care = message_of(shop, "care", now)
        text = shop.must("explain", str(care), now=now)
        assert re.match(rf"Message #{care}, care, goes \w{{3}} \d", text), text
        wears = [Wear(block) for block in blocks(text) if "Last coat" in block.labels]
        assert [check_due(block, wears) for block in blocks(text) if "Best by" in block.labels] \
            == ["Care", "Care"]
        assert "Together   with care: " in text, text
        got = shop.json("explain", str(care), now=now)[0]
        row = [one for one in shop.json("queue", now=now) if one["message"] == care][0]
        assert got["message"] == care and len(got["dues"]) == 2
        assert {due["send_at"] for due in got["dues"]} == {row["send_at"]}
        assert all(due["message"] == care and len(due["together_with"]) == 1 for due in got["dues"])
        for due in got["dues"]:
            check_json_due(due, {one["treatment"]: one for one in got["treatments"]})
        wash = message_of(shop, "wash", now)
        text = shop.must("explain", f"#{wash}", now=now)
        assert "the glass coating cures 2 days, as its label says" in flat(text), text
        check_text(text)
        shop.must("pause", str(care), "--why", "they are away", now=now)
    finally:
        leave(shop)


def test_what_moved_a_message_and_what_holds_one_is_said():
    shop = winter_shop()
    try:
        hard_car(shop)
        text = shop.must("explain", "blue estate", now=NOW)
        assert "Not sent   on the next booking" in text, text
        shop.must("change", "customer", "ada", "--offers", "no", "--how", "said so", now=NOW)
        text = shop.must("explain", "blue estate", now=NOW)
        assert "Not sent   no consent for offers" in text, text
        due = [one for one in shop.json("explain", "blue estate", now=NOW)[0]["dues"]
               if one["kind"] == "look-over"][0]
        assert due["no_message"] == "no consent for offers" and "send_at" not in due
    finally:
        leave(shop)


def send_top_up(shop):
    """A top-up that goes; its number and when it went."""
    add_owner(shop)
    shop.must("add", "car", "ada", "AB12 CDE", "--distance-a-year", "9000", now="2026-03-02 09:00")
    shop.must("add", "job", "AB12 CDE", "windscreen-coating", "--at", "10:00", "--mileage", "20000",
              "--temp", "15", now="2026-03-02 11:00")
    for _ in range(12):
        waits = [row for row in shop.json("queue", now="2026-03-02 12:00")]
        if not waits:
            break
        status, log = shop.until_idle("--now", waits[0]["send_at"])
        assert status == 0, log
        gone = [row for row in shop.json("sent", "--days", "300", now="2026-12-01 12:00")
                if row["kind"] == "top-up"]
        if gone:
            return gone[0]["message"], gone[0]["claimed_at"]
    raise AssertionError("no top-up went")


def test_a_message_that_went_is_explained_by_what_was_kept_and_its_own_rule_version():
    shop = winter_shop()
    try:
        number, went = send_top_up(shop)
        later = "2026-12-01 12:00"
        before = shop.json("explain", "message", str(number), now=later)[0]
        due = before["kept_dues"][0]
        assert before["state"] == "sent" and before["text"].startswith("Example Shine"), before
        assert due["reckoned_again_the_same"] and due["not_kept"] is None, due
        check_json_wear(due["reckoned_again"])
        assert [one["at"] for one in due["reckoned_again"]["ends"]] == [due[end] for end in ENDS]
        text = shop.must("explain", "message", str(number), now=later)
        wears = [Wear(block) for block in blocks(text) if "Early" in block.labels]
        assert len(wears) == 1 and wears[0].check_ends() == 3
        first = flat(text.split("\n  State")[0])
        kept = [f"{end} {wears[0].at(end):%a} {wears[0].at(end).day} {wears[0].at(end):%b %Y}"
                for end in ENDS]
        assert f": {', '.join(kept)}, as kept of it." in first and ANEW in text, (kept, first)
        for part in ("reckoned again with the facts of that day: the same dates", "Its text",
                     "Example Shine", f"version {due['rule_version']}, kept with it"):
            assert part in text, f"no {part!r} in\n{text}"

        glass = shop.root / "catalogue" / "glass.conf"
        glass.write_text(glass.read_text().replace("life_days = [91.3125, 91.3125]",
                                                   "life_days = [60, 61]"))
        after = shop.json("explain", "message", str(number), now=later)[0]["kept_dues"][0]
        assert after["reckoned_again"]["life_days"] == [91.3125, 91.3125], after
        assert after["reckoned_again_the_same"] and after["rule_version"] == due["rule_version"]
        now = shop.json("explain", "car", "ab12cde", now=later)[0]["treatments"][0]
        assert now["life_days"] == [60, 61]

        shop.must("add", "mileage", "AB12 CDE", "24000", "--at", "2026-04-20 10:00", now=later)
        mended = shop.json("explain", "message", str(number), now=later)[0]["kept_dues"][0]
        assert not mended["reckoned_again_the_same"] and mended["early"] == due["early"]
        text = shop.must("explain", "message", str(number), now=later)
        assert "entered or mended since" in text, text

        gone = [row["message"] for row in shop.json("sent", "--days", "300", now=later)
                if row["kind"] == "handover"]
        text = shop.must("explain", "message", str(gone[0]), now=later)
        assert "Not kept   temperatures and rule versions of a cure" in text, text
        assert "windscreen coating" in text and "Its text" in text, text
    finally:
        leave(shop)


ANEW = "\nReckoned anew from the facts as known now, so not always what it said\n"


def test_a_sent_message_is_not_told_as_saying_what_was_entered_after_it_went():
    with Shop(zone="Etc/UTC") as shop:
        add_owner(shop, now="2026-01-12 09:00")
        shop.must("add", "car", "ada", "AB12 CDE", now="2026-01-12 09:00")
        shop.must("add", "job", "AB12 CDE", "coating-3y", "--at", "10:00", "--temp", "15",
                  now="2026-01-12 11:00")
        status, log = shop.until_idle("--now", "2026-01-12 11:30")
        assert status == 0, log
        later = "2026-01-14 10:00"
        sent = [row["message"] for row in shop.json("sent", now=later)]
        shop.must("add", "event", "AB12 CDE", "cured-indoors", "--lamp", "--at", "2026-01-13 10:00",
                  now=later)
        shop.must("change", "treatment", "1", "--product", "coating-5y", now=later)
        text = shop.must("explain", "message", str(sent[0]), now=later)
        first = flat(text.split("\n  State")[0]).strip()
        assert first == (f"Message #{sent[0]}, handover, went Mon 12 Jan 2026 11:30, "
                         "sms to +447700900123."), first
        kept, anew = text.split(ANEW)
        assert "five-year" not in kept and "14 Jan" not in kept, kept
        assert "five-year" in anew and "Wed 14 Jan 2026" in anew, anew
        assert "three-year" in anew.split("Its text")[1], anew
        got = shop.json("explain", "message", str(sent[0]), now=later)[0]
        assert got["plain"] is None, got


def test_a_cure_that_a_lamp_ended_is_not_told_as_the_labels_days():
    with Shop(zone="Etc/UTC") as shop:
        add_owner(shop, now="2026-01-12 09:00")
        shop.must("add", "car", "ada", "AB12 CDE", now="2026-01-12 09:00")
        shop.must("add", "job", "AB12 CDE", "coating-3y", "--at", "10:00", "--temp", "15",
                  now="2026-01-12 11:00")
        now = "2026-01-13 12:00"
        before = shop.json("explain", "ab12cde", now=now)[0]["cure"]["plain"]
        assert before.endswith("cures 21 days, as its label says"), before
        shop.must("add", "event", "AB12 CDE", "cured-indoors", "--lamp", "--at", "2026-01-13 10:00",
                  now=now)
        after = shop.json("explain", "ab12cde", now=now)[0]["cure"]["plain"]
        assert after == ("wash from Wed 14 Jan 2026: the three-year paint coating was cured "
                         "indoors, which ended it on Tue 13 Jan 2026 10:00"), after
        wash = message_of(shop, "wash", now)
        text = flat(shop.must("explain", "message", str(wash), now=now))
        assert after in text and "label says" not in text, text


# --- what gives way, and when the next goes ----------------------------------------------------------

GAVE_WAY = "gave way: at most 1 message a day to an address"


def test_a_handover_that_gives_way_is_explained_and_reported_with_that_reason():
    with Shop(hours='monday = "none"; tuesday = "none"; saturday = "09:00-13:00";',
              zone="Etc/UTC") as shop:
        add_owner(shop, now="2026-01-10 08:00")
        for plate in ("AB12 CDE", "CD34 EFG"):
            shop.must("add", "car", "ada", plate, now="2026-01-10 08:00")
        shop.must("add", "job", "AB12 CDE", "wheel-spray", "--at", "09:00", now="2026-01-10 09:10")
        status, log = shop.until_idle("--now", "2026-01-10 09:30")
        assert status == 0, log
        out = shop.must("add", "job", "CD34 EFG", "wheel-spray", "--at", "10:00",
                        now="2026-01-10 10:10")
        assert re.search(f"handover +none: {GAVE_WAY}\n", out), out
        assert f"Note: no handover goes ({GAVE_WAY}): tell them yourself" in out, out
        assert "the handover goes" not in out, out
        now = "2026-01-10 10:20"
        assert f"held: {GAVE_WAY}" in shop.must("list", "dues", now=now)
        text = shop.must("explain", "cd34efg", now=now)
        block = [one for one in blocks(text) if one.name == "Handover: job #2"][0]
        assert block.labels["Not sent"] == GAVE_WAY, block.labels
        assert block.labels["From"].startswith("Sat 10 Jan 2026 10:10"), block.labels
        assert block.labels["Not after"].startswith("Mon 12 Jan 2026 10:00"), block.labels
        text = shop.must("explain", "cd34efg", now="2026-01-12 10:01")
        assert "Handover" not in text, text


def test_show_car_says_when_the_message_goes_or_since_when_it_is_due():
    with Shop(zone="Etc/UTC") as shop:
        add_owner(shop, now="2026-03-02 09:00")
        shop.must("add", "car", "ada", "AB12 CDE", now="2026-03-02 09:00")
        shop.must("add", "job", "AB12 CDE", "glass-coating", "--at", "10:00", now="2026-03-02 11:00")
        now = "2026-04-02 12:00"  # the window of care, 28 days of use, is open since 30 March
        goes = [row["send_at"] for row in shop.json("queue", now=now) if row["kind"] == "care"]
        day = date.fromisoformat(goes[0][:10])
        text = flat(shop.must("show", "car", "ab12cde", now=now))
        assert f"care goes {day:%a} {day.day} {day:%b}" in text, text
        got = shop.json("show", "car", "ab12cde", now=now)[0]["treatments"][0]
        assert got["care_goes_at"] == goes[0] and got["next_care_at"] < goes[0], got
        shop.must("change", "customer", "ada", "--tips", "no", "--how", "said so", now=now)
        text = flat(shop.must("show", "car", "ab12cde", now=now))
        assert "care since Mon 30 Mar" in text, text
        text = flat(shop.must("show", "car", "ab12cde", now="2026-03-03 12:00"))
        assert "care from Mon 30 Mar" in text, text
        got = shop.json("show", "car", "ab12cde", now=now)[0]["treatments"][0]
        assert got["care_goes_at"] is None, got


# --- names, widths and bars ---------------------------------------------------------------------------


def test_a_number_is_a_message_or_the_car_that_bears_it_and_the_other_is_offered():
    with Shop(zone="Etc/UTC") as shop:
        add_owner(shop)
        shop.must("add", "car", "ada", "2", now="2026-06-01 09:00")
        shop.must("add", "car", "ada", "AB12 CDE", now="2026-06-01 09:00")
        shop.must("add", "job", "2", "coating-3y", "--at", "10:00", now="2026-06-01 11:00")
        now = "2026-06-01 12:00"
        out = shop.must("explain", "2", now=now)
        assert out.startswith("2: ") and "beadline explain message 2" in out, out
        out = shop.must("explain", "#2", now=now)
        assert out.startswith("Message #2") and "beadline explain car '#2'" in out, out
        assert shop.must("explain", "car", "#2", now=now).startswith("AB12 CDE: ")
        assert shop.must("explain", "message", "1", now=now).startswith("Message #1, handover")
        assert shop.must("explain", "ab12cde", now=now) == \
            shop.must("explain", "car", "AB12 CDE", now=now)
        for words, part, status in (
                (("explain", "77"), "there is no message 77; \"beadline queue\"", 1),
                (("explain", "nobody"), 'no car "nobody"', 1),
                (("explain", "message", "x"), '"x" is no message number', 1),
                (("explain", "job", "1"), "the kind is car or message", 2),
                (("explain",), "name one car or message", 2)):
            got, out, err = shop.run(*words, now=now)
            assert got == status and out == "" and part in err and err.count("\n") == 1, (words, err)
        shop.must("add", "car", "ada", "CC", now=now)
        for i in range(7):
            shop.must("add", "car", "ada", f"EF{i} GHJ", now=now)
        got, _, err = shop.run("explain", "9", now=now)
        assert got == 1 and "if you mean the car: beadline explain car '#9'" in err, err


def shown(shop, now, **locale):
    keep = {name: value for name, value in os.environ.items()
            if name not in ("LC_ALL", "LC_CTYPE", "LANG")}
    done = subprocess.run([COMMAND, "--settings", shop.settings, "--now", now, "show", "car",
                           "ab12cde"], capture_output=True, text=True, env={**keep, **locale})
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_show_car_has_a_bar_a_life_in_letters_the_terminal_has():
    shop = winter_shop()
    try:
        hard_car(shop)
        rows = {row["treatment"]: row for row in shop.json("show", "car", "ab12cde", now=NOW)[0]
                ["treatments"]}
        explained = {row["treatment"]: row for row in
                     shop.json("explain", "car", "ab12cde", now=NOW)[0]["treatments"]}
        for locale, bar in (({"LC_ALL": "C"}, r"\[(#*)-*\]"), ({"LANG": "en_GB.UTF-8"}, "(█*)░*"),
                            ({"LC_ALL": "POSIX", "LANG": "en_GB.UTF-8"}, r"\[(#*)-*\]"),
                            ({}, r"\[(#*)-*\]")):
            on = shown(shop, NOW, **locale).split("Off it")[0]
            lines = re.findall(rf" *#(\d+)  .*  {bar} +(\d+) %\n", on)
            assert len(lines) == 5, on
            for number, full, percent in lines:
                row = rows[int(number)]
                share = row["used_share"]
                assert abs(share * 100 - int(percent)) <= 0.5001, (percent, row)
                assert abs(len(full) - min(share, 1) * 10) <= 0.5001, (full, share)
                same = explained[int(number)]
                assert share == same["used_share"] and row["use_days"] == same["use_days"]
                mean = sum(same["life_days"]) / 2
                by_distance = row["since_last_coat_km"] / same["max_km"] if same["max_km"] else 0
                near(share, max(row["wear_likely_days"] / mean, by_distance), 1e-8, "share")
            assert max(map(len, on.splitlines())) <= 100, on
        coating = [row for row in rows.values() if row["product"] == "coating-3y"][0]
        assert coating["next_care_at"] and coating["next_look_over_at"].startswith("2027-11-20")
        text = shown(shop, NOW, LC_ALL="C")
        assert "Wash from     Wed 23 Dec" in text and "look-over" in text, text
        off = text.split("Off it")[1].split("\n\n")[0]
        assert off.count("off since") == 3 and "harsh wash" in off and "superseded" in off, off
    finally:
        leave(shop)


if __name__ == "__main__":
    run_tests(globals())
