"""Wear in exact fractions: linear accumulation (Palmgren 1924, Miner 1945) on a combined scale.

A `Line` is a function of time that grows piecewise linearly. Use V, each of the three wears W and
plain distance are lines over the same instants; an end is where its line meets its level.
"""
import math
from bisect import bisect_right
from fractions import Fraction

from . import civil

FURTHEST_DAYS = 200 * Fraction(1461, 4)
EARLY, LIKELY, LATE = range(3)


class Line:
    """Knots (seconds, value) and nothing beyond the last."""

    def __init__(self, start):
        self.times, self.values = [start], [Fraction(0)]

    def extend(self, until, daily):
        step = (until - self.times[-1]) * daily / civil.DAY
        self.times.append(until)
        self.values.append(self.values[-1] + step)

    def at(self, time):
        i = min(max(bisect_right(self.times, time) - 1, 0), len(self.times) - 2)
        (t0, t1), (v0, v1) = self.times[i:i + 2], self.values[i:i + 2]
        return v0 if t1 == t0 else v0 + (v1 - v0) * (time - t0) / (t1 - t0)

    def when(self, level):
        """The first instant the line is at the level, or None."""
        for i in range(1, len(self.times)):
            if self.values[i] >= level:
                t0, t1 = self.times[i - 1], self.times[i]
                v0, v1 = self.values[i - 1], self.values[i]
                return t1 if v1 == v0 else t0 + (t1 - t0) * (level - v0) / (v1 - v0)
        return None


def speed_of_use(wear, km):
    """V gathered a day by driving so many km a day, before exposure."""
    share = Fraction(wear.share)
    per_day = Fraction(wear.km_a_year) / Fraction(1461, 4)
    raw = (1 - share) + (share * Fraction(km) / per_day if share else 0)
    return min(max(raw, Fraction(wear.limits[0])), Fraction(wear.limits[1]))


class Scale:
    """The use and the distance of one treatment up to a horizon."""

    def __init__(self, rule, start, horizon, driven, exposure, cuts):
        """driven: [(from, km a day)]; exposure(at) -> factor, constant between cuts."""
        self.start = Fraction(start)
        times = sorted({Fraction(t) for t in cuts if start < t < horizon}
                       | {Fraction(t) for t, _ in driven if start < t < horizon}
                       | {Fraction(horizon)})
        self.use, self.distance = Line(self.start), Line(self.start)
        began = [t for t, _ in driven]
        speeds = {}
        at = self.start
        for until in times:
            km = driven[bisect_right(began, at) - 1][1]
            if km not in speeds:
                speeds[km] = speed_of_use(rule.wear, km)
            self.use.extend(until, speeds[km] * Fraction(exposure(at)))
            self.distance.extend(until, km)
            at = until

    def after(self, at, days, on_calendar):
        """The instant so many days after `at`, on the calendar or on use; None past the
        horizon."""
        if on_calendar:
            return Fraction(at) + Fraction(days) * civil.DAY
        return self.use.when(self.use.at(Fraction(at)) + Fraction(days))

    def between(self, first, last, on_calendar):
        """Days from first to last on that scale."""
        if on_calendar:
            return Fraction(last - first) / civil.DAY
        return self.use.at(Fraction(last)) - self.use.at(Fraction(first))


def kept_until(scale, care, cares):
    """For each closed stretch (from, to) the instant its upkeep ends, and whether the care that
    closed it came in time."""
    stretches = []
    allowed = Fraction(care.interval_days) + Fraction(care.grace_days)
    upkeep = [scale.start] + [Fraction(at) for at in cares]
    for first, last in zip(upkeep, upkeep[1:]):
        ends = scale.after(first, allowed, care.on_calendar)
        in_time = ends is None or last <= ends
        stretches.append((first, last if in_time else ends, in_time))
    return stretches, upkeep[-1]


def habit(scale, care, cares, now):
    """Whether likely may count on the care: two recorded, the last two stretches closed in time
    and the open one still within what is allowed."""
    if care.interval_days is None or len(cares) < 2:
        return False
    stretches, last = kept_until(scale, care, cares)
    if not all(in_time for _, _, in_time in stretches[-2:]):
        return False
    lost = scale.after(last, Fraction(care.interval_days) + Fraction(care.grace_days),
                       care.on_calendar)
    return lost is None or now <= lost


def wear_line(scale, rule, cares, open_kept):
    """W with its open stretch kept up or bare."""
    care = rule.care
    kept, last = [], scale.start
    if care.interval_days is not None:
        stretches, last = kept_until(scale, care, cares)
        kept = [(first, until) for first, until, _ in stretches]
        if open_kept:
            kept.append((last, math.inf))
    slow = 1 / Fraction(care.extends)
    cuts = {t for pair in kept for t in pair if t != math.inf}
    line = Line(scale.start)
    times = sorted(set(scale.use.times) | {t for t in cuts if t < scale.use.times[-1]})
    for t0, t1 in zip(times, times[1:]):
        gained = scale.use.at(t1) - scale.use.at(t0)
        if any(a <= t0 < b for a, b in kept):
            gained *= slow
        line.times.append(t1)
        line.values.append(line.values[-1] + gained)
    return line


def levels(wear):
    low, high = Fraction(wear.life_days[0]), Fraction(wear.life_days[1])
    return [low, (low + high) / 2, high]


def ends(scale, rule, cares, trusted):
    """early, likely, late as exact instants (None: past the horizon), and whether distance ended
    likely. trusted: whether likely counts on the care."""
    by_distance = False
    far = None
    if rule.wear.max_km is not None:
        far = scale.distance.when(Fraction(rule.wear.max_km))
    found = []
    for which, level in enumerate(levels(rule.wear)):
        open_kept = which == LATE or (which == LIKELY and trusted)
        end = wear_line(scale, rule, cares, open_kept).when(level)
        if far is not None and (end is None or far < end):
            by_distance = by_distance or which == LIKELY
            end = far
        found.append(end)
    return found, by_distance
