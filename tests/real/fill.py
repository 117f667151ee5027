"""Fills a shop's database as another program would: plain SQL over a connection of its own.

Each customer gets a car and a job finished an hour ago, so that one handover a customer is due
now and nothing else for a week.
"""
import sqlite3
import time

# What goes on every car: a product of the starter catalogue and its surface.
TREATMENTS = (("coating-3y", "paint"), ("wheel-spray", "wheels"))

NAMES = ("Ada", "Béa", "Cem", "Dagný", "Eoin", "Façade & Co", "Žofie", "Hana \"H\" Example")


def phones():
    """Numbers reserved for fiction: Ofcom's mobile and London ranges, and 555-01xx."""
    yield from (f"+447700900{n:03}" for n in range(1000))
    yield from (f"+442079460{n:03}" for n in range(1000))
    yield from (f"+120155501{n:02}" for n in range(100))


def connect(shop, **options):
    other = sqlite3.connect(shop.database, timeout=60, isolation_level=None, **options)
    other.execute("PRAGMA synchronous = FULL")
    return other


def rules(other):
    """The newest version of each product's rule; the daemon stores them when it starts."""
    found = dict(other.execute("SELECT product, max(id) FROM rule_version GROUP BY product"))
    assert found, "no rule is stored yet: run the daemon once"
    return found


def add_customer(other, name, now, phone=None, mail=None):
    route = "mail" if mail else "sms"
    customer = other.execute(
        "INSERT INTO customer (name, phone, mail, route, added_at) VALUES (?, ?, ?, ?, ?)",
        (name, phone, mail, route, now)).lastrowid
    return customer


def add_car(other, customer, plate, now):
    key = "".join(c for c in plate.upper() if c.isalnum())
    return other.execute("INSERT INTO car (customer, plate, plate_key, added_at)"
                         " VALUES (?, ?, ?, ?)", (customer, plate, key, now)).lastrowid


def add_job(other, known, customer, car, finished_at, treatments=TREATMENTS):
    job = other.execute(
        "INSERT INTO job (car, customer, finished_at, temp_c, entered_at)"
        " VALUES (?, ?, ?, 15, ?)", (car, customer, finished_at, finished_at)).lastrowid
    for product, surface in treatments:
        other.execute("INSERT INTO treatment (job, rule, surface, last_coat_at)"
                      " VALUES (?, ?, ?, ?)", (job, known[product], surface, finished_at))
    return job


def fill(shop, count, route="mail", first=1, ago=3600):
    """count customers, in one transaction; their addresses in order. An address comes again when
    the numbers reserved for fiction are all used."""
    other = connect(shop)
    known = rules(other)
    numbers = list(phones())
    now = int(time.time())
    addresses = []
    other.execute("BEGIN IMMEDIATE")
    for n in range(first, first + count):
        name = f"{NAMES[n % len(NAMES)]} {n}"
        address = f"customer{n}@example.com" if route == "mail" else numbers[n % len(numbers)]
        customer = add_customer(other, name, now - ago, **{
            "mail" if route == "mail" else "phone": address})
        car = add_car(other, customer, f"BD{n:05} EX", now - ago)
        add_job(other, known, customer, car, now - ago)
        addresses.append(address)
    other.execute("COMMIT")
    other.close()
    return addresses
