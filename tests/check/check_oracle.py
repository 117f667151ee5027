#!/usr/bin/python3
"""The oracle itself against figures worked elsewhere, each with its source beside it, and its two
ways of reckoning wear against each other."""
import os
import random
import sys
import unittest
import zoneinfo
from fractions import Fraction

sys.dont_write_bytecode = True
from oracle import civil, cure, facts, forecast, stepped, wear

YEAR = Fraction(1461, 4)
UTC = zoneinfo.ZoneInfo("UTC")


def rule(life, share=0.0, km_a_year=12000.0, limits=(0.6, 2.0), max_km=None, **care):
    return facts.Rule(1, "p", "wheels", "base", "shop",
                      wear=facts.Wear(life, share, km_a_year, limits, max_km),
                      care=facts.Care(**care))


def days_of(rule_, km_a_year, cares=(), now=0):
    scale = wear.Scale(rule_, 0, 4000 * civil.DAY, [(-1, Fraction(km_a_year) / YEAR)],
                       lambda at: 1, [])
    cares = [day * civil.DAY for day in cares]
    trusted = wear.habit(scale, rule_.care, cares, now * civil.DAY)
    ends, _ = wear.ends(scale, rule_, cares, trusted)
    return [float(end) / civil.DAY for end in ends]


class Published(unittest.TestCase):
    def test_arrhenius_doubles_from_20_to_30_degrees_at_0_531_ev(self):
        # NIST/SEMATECH e-Handbook 8.1.5.1 has the formula; 0.53082 eV is its own inversion.
        self.assertAlmostEqual(cure.speed(30, 20, 0.53082), 2, places=4)

    def test_acceleration_of_the_nist_handbook(self):
        # 8.1.5.1: 25 to 125 degrees, 0.5 eV, 133; 1.0 eV, 17 597 (constants of its time).
        self.assertAlmostEqual(cure.speed(125, 25, 0.5), 133, delta=0.4)
        self.assertAlmostEqual(cure.speed(125, 25, 1.0) / 17597, 1, delta=3e-4)

    def test_acceleration_of_the_reliability_package(self):
        # reliability.readthedocs.io, "Acceleration factor": 60 to 100 degrees, 1.2 eV.
        self.assertAlmostEqual(cure.speed(100, 60, 1.2), 88.29574588, places=4)

    def test_fifty_kilojoules_from_35_to_45_degrees(self):
        # A published answer, recomputed: factor 1.847; 1 eV is 96.485332 kJ/mol.
        self.assertAlmostEqual(cure.speed(45, 35, 50 / 96.485332), 1.847, places=3)

    def test_miner_three_blocks_of_load(self):
        # A published example of Palmgren-Miner: 10 000 of 20 000, 5 000 of 10 000 and 2 000 of
        # 5 000 are 0.5 + 0.5 + 0.4 = 1.4. As use: life 20 000, loads of 1, 2 and 4.
        line = wear.Line(Fraction(0))
        for days, speed in ((10000, 1), (5000, 2), (2000, 4)):
            line.extend(line.times[-1] + days * civil.DAY, Fraction(speed))
        self.assertEqual(line.values[-1] / 20000, Fraction(14, 10))

    def test_miner_two_levels_of_stress(self):
        # D. Roylance, "Fatigue", MIT 3.11 (2001): 1e5 cycles at 0.6 of the strength, then 0.7
        # until failure: 1.18e4 (truncated there).
        first, second = 10 ** (14 * 0.4), 10 ** (14 * 0.3)
        line = wear.Line(Fraction(0))
        line.extend(Fraction(100000 * civil.DAY), 1 / Fraction(first))
        line.extend(Fraction(200000 * civil.DAY), 1 / Fraction(second))
        left = line.when(Fraction(1)) / civil.DAY - 100000
        self.assertAlmostEqual(float(left), 11867.86, places=1)


class Worked(unittest.TestCase):
    """The figures the formulas were worked with when they were written down."""

    def test_cure_at_six_three_and_seventeen_degrees(self):
        for temp, speed, days in ((6, 0.7321, 28.7), (3, None, 31.5), (17, None, 21)):
            one = facts.Rule(1, "p", "paint", "base", "shop", cure=facts.Cure(
                wash_days=(14.0, 21.0), longest_days=31.5))
            job = facts.Job(1, 0, 1, 0, temp_c=float(temp))
            shop = facts.Shop(UTC, None, None, (), 12000.0, 21)
            put = facts.Treatment(1, 1, one, "paint", "", 0)
            self.assertAlmostEqual(float(cure.end(put, job, shop)) / civil.DAY, days, delta=0.05)
            if speed:
                self.assertAlmostEqual(cure.speed(temp, 10, 0.531), speed, places=4)

    def test_wheels_at_19_400_km_a_year(self):
        early, likely, late = days_of(rule((28.0, 42.0), 0.6), 19400)
        self.assertAlmostEqual(early, 20.4, delta=0.05)
        self.assertAlmostEqual(late, 30.7, delta=0.05)
        self.assertEqual(wear.speed_of_use(rule((28.0, 42.0), 0.6).wear,
                                           Fraction(19400) / YEAR).__round__(2),
                         Fraction(137, 100))

    def test_regular_driving_gives_the_label(self):
        self.assertEqual(days_of(rule((28.0, 42.0), 0.6), 12000), [28, 35, 42])

    def test_glass_bare_and_kept_up(self):
        glass = rule((182.6, 182.6), interval_days=28.0, grace_days=14.0, extends=2.0)
        early, _, late = days_of(glass, 12000)
        self.assertAlmostEqual(early, 182.6, places=9)
        self.assertAlmostEqual(late, 365.2, places=9)
        glass.wear.life_days = (182.625, 182.625)
        self.assertEqual(days_of(glass, 12000, range(28, 360, 28), 340)[1], 365.25)

    def test_forecast_of_three_readings(self):
        readings = [facts.Reading(1, 0, 41000), facts.Reading(2, 120 * civil.DAY, 47000),
                    facts.Reading(3, 210 * civil.DAY, 52100)]
        daily = forecast.km_a_day(readings, Fraction(12000) / YEAR)
        self.assertAlmostEqual(float(daily), 47.93, places=2)
        self.assertAlmostEqual(float(daily * YEAR), 17506, delta=1)

    def test_months_end_with_the_month(self):
        day = civil.dt.date(2027, 8, 31)
        self.assertEqual(civil.add_months(day, 6), civil.dt.date(2028, 2, 29))
        self.assertEqual(civil.add_months(day, 18), civil.dt.date(2029, 2, 28))


class Invariants(unittest.TestCase):
    def test_a_reading_equal_to_the_forecast_changes_nothing(self):
        rng = random.Random(int(os.environ.get("BL_SEED", 1)))
        for _ in range(200):
            at, km, readings = 0, 1000.0, []
            for i in range(rng.randrange(1, 6)):
                readings.append(facts.Reading(i, at, km))
                at += rng.randrange(1, 200) * civil.DAY
                km += rng.randrange(0, 20000)
            daily = forecast.km_a_day(readings, Fraction(30))
            told = readings[-1].km + float(daily) * (at - readings[-1].at) / civil.DAY
            more = readings + [facts.Reading(99, at, told)]
            self.assertAlmostEqual(float(forecast.km_a_day(more, Fraction(30)) / max(daily, 1)),
                                   float(daily / max(daily, 1)), places=9)

    def test_minutes_walked_are_the_fractions_solved(self):
        rng = random.Random(int(os.environ.get("BL_SEED", 1)))
        for _ in range(40):
            one = rule((4.0, 9.0), 0.5, limits=(0.5, 3.0), max_km=rng.choice((None, 300.0)),
                       interval_days=2.0, grace_days=rng.choice((0.0, 1.0)), extends=1.5,
                       on_calendar=rng.random() < 0.5)
            steps = [(-1, Fraction(30))] + sorted(
                (rng.randrange(1, 12000) * 60, Fraction(rng.randrange(0, 90)))
                for _ in range(3))
            cares = sorted(rng.sample(range(60, 600000, 60), rng.randrange(4)))
            scale = wear.Scale(one, 0, 60 * civil.DAY, steps, lambda at: 1, [])
            trusted = wear.habit(scale, one.care, cares, 600000)
            ends, _ = wear.ends(scale, one, cares, trusted)
            walked = stepped.walk(one, 0, cares,
                                  lambda at: float([r for t, r in steps if t <= at][-1]),
                                  lambda at: 1.0, trusted, 60 * civil.DAY)
            for end, minute in zip(ends, walked):
                self.assertAlmostEqual(float(end), minute, delta=1)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=1)
