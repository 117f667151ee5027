"""Wear again, minute by minute, without breakpoints: what `wear` solves is here only walked.

Facts fall on whole minutes, so a step never straddles one; a step in which the upkeep runs out, or
a level is met, is shared out.
"""
from bisect import bisect_right

MINUTE = 60
DAY_MINUTES = 1440.0


def steps(pairs):
    """A function of time from [(instant from which, value)]."""
    began, values = [at for at, _ in pairs], [float(value) for _, value in pairs]
    return lambda at: values[bisect_right(began, at) - 1]


def walk(rule, start, cares, rate, exposure, trusted, furthest):
    """The instants at which W meets each of the three levels, None beyond `furthest`.
    rate(at) -> km a day; exposure(at) -> factor."""
    wear, care = rule.wear, rule.care
    per_day = wear.km_a_year / 365.25
    allowed = None if care.interval_days is None else care.interval_days + care.grace_days
    goal = [wear.life_days[0], sum(wear.life_days) / 2, wear.life_days[1]]
    done, found = [0.0, 0.0, 0.0], [None, None, None]
    since, km = 0.0, 0.0
    waiting = list(cares)
    at = start
    while at < furthest and None in found:
        while waiting and waiting[0] <= at:
            waiting.pop(0)
            since = 0.0
        daily = rate(at)
        raw = (1 - wear.share) + wear.share * daily / per_day
        use = min(max(raw, wear.limits[0]), wear.limits[1]) * exposure(at) / DAY_MINUTES
        step = 1 / DAY_MINUTES if care.on_calendar else use
        share = 0.0 if allowed is None else min(max((allowed - since) / step, 0.0), 1.0)
        for i in range(3):
            if not waiting and allowed is not None:
                share = 1.0 if i == 2 or (i == 1 and trusted) else 0.0
            gain = use * (share / care.extends + 1 - share)
            if found[i] is None:
                parts = [(goal[i] - done[i]) / gain]
                if wear.max_km is not None and daily > 0:
                    parts.append((wear.max_km - km) / (daily / DAY_MINUTES))
                if min(parts) <= 1:
                    found[i] = at + MINUTE * max(min(parts), 0.0)
            done[i] += gain
        km += daily / DAY_MINUTES
        since += step
        at += MINUTE
    return found
