"""Gathering by trying everything: the fewest points that pierce windows, and the latest times of
their groups inside the sending hours, so many seconds apart."""
import itertools

from . import civil


class Hours:
    """Sending hours: open from .. up to, not including, close, on weekdays (0 Monday) that are
    not closed dates."""

    def __init__(self, zone, days, opens, closes, closed=()):
        self.zone, self.days, self.closed = zone, days, closed
        self.opens, self.closes = opens, closes

    def of(self, date):
        """The instants of the day's opening and closing, or None."""
        if date.weekday() not in self.days or date in self.closed:
            return None
        first = civil.wall(self.zone, date, self.opens)
        last = civil.wall(self.zone, date, self.closes)
        return (first, last) if first < last else None

    def open(self, at):
        hours = self.of(civil.date_of(self.zone, at))
        return hours is not None and hours[0] <= at < hours[1]

    def next(self, at):
        """The first instant from `at` on inside them, or None in 400 days."""
        date = civil.date_of(self.zone, at)
        for _ in range(401):
            hours = self.of(date)
            if hours and at < hours[1]:
                return max(at, hours[0])
            date += civil.ONE_DAY
        return None

    def last_of(self, first, last):
        """The latest instant of each day's hours in [first, last], and of the whole."""
        found = []
        date = civil.date_of(self.zone, first)
        while date <= civil.date_of(self.zone, last):
            hours = self.of(date)
            if hours and hours[0] <= last and hours[1] - 1 >= first:
                found.append(min(hours[1] - 1, last))
            date += civil.ONE_DAY
        return found


def fewest(windows):
    """The smallest number of points that meet every window; an end of one is always as good."""
    points = sorted({best_by for _, best_by in windows})
    for size in range(len(points) + 1):
        for chosen in itertools.combinations(points, size):
            if all(any(first <= p <= last for p in chosen) for first, last in windows):
                return size
    return len(points)


def candidates(hours, intervals, apart):
    """For each interval every instant a latest arrangement can use: the ends of its days' hours,
    and those of the others once or more the spacing earlier. One without a sending hour takes
    the next."""
    ends = [hours.last_of(first, last) or [hours.next(last)] for first, last in intervals]
    every = {end - back * apart for found in ends for end in found
             for back in range(len(intervals))}
    options = []
    for (first, last), found in zip(intervals, ends):
        late = {at for at in every if first <= at <= last and hours.open(at)}
        options.append(sorted(late | set(found), reverse=True))
    return options


def spaced(options, apart, later=None):
    """The arrangement so spaced whose last is latest, then the one before, and so on; None
    when there is none. Tries all."""
    if not options:
        return []
    for at in options[-1]:
        if later is None or at + apart <= later:
            before = spaced(options[:-1], apart, at)
            if before is not None:
                return before + [at]
    return None


def fewest_breaks(options, apart):
    """The fewest neighbours nearer than the spacing in any arrangement."""
    best = {None: 0}
    for choice in reversed(options):
        reached = {}
        for later, breaks in best.items():
            for at in choice:
                total = breaks + (later is not None and at + apart > later)
                reached[at] = min(total, reached.get(at, total))
        best = reached
    return min(best.values())
