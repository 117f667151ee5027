"""The command as its owner uses it: every command's happy path and its bad inputs, with exact
exit statuses and one clear line each, and a shop's days from the first customer to what left."""
import contextlib
import email
import email.policy
import fcntl
import json
import os
import pty
import random
import re
import select
import sqlite3
import struct
import subprocess
import termios
import unicodedata
import zoneinfo
from datetime import datetime, timedelta

from shop import COMMAND, Shop, run_tests

NOW = "2026-03-12 16:00"
LONDON = zoneinfo.ZoneInfo("Europe/London")
HOURS = ""  # the usual ones: Monday to Saturday, nine to seven
MESSAGE_FIELDS = {"message", "kind", "customer", "car", "channel", "to", "send_at", "not_after",
                  "state"}
ESCAPE = "\x1b"


def refused(shop, words, *parts, now=NOW, status=1):
    """The command must end with the status and one line on standard error that has the parts."""
    got, out, err = shop.run(*words, now=now)
    assert got == status, f"{words}: status {got}, not {status}: {out}{err}"
    assert out == "", f"{words}: wrote {out!r}"
    assert err.startswith("beadline: ") and err.count("\n") == 1 and err.endswith("\n"), \
        f"{words}: not one clear line: {err!r}"
    for part in parts:
        assert part in err, f"{words}: no {part!r} in {err!r}"
    return err


def rows_of(shop):
    """Everything the owner wrote, to see that nothing changed."""
    tables = ("customer", "consent", "car", "car_owner", "car_plate", "place", "mileage", "job",
              "treatment", "event", "silence", "rule_version", "package", "due", "message")
    return {table: shop.sql(f"SELECT * FROM {table} ORDER BY 1") for table in tables}


@contextlib.contextmanager
def filled(shop):
    """Two customers, three cars."""
    with shop:
        fill(shop)
        yield shop


def fill(shop):
    shop.must("add", "customer", "Ada Example", "--phone", "07700 900123", "--mail",
              "ada@example.com", "--tips", "yes", "--offers", "yes", "--how", "asked", now=NOW)
    shop.must("add", "customer", "Ben Sample", "--mail", "ben@example.org", now=NOW)
    shop.must("add", "car", "ada", "AB12 CDE", "--name", "blue estate", now=NOW)
    shop.must("add", "car", "ada", "AB34 CDE", "--name", "red estate", now=NOW)
    shop.must("add", "car", "ben", "XY99 ZZZ", "--distance-a-year", "19400", now=NOW)


def usual(more=""):
    return Shop(hours=HOURS, more=more)


# --- shapes of the answers ------------------------------------------------------------------------

COMMANDS = (
    ["init"], ["check"], ["add", "customer"], ["add", "car"], ["add", "job"], ["add", "mileage"],
    ["add", "event"], ["change", "customer"], ["change", "car"], ["silence"],
    ["list", "customers"], ["list", "cars"], ["list", "jobs"], ["list", "products"],
    ["list", "packages"], ["list", "dues"], ["show"], ["queue"], ["preview"], ["sent"], ["pause"],
    ["resume"], ["drop"], ["told"], ["settle"], ["rehearse"], ["sheet"],
    ["learn"], ["redo"], ["change", "job"], ["change", "treatment"], ["change", "mileage"],
    ["change", "event"], ["remove", "job"], ["remove", "treatment"], ["remove", "mileage"],
    ["remove", "event"])


def test_every_command_explains_itself_without_a_shop():
    for words in COMMANDS:
        done = subprocess.run([COMMAND, *words, "--help"], capture_output=True, text=True)
        assert done.returncode == 0 and done.stderr == "", f"{words}: {done.stderr}"
        assert f"beadline [OPTION…] {' '.join(words)}" in done.stdout, f"{words}: {done.stdout}"
        if len(words) == 1:
            assert done.stdout.split("\n\n")[1][:1].isupper() and \
                "Help Options" not in done.stdout.split("\n\n")[1], f"{words}: {done.stdout}"
    for words in (["--help"], ["help"], ["add", "--help"], ["change", "--help"], ["list", "--help"],
                  ["remove", "--help"]):
        done = subprocess.run([COMMAND, *words], capture_output=True, text=True)
        assert done.returncode == 0 and len(done.stdout.splitlines()) > 1, words


def test_the_help_of_a_job_teaches_its_words():
    done = subprocess.run([COMMAND, "add", "job", "--help"], capture_output=True, text=True)
    for example in ("wheel-spray", "coating-3y:2", "paint-film/front-bumper", "--same-as-last",
                    "glass-coating@windscreen"):
        assert example in done.stdout, example


def test_wrong_usage_is_one_line_and_status_two():
    with usual() as shop:
        for words in (["frob"], ["--frob"], ["--settings"], ["add"], ["add", "frob"],
                      ["add", "customer"], ["add", "customer", "a", "b"], ["add", "car", "a"],
                      ["add", "car", "a", "b", "c"], ["add", "job"], ["add", "job", "x", "--frob"],
                      ["add", "job", "x", "--at"], ["add", "mileage", "x"], ["add", "event", "x"],
                      ["change"], ["change", "frob"], ["change", "car", "x"],
                      ["change", "customer", "x"], ["silence"], ["silence", "x"], ["list"],
                      ["list", "frobs"], ["list", "products", "x"], ["list", "cars", "a", "b"],
                      ["list", "dues", "a", "b"], ["show"], ["show", "a", "b"],
                      ["show", "car", "a", "b"], ["sheet"], ["sheet", "1", "2"], ["pause"],
                      ["settle", "1"], ["rehearse"], ["rehearse", "x", "--until", "2027-01-01"],
                      ["preview"], ["init", "a", "b"], ["check", "x"]):
            refused(shop, words, status=2)


def test_a_word_that_is_nearly_right_is_offered():
    with filled(usual()) as shop:
        refused(shop, ["ad"], 'did you mean "add"', status=2)
        refused(shop, ["add", "custmer"], 'did you mean "customer"', status=2)
        refused(shop, ["list", "car"], 'did you mean "cars"', status=2)
        refused(shop, ["add", "job", "ab12cde", "whel-spray"], 'did you mean "wheel-spray"')
        refused(shop, ["add", "job", "ab12cde", "full-3"], 'did you mean "full-')
        refused(shop, ["add", "job", "ab12cde", "wheel-spray@whels"], 'did you mean "wheels"')
        refused(shop, ["add", "event", "ab12cde", "striped"], 'did you mean "stripped"')
        refused(shop, ["change", "car", "ab12cde", "--exposed", "brush-was"],
                'did you mean "brush wash"')
        refused(shop, ["change", "customer", "ada", "--route", "male"], 'did you mean "mail"')


def test_every_bad_input_is_one_clear_line_and_writes_nothing():
    with filled(usual()) as shop:
        shop.must("add", "job", "ab12cde", "wheel-spray", "--mileage", "48210", "--at", "15:40",
                  now=NOW)
        before = rows_of(shop)
        for words, part in (
                (["add", "customer", " "], "name"),
                (["add", "customer", "New", "--phone", "12"], "12"),
                (["add", "customer", "New", "--phone", "07700 900x"], "900x"),
                (["add", "customer", "New", "--mail", "new@"], "new@"),
                (["add", "customer", "New", "--mail", "a b@example.com"], "a b@example.com"),
                (["add", "customer", "New", "--language", "xx"], "xx"),
                (["add", "customer", "New", "--wish", "always"], "always"),
                (["add", "customer", "New", "--offers", "yes"], "--how"),
                (["add", "customer", "New", "--tips", "perhaps"], "perhaps"),
                (["add", "customer", "New", "--how", "asked"], "--tips"),
                (["add", "car", "nobody", "AA11 AAA"], "nobody"),
                (["add", "car", "ada", "ab-12-cde"], "AB12 CDE"),
                (["add", "car", "ada", "/ /"], "/ /"),
                (["add", "car", "ada", "AA11 AAA", "--distance-a-year", "lots"], "lots"),
                (["add", "car", "ada", "AA11 AAA", "--exposed", "moonlight"], "moonlight"),
                (["add", "car", "ada", "AA11 AAA", "--place-note", "gate"], "--place"),
                (["add", "job", "nowhere"], "nowhere"),
                (["add", "job", "ab12cde", "--mileage", "12.5"], "12.5"),
                (["add", "job", "ab12cde", "--temp", "warm"], "warm"),
                (["add", "job", "ab12cde", "--temp", "0x10"], "0x10"),
                (["add", "job", "ab12cde", "--temp", "99"], "99"),
                (["add", "job", "ab12cde", "--humidity", "140"], "140"),
                (["add", "job", "ab12cde", "--at", "soonish"], "soonish"),
                (["add", "job", "ab12cde", "--place", "moon"], "moon"),
                (["add", "job", "ab12cde", "--wash-from", "2026-03-01"], "2026-03-01"),
                (["redo", "99"], "99"),
                (["add", "job", "ab34cde", "--same-as-last"], "no earlier job"),
                (["add", "job", "ab12cde", "wheel-spray:0"], "wheel-spray:0"),
                (["add", "job", "ab12cde", "wheel-spray:"], "wheel-spray:"),
                (["add", "job", "ab12cde", "wheel-spray:2:3"], "twice"),
                (["add", "job", "ab12cde", "full-3y:2"], "full-3y"),
                (["add", "job", "ab12cde", "wax", "wax"], "wax"),
                (["add", "job", "ab12cde", "wax", "--batch", "topper=1"], "topper"),
                (["add", "job", "ab12cde", "wax", "--batch", "wax"], "--batch"),
                (["add", "job", "ab12cde", "wax", "--again", "wax=me"], "me"),
                (["add", "mileage", "ab12cde", "five"], "five"),
                (["add", "event", "ab12cde", "stripped", "--surface", "roof"], "roof"),
                (["add", "event", "ab12cde", "care", "--treatment", "77"], "77"),
                (["change", "car", "ab12cde", "--plate", "AB34 CDE"], "AB34 CDE"),
                (["change", "car", "ab12cde", "--owner", "nobody"], "nobody"),
                (["change", "car", "ab12cde", "--gone", "lost"], "lost"),
                (["change", "customer", "nobody", "--wish", "never"], "nobody"),
                (["silence", "nobody", "--how", "x"], "nobody"),
                (["silence", "ada", "--how", "x", "--lift"], "not silenced"),
                (["silence", "ada", "--how", " "], "how"),
                (["list", "cars", "nobody"], "nobody"),
                (["show", "nobody"], "nobody"),
                (["show", "99"], "99"),
                (["show", "car", "#99"], "99"),
                (["show", "job", "99"], "99"),
                (["sheet", "99"], "99"),
                (["sheet", "ab34cde"], "no job"),
                (["preview", "99"], "99"),
                (["pause", "x"], "x")):
            refused(shop, words, part)
        assert rows_of(shop) == before


def test_no_control_character_gets_in_or_out():
    with filled(usual()) as shop:
        for bad in ("Eve\nExample", "Eve\x1b[31m", "Eve \u202etxet", "Eve\u2028x", "Eve\x7f"):
            err = refused(shop, ["add", "customer", bad])
            assert bad not in err and ESCAPE not in err, err
            refused(shop, ["add", "car", "ada", bad])
            refused(shop, ["add", "job", "ab12cde", bad])
            refused(shop, ["add", "job", "ab12cde", f"wax/{bad}"])
            refused(shop, ["add", "mileage", "ab12cde", "1", "--how", bad])
        raw = subprocess.run([os.fsencode(COMMAND), b"--settings", os.fsencode(shop.settings), b"add",
                              b"customer", b"Eve\xff\xfe"], capture_output=True)
        assert raw.returncode == 1 and raw.stderr.count(b"\n") == 1, raw
        assert b"\xff" not in raw.stderr, raw.stderr


def test_without_a_shop_one_line_says_what_to_do():
    with usual() as shop:
        shop.database.unlink()
        refused(shop, ["queue"], "beadline.db", now=None)
        shop.settings.unlink()
        status, out, err = shop.run("queue")
        assert status == 1 and out == "" and "beadline.conf" in err, err
        assert "beadline init" in err and err.count("\n") == 1, err


# --- people and cars ------------------------------------------------------------------------------


def test_a_number_is_stored_in_full_and_a_consent_with_its_proof():
    with usual() as shop:
        out = shop.must("add", "customer", "Ada Example", "--phone", "07700 900123", "--offers", "yes",
                        "--tips", "no", "--how", "at the door", "--words", "yes please", now=NOW)
        assert "+447700900123" in out and "Only service messages" not in out, out
        ada = shop.json("show", "ada", now=NOW)[0]
        assert ada["phone"] == "+447700900123" and ada["goes_to"] == "+447700900123", ada
        assert (ada["service"], ada["tips"], ada["offers"]) == (True, False, True), ada
        assert {(row["class"], row["given"], row["how"], row["words"]) for row in ada["consents"]} == {
            ("tips", False, "at the door", "yes please"),
            ("offers", True, "at the door", "yes please")}
        assert all(row["at"] == "2026-03-12T16:00:00+00:00" for row in ada["consents"])


def test_who_was_not_asked_gets_service_only_and_the_owner_is_told_so():
    with usual() as shop:
        out = shop.must("add", "customer", "Ada Example", "--phone", "07700900123", now=NOW)
        assert "Only service messages will go" in out and "change customer #1" in out, out
        shop.must("change", "customer", "#1", "--offers", "yes", "--how", "by phone", now=NOW)
        shop.must("change", "customer", "#1", "--offers", "no", now="2026-03-12 17:00")
        ada = shop.json("show", "ada", now="2026-03-12 18:00")[0]
        assert ada["offers"] is False and len(ada["consents"]) == 2, ada


def test_a_shared_number_and_a_missing_address_are_noted_not_refused():
    with usual() as shop:
        shop.must("add", "customer", "Ada Example", "--phone", "07700 900123", now=NOW)
        out = shop.must("add", "customer", "Bob Example", "--phone", "+44 7700 900 123", now=NOW)
        assert "Ada Example (#1) has the same number" in out, out
        out = shop.must("add", "customer", "Clara Dune", now=NOW)
        assert "ring list" in out and "by hand" in out, out
        shop.must("silence", "07700 900123", "--how", "STOP", now=NOW)
        out = shop.must("add", "customer", "Dan Example", "--phone", "07700 900123", now=NOW)
        assert "silenced" in out, out


def test_an_ambiguous_name_lists_who_could_be_meant():
    with filled(usual()) as shop:
        err = refused(shop, ["add", "job", "estate", "wax"], "#1", "#2", "AB12 CDE", "AB34 CDE")
        assert "2 cars" in err, err
        refused(shop, ["show", "customer", "e"], "Ada Example", "Ben Sample")
        assert shop.json("show", "car", "#2", now=NOW)[0]["plate"] == "AB34 CDE"
        assert shop.json("show", "AB34", now=NOW)[0]["car"] == 2
        assert shop.json("show", "ada@EXAMPLE.com", now=NOW)[0]["customer"] == 1
        assert shop.json("show", "customer", "07700 900123", now=NOW)[0]["customer"] == 1


def test_two_of_one_name_are_told_apart_and_found_by_what_is_said():
    with filled(usual()) as shop:
        shop.must("add", "customer", "Ada Example", "--phone", "07700 900456", now=NOW)
        err = refused(shop, ["show", "Ada Example"], "+447700900123", "+447700900456")
        words = re.search(r"beadline (show customer) '(#1)'", err)
        assert shop.json(*words[1].split(), words[2], now=NOW)[0]["customer"] == 1


def test_an_old_plate_and_an_old_owner_stay_with_the_car():
    with filled(usual()) as shop:
        shop.must("change", "car", "ab12cde", "--plate", "NEW 1", now=NOW)
        out = shop.must("change", "car", "AB12 CDE", "--owner", "ben", now="2026-03-13 10:00")
        assert "agreed to themselves" in out, out
        car = shop.json("show", "car", "ab12 cde", now="2026-03-13 11:00")[0]
        assert car["plate"] == "NEW 1" and car["owner"] == "Ben Sample", car
        assert [row["plate"] for row in car["plates"]] == ["NEW 1", "AB12 CDE"], car
        assert [row["owner"] for row in car["owners"]] == ["Ben Sample", "Ada Example"], car
        text = shop.must("show", "NEW1", now="2026-03-13 11:00")
        assert "Owner before  Ada Example" in text and "Plate before  AB12 CDE" in text, text


def test_a_car_that_is_gone_takes_no_job_until_it_is_back():
    with filled(usual()) as shop:
        shop.must("change", "car", "ab12cde", "--gone", "sold", now=NOW)
        refused(shop, ["add", "job", "ab12cde", "wax"], "gone since", "--gone no",
                now="2026-03-13 10:00")
        car = shop.json("show", "car", "ab12cde", now=NOW)[0]
        assert car["gone_how"] == "sold" and car["gone_at"] == "2026-03-12T16:00:00+00:00", car
        shop.must("change", "car", "ab12cde", "--gone", "no", now="2026-03-13 10:00")
        shop.must("add", "job", "ab12cde", "wax", now="2026-03-13 10:00")


def test_a_job_of_before_a_car_went_says_that_the_car_is_gone():
    with filled(usual()) as shop:
        shop.must("change", "car", "ab12cde", "--gone", "sold", now=NOW)
        job = ("add", "job", "ab12cde", "wax", "--at", "15:00")
        notes = "\n".join(shop.json(*job, now=NOW)[0]["notes"])
        assert "the car is gone since Thu 12 Mar" in notes, notes
        assert re.search(r'"beadline change car #\d+ --gone no" brings it back', notes), notes
        shop.must("change", "car", "ab12cde", "--gone", "no", now=NOW)
        notes = "\n".join(shop.json("add", "job", "ab12cde", "wax", now=NOW)[0]["notes"])
        assert "gone" not in notes, notes


def test_none_takes_away_and_what_is_not_said_stays():
    with filled(usual()) as shop:
        shop.must("change", "customer", "ada", "--phone", "none", "--note", "dog", now=NOW)
        ada = shop.json("show", "ada", now=NOW)[0]
        assert (ada["phone"], ada["mail"], ada["note"]) == (None, "ada@example.com", "dog"), ada
        assert ada["goes_by"] == "mail", ada
        shop.must("change", "car", "ab12cde", "--exposed", "brush-wash", "--exposed", "winter-salt",
                  "--place", "home", "--place-note", "tap", "--size", "large", now=NOW)
        shop.must("change", "car", "ab12cde", "--size", "none", now=NOW)
        car = shop.json("show", "car", "ab12cde", now=NOW)[0]
        assert car["exposed"] == ["brush wash", "winter salt"] and car["size"] is None, car
        assert car["place"] == "home: tap" and car["name"] == "blue estate", car
        shop.must("change", "car", "ab12cde", "--exposed", "none", "--place", "none", now=NOW)
        car = shop.json("show", "car", "ab12cde", now=NOW)[0]
        assert car["exposed"] == [] and car["place"] is None, car


# --- a job in one breath --------------------------------------------------------------------------


def treatments(shop, *words, now=NOW):
    job = shop.json("add", "job", *words, "--dry", now=now)[0]
    return [(row["product"], row["surface"], row["part"], row["coats"]) for row in job["treatments"]]


def test_each_word_of_a_job_means_one_treatment():
    with filled(usual()) as shop:
        assert treatments(shop, "ab12cde") == []
        assert treatments(shop, "ab12cde", "wheel-spray") == [("wheel-spray", "wheels", None, 1)]
        assert treatments(shop, "ab12cde", "WHEEL-Spray") == [("wheel-spray", "wheels", None, 1)]
        assert treatments(shop, "ab12cde", "coating-3y:2") == [("coating-3y", "paint", None, 2)]
        assert treatments(shop, "ab12cde", "fabric-protection@soft-top") == [
            ("fabric-protection", "soft top", None, 1)]
        assert treatments(shop, "ab12cde", "paint-film@paint/front-bumper:3") == [
            ("paint-film", "paint", "front bumper", 3)]
        assert treatments(shop, "ab12cde", "paint-film:3/Front bumper") == [
            ("paint-film", "paint", "front bumper", 3)]
        assert treatments(shop, "ab12cde", "front-film", "wax") == [
            ("paint-film", "paint", "bonnet", 1), ("paint-film", "paint", "front bumper", 1),
            ("wax", "paint", None, 1)]


def test_what_is_typed_replaces_what_a_package_or_the_last_job_brings():
    with filled(usual()) as shop:
        package = treatments(shop, "ab12cde", "full-3y")
        assert len(package) == 6 and ("tyre-dressing", "tyres", None, 1) in package, package
        changed = treatments(shop, "ab12cde", "full-3y", "tyre-dressing:2", "wheels-and-glass")
        assert len(changed) == 6 and ("tyre-dressing", "tyres", None, 2) in changed, changed
        shop.must("add", "job", "ab12cde", "refresh", "wax:2", "--at", "10:00", now=NOW)
        shop.must("add", "job", "ab12cde", "--at", "11:00", now=NOW)
        again = treatments(shop, "ab12cde", "--same-as-last", "wax")
        first = shop.json("show", "job", "1", now=NOW)[0]["treatments"]
        assert {row["product"] for row in first} == {row[0] for row in again}
        assert ("wax", "paint", None, 1) in again and ("wax", "paint", None, 2) not in again


def test_every_product_and_package_of_the_starter_catalogue_makes_a_job():
    with filled(usual()) as shop:
        products = shop.json("list", "products", now=NOW)
        packages = shop.json("list", "packages", now=NOW)
        assert len(products) >= 18 and len(packages) >= 3
        for product in products:
            got = treatments(shop, "ab12cde", product["product"])
            assert got == [(product["product"], product["surface"], None, 1)], got
        for package in packages:
            whole = treatments(shop, "ab12cde", package["package"])
            spelt = treatments(shop, "ab12cde", *package["treatments"])
            assert whole == spelt, (whole, spelt)


def test_a_dry_run_says_the_same_and_writes_nothing():
    with filled(usual()) as shop:
        before = rows_of(shop)
        words = ["add", "job", "ab12cde", "full-3y", "wheel-spray", "--at", "15:40", "--mileage", "48210",
                 "--temp", "14", "--humidity", "60%"]
        dry = shop.must(*words, "--dry", now=NOW)
        assert rows_of(shop) == before
        wet = shop.must(*words, now=NOW)
        assert dry.splitlines()[0] == "A dry run: nothing is written." and wet.startswith("Job #1\n")
        assert dry.splitlines()[1:] == wet.splitlines()[1:]
        assert rows_of(shop) != before


def test_a_job_says_at_once_what_was_understood_and_what_follows():
    with filled(usual()) as shop:
        out = shop.must("add", "job", "blue", "full-3y", "wheel-spray", "--at", "15:40", "--mileage",
                        "48 210 km", "--temp", "57F", now=NOW)
        for part in ("blue estate (AB12 CDE), Ada Example", "Thu 12 Mar 15:40, 48 210 km, 13.89 °C",
                     "full, three years", "three-year paint coating", "Driven from   Thu 12 Mar 16:40",
                     "Dry until     Fri 13 Mar 03:40", "Wash from     Fri 3 Apr",
                     "sms to +447700900123", "none: on the next booking", "haze on the windscreen",
                     "try the brakes", "safety data sheet", "windscreen, discs, tread, pedals"):
            assert part in out, f"{part!r} is not in\n{out}"
        quiet = shop.must("add", "job", "red", "wheel-spray", "--leaving-ok", now=NOW)
        assert "Before it leaves" not in quiet and "--leaving-ok" not in quiet, quiet
        assert shop.json("show", "job", "2", now=NOW)[0]["leaving_ok"] is True


def test_what_stands_in_the_way_is_noted():
    with filled(usual()) as shop:
        notes = shop.json("add", "job", "xy99", "coating-3y", "wheel-coating@windscreen", "--temp", "2",
                          "--humidity", "95", "--dry", now=NOW)[0]["notes"]
        text = "\n".join(notes)
        assert "5 to 30 °C, and it was 2: three-year paint coating, wheel coating" in text, text
        assert "humidity, and it was 95" in text, text
        assert "meant for wheels and was put on windscreen" in text, text
        assert "has not agreed to offers" in text, text
        assert "no mileage was read yet" in text and "19 400 km" in text, text
        shop.must("add", "customer", "Clara Dune", now=NOW)
        shop.must("add", "car", "clara", "CL1", now=NOW)
        text = "\n".join(shop.json("add", "job", "cl1", "wax", "--dry", now=NOW)[0]["notes"])
        assert "ring list" in text and "beadline sheet" not in text, text
        shop.must("add", "event", "ab12cde", "resprayed", "--at", "2026-03-01", now=NOW)
        text = "\n".join(shop.json("add", "job", "ab12cde", "coating-1y", "--dry", now=NOW)[0]["notes"])
        assert "fresh paint" in text, text


def test_a_handover_that_comes_after_the_first_hours_is_noted():
    with filled(usual()) as shop:  # Saturday evening: the hours open again on Monday
        job = ("add", "job", "ab12cde", "coating-3y", "--dry")
        text = "\n".join(shop.json(*job, now="2026-03-14 19:40")[0]["notes"])
        assert "the handover goes Mon 16 Mar 09:00" in text and "tell them yourself" in text, text
        assert "beadline sheet" not in text, text  # there is no such job
        text = "\n".join(shop.json(*job, now="2026-03-14 15:40")[0]["notes"])
        assert "the handover goes" not in text, text
        text = "\n".join(shop.json(*job[:-1], now="2026-03-14 19:40")[0]["notes"])
        assert 'tell them yourself ("beadline sheet 1" prints it)' in text, text


def test_a_job_is_noted_and_warned_of_by_where_its_products_went():
    with filled(usual()) as shop:
        def job(*words):
            return shop.must("add", "job", "ab12cde", *words, "--at", "15:40", "--dry", now=NOW)
        two = job("coating-1y", "coating-3y")
        assert re.search(r"Note: one-year paint coating and three-year paint coating .*paint", two), two
        assert "both a base" not in job("coating-1y/bonnet", "coating-3y/roof")
        assert "both a base" not in job("coating-3y", "wheel-coating")
        strange = job("glass-coating@windscreen")
        assert "no haze" in strange and "Wipers from" in strange, strange
        assert "may not hold on windscreen" in strange, strange
        glass = job("windscreen-coating@glass")
        assert "no haze" not in glass and "Wipers from" not in glass, glass
        assert "try the brakes" in job("wheel-spray")
        assert "try the brakes" not in job("wheel-spray@paint")
        assert "may not hold" not in job("full-3y", "wheel-spray")


def test_a_mileage_that_goes_back_is_refused_naming_both():
    with filled(usual()) as shop:
        shop.must("add", "job", "ab12cde", "wax", "--mileage", "48210", "--at", "10:00", now=NOW)
        before = rows_of(shop)
        refused(shop, ["add", "job", "ab12cde", "wax", "--mileage", "48000"], "goes back", "48 210",
                "48 000")
        refused(shop, ["add", "mileage", "ab12cde", "60000"], "48 210", "60 000")
        assert rows_of(shop) == before
        shop.must("add", "mileage", "ab12cde", "48300", "--how", "by phone", now=NOW)
        assert [row["km"] for row in shop.json("show", "car", "ab12cde", now=NOW)[0]["mileage"]] == [
            48300, 48210]


def test_facts_more_than_a_day_ahead_are_refused_with_the_remedy():
    with filled(usual()) as shop:
        for words in (["add", "job", "ab12cde", "wax"], ["add", "mileage", "ab12cde", "100"],
                      ["add", "event", "ab12cde", "care"]):
            refused(shop, [*words, "--at", "2026-03-13 16:01"], "more than a day ahead", "clock")
            refused(shop, [*words, "--at", "2027-03-12 15:40"], "more than a day ahead")
            shop.must(*words, "--at", "2026-03-13 15:59", now=NOW)


def test_in_a_shop_of_miles_a_bare_number_is_miles():
    with filled(usual(more='units = "miles";')) as shop:
        out = shop.must("add", "job", "ab12cde", "wax", "--mileage", "30,000", now=NOW)
        assert "30 000 miles" in out, out
        assert shop.json("show", "job", "1", now=NOW)[0]["km"] == 30000 * 1.609344
        shop.must("add", "mileage", "ab12cde", "48300 km", now="2026-03-12 18:00")
        assert shop.json("show", "car", "ab12cde", now=NOW)[0]["mileage"][0]["km"] == 48300


def test_thirty_k_is_thirty_thousand_of_the_shops_unit():
    for more, unit, km in (("", "km", 1), ('units = "miles";', "miles", 1.609344)):
        with filled(usual(more=more)) as shop:
            out = shop.must("add", "car", "ada", "NEW 1", "--mileage", "30k", now=NOW)
            assert re.search(rf"^Reading +30 000 {unit}$", out, re.M), out
            row = shop.json("add", "car", "ada", "NEW 2", "--mileage", "48 K", now=NOW)[0]
            assert abs(row["km"] - 48000 * km) < 1e-6, row
            row = shop.json("add", "car", "ada", "NEW 3", "--mileage", "30 km", now=NOW)[0]
            assert row["km"] == 30, row
            for nonsense in ("30kk", "k", "1.5k", "30 000k", "3k km", "99999999"):
                refused(shop, ["add", "car", "ada", "NEW 4", "--mileage", nonsense], nonsense)


def test_a_time_that_looks_like_a_slip_is_noted():
    with filled(usual()) as shop:
        def notes(at):
            return "\n".join(shop.json("add", "job", "ab12cde", "wax", "--at", at, "--dry",
                                       now="2026-03-12 9:47")[0]["notes"])
        assert "15:40, and it is only" in notes("15:40"), notes("15:40")
        assert "more than 10 years ago" in notes("2006-03-12 10:00")
        for well in ("9:52", "9:30", "today 8:00", "yesterday 15:40", "2016-03-14 10:00"):
            assert "look at the" not in notes(well), (well, notes(well))


def test_a_name_is_found_as_typed_in_a_hurry_and_the_nearest_is_offered():
    with filled(usual()) as shop:
        shop.must("add", "customer", "Seán O\u2019Brien", "--mail", "sean@example.com", now=NOW)
        for typed in ("sean", "obrien", "SEÁN O'BRIEN"):
            assert shop.json("change", "customer", typed, "--wish", "seldom",
                             now=NOW)[0]["customer"] == 3
        refused(shop, ["change", "customer", "obrein", "--wish", "seldom"],
                'did you mean "Seán O\u2019Brien"? "beadline list customers"')
        refused(shop, ["add", "job", "AB12 CED"], 'did you mean "AB12 CDE"?')
        refused(shop, ["add", "job", "blue esttae"], 'did you mean "blue estate"?')
        assert "did you mean" not in refused(shop, ["add", "job", "quite another"])


def test_batch_and_who_does_it_again_are_kept():
    with filled(usual()) as shop:
        shop.must("add", "job", "ab12cde", "wheel-spray", "wax", "--batch", "wax=L 0421", "--again",
                  "wheel-spray=customer", "--note", "two lines\nof note", now=NOW)
        kept = shop.sql("SELECT batch, again FROM treatment ORDER BY id")
        assert kept == [(None, "customer"), ("L 0421", None)], kept
        spray = [row for row in shop.json("list", "dues", now=NOW) if row["product"] == "wheel-spray"]
        assert spray[0]["held"] is None, spray
        assert "two lines of note" in shop.must("show", "job", "1", now=NOW)


# --- dates against another calendar ---------------------------------------------------------------


def test_the_dates_after_a_job_are_those_another_calendar_gives():
    seed = int(os.environ.get("BL_SEED") or random.randrange(10 ** 9))
    print("seed", seed)
    chance = random.Random(seed)
    utc = zoneinfo.ZoneInfo("UTC")
    with filled(usual()) as shop:
        for _ in range(25):
            start = datetime(2024, 1, 1, tzinfo=utc) + timedelta(minutes=chance.randrange(3 * 525600))
            local = start.astimezone(LONDON)
            job = shop.json("add", "job", "ab12cde", "full-3y", "--dry",
                            now=local.isoformat())[0]
            cure = (start + timedelta(days=21)).astimezone(LONDON)
            day = cure.date() if cure.time().isoformat() == "00:00:00" else cure.date() + timedelta(1)
            assert job["wash_from"] == day.isoformat(), (local, job["wash_from"], day)
            for field, hours in (("drive_from", 1), ("dry_until", 12), ("wipers_from", 24),
                                 ("rinse_from", 7 * 24)):
                want = (start + timedelta(hours=hours)).astimezone(LONDON)
                got = datetime.fromisoformat(job[field])
                # In the hour a clock shows twice Python calls aware times of two zones unequal
                # (PEP 495), so instants are compared.
                assert got.timestamp() == want.timestamp(), (local, field, job[field])
                assert got.utcoffset() == want.utcoffset(), (local, field, job[field])
            wash = [row for row in job["messages"] if row["kind"] == "wash"][0]
            sent = datetime.fromisoformat(wash["send_at"]).astimezone(LONDON)
            assert sent.date() >= day and sent.weekday() < 6 and 9 <= sent.hour < 19, (local, wash)


def test_a_wheel_spray_of_a_busy_car_ends_as_the_worked_example_says():
    with filled(usual()) as shop:  # 28 to 42 days at 12 000 km, six tenths by driving, 19 400 km
        job = shop.json("add", "job", "xy99", "wheel-spray", "--dry", now=NOW)[0]
        spray = job["treatments"][0]
        start = datetime.fromisoformat(job["finished_at"])
        early = (datetime.fromisoformat(spray["top_up_early"]) - start) / timedelta(days=1)
        late = (datetime.fromisoformat(spray["top_up_late"]) - start) / timedelta(days=1)
        assert round(early, 1) == 20.4 and round(late, 1) == 30.7, (early, late)


def test_an_own_wash_date_lengthens_and_never_shortens():
    with filled(usual()) as shop:
        later = shop.json("add", "job", "ab12cde", "coating-3y", "--wash-from", "2026-04-20", "--dry",
                          now=NOW)[0]
        assert later["wash_from"] == "2026-04-20" and not any("--wash-from" in n for n in later["notes"])
        sooner = shop.json("add", "job", "ab12cde", "coating-3y", "--wash-from", "2026-03-20", "--dry",
                           now=NOW)[0]
        assert sooner["wash_from"] == "2026-04-03" and any("--wash-from" in n for n in sooner["notes"])
        indoors = shop.json("add", "job", "ab12cde", "coating-3y", "--cured-indoors", "--dry", now=NOW)[0]
        assert indoors["wash_from"] is None and indoors["dry_until"] is None


def test_an_event_takes_off_what_it_must():
    with filled(usual()) as shop:
        shop.must("add", "job", "ab12cde", "full-3y", "wheel-spray", now="2026-03-12 12:00")
        event = shop.json("add", "event", "ab12cde", "Stripped", "--surface", "wheels", "--with",
                          "wheel cleaner", now=NOW)[0]
        assert sorted(event["came_off"]) == ["wheel coating (wheels)", "wheel spray sealant (wheels)"]
        out = shop.must("add", "event", "ab12cde", "part-replaced", "--surface", "paint", "--part",
                        "bonnet", now=NOW)
        assert "paint, bonnet" in out and "Came off" not in out, out
        out = shop.must("add", "event", "ab12cde", "cured-indoors", "--lamp",
                        now="2026-03-12 18:00")
        assert "Wash from     Fri 13 Mar" in out, out
        car = shop.json("show", "car", "ab12cde", now="2026-03-12 19:00")[0]
        off = {row["product"] for row in car["treatments"] if row["ended_at"]}
        assert off == {"wheel-coating", "wheel-spray"} and len(car["events"]) == 3, car


# --- lists and shows ------------------------------------------------------------------------------


def test_hours_indoors_that_do_not_count_are_said():
    with filled(usual()) as shop:
        shop.must("add", "job", "ab12cde", "coating-3y", "--at", "2026-03-11 18:00", now=NOW)
        def cured(temp, hours):
            return "\n".join(shop.json("add", "event", "ab12cde", "cured-indoors", "--temp", temp,
                                       "--hours", hours, now=NOW)[0]["notes"])
        both = cured("60", "200")
        assert "only the hours since the last coat count: 22 of the 200 (three-year" in both, both
        assert re.search(r"warmth above \d+ °C makes nothing cure faster", both), both
        within = cured("5", "20")
        assert "count" not in within and "warmth" not in within, within


def test_every_list_and_show_is_json_that_python_reads():
    with filled(usual()) as shop:
        shop.must("add", "job", "ab12cde", "full-3y", "wheel-spray", "--mileage", "48210", now=NOW)
        shop.must("add", "event", "ab12cde", "care", "--note", 'say "hi" \\ 青', now=NOW)
        for words, fields in (
                (["list", "customers"], {"customer", "name", "phone", "mail", "route"}),
                (["list", "cars"], {"car", "plate", "owner", "km_a_year"}),
                (["list", "cars", "ada"], {"car", "plate", "owner"}),
                (["list", "jobs"], {"job", "plate", "finished_at", "products"}),
                (["list", "jobs", "ab12cde"], {"job", "plate", "finished_at", "products"}),
                (["list", "products"], {"product", "title", "surface", "wash_days", "life_days"}),
                (["list", "packages"], {"package", "title", "treatments"}),
                (["list", "dues"], {"kind", "from", "best_by", "not_after", "early", "held"}),
                (["list", "dues", "ada"], {"kind", "from", "best_by", "not_after"}),
                (["queue"], MESSAGE_FIELDS), (["queue", "--days", "30"], MESSAGE_FIELDS),
                (["show", "ada"], {"customer", "consents", "cars", "waiting"}),
                (["show", "blue"], {"car", "owners", "mileage", "treatments", "wash_from", "waiting"}),
                (["show", "job", "1"], {"job", "treatments", "messages", "wash_from"}),
                (["show", "1"], MESSAGE_FIELDS | {"dues", "answer"}),
                (["preview", "1"], {"message", "text", "parts"}),
                (["sheet", "1"], {"job", "sheet"})):
            rows = shop.json(*words, now=NOW)
            assert rows and all(fields <= row.keys() for row in rows), (words, rows[:1])
            plain = shop.must(*words, now=NOW)
            assert plain and ESCAPE not in plain, words


def test_every_writing_command_answers_with_one_object_of_what_it_wrote():
    with filled(usual()) as shop:
        for words, want in (
                (["add", "customer", "Eve Example", "--mail", "Eve@EXAMPLE.com"],
                 {"customer": 3, "name": "Eve Example", "phone": None, "mail": "Eve@example.com",
                  "route": "mail", "wish": "normal"}),
                (["change", "customer", "eve", "--wish", "seldom", "--route", "by-hand"],
                 {"customer": 3, "wish": "seldom", "route": "by hand"}),
                (["add", "car", "eve", "ev 1", "--mileage", "1200", "--exposed", "Winter salt",
                  "--size", "small"],
                 {"car": 4, "plate": "ev 1", "owner": "Eve Example", "exposed": ["winter salt"],
                  "size": "small", "km_a_year": None}),
                (["change", "car", "ev1", "--gone", "scrapped"], {"car": 4, "gone_how": "scrapped"}),
                (["add", "mileage", "ab12cde", "48210"],
                 {"plate": "AB12 CDE", "km": 48210, "at": "2026-03-12T16:00:00+00:00",
                  "forecast_km_a_year": 12000}),
                (["add", "event", "ab12cde", "wet-too-early", "--surface", "soft-top", "--part",
                  "Rear window"],
                 {"happening": "wet too early", "surface": "soft top", "part": "rear window",
                  "came_off": []}),
                (["silence", "ben", "--how", "STOP"],
                 {"address": "ben@example.org", "silenced": True, "customers": "Ben Sample"}),
                (["silence", "ben", "--how", "START", "--lift"],
                 {"address": "ben@example.org", "silenced": False})):
            rows = shop.json(*words, now=NOW)
            assert len(rows) == 1 and want.items() <= rows[0].items(), (words, rows)


def test_a_place_is_kept_once_and_named_in_a_job():
    with filled(usual()) as shop:
        shop.must("change", "car", "ab12cde", "--place", "home", "--place-address", "1 Example Road",
                  "--place-note", "tap behind the gate", now=NOW)
        shop.must("change", "car", "ab34cde", "--place", "HOME", now=NOW)
        assert len(shop.sql("SELECT * FROM place")) == 1
        refused(shop, ["change", "car", "ab34cde", "--place", "home", "--place-note", "dog"], "home",
                "another name")
        assert "1 Example Road: tap behind the gate" in shop.must("show", "ada", now=NOW)
        shop.must("add", "job", "ab12cde", "wax", now=NOW)
        shop.must("change", "car", "ab12cde", "--place", "office", now=NOW)
        shop.must("add", "job", "ab12cde", "wax", "--place", "home", now="2026-03-12 17:00")
        assert shop.sql("SELECT place FROM job ORDER BY id") == [(1,), (1,)]
        refused(shop, ["add", "job", "ab12cde", "--place", "moon"], '"home"', '"office"')
        shop.must("change", "car", "ab12cde", "--owner", "ben", now="2026-03-12 18:00")
        assert shop.json("show", "car", "ab12cde", now="2026-03-12 19:00")[0]["place"] is None


def test_a_product_that_left_the_catalogue_stays_readable_on_the_cars_that_wear_it():
    with filled(usual()) as shop:
        shop.must("add", "job", "ab12cde", "wheel-spray", "wheel-coating", now=NOW)
        send(shop, NOW)
        packages = shop.root / "catalogue" / "packages.conf"
        packages.write_text("packages = { };\n")
        (shop.root / "catalogue" / "wheels.conf").unlink()
        later = "2026-03-13 12:00"
        text = shop.must("show", "blue", now=later)
        assert "wheel spray sealant" in text and "wheel coating" in text, text
        assert "wheel-spray" in shop.must("list", "jobs", now=later)
        assert "wheel coating" in shop.must("list", "dues", now=later) or \
            "wheel-coating" in shop.must("list", "dues", now=later)
        refused(shop, ["add", "job", "ab12cde", "--same-as-last"], "not in the catalogue any more",
                now=later)
        assert "wheel coating" in shop.must("sheet", "1", now=later)


def test_the_front_page_names_what_cannot_be_read():
    with begun(usual()) as shop:
        shop.sql("UPDATE treatment SET last_coat_at = last_coat_at + 99999999 WHERE id = 1")
        page = shop.must(now=NOW)
        assert "Broken" in page and "treatment 1" in page, page
        notes = shop.json("show", "job", "1", now=NOW)[0]["notes"]
        assert any("treatment 1" in note for note in notes), notes


def test_another_writer_is_waited_for_and_then_named_as_the_reason():
    with filled(usual()) as shop:
        other = sqlite3.connect(shop.database, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        refused(shop, ["add", "job", "ab12cde", "wax"], "try again")
        other.execute("ROLLBACK")
        other.close()
        shop.must("add", "job", "ab12cde", "wax", now=NOW)


def test_an_empty_shop_says_where_to_begin():
    with usual() as shop:
        assert "add customer" in shop.must(now=NOW)
        fill(shop)
        assert "add job" in shop.must(now=NOW)
        assert shop.json(now=NOW) == []


def test_instants_are_rfc_3339_in_the_shops_zone_and_absent_things_are_null():
    with filled(usual()) as shop:
        shop.must("add", "job", "ab12cde", "coating-3y", "--at", "15:40", now=NOW)
        queue = shop.json("queue", now=NOW)
        wash = [row for row in queue if row["kind"] == "wash"][0]
        assert wash["send_at"] == "2026-04-03T09:00:00+01:00", wash
        assert wash["reason"] is None and wash["claimed_at"] is None, wash
        job = shop.json("list", "jobs", now=NOW)[0]
        assert job["finished_at"] == "2026-03-12T15:40:00+00:00" and job["km"] is None, job


def test_empty_lists_say_what_to_do_and_empty_json_is_empty():
    with usual() as shop:
        assert "add customer" in shop.must("list", "customers", now=NOW)
        assert "add car" in shop.must("list", "cars", now=NOW)
        assert "add job" in shop.must("list", "jobs", now=NOW)
        assert shop.must("list", "dues", now=NOW).strip()
        for words in (["list", "customers"], ["list", "cars"], ["list", "jobs"], ["list", "dues"],
                      ["queue"], ["sent"]):
            assert shop.json(*words, now=NOW) == [], words


def test_a_sheet_is_one_page_and_tells_the_same_wash_date():
    with filled(usual()) as shop:
        shop.must("add", "job", "ab12cde", "full-3y", "--at", "15:40", now=NOW)
        sheet = shop.must("sheet", "1", now=NOW)
        assert sheet == shop.must("sheet", "blue", now=NOW)
        assert len(sheet.splitlines()) <= 66 and "Friday 3 April" in sheet, sheet
        assert "Fri 3 Apr" in shop.must("show", "job", "1", now=NOW)


# --- tables on terminals --------------------------------------------------------------------------


def on_terminal(shop, columns, *words, env=None):
    """What the command writes on a terminal of that width."""
    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
    child = subprocess.Popen([COMMAND, "--settings", shop.settings, "--now", NOW, *words],
                             stdin=slave, stdout=slave, stderr=slave, env={**os.environ, **(env or {})})
    os.close(slave)
    text = b""
    while True:
        ready, _, _ = select.select([master], [], [], 60)
        assert ready, "nothing came"
        try:
            more = os.read(master, 65536)
        except OSError:
            break
        if not more:
            break
        text += more
    os.close(master)
    assert child.wait(60) == 0, text
    return text.decode().replace("\r\n", "\n")


def columns_of(line):
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
               for c in re.sub(r"\x1b\[[0-9;]*m", "", line))


TABLES = (["list", "customers"], ["list", "cars"], ["list", "jobs"], ["list", "products"],
          ["list", "packages"], ["list", "dues"], ["queue"])


def test_tables_fit_terminals_of_60_80_and_120_columns():
    with filled(usual()) as shop:
        shop.must("add", "customer", "Ödön Längster-Überallher von und zu Beispielhausen", "--mail",
                  "a-very-long-local-part-indeed@subdomain.of.a.long.example.com", now=NOW)
        shop.must("add", "car", "längster", "車 123 車車車", "--name", "das große 青い Auto mit Anhänger",
                  now=NOW)
        for car in ("ab12cde", "ab34cde", "xy99", "車123車車車"):
            shop.must("add", "job", car, "full-3y", "wheel-spray", "--at", "15:40", now=NOW)
        for columns in (60, 80, 120):
            for words in TABLES:
                text = on_terminal(shop, columns, *words, env={"NO_COLOR": ""})
                widest = max(text.splitlines(), key=columns_of)
                assert columns_of(widest) <= columns, (columns, words, widest)
                assert "\x1b[1m" in text, words
        piped = shop.must("queue", now=NOW)
        assert "…" not in piped and max(map(columns_of, piped.splitlines())) > 120, piped


def test_no_hour_number_or_reason_is_cut_on_a_narrow_terminal():
    with filled(usual()) as shop:
        for car in ("ab12cde", "ab34cde", "xy99"):
            shop.must("add", "job", car, "full-3y", "wheel-spray", "--at", "15:40", now=NOW)
        shop.must("pause", "2", "--why", "they are away until the snow has gone from the roads",
                  now=NOW)
        for columns in (60, 80):
            for words in ([], ["queue"], ["show", "car", "ab12cde"], ["show", "ada"]):
                text = on_terminal(shop, columns, *words, env={"NO_COLOR": "1"})
                lines = text.splitlines()
                assert max(map(columns_of, lines)) <= columns, (columns, words, text)
                rows = [line for line in lines if re.match(r" *#\d+  (Mon|Tue|Wed|Thu|Fri|Sat)", line)]
                assert rows and all(re.search(r"\d\d:\d\d", row) for row in rows), text
                assert "+447700900123" in text and "+44770090012…" not in text, text
            queue = re.sub(r"\s+", " ", on_terminal(shop, columns, "queue", env={"NO_COLOR": "1"}))
            assert "paused: they are away until the snow has gone from the roads" in queue, queue


def test_a_column_without_any_text_is_left_out_of_the_table_and_kept_in_json():
    with filled(usual()) as shop:
        assert "size" not in shop.must("list", "cars", now=NOW).splitlines()[0]
        assert "a year" in shop.must("list", "cars", now=NOW).splitlines()[0]
        assert shop.json("list", "cars", now=NOW)[0]["size"] is None


def test_numbers_findings_and_ends_of_treatments_are_shown_where_they_are_asked_for():
    later = "2026-03-12 17:00"
    with filled(usual()) as shop:
        shop.must("add", "job", "ab12cde", "wheel-spray", "tyre-dressing", "--at", "15:40", now=NOW)
        for row in shop.json("show", "car", "ab12cde", now=NOW)[0]["treatments"]:
            for words in (["show", "car", "ab12cde"], ["show", "job", "1"]):
                line = [one for one in shop.must(*words, now=NOW).splitlines() if row["title"] in one][0]
                assert line.split()[0] == f"#{row['treatment']}", line
        shop.must("add", "event", "ab12cde", "stripped", "--surface", "wheels", "--at", "16:30",
                  now=later)
        shop.must("add", "event", "ab12cde", "inspection", "--finding", "beading", "--at", "16:40",
                  now=later)
        job = shop.must("show", "job", "1", now=later)
        assert "off since Thu 12 Mar: stripped" in \
            [line for line in job.splitlines() if " wheel spray sealant " in line][0], job
        ended = {row["product"]: row["ended_by"] for row in shop.json("show", "job", "1", now=later)[0]
                 ["treatments"]}
        assert ended["wheel-spray"] == "stripped" and ended["tyre-dressing"] is None, ended
        assert "beading" in shop.must("show", "car", "ab12cde", now=later)
        events = shop.json("show", "car", "ab12cde", now=later)[0]["events"]
        assert [(row["happening"], row["finding"]) for row in events] == \
            [("inspection", "beading"), ("stripped", None)], events


def test_columns_of_a_table_begin_at_one_place_however_wide_the_letters():
    with usual() as shop:
        for name in ("Ada Example", "青木 見本", "E\u0301mile Exemple", "Zoë"):
            shop.must("add", "customer", name, "--phone", "07700 900123", now=NOW)
        lines = shop.must("list", "customers", now=NOW).splitlines()
        places = {columns_of(line[:line.index("+44")]) for line in lines[1:]}
        assert len(places) == 1, lines


def test_no_color_is_honoured_and_a_pipe_is_plain():
    with filled(usual()) as shop:
        assert ESCAPE not in on_terminal(shop, 80, "list", "cars", env={"NO_COLOR": "1"})
        assert ESCAPE not in shop.must("list", "cars", now=NOW)
        assert ESCAPE in on_terminal(shop, 80, "list", "cars", env={"NO_COLOR": ""})


# --- a shop's days: what is shown is what leaves --------------------------------------------------


def outbox(shop):
    return {path.stem: path for path in shop.outbox.iterdir()} if shop.outbox.exists() else {}


def send(shop, now):
    status, log = shop.until_idle("--now", now)
    assert status == 0, log


@contextlib.contextmanager
def begun(shop):
    """A text and a mail that wait for the same minute."""
    with filled(shop):
        shop.must("add", "job", "ab12cde", "full-3y", "--mileage", "48210", now=NOW)
        shop.must("add", "job", "xy99", "coating-1y", now=NOW)
        yield shop


def test_what_preview_shows_is_what_the_daemon_writes():
    with begun(usual()) as shop:
        send(shop, "2026-03-12 08:00")  # gives the messages their keys, sends nothing yet
        waiting = shop.json("queue", "--days", "1", now=NOW)
        assert [row["channel"] for row in waiting] == ["sms", "mail"] and outbox(shop) == {}, waiting
        shown = {row["key"]: shop.json("preview", str(row["message"]), now=NOW)[0] for row in waiting}
        raw = {row["key"]: shop.must("preview", str(row["message"]), "--raw", now=NOW)
               for row in waiting if row["channel"] == "mail"}
        send(shop, NOW)
        files = outbox(shop)
        assert set(files) == set(shown), (files, shown)
        for key, letter in shown.items():
            content = files[key].read_bytes()
            if letter["channel"] == "sms":
                assert content.decode() == f"To: {letter['to']}\n\n{letter['text']}\n", content
                continue
            mail = email.message_from_bytes(content, policy=email.policy.default)
            plain = mail.get_body(("plain",)).get_content().replace("\r\n", "\n")
            assert plain == letter["text"], (plain, letter["text"])
            html = mail.get_body(("html",)).get_content().replace("\r\n", "\n")
            assert html.strip() == letter["html"].strip()
            assert mail["Subject"] == letter["subject"] and key in mail["Message-ID"]
            assert mail["To"] == "Ben Sample <ben@example.org>"
            assert content.decode().replace("\r\n", "\n") == raw[key].replace("\r\n", "\n")
        sent = shop.json("sent", now="2026-03-12 17:00")
        assert {row["state"] for row in sent} == {"sent"} and len(sent) == 2, sent
        after = {row["key"]: shop.json("preview", str(row["message"]), now="2026-03-12 17:00")[0]["text"]
                 for row in sent}
        assert after == {key: letter["text"] for key, letter in shown.items()}
        send(shop, "2026-03-12 18:00")
        assert set(outbox(shop)) == set(files)


def test_a_paused_message_waits_and_a_resumed_one_goes():
    with begun(usual()) as shop:
        send(shop, "2026-03-12 08:00")
        text, mail = [str(row["message"]) for row in shop.json("queue", "--days", "1", now=NOW)]
        out = shop.must("pause", text, f"#{mail}", "--why", "rain", now=NOW)
        assert out.count("held back") == 2, out
        send(shop, NOW)
        assert outbox(shop) == {}
        states = {row["message"]: row["state"] for row in shop.json("queue", now=NOW)}
        assert states[int(text)] == states[int(mail)] == "paused", states
        shop.must("resume", text, now=NOW)
        shop.must("drop", mail, "--why", "told her myself", now=NOW)
        send(shop, "2026-03-12 16:30")
        assert len(outbox(shop)) == 1
        assert shop.json("show", text, now=NOW)[0]["state"] == "sent"
        dropped = shop.json("show", mail, now=NOW)[0]
        assert (dropped["state"], dropped["reason"]) == ("withdrawn", "told her myself"), dropped
        refused(shop, ["resume", text], "sent")
        refused(shop, ["pause", text], "sent")
        refused(shop, ["settle", text, "sent"], "not unsure")


def test_the_owners_word_on_messages_is_answered_with_one_object_each():
    with filled(usual()) as shop:
        shop.must("add", "job", "ab12cde", "full-3y", "--at", "15:40", now=NOW)
        ids = [str(row["message"]) for row in shop.json("queue", now=NOW)][:2]
        for words, state in (("pause", "paused"), ("resume", "planned")):
            rows = shop.json(words, *ids, now=NOW)
            assert [(str(row["message"]), row["state"]) for row in rows] == \
                [(one, state) for one in ids], rows
        last = str(shop.json("queue", now=NOW)[0]["message"])
        assert shop.json("drop", last, "--why", "sold", now=NOW)[0]["reason"] == "sold"
        shop.must("add", "customer", "Clara Dune", now=NOW)
        shop.must("add", "car", "clara", "CL1", now=NOW)
        shop.must("add", "job", "cl1", "wax", "--at", "15:40", now=NOW)
        ring = [row["message"] for row in shop.json("queue", now=NOW) if row["channel"] == "by hand"]
        told = shop.json("told", str(ring[0]), now=NOW)
        assert [(row["message"], row["state"]) for row in told] == [(ring[0], "sent")], told


def test_an_answer_that_cannot_be_written_is_no_success():
    with filled(usual()) as shop, open("/dev/full", "w") as full:
        for words in (["list", "cars"], ["show", "ada", "--json"], ["--help"]):
            done = subprocess.run([COMMAND, "--settings", shop.settings, *words], stdout=full,
                                  stderr=subprocess.PIPE, text=True)
            assert done.returncode == 1 and done.stderr.count("\n") == 1, (words, done)
            assert "No space left" in done.stderr, done.stderr


def test_check_answers_in_json_with_places_or_that_all_is_well():
    with filled(usual()) as shop:
        assert shop.json("check")[0]["well"] is True
        text = shop.settings.read_text()
        shop.settings.write_text(text + "frob = 1;\n")
        status, out, _ = shop.run("check", "--json")
        fault = json.loads(out.splitlines()[0])
        assert status == 1 and fault["file"] == str(shop.settings), out
        assert fault["line"] == text.count("\n") + 1 and "frob" in fault["fault"], out


def test_one_refusal_among_several_messages_undoes_the_others():
    with begun(usual()) as shop:
        send(shop, "2026-03-12 08:00")
        text = str(shop.json("queue", now=NOW)[0]["message"])
        refused(shop, ["pause", text, "99"], "99")
        assert shop.json("show", text, now=NOW)[0]["state"] == "planned"


def test_an_unsure_message_waits_for_the_owners_word():
    for word, state in (("sent", "sent"), ("resend", "planned"), ("drop", "withdrawn")):
        with begun(usual()) as shop:
            send(shop, "2026-03-12 08:00")
            message = str(shop.json("queue", now=NOW)[0]["message"])
            shop.sql("UPDATE message SET state = 'claimed', claimed_at = 1773331200, gateway = 'outbox'"
                     " WHERE id = ?", message)
            shop.sql("UPDATE message SET state = 'unsure', reason = 'the line broke' WHERE id = ?",
                     message)
            page = shop.must(now=NOW)
            assert "Nobody knows whether these arrived" in page and "the line broke" in page, page
            refused(shop, ["settle", message, "perhaps"], "sent, resend or drop", status=2)
            refused(shop, ["drop", "99"], "99")
            shop.must("settle", message, word, now=NOW)
            assert shop.json("show", message, now=NOW)[0]["state"] == state, word


def test_a_plate_of_digits_is_found_before_a_message_of_that_number():
    with begun(usual()) as shop:
        send(shop, "2026-03-12 08:00")
        shop.must("add", "car", "ada", "1", "--name", "old truck", now=NOW)
        assert shop.json("show", "1", now=NOW)[0]["name"] == "old truck"
        assert shop.json("show", "#1", now=NOW)[0]["message"] == 1
        assert shop.json("show", "message", "1", now=NOW)[0]["message"] == 1
        assert shop.json("show", "customer", "1", now=NOW)[0]["name"] == "Ada Example"


def test_a_message_shows_the_numbers_it_stands_on():
    with filled(usual()) as shop:
        shop.must("change", "customer", "ben", "--offers", "yes", "--how", "by mail", now=NOW)
        shop.must("add", "job", "xy99", "glass-coating", now=NOW)
        send(shop, NOW)
        top_up = [row for row in shop.json("queue", now=NOW) if row["kind"] == "top-up"][0]
        shown = shop.json("show", str(top_up["message"]), now=NOW)[0]
        due = shown["dues"][0]
        assert due["product"] == "glass-coating" and due["early"] <= due["likely"] <= due["late"], due
        assert abs(due["km_a_day"] - 19400 / 365.25) < 0.01 and due["speed"] > 1, due
        text = shop.must("show", str(top_up["message"]), now=NOW)
        assert "53 km a day" in text and "glass coating" in text and "preview" in text, text
        refusal = shop.json("list", "dues", "ben", now=NOW)
        assert {row["kind"] for row in refusal} >= {"handover", "wash", "top-up"}, refusal


def test_who_has_no_address_is_on_the_ring_list_until_told():
    with filled(usual()) as shop:
        shop.must("add", "customer", "Clara Dune", now=NOW)
        shop.must("add", "car", "clara", "CL1", now=NOW)
        shop.must("add", "job", "cl1", "coating-1y", now=NOW)
        send(shop, NOW)
        assert outbox(shop) == {}
        page = shop.must(now=NOW)
        assert "To ring" in page and "Clara Dune" in page, page
        message = str(shop.json("queue", now=NOW)[0]["message"])
        shop.must("told", message, "--why", "rang her", now=NOW)
        assert "To ring" not in shop.must(now=NOW)
        told = shop.json("show", message, now=NOW)[0]
        assert (told["state"], told["reason"]) == ("sent", "rang her"), told


def test_silence_holds_from_that_second_for_everybody_with_the_address():
    with begun(usual()) as shop:
        shop.must("add", "customer", "Eve Example", "--phone", "07700 900123", now=NOW)
        out = shop.must("silence", "ada", "--how", "at the door", "--words", "no more", now=NOW)
        assert "+447700900123 (Ada Example, Eve Example)" in out and "ada@example.com" in out, out
        send(shop, NOW)
        assert [path.suffix for path in outbox(shop).values()] == [".eml"]  # Ben's only
        assert "(silenced)" in shop.must("show", "ada", now=NOW)
        assert shop.json("show", "eve", now=NOW)[0]["silenced"] is True
        note = shop.json("add", "job", "ab34cde", "wax", "--dry", now=NOW)[0]["notes"]
        assert any("silence" in line for line in note), note
        shop.must("silence", "+44 7700 900123", "--lift", "--how", "sent START", now=NOW)
        shop.must("silence", "ada", "--lift", "--how", "sent START", now=NOW)
        assert shop.json("show", "ada", now=NOW)[0]["silenced"] is False
        logged = shop.sql("SELECT silenced, how, words FROM silence_log ORDER BY id")
        assert logged == [(1, "at the door", "no more")] * 2 + [(0, "sent START", "")] * 2, logged


def test_a_new_owner_hears_only_what_he_agreed_to():
    with begun(usual()) as shop:
        shop.must("change", "car", "ab12cde", "--owner", "ben", now=NOW)
        dues = [row for row in shop.json("list", "dues", "ben", now=NOW) if row["car"] and
                "AB12" in row["car"] and row["kind"] == "top-up"]
        assert dues and all("no consent" in row["held"] or "next booking" in row["held"]
                            for row in dues), dues
        assert not [row for row in shop.json("queue", now=NOW)
                    if row["customer"] == "Ada Example"], "the last owner is still told"


def test_a_look_at_another_time_changes_nothing():
    with begun(usual()) as shop:
        send(shop, NOW)
        before = rows_of(shop)
        for words in ([], ["queue"], ["list", "dues"], ["show", "ada"], ["show", "blue"], ["sheet", "1"],
                      ["sent"]):
            shop.must(*words, now="2027-06-01 12:00")
        assert rows_of(shop) == before


def test_init_makes_a_shop_that_check_finds_well_and_never_overwrites():
    with usual() as shop:
        made = shop.folder / "second"
        out = subprocess.run([COMMAND, "init", made], capture_output=True, text=True)
        assert out.returncode == 0 and "check" in out.stdout, out
        again = subprocess.run([COMMAND, "init", made], capture_output=True, text=True)
        assert again.returncode == 1 and "not overwritten" in again.stderr, again
        check = subprocess.run([COMMAND, "--settings", made / "beadline.conf", "check"],
                               capture_output=True, text=True)
        assert check.returncode == 0 and "All is well" in check.stdout, check
        assert (made / "beadline.db").stat().st_mode & 0o077 == 0
        (made / "beadline.conf").write_text('shop = { nam = "x"; };\nfrob = 1;\n')
        check = subprocess.run([COMMAND, "--settings", made / "beadline.conf", "check"],
                               capture_output=True, text=True)
        assert check.returncode == 1 and check.stdout.count("beadline.conf:") >= 2, check


def test_check_names_the_faults_of_every_file_at_once():
    with usual(more='owner = 7;\nclosed = ["2026-12-24 - 2026-12-20", "31.12.2026"];') as shop:
        products = sorted((shop.root / "catalogue").rglob("*.conf"))[0]
        products.write_text(products.read_text() + "\nfrob = {")
        template = sorted(path for path in (shop.root / "templates").rglob("*") if path.is_file())[0]
        template.write_text("{{foo}}")
        shop.sql("CREATE VIEW everyone AS SELECT * FROM customer")
        shop.sql("CREATE TRIGGER spy AFTER INSERT ON customer BEGIN DELETE FROM job; END")
        status, out, err = shop.run("check")
        assert status == 1 and err == "", (out, err)
        for part in ('"owner" is not known', '"2026-12-24 - 2026-12-20"', '"31.12.2026"',
                     products.name, "foo", 'view "everyone"', 'trigger "spy"'):
            assert sum(part in line for line in out.splitlines()) >= 1, (part, out)
        assert len(out.splitlines()) >= 7, out
        refused_start = shop.run("list", "customers")
        assert refused_start[0] == 1 and "mend them first" in refused_start[2], refused_start


if __name__ == "__main__":
    run_tests(dict(globals()))
