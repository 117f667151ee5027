"""Learning as its owner does it: cars come back and are looked at, `learn` says how long a product
lasts, proposes, and what is adopted is what the dates are made of afterwards."""
import os
import stat
import subprocess
from datetime import datetime, timedelta

from shop import COMMAND, Shop, run_tests

START = datetime(2026, 3, 2, 10, 0)
NOW = "2026-11-02 12:00"
LOOKS = ((24, "beading"), (26, "gone"), (28, "beading"), (30, "beading"), (31, "gone"),
         (33, "beading"), (35, "came-back-after-decontamination"), (36, "gone"), (38, "beading"),
         (41, "gone"), (44, "beading"), (47, "gone"))


def quiet_shop():
    """A shop where every day has 24 hours."""
    return Shop(zone="Etc/UTC")


def at(days):
    return (START + timedelta(days=days)).strftime("%Y-%m-%d %H:%M")


def add_cars(shop, looks, product="wheel-spray", surface="wheels"):
    """One customer; a car a look, each with the product put on at the start. The cars do what the
    label is reckoned for, so a day of wear is a day."""
    shop.must("add", "customer", "Ada Example", "--phone", "07700 900123", "--tips", "yes",
              "--offers", "yes", "--how", "asked", now=at(0))
    for i, (days, finding) in enumerate(looks):
        plate = f"AB{i:02} CDE"
        shop.must("add", "car", "ada", plate, "--distance-a-year", "12000km", now=at(0))
        shop.must("add", "job", plate, product, "--at", at(0), now=at(0))
        if finding:
            shop.must("add", "event", plate, "inspection", "--surface", surface, "--finding",
                      finding, "--at", at(days), now=NOW)


def lesson(shop, product="wheel-spray", *more):
    return shop.json("learn", product, *more, now=NOW)[0]


def refused(shop, words, *parts, status=1):
    got, out, err = shop.run(*words, now=NOW)
    assert got == status and out == "", f"{words}: {got} {out} {err}"
    assert err.startswith("beadline: ") and err.count("\n") == 1, err
    for part in parts:
        assert part in err, f"no {part!r} in {err!r}"


def early_and_late(shop, plate):
    car = shop.json("show", plate, now=at(1))[0]
    return [(datetime.fromisoformat(car["treatments"][0][end]).replace(tzinfo=None) - START).days
            for end in ("early", "late")]


def test_a_shops_inspections_make_a_life_beside_the_labels():
    with quiet_shop() as shop:
        add_cars(shop, LOOKS)
        got = lesson(shop)
        assert got["observations"] == got["inspections"] == 12
        assert (got["alive"], got["over"]) == (7, 5)
        assert got["latest_alive_days"] == 44 and got["soonest_over_days"] == 26
        assert got["learned"] and got["verdict"] == "fitted" and got["missing"] is None
        assert got["label_days"] == [28, 42] and got["adopted_days"] is None
        # By R's survreg(Surv(lo, hi, type = "interval2") ~ 1, dist = "weibull").
        assert abs(got["scale_days"] - 48.528742) < 1e-3, got["scale_days"]
        assert abs(got["shape"] - 1.772642) < 1e-4, got["shape"]
        assert abs(got["log_likelihood"] + 7.8719685) < 1e-5, got["log_likelihood"]
        assert got["proposed_days"] == [24, 58]
        lo, hi = got["median_80_days"]  # and its predict(..., type = "uquantile", se.fit = TRUE)
        assert abs(lo - 26.911282) < 1e-3 and abs(hi - 57.872663) < 1e-3, (lo, hi)
        text = shop.must("learn", "wheel-spray", now=NOW)
        for part in ("28 to 42 days", "12 000 km a year", "12: 7 still alive", "Half last",
                     "as the label says", "80 %: 26.9 to 57.9 days", "a quarter last longer", "--adopt"):
            assert part in text, f"no {part!r} in\n{text}"
        table = shop.must("learn", now=NOW)
        assert "wheel-spray" in table and "coating-3y" not in table, table
        assert shop.json("learn", now=NOW) == [got]


def test_too_few_and_unhelpful_looks_say_what_is_missing_and_the_label_stands():
    with quiet_shop() as shop:
        assert "Nothing was looked at yet" in shop.must("learn", now=NOW)
        add_cars(shop, ((24, "beading"), (45, "gone"), (0, None)))
        text = shop.must("learn", "wheel-spray", now=NOW)
        assert "2 of the 5 treatments" in text and "look at 3 more" in text, text
        assert "the label's life stands" in text, text
        refused(shop, ("learn", "wheel-spray", "--adopt"), "nothing to adopt", "2 of the 5")
        assert not (shop.root / "catalogue" / "learned.conf").exists()
    for looks, part, verdict in (
            (((20, "beading"),) * 5, "all were alive", "all alive"),
            (((20, "gone"),) * 5, "all were over", "all over"),
            (((20, "beading"),) * 3 + ((40, "gone"),) * 3, "any life between fits", "one life"),
            (((60, "beading"),) * 3 + ((40, "gone"),) * 3, "no older than", "backwards")):
        with quiet_shop() as shop:
            add_cars(shop, looks)
            assert part in shop.must("learn", "wheel-spray", now=NOW)
            got = lesson(shop)
            assert got["verdict"] == verdict and not got["learned"]
            assert part in got["missing"] and got["proposed_days"] is None
            refused(shop, ("learn", "wheel-spray", "--adopt"), part)


def test_what_is_adopted_is_what_dates_are_made_of():
    with quiet_shop() as shop:
        add_cars(shop, LOOKS)
        assert early_and_late(shop, "AB00 CDE") == [28, 42]
        proposed = lesson(shop)["proposed_days"]
        assert proposed != [28, 42]
        said = shop.must("learn", "wheel-spray", "--adopt", now=NOW)
        file = shop.root / "catalogue" / "learned.conf"
        assert str(file) in said and "28 to 42 days" in said, said
        assert stat.S_IMODE(os.stat(file).st_mode) == 0o600
        assert sorted(path.name for path in file.parent.iterdir()) == \
            ["cabin.conf", "glass.conf", "learned.conf", "packages.conf", "paint.conf",
             "trim.conf", "wheels.conf"]
        text = file.read_text()
        assert 'learned_on = "2026-11-02"' in text and "12 looked at: 7 alive, 5 over" in text, text
        shop.must("check")
        assert early_and_late(shop, "AB00 CDE") == [int(days) for days in proposed]
        got = lesson(shop)
        assert got["adopted_days"] == proposed and got["adopted_on"] == "2026-11-02"
        assert got["label_days"] == [28, 42] and got["proposed_days"] == proposed
        kept = (text, os.stat(file).st_ino)
        again = shop.must("learn", "wheel-spray", "--adopt", now="2026-11-03 12:00")
        assert again == f"Nothing changed: wheel-spray lasts 24 to 58 days already, as adopted" \
            f" before in {file}.\n", again
        assert (file.read_text(), os.stat(file).st_ino) == kept
        text = shop.must("learn", "wheel-spray", now=NOW)
        assert "Adopted       24 to 58 days, on Mon 2 Nov: 12 looked at" in text, text
        assert "stands until you say" not in text, text
        product = [row for row in shop.json("list", "products") if row["product"] == "wheel-spray"]
        assert product[0]["life_days"] == proposed
        assert product[0]["learned_on"] == "2026-11-02"
        assert "24 to 58 days, learned" in shop.must("list", "products")

        # A second product keeps the first, and what is taken out by hand is the label's again.
        learned = file.read_text()
        file.write_text(learned.replace("wheel-spray", "wheel-coating"))
        shop.must("learn", "wheel-spray", "--adopt", now=NOW)
        both = file.read_text()
        assert "wheel-spray" in both and "wheel-coating" in both, both
        file.write_text("learned = { };\n")
        assert early_and_late(shop, "AB00 CDE") == [28, 42]


def test_a_second_adoption_says_what_changed():
    with quiet_shop() as shop:
        add_cars(shop, LOOKS)
        shop.must("learn", "wheel-spray", "--adopt", now=NOW)
        file = shop.root / "catalogue" / "learned.conf"
        file.write_text(file.read_text().replace("12 looked at", "9 looked at"))
        said = shop.must("learn", "wheel-spray", "--adopt", now=NOW)
        assert said.startswith("wheel-spray lasts 24 to 58 days as before; what that rests"), said
        assert "12 looked at" in file.read_text()
        file.write_text(file.read_text().replace("58", "50"))
        said = shop.must("learn", "wheel-spray", "--adopt", now=NOW)
        assert "now lasts 24 to 58 days, not 24 to 50 days" in said, said


def plain(shop):
    text = " ".join(shop.must("explain", "AB00 CDE", now=at(1)).split())
    return [words for words in ("as the label says", "as learned", "as its rule says")
            if words in text]


def test_an_explanation_says_whether_a_life_is_the_labels_or_learned():
    with quiet_shop() as shop:
        add_cars(shop, LOOKS)
        assert plain(shop) == ["as the label says"]
        shop.must("learn", "wheel-spray", "--adopt", now=NOW)
        assert plain(shop) == ["as learned"]
        catalogue = shop.root / "catalogue"  # without the product nobody knows what its rule was
        (catalogue / "packages.conf").write_text("packages = { };\n")
        (catalogue / "learned.conf").unlink()
        (catalogue / "wheels.conf").unlink()
        assert plain(shop) == ["as its rule says"]


def test_the_service_goes_by_what_was_adopted():
    with quiet_shop() as shop:
        add_cars(shop, LOOKS)
        shop.until_idle()
        before = shop.sql("SELECT life FROM (SELECT text AS life FROM rule_version"
                          " WHERE product = 'wheel-spray')")
        shop.must("learn", "wheel-spray", "--adopt", now=NOW)
        status, log = shop.until_idle()
        assert status == 0, log
        after = shop.sql("SELECT text FROM rule_version WHERE product = 'wheel-spray'")
        assert len(after) == len(before) + 1, "no new version of the rule"


def test_a_wrong_override_is_a_fault_with_file_and_line():
    with quiet_shop() as shop:
        file = shop.root / "catalogue" / "learned.conf"
        file.write_text('learned =\n{\n    wheel-sprai = { life_days = [40, 30]; learned_on = "x"; };'
                        '\n    tyre-dressing = 5;\n};\nproducts = { };\n')
        status, out, _ = shop.run("check")
        assert status == 1, out
        for part in ('learned.conf:3: learned "wheel-sprai": there is no product "wheel-sprai"; did'
                     ' you mean "wheel-spray"?', 'learned.conf:3: learned "wheel-sprai":'
                     ' "life_days"', '"learned_on"', '"basis" is missing',
                     'learned.conf:4: learned "tyre-dressing" is a group',
                     'learned.conf:6: "products" is not known here'):
            assert part in out, f"no {part!r} in\n{out}"


def test_a_life_learned_in_another_file_is_not_adopted_over():
    with quiet_shop() as shop:
        add_cars(shop, LOOKS)
        other = shop.root / "catalogue" / "mine.conf"
        other.write_text('learned = { wheel-spray = { life_days = [20, 30]; learned_on ='
                         ' "2026-10-01"; basis = "my own eyes"; }; };\n')
        refused(shop, ("learn", "wheel-spray", "--adopt"), '"mine.conf"')
        assert early_and_late(shop, "AB00 CDE") == [20, 30]


def test_a_folder_that_cannot_be_written_is_said_and_left():
    with quiet_shop() as shop:
        add_cars(shop, LOOKS)
        catalogue = shop.root / "catalogue"
        user = 65534 if os.getuid() == 0 else os.getuid()  # root may write anywhere
        for path in (shop.folder, shop.root, *shop.root.rglob("*")):
            os.chown(path, user, -1)
        catalogue.chmod(0o500)
        done = subprocess.run([COMMAND, "--settings", shop.settings, "--now", NOW, "learn",
                               "wheel-spray", "--adopt"], capture_output=True, text=True, user=user)
        catalogue.chmod(0o700)
        assert done.returncode == 1 and done.stdout == "", done
        assert f'"{catalogue}/learned.conf" cannot be written: ' in done.stderr, done.stderr
        # A build that measures coverage says that this user may not write its counts.
        said = [line for line in done.stderr.splitlines() if not line.startswith("profiling:")]
        assert len(said) == 1, said
        assert [path.name for path in catalogue.iterdir() if "learned" in path.name] == []


def test_wrong_usage_and_unknown_products_are_one_line():
    with quiet_shop() as shop:
        refused(shop, ("learn", "a", "b"), status=2)
        refused(shop, ("learn", "--adopt"), "name the product", status=2)
        refused(shop, ("learn", "wheel-spry"), 'did you mean "wheel-spray"?')
        refused(shop, ("learn", "zzz"), "beadline list products")
        wheels = shop.root / "catalogue" / "mine.conf"
        wheels.write_text('products = { endless = { title = "x"; surface = "paint"; role = "film";'
                          ' again = "shop"; }; };\n')
        refused(shop, ("learn", "endless"), "no life of its own")


def test_a_finding_is_in_known_words_and_an_inspections():
    with quiet_shop() as shop:
        add_cars(shop, ((0, None),))
        event = ("add", "event", "AB00 CDE")
        refused(shop, (*event, "inspection", "--finding", "gon"), 'did you mean "gone"')
        refused(shop, (*event, "etched", "--finding", "gone"), "a finding is an inspection's")
        out = shop.must(*event, "inspection", "--at", at(5), now=NOW)
        assert "nothing is learned" in out, out
        got = shop.json(*event, "inspection", "--surface", "wheels", "--finding", "beading",
                        "--at", at(6), now=NOW)[0]
        assert got["finding"] == "beading" and got["notes"] == []
        assert lesson(shop)["observations"] == 1


def test_what_was_made_good_or_stripped_unseen_is_not_learned_from_and_a_top_up_is():
    with quiet_shop() as shop:
        add_cars(shop, ((0, None),) * 3, product="windscreen-coating")
        shop.must("add", "job", "AB00 CDE", "windscreen-coating", "--at", at(100), now=NOW)
        job = shop.json("list", "jobs", "AB01 CDE", now=NOW)[0]["job"]
        shop.must("redo", str(job), "--at", at(20), now=NOW)
        shop.must("add", "event", "AB02 CDE", "stripped", "--surface", "windscreen", "--at",
                  at(50), now=NOW)
        got = lesson(shop, "windscreen-coating")
        assert (got["observations"], got["alive"], got["put_on_again"]) == (1, 0, 1), got
        # Its cleaner doubles it: kept up for the first 42 days of each, and bare after.
        assert got["soonest_over_days"] == 79 and got["latest_alive_days"] is None, got
        text = shop.must("learn", "windscreen-coating", now=NOW)
        assert "Latest alive" not in text and "Soonest over  79 days" in text, text
        assert "Note: the one over was put on again without a look" in text, text


def test_what_is_stripped_after_a_look_was_alive_until_that_look():
    with quiet_shop() as shop:
        add_cars(shop, ((20, "beading"), (0, None)))
        for plate in ("AB00 CDE", "AB01 CDE"):
            shop.must("add", "event", plate, "stripped", "--surface", "wheels", "--at", at(27),
                      now=NOW)
        got = lesson(shop)
        assert (got["observations"], got["latest_alive_days"]) == (1, 20), got


if __name__ == "__main__":
    run_tests(globals())
