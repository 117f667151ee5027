"""Cure, stepped by civil day: Arrhenius as NIST/SEMATECH e-Handbook 8.1.5.1 writes it."""
import math
from fractions import Fraction

from . import civil

BOLTZMANN_EV = 8.617333262e-5  # eV/K
ZERO_C = 273.15


def speed(temp_c, reference_c, ea_ev):
    return math.exp(ea_ev / BOLTZMANN_EV
                    * (1 / (reference_c + ZERO_C) - 1 / (temp_c + ZERO_C)))


def climate_c(means, date):
    """Linear between the middles of months, at noon of the date."""
    noon = Fraction(date.toordinal()) + Fraction(1, 2)

    def middle(first):
        after = civil.add_months(first, 1)
        return Fraction(first.toordinal() + after.toordinal(), 2)

    this = date.replace(day=1)
    before = this if middle(this) <= noon else civil.add_months(this, -1)
    after = civil.add_months(before, 1)
    share = (noon - middle(before)) / (middle(after) - middle(before))
    return means[before.month - 1] * float(1 - share) + means[after.month - 1] * float(share)


def rate(rule, temp_c):
    """Days of the label's time gathered in 24 hours at that temperature; None: the label's."""
    if temp_c is None:
        return Fraction(1)
    cure = rule.cure
    if cure.stall_c is not None and temp_c < cure.stall_c:
        return Fraction(0)
    a = speed(temp_c, cure.reference_c, cure.ea_ev)
    return Fraction(1) if a >= 1 else Fraction(a)


def day_temperature(job, shop, date):
    """What the day is reckoned at: measured up to the job's own day, then the climate."""
    own = civil.date_of(shop.zone, job.at)
    if job.temp_c is not None and (date <= own or shop.climate_c is None):
        return job.temp_c
    return climate_c(shop.climate_c, date) if shop.climate_c is not None else None


def stretches(job, shop, start, indoors):
    """(from, to, temperature) without end: civil days, cut where a stretch indoors begins or
    ends. indoors: (from, to, temperature) by `to`; of two at once the first."""
    date = civil.date_of(shop.zone, start)
    at = start
    while True:
        midnight = civil.begin(shop.zone, date + civil.ONE_DAY)
        outside = day_temperature(job, shop, date)
        while at < midnight:
            cut, temp = midnight, outside
            for first, last, inside in reversed(indoors):
                if first <= at < last:
                    cut, temp = min(cut, last), inside
                elif at < first:
                    cut = min(cut, first)
            yield at, cut, temp
            at = cut
        date += civil.ONE_DAY


def end(treatment, job, shop, indoors=()):
    """The exact instant (a Fraction of seconds) the treatment's cure ends."""
    rule = treatment.rule
    start = Fraction(treatment.last_coat_at)
    asked = Fraction(rule.cure.wash_days[1])
    if asked == 0 or job.cured_indoors:
        return start
    latest = start + Fraction(rule.cure.longest_days) * civil.DAY
    gathered = Fraction(0)
    for first, last, temp in stretches(job, shop, treatment.last_coat_at, indoors):
        daily = rate(rule, temp)
        gain = daily * (last - first) / civil.DAY
        if gathered + gain >= asked:
            over = first + (asked - gathered) / daily * civil.DAY
            return min(over, latest)
        if last >= latest:
            return latest
        gathered += gain
