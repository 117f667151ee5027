#!/usr/bin/python3
"""Civil time against Python's zoneinfo, datetime and calendar, which share no code with ours.

Every transition of 2000 to 2037 of the named zones, a day to each side by quarter hours, and
instants and local times at random to 2100 in every zone of the system's database; month ends and
leap days with Python's calendar. The seed is printed; BL_SEED sets it. With --all, the transitions
of every zone of the database (some two minutes).
"""
import calendar
import datetime as dt
import io
import os
import random
import struct
import subprocess
import sys
import tempfile
import time
import zoneinfo

ZONES = """Europe/London Europe/Budapest Europe/Dublin America/New_York Australia/Sydney
    Australia/Lord_Howe America/Santiago Asia/Beirut Africa/Cairo America/Nuuk Pacific/Chatham
    Antarctica/Troll Asia/Kolkata America/Havana Africa/Casablanca Pacific/Apia""".split()
UTC = dt.timezone.utc
EPOCH = dt.datetime(1970, 1, 1, tzinfo=UTC)
QUARTER, DAY = 900, 86400
END = int(dt.datetime(2100, 12, 31, tzinfo=UTC).timestamp())
NO_ZONE = {"localtime", "posixrules"}  # stand for the machine's setting, refused on purpose


def ask(tool, questions):
    """The tool's answers, one a question."""
    if not questions:
        return []
    run = subprocess.run([tool], input="\n".join(questions) + "\n", capture_output=True,
                         text=True, check=True)
    answers = run.stdout.splitlines()
    assert len(answers) == len(questions), (len(answers), len(questions))
    return answers


def instant(at):
    return EPOCH + dt.timedelta(seconds=at)


def offset(zone, at):
    return int(instant(at).astimezone(zone).utcoffset().total_seconds())


def transitions(zone):
    """Instants of 2000 to 2037 at which the offset changes, found by halving."""
    found = []
    first = int(dt.datetime(2000, 1, 1, tzinfo=UTC).timestamp())
    last = int(dt.datetime(2038, 1, 1, tzinfo=UTC).timestamp())
    step = 2 * DAY
    for low in range(first, last, step):
        if offset(zone, low) == offset(zone, low + step):
            continue
        a, b = low, low + step
        while b - a > 1:
            middle = (a + b) // 2
            if offset(zone, middle) == offset(zone, low):
                a = middle
            else:
                b = middle
        found.append(b)
    return found


def expect_at(zone, at):
    there = instant(at).astimezone(zone)
    second = there.hour * 3600 + there.minute * 60 + there.second
    return f"{int(there.utcoffset().total_seconds())} {there.date()} {second}"


def expect_local(zone, local):
    """fold=0: the first of two, and the offset before a gap."""
    return str(int((local.replace(tzinfo=zone) - EPOCH).total_seconds()))


class Comparison:
    def __init__(self, tool):
        self.tool, self.questions, self.expected, self.wrong = tool, [], [], 0

    def add(self, question, expected):
        self.questions.append(question)
        self.expected.append(expected)

    def add_instant(self, name, zone, at):
        self.add(f"at {name} {at}", expect_at(zone, at))

    def add_local(self, name, zone, local):
        second = local.hour * 3600 + local.minute * 60 + local.second
        wanted = expect_local(zone, local)
        self.add(f"local {name} {local.date()} {second}", wanted)
        if second == 0:  # second 86400 is the next day's beginning
            before = local.date() - dt.timedelta(days=1)
            self.add(f"local {name} {before} {DAY}", wanted)

    def finish(self, title):
        """Compares, prints one line, and starts again; the number of differences."""
        wrong = 0
        for question, wanted, got in zip(self.questions, self.expected,
                                         ask(self.tool, self.questions)):
            if wanted != got:
                wrong += 1
                if wrong <= 5:
                    print(f"  {question}: expected {wanted}, got {got}")
        print(f"{title}: {len(self.questions)} compared, {wrong} differ")
        self.questions, self.expected = [], []
        self.wrong += wrong


def around_transitions(comparison, names):
    for name in names:
        zone = zoneinfo.ZoneInfo(name)
        changes = transitions(zone)
        for change in changes:
            for at in range(change - DAY, change + DAY + 1, QUARTER):
                comparison.add_instant(name, zone, at)
                comparison.add_instant(name, zone, at - 1)
                wall = instant(at + offset(zone, change - 1)).replace(tzinfo=None)
                comparison.add_local(name, zone, wall)
        comparison.finish(f"{name}, {len(changes)} transitions 2000-2037")


def at_random(comparison, rng, names, count, title):
    for name in names:
        zone = zoneinfo.ZoneInfo(name)
        for _ in range(count):
            comparison.add_instant(name, zone, rng.randrange(0, END))
            local = dt.datetime(1970, 1, 2) + dt.timedelta(seconds=rng.randrange(0, END - DAY))
            comparison.add_local(name, zone, local)
            comparison.add_local(name, zone, dt.datetime.combine(local.date(), dt.time()))
    comparison.finish(title)


def random_rule(rng):
    """A rule as zone files end with (RFC 8536 section 3.3.1), in any of its three day forms.

    Hours have two digits at most: Python 3.11 reads no more.
    """
    def day(month):
        form = rng.choice("MJ0")
        if form == "M":
            return f"M{month}.{rng.randint(1, 5)}.{rng.randint(0, 6)}"
        number = month * 30 + rng.randint(-8, 8)
        return f"J{number}" if form == "J" else str(number)

    def clock():
        return rng.choice(["", "/0", "/2:30", "/-1", "/24", "/26:15:30", "/-25", "/72"])

    west = rng.randint(-14 * 4, 12 * 4) * 15
    text = f"<AAA>{'-' if west < 0 else ''}{abs(west) // 60}:{abs(west) % 60:02}"
    if rng.random() < 0.1:
        return text
    text += "<BBB>"
    if rng.random() < 0.3:
        east = -west + rng.choice([-60, 30, 90, 120])
        text += f"{'-' if east > 0 else ''}{abs(east) // 60}:{abs(east) % 60:02}"
    months = rng.choice([(3, 10), (10, 3), (2, 11), (9, 4)])
    return text + "".join("," + day(month) + clock() for month in months)


def counted_days(rule):
    """Whether a day of the rule is counted from the year's beginning. Python 3.11 takes those
    counted from 0 a day early, and J59 of a leap year a day late."""
    return any(day[0] != "M" for day in rule.split(",")[1:])


def by_c_library(rule, instants):
    """The answers of the C library, which reads such a rule from TZ."""
    os.environ["TZ"] = rule
    time.tzset()
    there = [time.localtime(at) for at in instants]
    del os.environ["TZ"]
    time.tzset()
    return [f"{t.tm_gmtoff} {t.tm_year:04}-{t.tm_mon:02}-{t.tm_mday:02} "
            f"{t.tm_hour * 3600 + t.tm_min * 60 + t.tm_sec}" for t in there]


def random_rules(comparison, rng):
    """Zone files made here that hold nothing but a rule, read by both."""
    one_type = struct.pack(">4s16x6I", b"TZif", 0, 0, 0, 0, 1, 4).replace(b"TZif\0", b"TZif3")
    block = one_type + struct.pack(">iBB", 0, 0, 0) + b"UTC\0"
    with tempfile.TemporaryDirectory() as folder:
        for number in range(400):
            rule = random_rule(rng)
            data = block + block + b"\n" + rule.encode() + b"\n"
            name = f"Rule{number}"
            with open(os.path.join(folder, name), "wb") as file:
                file.write(data)
            instants = [rng.randrange(DAY * 366, END) for _ in range(250)]
            if counted_days(rule):
                for at, answer in zip(instants, by_c_library(rule, instants)):
                    comparison.add(f"at {name} {at}", answer)
                continue
            zone = zoneinfo.ZoneInfo.from_file(io.BytesIO(data), key=rule)
            for at in instants:
                comparison.add_instant(name, zone, at)
                local = dt.datetime(1971, 1, 2) + dt.timedelta(seconds=rng.randrange(0, END // 2))
                comparison.add_local(name, zone, local)
        os.environ["TZDIR"] = folder
        comparison.finish("400 rules at random")
        del os.environ["TZDIR"]


def months_later(date, months):
    year, month = divmod(date.year * 12 + date.month - 1 + months, 12)
    if not 1 <= year <= 9999:
        return None
    return date.replace(year=year, month=month + 1,
                        day=min(date.day, calendar.monthrange(year, month + 1)[1]))


def month_arithmetic(comparison, rng):
    """120 000 random dates, half of them ends of months and leap days, to the year 2200."""
    first, last = dt.date(1970, 1, 1).toordinal(), dt.date(2200, 12, 31).toordinal()
    for i in range(120000):
        date = dt.date.fromordinal(rng.randint(first, last))
        if i % 2:
            end = calendar.monthrange(date.year, date.month)[1]
            date = date.replace(day=rng.randint(max(1, end - 3), end))
        if i % 16 == 1:
            date = dt.date(rng.choice([1972, 2000, 2024, 2028, 2036, 2096]), 2, 29)
        months = rng.choice([1, 2, 3, 6, 12, 18, 24, 36, 60, -1, -6, rng.randint(-900, 900)])
        wanted = months_later(date, months)
        if wanted:
            comparison.add(f"months {date} {months}", str(wanted))
    for text, months in (("2026-08-31", 6), ("2027-08-31", 6), ("2037-12-31", 2),
                         ("2099-12-31", 2), ("2096-02-29", 48), ("2000-02-29", 1200)):
        comparison.add(f"months {text} {months}",
                       str(months_later(dt.date.fromisoformat(text), months)))
    comparison.finish("months later")


def every_day(comparison):
    """Each day of the years 1 to 9999 by steps of 11, and each of 1890 to 2210."""
    epoch = dt.date(1970, 1, 1).toordinal()
    days = list(range(1, dt.date.max.toordinal() + 1, 11))
    days += range(dt.date(1890, 1, 1).toordinal(), dt.date(2210, 1, 1).toordinal())
    for ordinal in days:
        date = dt.date.fromordinal(ordinal)
        comparison.add(f"split {ordinal - epoch}", f"{date} {date.isoweekday()}")
        comparison.add(f"parse {date}", str(ordinal - epoch))
    comparison.finish("days to dates and back")


def impossible_dates(comparison):
    for year in (1900, 2000, 2023, 2024, 2100, 9999):
        for month in range(0, 14):
            for day in range(0, 33):
                try:
                    wanted = str(dt.date(year, month, day).toordinal()
                                 - dt.date(1970, 1, 1).toordinal())
                except ValueError:
                    wanted = "no"
                comparison.add(f"parse {year:04}-{month:02}-{day:02}", wanted)
    comparison.finish("possible and impossible dates")


def main():
    tool = os.path.join(os.environ["BL_BUILD"], "tests", "zone_tool")
    seed = int(os.environ.get("BL_SEED", random.SystemRandom().randrange(1 << 32)))
    print(f"seed {seed} (BL_SEED={seed} repeats this run)")
    rng = random.Random(seed)
    comparison = Comparison(tool)
    everywhere = sorted(zoneinfo.available_timezones() - NO_ZONE)
    around_transitions(comparison, everywhere if "--all" in sys.argv else ZONES)
    at_random(comparison, rng, ZONES, 3000, "named zones at random, 1970-2100")
    at_random(comparison, rng, everywhere, 100, f"all {len(everywhere)} zones at random")
    random_rules(comparison, rng)
    month_arithmetic(comparison, rng)
    every_day(comparison)
    impossible_dates(comparison)
    return 1 if comparison.wrong else 0


sys.exit(main())
