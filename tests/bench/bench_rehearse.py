"""How long a rehearsal takes: three years of 1 000 cars, beside 100 cars of the same kind.

    bench_rehearse.py [--runs N] [--years N] [CARS ...]

The shop is an ordinary one: most customers have one car, some two; jobs of the last year, two
readings a car, two in three want tips and three in four offers, one in twenty is told by hand.
Processor time is what counts on a machine that does other things too; the clock's is beside it.
"""

import argparse
import datetime
import os
import re
import resource
import statistics
import subprocess
import sys
import time

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "real"))
import fill
from shop import COMMAND, Shop

BEGIN = datetime.datetime(2026, 12, 1, 8, tzinfo=datetime.timezone.utc)
DAY = 86400
LIMIT = 10  # seconds for 1 000 cars over three years
FULL = (("coating-3y", "paint"), ("windscreen-coating", "windscreen"), ("glass-coating", "glass"),
        ("wheel-coating", "wheels"), ("trim-coating", "trim"), ("tyre-dressing", "tyres"))
WORK = (FULL, (("spray-sealant", "paint"), ("wheel-spray", "wheels")),
        (("coating-1y", "paint"), ("glass-coating", "glass"), ("wheel-spray", "wheels")))


def address(n, phones):
    """Mail, a number, or nothing at all."""
    if n % 20 == 7:
        return {}
    return {"mail": f"customer{n}@example.com"} if n % 2 else {"phone": phones[n % len(phones)]}


def agree(other, customer, n, at):
    for name, given in (("tips", n % 3 != 0), ("offers", n % 4 != 0)):
        other.execute("INSERT INTO consent (customer, class, given, at, how)"
                      " VALUES (?, ?, ?, ?, 'asked')", (customer, name, given, at))


def add_car(other, known, customer, n, now):
    finished = now - (n * 7919 % 360) * DAY - n % 7 * 3600
    car = fill.add_car(other, customer, f"BD{n:05} EX", finished - 200 * DAY)
    fill.add_job(other, known, customer, car, finished, WORK[n % len(WORK)])
    for at, km in ((finished - 180 * DAY, 20000), (finished, 20000 + 2000 + n * 37 % 14000)):
        other.execute("INSERT INTO mileage (car, at, km) VALUES (?, ?, ?)", (car, at, km))


def fill_shop(shop, cars):
    """The daemon stores its rules first, then another program writes the records."""
    status, log = shop.until_idle("--now", f"{BEGIN:%Y-%m-%d %H:%M}")
    assert status == 0, log
    other = fill.connect(shop)
    known, phones, now = fill.rules(other), list(fill.phones()), int(BEGIN.timestamp())
    other.execute("BEGIN IMMEDIATE")
    n = 0
    while n < cars:
        customer = fill.add_customer(other, f"{fill.NAMES[n % len(fill.NAMES)]} {n}",
                                     now - 600 * DAY, **address(n, phones))
        agree(other, customer, n, now - 600 * DAY)
        for _ in range(min(2 if n % 5 == 4 else 1, cars - n)):
            add_car(other, known, customer, n, now)
            n += 1
    other.execute("COMMIT")
    other.close()


def processor():
    """Seconds that the programs run so far have had of it."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def run(shop, until, page):
    """(processor's seconds, the clock's) of one rehearsal, and what it says of itself."""
    used, began = processor(), time.monotonic()
    done = subprocess.run([COMMAND, "--settings", shop.settings, "--now",
                           f"{BEGIN:%Y-%m-%d %H:%M}", "rehearse", "--until", until, *page],
                          capture_output=True, text=True, check=True)
    took = processor() - used, time.monotonic() - began
    found = re.search(r"^(\d+) messages?, (\d+) of them by hand; (\d+) dues? ends?", done.stdout,
                      re.MULTILINE)
    return took, tuple(int(n) for n in found.groups())


def bench(cars, words):
    """Processor's seconds of a rehearsal, the median of the runs."""
    until = f"{BEGIN.year + words.years}-{BEGIN:%m-%d}"
    with Shop(hours="") as shop:
        fill_shop(shop, cars)
        page = shop.folder / "page.html"
        runs = [run(shop, until, ()) for _ in range(words.runs)]
        (drawn, _), said = run(shop, until, ("--html", page, "--force"))
        assert {said} == {each for _, each in runs}, "two rehearsals of the same shop differ"
        used, clock = (statistics.median(took[n] for took, _ in runs) for n in (0, 1))
        messages, by_hand, ends = said
        print(f"{cars} cars, {words.years} years: {used:.2f} s of processor, {clock:.2f} s by the"
              f" clock ({1000 * used / cars:.1f} ms a car); with its page of"
              f" {page.stat().st_size / 1024:.0f} KiB {drawn:.2f} s; {messages} messages,"
              f" {by_hand} of them by hand, {ends} dues end without one", flush=True)
    return used


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--years", type=int, default=3)
    parser.add_argument("cars", type=int, nargs="*", default=[100, 1000])
    words = parser.parse_args()
    used = [bench(cars, words) for cars in words.cars]
    if len(used) > 1:
        few, many = words.cars[0], words.cars[-1]
        print(f"{many} cars take {used[-1] / used[0]:.1f} times what {few} take: a car costs"
              f" {used[-1] / many / (used[0] / few):.2f} times as much")
    print(f"{words.cars[-1]} cars take {used[-1] / LIMIT:.2f} of the {LIMIT} s they may")


if __name__ == "__main__":
    main()
