"""When a car may be washed: every cure on it, the one date, and what is told of it."""
import math
from fractions import Fraction

from . import civil, cure, ends
from .due import DAY, Due


def indoors(car, put):
    """(whether a lamp or the like ended the cure, and when; stretches at other temperatures)."""
    lamp, warm = None, []
    for event in car.events:
        if event.happening != "cured indoors" or not ends.same_place(event, put):
            continue
        if event.at < put.last_coat_at:
            continue
        if event.hours is None or event.hours <= 0:
            lamp = event.at if lamp is None else min(lamp, event.at)
        else:
            first = max(event.at - int(event.hours * 3600), put.last_coat_at)
            warm.append((first, event.at, event.temp_c))
    return lamp, warm


def cured_at(car, put, job, shop):
    """When its cure is over, by the weather or indoors."""
    lamp, warm = indoors(car, put)
    end = cure.end(put, job, shop, warm)
    return end if lamp is None else min(end, Fraction(lamp))


def voided(car, put, end):
    """Whether it was taken off before its cure was over."""
    return any(event.at < end and ends.takes_off(event, put) for event in car.events)


def cure_end(car, put, job, shop):
    """When its cure is over, or None: it does not cure, or was taken off before."""
    if put.rule.cure.wash_days[1] == 0 or job.cured_indoors:
        return None
    end = cured_at(car, put, job, shop)
    return None if voided(car, put, end) else end


def cure_ends(car, job, shop):
    """When the cures of the job's treatments end, whole seconds."""
    found = [cure_end(car, put, job, shop) for put in car.treatments if put.job == job.id]
    return [math.ceil(end) for end in found if end is not None]


def wash_dates(car, shop):
    """{job id: the civil day it wants}, for the jobs that want one."""
    wanted = {}
    for job in car.jobs:
        dates = [civil.first_day_from(shop.zone, end) for end in cure_ends(car, job, shop)]
        if job.wash_from is not None:
            dates.append(job.wash_from)
        if dates:
            wanted[job.id] = max(dates)
    return wanted


def wash_begin(car, shop):
    """The beginning of the car's one wash date, or None; a job finished on it or after ends the
    matter."""
    dates = wash_dates(car, shop)
    if not dates:
        return None
    at = civil.begin(shop.zone, max(dates.values()))
    return None if any(job.at >= at for job in car.jobs) else at


def wash_due(car, shop, customer):
    """By the present owner's job that wants the latest date, the earliest of equals; a former
    owner's date goes by what was put on last."""
    at = wash_begin(car, shop)
    wanted = wash_dates(car, shop)
    for put in car.treatments:
        on = civil.date_of(shop.zone, put.last_coat_at)
        wanted[put.job] = max(wanted.get(put.job, on), on)
    own = [job for job in car.jobs if job.customer == customer and job.id in wanted]
    if at is None or not own:
        return []
    job = min(own, key=lambda job: (-wanted[job.id].toordinal(), job.at, job.id))
    return [Due("wash", job.id, 0, at, at, at + 14 * DAY)]


def handover_dues(car, shop, customer):
    """One a job that says something, each with the one date as it then stood."""
    dates = wash_dates(car, shop)
    found, told, cured, heard = [], [], [], None
    for job in sorted(car.jobs, key=lambda job: (max(job.told_from, job.at), job.id)):
        put_on = any(put.job == job.id for put in car.treatments)
        if not put_on and job.wash_from is None:
            continue
        cured += cure_ends(car, job, shop)
        if job.wash_from is not None:
            cured.append(civil.begin(shop.zone, job.wash_from))
        told += [dates[job.id]] if job.id in dates else []
        if job.customer != customer:
            continue
        start = max(job.told_from, job.at)
        date, before = max(told, default=None), heard
        heard = date
        ahead = before is not None and civil.begin(shop.zone, before) > start
        until = max(cured + [job.at + 2 * DAY])
        found.append(Due("handover", job.id, int(ahead and date > before), start, start, until))
    return found
