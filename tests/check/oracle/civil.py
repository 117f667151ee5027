"""Civil days of a zone, by zoneinfo. A date is a datetime.date, an instant seconds since 1970."""
import calendar
import datetime as dt
import math

DAY = 86400
UTC = dt.timezone.utc
EPOCH = dt.datetime(1970, 1, 1, tzinfo=UTC)
ONE_DAY = dt.timedelta(days=1)


def there(zone, at):
    return (EPOCH + dt.timedelta(seconds=at)).astimezone(zone)


def date_of(zone, at):
    return there(zone, at).date()


def wall(zone, date, second):
    """The instant of that second of the day's wall clock; fold=0 is the first of two, and the
    offset before a gap."""
    local = dt.datetime(date.year, date.month, date.day) + dt.timedelta(seconds=second)
    offset = local.replace(tzinfo=zone, fold=0).utcoffset()
    return int((local - dt.datetime(1970, 1, 1) - offset).total_seconds())


def begin(zone, date):
    return wall(zone, date, 0)


def first_day_from(zone, at):
    """The first civil day that begins at or after the instant."""
    day = date_of(zone, math.floor(at)) - ONE_DAY
    while begin(zone, day) < at:
        day += ONE_DAY
    return day


def add_months(date, months):
    """The same day that many months later, or that month's last."""
    year, month = divmod(date.year * 12 + date.month - 1 + months, 12)
    month += 1
    return dt.date(year, month, min(date.day, calendar.monthrange(year, month)[1]))


def month_begins(zone, first, last):
    """The instants at which months begin, from the one that holds `first` to past `last`."""
    month = date_of(zone, first).replace(day=1)
    found = []
    while True:
        at = begin(zone, month)
        found.append(at)
        if at > last:
            return found
        month = add_months(month, 1)
