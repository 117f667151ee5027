#!/usr/bin/python3
"""Planning against an independent oracle, on random customers with every feature on.

The oracle (the folder oracle beside this) is written from the description of the numbers, in
exact fractions; plan_tool plans the same facts. Each due must be in both, each of its dates within
two minutes. Some short lives are also walked minute by minute. The messages must keep what is
promised of them however they were found; the dues may not change before replan_at, and a wake-up
for nothing must be rare. The seed is printed; BL_SEED sets another, BL_ROUNDS the number of
customers; with --all 10 000 of them, some ten minutes.
"""
import os
import random
import sys

sys.dont_write_bytecode = True
from oracle import compare, history, restraint, tool

ROUNDS, ALL = 1000, 10_000
WALKED, WALKED_ALL = 50, 400  # customers with lives walked by the minute
NEEDLESS = 1 / 200  # wake-ups for nothing, of all
SHOWN = 40


def planned_at(one, tool_, at):
    """The plan at another now."""
    now, one.now = one.now, at
    plan = tool_.plan(one)
    one.now = now
    return plan


def ahead(plan, now):
    """What goes at once, what later and when, and what cannot."""
    return sorted((str(intent["dues"]), str(intent["lapse"]), max(intent["send_at"] - now, 0) and
                   intent["send_at"]) for intent in plan.intents)


def wrong_replan(one, plan, tool_, rng, needless):
    """The dues stay as they are until replan_at; where nothing changes then is noted."""
    until = plan.replan_at or one.now + 400 * 86400
    if until <= one.now:
        yield f"replan_at {until} is not later than now"
        return
    between = planned_at(one, tool_, rng.randrange(one.now, until))
    for key in set(plan.dues) | set(between.dues):
        if plan.dues.get(key) != between.dues.get(key):
            yield f"{key} changes before replan_at: {between.dues.get(key)}"
    if plan.replan_at:
        before, then = (planned_at(one, tool_, at) for at in (until - 1, until))
        if plan.dues != before.dues:
            yield f"dues change before replan_at {until}"
        if (before.dues, before.skipped, ahead(before, until - 1)) == (
                then.dues, then.skipped, ahead(then, until)):
            needless.append(until)


def check(seed, tool_, tally, walk):
    """One customer; whether a life of his was walked by the minute."""
    rng = random.Random(seed)
    one = history.make(rng)
    plan = tool_.plan(one)
    where = f"seed {seed}"
    compare.lives(one, plan, tally, where)
    compare.plans(one, plan, tally, where)
    tally.wrong += [f"{where} {fault}" for fault in restraint.faults(one, plan)]
    tally.wrong += [f"{where} {fault}"
                    for fault in wrong_replan(one, plan, tool_, rng, tally.needless)]
    for kind in {key[0] for key in plan.dues}:
        tally.customers[kind] += 1
    return walk and compare.walked(one, plan, tally, where)


def main():
    every = "--all" in sys.argv[1:]
    seed = int(os.environ.get("BL_SEED", 1))
    rounds = int(os.environ.get("BL_ROUNDS", ALL if every else ROUNDS))
    walked = WALKED_ALL if every else WALKED
    print(f"planning: {rounds} customers from seed {seed} on", flush=True)
    tally = compare.Tally()
    tool_ = tool.Tool(os.path.join(os.environ.get("BL_BUILD", "build"), "tests", "plan_tool"))
    left = walked
    for i in range(rounds):
        left -= check(seed + i, tool_, tally, left > 0)
    status = tool_.close()
    if len(tally.needless) > 1 + rounds * NEEDLESS:
        tally.wrong.append(f"{len(tally.needless)} wake-ups for nothing")
    tally.print()
    for fault in tally.wrong[:SHOWN]:
        print(fault)
    print(f"planning: {rounds} customers, {walked - left} of them walked by the minute, "
          f"{len(tally.needless)} woken for nothing: {len(tally.wrong)} wrong")
    return 1 if tally.wrong or status else 0


if __name__ == "__main__":
    sys.exit(main())
