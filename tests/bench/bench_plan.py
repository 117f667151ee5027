"""How fast planning is: a shop's first planning by the daemon's own pass, beside a bare loop in C
that reads the same rows and inserts as many into the same tables (plan_bare.c says what it does).

    bench_plan.py [--cars N ...] [--runs N]

For each size a line with processor time a treatment, and the ratio. The ratios to the same loop
with several rows a statement, and with triggers and foreign keys off, are printed beside it and
are no goals. At the largest size also:
the memory of the pass as the daemon runs it, 500 customers a transaction; what a pass costs
that finds nothing changed; and what one changed car costs. Ends with 1 when a goal is missed.
"""
import argparse
import os
import pathlib
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile

BUILD = pathlib.Path(os.environ.get("BL_BUILD", "build")).resolve()
SOURCE = pathlib.Path(os.environ.get("BL_SOURCE", pathlib.Path(__file__).parents[2])).resolve()
NOW = 1795600800  # a Wednesday in November, 10 o'clock
TREATMENTS = 3
ONCE_FROM = 100000  # cars: a shop of that size is planned once
MOST_RATIO = 1.5
MOST_KIB = 24 * 1024
MOST_GROWTH = 2  # of the time a treatment takes, from the smallest size to the largest: trees
#                  grow deeper, and their leaves no longer fit the cache,
MOST_BESIDE = 1.1  # and how much of that may be ours: of the loop's own growth
MOST_MS = 5

SETTINGS = f"""
shop = {{ name = "Example Shine"; owner = "Alex"; phone = "07700 900123";
         mail = "alex@shop.example"; zone = "Europe/London"; }};
phone = {{ calling_code = "44"; trunk = "0"; }};
catalogue = "{SOURCE}/templates/catalogue"; templates = "{SOURCE}/templates";
climate = [ 5.0, 5.5, 7.0, 9.5, 12.5, 15.5, 17.5, 17.5, 15.0, 11.5, 8.0, 5.5 ];
salt_months = [ 11, 12, 1, 2, 3 ];
gateways = ({{ name = "out"; kind = "folder"; folder = "out"; unsure = "resend"; }});
carry = {{ sms = "out"; mail = "out"; }};
"""


class Bench:
    def __init__(self, folder):
        self.folder = folder
        self.settings = folder / "beadline.conf"
        self.database = folder / "shop.db"
        self.missed = []
        self.settings.write_text(SETTINGS)

    def run(self, program, *words):
        """The figures a program prints: "name value ..."."""
        done = subprocess.run([BUILD / "bench" / program, *map(str, words)], check=True,
                              capture_output=True, text=True)
        said = done.stdout.split()
        return dict(zip(said[::2], map(float, said[1::2])))

    def fill(self, cars):
        self.full = self.folder / f"full-{cars}.db"
        self.run("plan_fill", self.settings, self.full, cars, NOW)

    def fresh(self):
        for ending in ("", "-wal", "-shm"):
            pathlib.Path(f"{self.database}{ending}").unlink(missing_ok=True)
        shutil.copy(self.full, self.database)

    def ours(self, *words):
        return self.run("plan_ours", self.settings, self.database, NOW, *words)

    def bare(self, rows, *words):
        self.fresh()
        return self.run("plan_bare", self.database, NOW, *rows, *words)

    def rows(self):
        with sqlite3.connect(self.database) as other:
            return [other.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
                    for table in ("due", "message", "message_due")]

    def hold(self, well, what):
        if not well:
            self.missed.append(what)
        return "" if well else "  MISSED"


def measure(bench, cars, runs):
    """Microseconds of processor a treatment of the pass and of the loop."""
    ours, bare, several, tables = [], [], [], []
    bench.fill(cars)
    for run in range(runs):
        bench.fresh()
        ours.append(bench.ours("whole"))
        rows = bench.rows()
        bare.append(bench.bare(rows))
        several.append(bench.bare(rows, "--several"))
        tables.append(bench.bare(rows, "--bare-tables"))
    cpu = [statistics.median(run["cpu"] for run in each) for each in (ours, bare, several, tables)]
    wall = [statistics.median(run["wall"] for run in each) for each in (ours, bare)]
    a_treatment = [seconds * 1e6 / (cars * TREATMENTS) for seconds in cpu]
    ratio = cpu[0] / cpu[1]
    print(f"{cars * TREATMENTS} treatments of {cars} cars, {rows[0]} dues, {rows[1]} messages,"
          f" {rows[2]} links: the pass {cpu[0]:.1f} s ({a_treatment[0]:.0f} us a treatment), the"
          f" loop {cpu[1]:.1f} s ({a_treatment[1]:.0f} us), ratio {ratio:.2f} (by the wall clock"
          f" {wall[0] / wall[1]:.2f}; to a loop with several rows a statement"
          f" {cpu[0] / cpu[2]:.2f}, to one over bare tables {cpu[0] / cpu[3]:.2f})"
          + bench.hold(ratio <= MOST_RATIO, "the ratio"), flush=True)
    return a_treatment


def measure_growth(bench, costs):
    growth, loop = (costs[-1][i] / costs[0][i] for i in (0, 1))
    print(f"a treatment of the largest shop takes {growth:.2f} times one of the smallest (the"
          f" loop's {loop:.2f} times)"
          + bench.hold(growth <= MOST_GROWTH and growth <= MOST_BESIDE * loop, "linear growth"))


def measure_daemon(bench, cars, loop_s):
    """As the daemon does it; then again, and car by car, over what that left."""
    bench.fresh()
    chunks = bench.ours("chunks")
    print(f"500 customers a transaction, each synced: {chunks['cpu']:.1f} s of processor "
          f"({chunks['cpu'] / loop_s:.2f} of the loop's one transaction), {chunks['wall']:.1f} s "
          f"by the wall clock; most private dirty memory "
          f"{chunks['dirty_kib'] / 1024:.1f} MiB, most Pss {chunks['pss_kib'] / 1024:.1f} MiB"
          + bench.hold(max(chunks["dirty_kib"], chunks["pss_kib"]) < MOST_KIB, "the memory"))
    again = bench.ours("again")
    print(f"nothing changed: {again['statements']:.0f} statements, {again['rows']:.0f} rows, "
          f"{again['of_cars']:.0f} statements on customers, cars and what is on them; "
          f"{again['pages']:.0f} pages; {again['cpu_ms']:.2f} ms"
          + bench.hold(again["of_cars"] == 0 and again["rows"] == 0, "nothing changed"))
    change = bench.ours("changes", cars)
    print(f"one changed car of {cars}, until its message is in the queue for everybody: first "
          f"{change['seen_first_ms']:.2f} ms of processor, median {change['seen_median_ms']:.2f}, "
          f"worst of 201 {change['seen_worst_ms']:.2f} (until the log is tidied away as well "
          f"{change['all_median_ms']:.2f}, worst {change['all_worst_ms']:.2f})"
          + bench.hold(change["seen_worst_ms"] < MOST_MS, "one car"), flush=True)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--cars", type=int, nargs="*", default=[3334, 33334, 333334])
    parser.add_argument("--runs", type=int, default=3)
    words = parser.parse_args()
    home = os.environ.get("BL_BENCH_FOLDER", str(BUILD))
    with tempfile.TemporaryDirectory(prefix="bench-plan-", dir=home) as folder:
        bench = Bench(pathlib.Path(folder))
        print(f"SQLite {sqlite3.sqlite_version}, medians of {words.runs} runs (of the largest one)", flush=True)
        costs = [measure(bench, cars, words.runs if cars < ONCE_FROM else 1)
                 for cars in words.cars]
        measure_growth(bench, costs)
        measure_daemon(bench, words.cars[-1], costs[-1][1] * words.cars[-1] * TREATMENTS / 1e6)
    for what in bench.missed:
        print(f"missed: {what}")
    return 1 if bench.missed else 0


if __name__ == "__main__":
    sys.exit(main())
