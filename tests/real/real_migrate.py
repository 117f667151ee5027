"""Databases of versions that were released: tests/fixtures/versionN.sql, each opened by the program of
today, which keeps every row and plans what it would plan had the same facts been written new."""
import json
import sqlite3

from shop import SOURCE, Shop, run_tests

FIXTURES = sorted((SOURCE / "tests" / "fixtures").glob("version*.sql"))
NOW = "2026-11-25 16:00"
# What the owner wrote, parents first; the schema's triggers write the rest.
FACTS = ("customer", "consent", "place", "car", "package", "rule_version", "mileage", "job",
         "treatment", "event")


def put_back(shop, fixture):
    """The fixture in the place of the shop's database."""
    shop.database.unlink()
    made = sqlite3.connect(shop.database)
    made.executescript(fixture.read_text())
    made.close()
    shop.database.chmod(0o600)


def rows_of(shop):
    """Every row of every table, by column."""
    other = sqlite3.connect(shop.database)
    other.row_factory = sqlite3.Row
    names = [row[0] for row in other.execute(
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%'")]
    found = {name: [dict(row) for row in other.execute(f"SELECT * FROM {name} ORDER BY 1, 2")]
             if name != "correcting" else [] for name in names}
    other.close()
    return found


def plan_of(shop):
    """Open dues of today's plan, without what tells two databases apart."""
    found = shop.json("list", "dues", now=NOW)
    return sorted(json.dumps({k: v for k, v in due.items() if k not in ("due",)}, sort_keys=True)
                  for due in found if due["end"] is None)


def test_a_released_database_opens_and_keeps_every_row():
    assert FIXTURES, "no fixture"
    for fixture in FIXTURES:
        with Shop() as shop:
            put_back(shop, fixture)
            before = rows_of(shop)
            shop.must("list", "customers", now=NOW)
            after = rows_of(shop)
            for table, rows in before.items():
                if table in ("touched", "kept", "replan", "skipped"):
                    continue
                kept = [{name: row[name] for name in old}
                        for old, row in zip(rows, after[table])]
                assert len(rows) == len(after[table]) and kept == rows, f"{fixture}: {table}"
            assert after["corrected"] == []
            (version,), = shop.sql("PRAGMA user_version")
            assert version > int(fixture.stem.removeprefix("version"))
            assert "All is well" in shop.must("check"), fixture


def test_a_released_database_is_planned_as_if_it_were_written_today():
    for fixture in FIXTURES:
        with Shop() as old, Shop() as new:
            put_back(old, fixture)
            rows = rows_of(old)
            other = sqlite3.connect(new.database)
            with other:
                for table in FACTS:
                    for row in rows[table]:
                        names = ", ".join(f'"{name}"' for name in row)
                        marks = ", ".join("?" * len(row))
                        other.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})",
                                      list(row.values()))
                # As old programs did, nothing is held.
                other.execute("UPDATE car SET offers_held_at = NULL")
            other.close()
            mine, theirs = plan_of(old), plan_of(new)
            sent = [due for due in theirs if due not in mine]
            assert [due for due in mine if due not in theirs] == [], fixture
            # What had been said before the old one was put away is not said again.
            gone = old.json("list", "dues", now=NOW)
            ended = {(d["kind"], d["subject"], d["ordinal"]) for d in gone if d["end"]}
            for text in sent:
                due = json.loads(text)
                assert (due["kind"], due["subject"], due["ordinal"]) in ended, text
            assert len(mine) > 5, mine


run_tests(globals())
