#!/usr/bin/python3
"""Gathering against trying everything, on random windows.

The number of groups is the smallest number of points that meet every window; each group has an
instant in common; the times are the latest inside the sending hours with the spacing between,
wherever any such arrangement exists, and else break it as seldom as any. Spacings of none, a day
and weeks; many sets are packed into few days, so that it binds. The seed is printed; BL_SEED sets
another, BL_ROUNDS the number of sets.
"""
import datetime as dt
import os
import random
import subprocess
import sys
import zoneinfo

sys.dont_write_bytecode = True
from oracle import civil, gather

ZONES = ("Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata",
         "America/Santiago")
HOURS = ((0, 24), (0, 24), (9, 19), (9, 19), (8, 10), (14, 15), (0, 1), (23, 24))
APART = (None, None, 0, civil.DAY, 42 * civil.DAY, 5 * civil.DAY)
FIRST = 1767225600  # 2026-01-01


class Set:
    """Windows and the hours they are gathered in."""

    def __init__(self, rng):
        self.zone = rng.choice(ZONES)
        days = [d for d in range(7) if rng.random() < 0.75] or [0]
        opens, closes = (3600 * hour for hour in rng.choice(HOURS))
        start = FIRST + rng.randrange(365 * civil.DAY)
        self.closed = []
        if rng.random() < 0.3:
            self.closed = [civil.date_of(civil.UTC, start + rng.randrange(9) * civil.DAY)]
        self.hours = gather.Hours(zoneinfo.ZoneInfo(self.zone), days, opens, closes, self.closed)
        spread = rng.choice((2, 4, 8, 60)) * civil.DAY
        length = rng.choice((3600, civil.DAY // 2, 2 * civil.DAY, 20 * civil.DAY))
        grain = rng.choice((1, 60, 3600, civil.DAY))
        self.apart = rng.choice(APART)
        self.windows = []
        for _ in range(rng.randrange(10)):
            first = start + rng.randrange(spread) // grain * grain
            self.windows.append((first, first + rng.randrange(length + 1) // grain * grain))

    def question(self, windows):
        days = "".join("y" if d in self.hours.days else "n" for d in range(7))
        closed = str((self.closed[0] - dt.date(1970, 1, 1)).days) if self.closed else "-"
        pairs = " ".join(f"{a} {b}" for a, b in windows)
        return (f"{self.zone} {days} {self.hours.opens} {self.hours.closes} {closed} "
                f"{'-' if self.apart is None else self.apart} {len(windows)} {pairs}").strip()


def ask(tool, questions):
    run = subprocess.run([tool], input="\n".join(questions) + "\n", capture_output=True,
                         text=True, check=True)
    answers = run.stdout.splitlines()
    assert len(answers) == len(questions), (len(answers), len(questions))
    return [read(answer) for answer in answers]


def read(answer):
    count, groups, times = answer.split(":")
    at = [None if word == "never" else int(word) for word in times.split()]
    return int(count), [int(word) for word in groups.split()], at


def common(windows, groups, count):
    """The interval each group's windows share."""
    members = [[w for w, g in zip(windows, groups) if g == i] for i in range(count)]
    return [(max(a for a, _ in m), min(b for _, b in m)) for m in members]


def wrong_groups(one, windows, answer):
    """What is wrong with the grouping, or None."""
    count, groups, times = answer
    if count != gather.fewest(windows):
        return f"{count} groups, {gather.fewest(windows)} are enough"
    if sorted(set(groups)) != list(range(count)) or len(times) != count:
        return "groups are not numbered from 0 on"
    shared = common(windows, groups, count)
    if any(a > b for a, b in shared):
        return "a group without a common instant"
    if any(b >= a for (_, b), (a, _) in zip(shared, shared[1:])):
        return "groups out of the order of time"
    return None


def wrong_times(one, shared, times):
    """(what is wrong with the times or None, whether the spacing bound)."""
    hours, apart = one.hours, civil.DAY if one.apart is None else one.apart
    options = gather.candidates(hours, shared, apart)
    for (first, last), at in zip(shared, times):
        if not hours.last_of(first, last):
            if at != hours.next(last):
                return "no sending hour in it, yet not the next one", False
        elif not (at is not None and first <= at <= last and hours.open(at)):
            return "outside the interval or the sending hours", False
    best = gather.spaced(options, apart)
    if best is not None:
        bound = best != [choice[0] for choice in options]
        return (None if times == best else f"latest so spaced: {best}"), bound
    breaks = sum(a + apart > b for a, b in zip(times, times[1:]))
    if breaks != gather.fewest_breaks(options, apart):
        return "the spacing is broken more often than it must be", True
    return None, True


def main():
    seed = int(os.environ.get("BL_SEED", 1))
    rounds = int(os.environ.get("BL_ROUNDS", 10_000))
    rng = random.Random(seed)
    tool = os.path.join(os.environ.get("BL_BUILD", "build"), "tests", "gather_tool")
    sets = [Set(rng) for _ in range(rounds)]
    mixed = [rng.sample(one.windows, len(one.windows)) for one in sets]
    answers = ask(tool, [one.question(one.windows) for one in sets])
    again = ask(tool, [one.question(windows) for one, windows in zip(sets, mixed)])
    faults, bound, several = 0, 0, 0
    for one, windows, answer, other in zip(sets, mixed, answers, again):
        count, groups, times = answer
        fault, binds = wrong_groups(one, one.windows, answer), False
        if not fault and (count, times) != (other[0], other[2]):
            fault = "another order, another answer"
        if not fault:
            fault, binds = wrong_times(one, common(one.windows, groups, count), times)
        bound += binds
        several += count > 1
        if fault:
            faults += 1
            if faults <= 10:
                print(f"{fault}\n  asked {one.question(one.windows)}\n  got {answer}")
    print(f"gathering: {rounds} sets, {several} of more than one group, the spacing bound in "
          f"{bound}, seed {seed}: {faults} wrong")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
