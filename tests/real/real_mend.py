"""What the owner corrects or takes back, and what happens to a car: each with one command, whose answer
says what is different, while the messages follow."""
import random

from shop import Shop, run_tests

NOW = "2026-03-12 16:00"
JOB = "2026-03-12 15:40"


def refused(shop, words, *parts, now=NOW, status=1):
    """One clear line that has the parts, and nothing written."""
    before = shop.sql("SELECT * FROM mileage"), shop.sql("SELECT * FROM corrected"), \
        shop.sql("SELECT * FROM job"), shop.sql("SELECT * FROM treatment"), \
        shop.sql("SELECT * FROM event"), shop.sql("SELECT * FROM correcting")
    got, out, err = shop.run(*words, now=now)
    assert got == status and out == "" and err.count("\n") == 1, f"{words}: {got}: {out}{err}"
    for part in parts:
        assert part in err, f"{words}: no {part!r} in {err!r}"
    after = shop.sql("SELECT * FROM mileage"), shop.sql("SELECT * FROM corrected"), \
        shop.sql("SELECT * FROM job"), shop.sql("SELECT * FROM treatment"), \
        shop.sql("SELECT * FROM event"), shop.sql("SELECT * FROM correcting")
    assert before == after, words


def filled(shop, *more):
    """One car with everything on it."""
    shop.must("add", "customer", "Ada Example", "--phone", "07700 900123", "--tips", "yes",
              "--offers", "yes", "--how", "asked", now=NOW)
    shop.must("add", "customer", "Ben Sample", "--mail", "ben@example.org", now=NOW)
    shop.must("add", "car", "ada", "AB12 CDE", "--name", "blue estate", now=NOW)
    shop.must("add", "job", "ab12cde", "full-3y", "wheel-spray", "--mileage", "48210", "--temp", "14",
              "--at", JOB, *more, now=NOW)


def changes(answer):
    return {row["what"]: (row["now"], row["was"]) for row in answer["changes"]}


def car(shop, now=NOW):
    return shop.json("show", "car", "ab12cde", now=now)[0]


def wash_date(shop, now=NOW):
    return car(shop, now)["wash_from"]


def test_a_temperature_corrected_moves_the_wash_date_and_its_message():
    with Shop() as shop:
        filled(shop)
        first = wash_date(shop)
        answer = shop.json("change", "job", "1", "--temp", "3", "--why", "wrong line", now=NOW)[0]
        moved = wash_date(shop)
        assert first == "2026-04-03" and moved == "2026-04-14", (first, moved)
        told = changes(answer)
        assert told["washed from"] == ("Tue 14 Apr", "Fri 3 Apr"), told
        assert told["message: wash, job #1"][0].startswith("goes Tue 14 Apr"), told
        kept = car(shop)["corrected"]
        assert [(row["thing"], row["said"], row["why"]) for row in kept] == [
            ("job", "degrees C 14", "wrong line")], kept
        assert "wrong line" in shop.must("show", "job", "1", now=NOW)
        # Corrected back, everything is as before.
        shop.must("change", "job", "1", "--temp", "14", now=NOW)
        assert wash_date(shop) == first


def test_a_dry_run_of_a_correction_writes_nothing():
    with Shop() as shop:
        filled(shop)
        before = shop.sql("SELECT * FROM job"), shop.sql("SELECT * FROM corrected")
        answer = shop.json("change", "job", "1", "--temp", "3", "--dry", now=NOW)[0]
        assert "washed from" in changes(answer) and answer["dry"], answer
        shop.must("remove", "job", "1", "--why", "test", "--dry", now=NOW)
        assert before == (shop.sql("SELECT * FROM job"), shop.sql("SELECT * FROM corrected"))


def test_a_job_moves_whole():
    with Shop() as shop:
        filled(shop)
        shop.must("change", "job", "1", "--at", "2026-03-10 12:00", "--mileage", "48 000",
                  "--note", "rain", "--leaving-ok", "yes", now=NOW)
        (at,), = shop.sql("SELECT finished_at FROM job")
        assert {row for row, in shop.sql("SELECT last_coat_at FROM treatment")} == {at}
        assert shop.sql("SELECT at, km FROM mileage") == [(at, 48000.0)]
        assert shop.sql("SELECT note, leaving_ok FROM job") == [("rain", 1)]
        shop.must("change", "job", "1", "--mileage", "none", "--temp", "none", "--note", "none",
                  "--cured-indoors", "yes", "--wash-from", "2026-03-13", now=NOW)
        assert shop.sql("SELECT km, temp_c, note, cured_indoors FROM job") == [(None, None, "", 1)]
        assert shop.sql("SELECT count(*) FROM mileage") == [(0,)]
        refused(shop, ["change", "job", "1", "--wash-from", "2026-03-01"], "2026-03-01")
        refused(shop, ["change", "job", "1", "--at", "2026-04-01"], "more than a day ahead")
        refused(shop, ["change", "job", "9", "--temp", "3"], "9")
        refused(shop, ["change", "job", "1", "--temp", "warm"], "warm")
        refused(shop, ["change", "job", "1"], "different", status=2)


def test_a_treatment_is_corrected_or_was_never_put_on():
    with Shop() as shop:
        filled(shop)
        by_product = {row["product"]: row["treatment"] for row in car(shop)["treatments"]}
        spray, trim = by_product["wheel-spray"], by_product["trim-coating"]
        answer = shop.json("change", "treatment", str(spray), "--product", "wax", "--coats", "2",
                           "--batch", "L1", "--again", "customer", "--why", "typed wrong",
                           now=NOW)[0]
        assert "paint wax (paint)" in changes(answer), answer  # another product, in its own place
        assert shop.sql("SELECT coats, batch, again, surface FROM treatment WHERE id = ?", spray) == [
            (2, "L1", "customer", "paint")]
        shop.must("change", "treatment", f"#{spray}", "--part", "Left Door", "--batch", "none",
                  "--again", "none", "--at", "2026-03-12 14:00", now=NOW)
        assert shop.sql("SELECT part, batch, again FROM treatment WHERE id = ?", spray) == [
            ("left door", None, None)]
        for words, part in ((["--product", "waxx"], 'did you mean "wax"'),
                            (["--product", "full-3y"], "package"), (["--coats", "12"], "12"),
                            (["--coats", "1.5"], "1.5"), (["--surface", "roof"], "roof"),
                            (["--at", "2026-03-12 15:41"], "after the job was finished"),
                            (["--product", "coating-3y", "--part", "none"], "twice in this job"),
                            (["--again", "me"], "me")):
            refused(shop, ["change", "treatment", str(spray)] + words, part)
        shop.must("add", "event", "ab12cde", "care", "--treatment", str(trim), now=NOW)
        answer = shop.json("remove", "treatment", str(trim), "--why", "had run out", now=NOW)[0]
        told = changes(answer)
        assert told["trim coating (trim)"][0] is None, told
        assert told["message: top-up, trim coating"][0] == "withdrawn: removed", told
        assert "trim-coating" not in {row["product"] for row in car(shop)["treatments"]}
        assert car(shop)["events"] == []
        refused(shop, ["remove", "treatment", "4"], "--why", status=2)
        refused(shop, ["remove", "treatment", "99", "--why", "x"], "99")
        refused(shop, ["remove", "treatment", "x", "--why", "x"], "x")


def test_a_reading_is_corrected_between_its_neighbours_naming_both():
    with Shop() as shop:
        filled(shop)
        shop.must("add", "mileage", "ab12cde", "52000", "--at", "2026-06-12", now="2026-06-12 12:00")
        shop.must("add", "mileage", "ab12cde", "53000", "--at", "2026-09-12", now="2026-09-12 12:00")
        now = "2026-09-12 12:00"
        refused(shop, ["change", "mileage", "2", "53001"], "53 001 km", "53 000 km", now=now)
        refused(shop, ["change", "mileage", "2", "48209"], "48 209 km", "48 210 km", now=now)
        refused(shop, ["change", "mileage", "2"], "different", now=now, status=2)
        refused(shop, ["change", "mileage", "2", "--at", "2026-09-13"], "goes back", now=now)
        answer = shop.json("change", "mileage", "2", "50000", "--why", "misheard", now=now)[0]
        assert answer["done"] == "changed" and answer["reading"] == 2, answer
        assert [row["km"] for row in car(shop, now)["mileage"]] == [53000, 50000, 48210]
        shop.must("remove", "mileage", "2", "--why", "another car", now=now)
        assert [row["km"] for row in car(shop, now)["mileage"]] == [53000, 48210]
        said = [row["said"] for row in car(shop, now)["corrected"]]
        assert said[1] == "mileage 52 000 km" and "50 000 km" in said[0], said


def test_nothing_is_counted_across_a_new_instrument():
    with Shop() as shop:
        filled(shop)
        now = "2026-09-12 12:00"
        refused(shop, ["add", "mileage", "ab12cde", "15"], "goes back", now=now)
        shop.must("add", "mileage", "ab12cde", "51000", "--at", "2026-08-12", now=now)
        before = car(shop, now)["forecast_km_a_year"]
        refused(shop, ["add", "mileage", "ab12cde", "15", "--new-instrument", "--at", "2026-08-01"],
                "later time", now=now)
        out = shop.must("add", "mileage", "ab12cde", "15", "--new-instrument", now=now)
        assert "new instrument" in out, out
        assert "new instrument" in shop.must("show", "car", "ab12cde", now=now)
        # Ages count from the newest reading; no kilometre is counted across.
        assert abs(car(shop, now)["forecast_km_a_year"] - before) < 0.02 * before
        shop.must("add", "mileage", "ab12cde", "900", "--at", "2026-09-30", now="2026-09-30 12:00")


def test_a_job_done_again_is_free_and_holds_offers_until_they_are_lifted():
    with Shop() as shop:
        filled(shop)
        shop.json("queue", "--days", "900", now=NOW)
        job = shop.json("redo", "1", "wheel-spray", "--at", "2026-04-02 10:00", "--note", "streaks",
                        now="2026-04-02 11:00")[0]
        assert job["redo_of"] == 1 and job["free_of_charge"], job
        assert [row["product"] for row in job["treatments"]] == ["wheel-spray"], job
        assert any("--offers yes" in note for note in job["notes"]), job["notes"]
        now = "2026-04-02 12:00"
        assert "Nothing is offered after a complaint" in shop.must(now=now)
        assert "held since Thu 2 Apr" in shop.must("show", "car", "ab12cde", now=now)
        held = {row["product"]: row["held"] for row in shop.json("list", "dues", now=now)
                if row["kind"] in ("top-up", "look-over") and not row["end"]}
        assert held["coating-3y"] == "offers for this car are held after a complaint", held
        kinds = {row["kind"] for row in shop.json("queue", "--days", "900", now=now)}
        assert "care" in kinds and "top-up" not in kinds and "look-over" not in kinds, kinds
        out = shop.must("change", "car", "ab12cde", "--offers", "yes", now=now)
        assert "goes" in out and "after a complaint" in out, out
        kinds = {row["kind"] for row in shop.json("queue", "--days", "900", now=now)}
        assert "top-up" in kinds and "look-over" in kinds, kinds
        assert "complaint" not in shop.must(now=now)
        shop.must("change", "car", "ab12cde", "--offers", "no", now=now)
        assert shop.sql("SELECT offers_held_at IS NOT NULL FROM car") == [(1,)]
        # All of it again when nothing is named.
        whole = shop.json("redo", "1", "--at", "2026-04-03 10:00", "--dry", now="2026-04-03 11:00")[0]
        assert len(whole["treatments"]) == 7, whole
        refused(shop, ["redo", "77"], "77")
        refused(shop, ["redo", "blue"], "blue")
        refused(shop, ["redo"], "made good", status=2)
        refused(shop, ["add", "job", "ab12cde", "--redo", "1"], "--redo", status=2)
        refused(shop, ["remove", "job", "1", "--why", "x"], "job 2 makes good job 1")


def test_a_sale_ends_every_message_with_its_reason_and_the_new_owner_starts_without_consent():
    for words, reason in ((["--gone", "sold"], "the car is gone: sold"),
                          (["--gone", "scrapped"], "the car is gone: scrapped"),
                          (["--owner", "ben"], "the car has another owner")):
        with Shop() as shop:
            filled(shop)
            shop.must("add", "mileage", "ab12cde", "52000", "--at", "2026-06-12",
                      now="2026-06-12 12:00")
            now = "2026-06-13 12:00"
            with_all = shop.json("queue", "--days", "9000", now=now)
            assert {"care", "top-up", "look-over", "mileage"} <= {row["kind"] for row in with_all}
            plan_for_good(shop)
            waiting = shop.sql("SELECT count(*) FROM message WHERE state = 'planned' AND customer = 1")
            assert waiting[0][0] > 3, waiting
            answer = shop.json("change", "car", "ab12cde", *words)[0]
            went = [row for row in answer["changes"] if row["what"].startswith("message")]
            assert went and all("withdrawn: the car" in row["now"] for row in went), went
            plan_for_good(shop)
            left = shop.sql("SELECT state, reason FROM message WHERE customer = 1"
                            " AND state NOT IN ('sent', 'delivered', 'lapsed')")
            assert left and set(left) == {("withdrawn", reason)}, left
            # Nothing new goes to the old owner about it, and the new one agreed to nothing.
            for row in shop.json("queue", "--days", "9000"):
                assert row["customer"] == "Ben Sample", row
                assert row["kind"] in ("handover", "wash"), row


def plan_for_good(shop):
    """A pass of the daemon under the machine's clock."""
    status, log = shop.until_idle()
    assert status == 0, log


def test_what_went_stays_and_the_owner_is_told_what_it_said():
    with Shop() as shop:
        shop.must("add", "customer", "Ada Example", "--phone", "07700 900123")
        shop.must("add", "car", "ada", "AB12 CDE")
        shop.must("add", "job", "ab12cde", "coating-3y", "--temp", "14")
        plan_for_good(shop)
        assert shop.sql("SELECT kind FROM message WHERE state = 'sent'") == [("handover",)]
        answer = shop.json("change", "job", "1", "--temp", "2")[0]
        assert any("the handover (message #1) went" in note and "Ada Example" in note
                   for note in answer["notes"]), answer
        plan_for_good(shop)
        assert shop.sql("SELECT kind, state FROM message WHERE id = 1") == [("handover", "sent")]
        # A due that is no more withdraws its message.
        shop.must("remove", "job", "1", "--why", "another car")
        plan_for_good(shop)
        assert shop.sql("SELECT state, reason FROM message WHERE kind = 'wash'") == [
            ("withdrawn", "its job was removed")]
        assert shop.sql("SELECT count(*) FROM message WHERE state = 'planned'") == [(0,)]


def test_what_the_handover_said_is_told_when_it_was_of_another_treatment_and_not_of_a_sale():
    with Shop() as shop:
        shop.must("add", "customer", "Ada Example", "--phone", "07700 900123")
        shop.must("add", "customer", "Ben Sample", "--phone", "07700 900124")
        shop.must("add", "car", "ada", "AB12 CDE")
        shop.must("add", "job", "ab12cde", "full-3y", "--temp", "14")
        plan_for_good(shop)
        assert shop.sql("SELECT kind FROM message WHERE state = 'sent'") == [("handover",)]
        by_product = {row["product"]: str(row["treatment"])
                      for row in shop.json("show", "car", "ab12cde")[0]["treatments"]}
        paint, glass, trim = (by_product[name] for name in ("coating-3y", "glass-coating",
                                                            "trim-coating"))
        for words, told in (
                (["change", "treatment", paint, "--product", "coating-5y"], True),
                (["change", "treatment", glass, "--surface", "windscreen", "--part", "left"], True),
                (["remove", "treatment", trim, "--why", "had run out"], True),
                (["change", "job", "1", "--temp", "2"], True),
                (["remove", "job", "1", "--why", "another car"], True),
                (["change", "treatment", paint, "--batch", "L1"], False),
                (["change", "job", "1", "--note", "rain"], False)):
            notes = " ".join(shop.json(*words, "--dry")[0]["notes"])
            assert ("the handover (message #1) went" in notes) == told, (words, notes)
        for words in (["--gone", "sold"], ["--gone", "no"], ["--owner", "ben"]):
            notes = " ".join(shop.json("change", "car", "ab12cde", *words)[0]["notes"])
            assert "went" not in notes, (words, notes)


def test_a_top_up_that_went_is_told_when_its_product_or_its_day_was_another():
    with Shop() as shop:
        shop.must("add", "customer", "Ada Example", "--phone", "07700 900123", "--offers", "yes",
                  "--how", "asked")
        shop.must("add", "car", "ada", "AB12 CDE")
        day = shop.sql("SELECT date('now', '-30 days')")[0][0]
        other = shop.sql("SELECT date('now', '-31 days')")[0][0]
        shop.must("add", "job", "ab12cde", "wheel-spray", "--at", f"{day} 12:00")
        shop.must("change", "treatment", "1", "--again", "shop")
        plan_for_good(shop)
        (number,), = shop.sql("SELECT id FROM message WHERE state = 'sent' AND kind = 'top-up'")
        for words, told in ((["change", "treatment", "1", "--at", f"{other} 12:00"], True),
                            (["change", "treatment", "1", "--product", "wax"], True),
                            (["remove", "treatment", "1", "--why", "never"], True),
                            (["change", "treatment", "1", "--coats", "2"], False)):
            notes = " ".join(shop.json(*words, "--dry")[0]["notes"])
            assert (f"the top-up (message #{number}) went" in notes) == told, (words, notes)


def test_a_correction_answers_with_what_it_says_now():
    with Shop() as shop:
        filled(shop)
        for words, part in ((["--temp", "6"], "48 210 km, 6 °C"), (["--humidity", "70"], "70 % humidity"),
                            (["--note", "rain"], "note: rain"), (["--leaving-ok", "yes"], "leaving tick"),
                            (["--cured-indoors", "yes"], ", cured indoors"),
                            (["--cured-indoors", "no"], "not cured indoors"),
                            (["--wash-from", "2026-05-01"], "own wash date Fri 1 May")):
            out = " ".join(shop.must("change", "job", "1", *words, now=NOW).split())
            assert part in out, (words, out)
        shop.must("add", "event", "ab12cde", "inspection", "--surface", "paint", "--at", "2026-03-12 15:50",
                  now=NOW)
        for words, part in ((["--finding", "beading"], "inspection, paint, found beading"),
                            (["--note", "by eye"], "note: by eye"), (["--treatment", "1"], "treatment #1"),
                            (["--happening", "harsh-wash", "--finding", "none", "--with", "snow"],
                             "with snow"),
                            (["--happening", "cured-indoors", "--temp", "22", "--hours", "14"],
                             "14 hours at 22 °C"), (["--lamp"], "under a lamp")):
            out = " ".join(shop.must("change", "event", "1", *words, now=NOW).split())
            assert part in out, (words, out)


def test_every_happening_says_what_it_does():
    with Shop() as shop:
        filled(shop)
        day = "2026-03-13 10:00"

        def event(*words):
            answer = shop.json("add", "event", "ab12cde", *words, "--at", day, now="2026-03-13 12:00")[0]
            undo = shop.json("remove", "event", str(answer["event"]), "--why", "test",
                             now="2026-03-13 12:00")[0]
            back = {what: pair[::-1] for what, pair in changes(undo).items()}
            assert {what for what in back} == {what for what in changes(answer)}, (words, back)
            return answer, " ".join(answer["notes"])

        for words, off in ((["polished"], {"three-year paint coating (paint)"}),
                           (["resprayed"], {"three-year paint coating (paint)"}),
                           (["part-replaced", "--surface", "windscreen"],
                            {"windscreen coating (windscreen)"}),
                           (["stripped", "--surface", "wheels"],
                            {"wheel coating (wheels)", "wheel spray sealant (wheels)"}),
                           (["harsh-wash", "--with", "wheel cleaner"],
                            {"wheel spray sealant (wheels)", "tyre dressing (tyres)"})):
            answer, _ = event(*words)
            assert set(answer["came_off"]) == off, (words, answer["came_off"])
        for happening in ("resprayed", "part-replaced"):
            _, notes = event(happening, "--surface", "paint", "--part", "bonnet")
            assert "not coated yet" in notes and "common practice, no source" in notes, notes
        refused(shop, ["add", "event", "ab12cde", "part-replaced"], "which part",
                "--surface paint --part bonnet")
        for words, part in ((["harsh-wash"], "noted only: --with"),
                            (["harsh-wash", "--with", "snow"], 'comes off with "snow"'),
                            (["wheels-off"], "noted only"), (["etched"], "noted only"),
                            (["wet-too-early", "--surface", "paint"], "noted only")):
            answer, notes = event(*words)
            assert part in notes and answer["changes"] == [], (words, notes)
        _, notes = event("etched")
        assert "not rubbed" in notes, notes
        answer, _ = event("care", "--surface", "glass")
        assert any("glass coating" in what for what in changes(answer)), answer
        answer, notes = event("inspection", "--surface", "glass", "--finding", "beading")
        assert "noted only" not in notes and answer["finding"] == "beading", answer
        _, notes = event("inspection", "--surface", "soft top", "--finding", "gone")
        assert '"#1" stripped --surface "soft top"' in notes and "ends nothing" in notes, notes
        answer, _ = event("cured-indoors", "--lamp")
        assert answer["wash_from"] is None or answer["wash_from"] <= "2026-03-14", answer
        answer, _ = event("wheels-off")
        assert answer["came_off"] == []


def test_water_before_its_time_names_what_was_to_stay_dry():
    with Shop() as shop:
        filled(shop)
        answer = shop.json("add", "event", "ab12cde", "wet-too-early", "--at", "2026-03-12 20:00",
                           now="2026-03-13 12:00")[0]
        notes = " ".join(answer["notes"])
        assert "three-year paint coating was to stay dry until" in notes and "redo" in notes, notes


def test_hours_indoors_bring_the_wash_date_forward_and_no_warmer_than_the_label():
    with Shop() as shop:
        filled(shop)
        shop.must("change", "job", "1", "--temp", "6", now=NOW)
        outdoors = wash_date(shop)
        shop.must("add", "event", "ab12cde", "cured-indoors", "--temp", "60", "--hours", "168",
                  "--at", "2026-03-19 15:40", now="2026-03-19 16:00")
        indoors = wash_date(shop, "2026-03-19 16:00")
        # A day at 6 degrees C counts 0.7321 of one, the week indoors whole: 7 + 14 / 0.7321 days.
        assert (indoors, outdoors) == ("2026-04-08", "2026-04-11"), (indoors, outdoors)
        assert "168 hours at 60" in shop.must("show", "car", "ab12cde", now="2026-03-19 16:00")
        shop.must("change", "event", "1", "--lamp", "--why", "it was the lamp",
                  now="2026-03-19 16:00")
        assert wash_date(shop, "2026-03-19 16:00") == "2026-03-20"
        for words, part in ((["cured-indoors"], "--lamp"), (["cured-indoors", "--temp", "20"], "--hours"),
                            (["cured-indoors", "--hours", "5"], "--temp"),
                            (["cured-indoors", "--temp", "20", "--hours", "0"], "--hours"),
                            (["cured-indoors", "--temp", "20", "--hours", "-4"], "-4"),
                            (["cured-indoors", "--temp", "400", "--hours", "4"], "400"),
                            (["cured-indoors", "--lamp", "--hours", "4"], "lamp"),
                            (["care", "--hours", "4"], "cured-indoors")):
            refused(shop, ["add", "event", "ab12cde"] + words, part)


def test_an_event_is_corrected_word_by_word():
    with Shop() as shop:
        filled(shop)
        shop.must("add", "event", "ab12cde", "stripped", "--surface", "wheels", "--with", "wheel cleaner",
                  "--part", "front", "--note", "heard", "--at", "2026-03-12 15:50", now=NOW)
        answer = shop.json("change", "event", "1", "--part", "none", "--with", "none", "--note", "none",
                           "--surface", "tyres", now=NOW)[0]
        assert "tyre dressing (tyres)" in changes(answer), answer
        assert shop.sql('SELECT surface, part, "with", note FROM event') == [
            ("tyres", None, None, None)]
        shop.must("change", "event", "1", "--happening", "inspection", "--finding", "gone", now=NOW)
        assert shop.sql("SELECT happening, finding FROM event") == [("inspection", "gone")]
        refused(shop, ["change", "event", "1", "--happening", "care"], "finding")
        shop.must("change", "event", "1", "--happening", "care", "--finding", "none",
                  "--treatment", "1", now=NOW)
        refused(shop, ["change", "event", "1", "--treatment", "99"], "99")
        refused(shop, ["change", "event", "1", "--happening", "cared"], 'did you mean "care"')
        refused(shop, ["change", "event", "9", "--note", "x"], "9")
        refused(shop, ["remove", "event", "9", "--why", "x"], "9")


OWN = """products = { own-seal = { title = "own seal"; surface = "wheels"; role = "topper"; again = "shop";
  wear = { life_days = [%d, %d]; }; basis = { life = "from memory"; }; }; };"""


def test_a_product_gone_from_the_catalogue_keeps_its_last_rule_and_check_says_so():
    with Shop() as shop:
        own = shop.root / "catalogue" / "own.conf"
        own.write_text(OWN % (28, 42))
        filled(shop, "own-seal")

        def early():
            return next(row["early"] for row in car(shop)["treatments"]
                        if row["product"] == "own-seal")
        first = early()
        own.write_text(OWN % (56, 84))
        last = early()
        assert last > first, (first, last)
        plan_for_good(shop)  # the catalogue of that day is stored
        assert "not in the catalogue" not in shop.must("check")
        own.unlink()
        assert early() == last, (early(), last)
        out = shop.must("check")
        assert "All is well" in out, out
        assert 'product "own-seal" is not in the catalogue any more: 1 treatment on cars keeps' in out
        notes = shop.json("check")[0]["notes"]
        assert len(notes) == 1 and "own-seal" in notes[0], notes
        # Taken back and gone again: the last is the first.
        own.write_text(OWN % (28, 42))
        plan_for_good(shop)
        own.unlink()
        assert early() == first, (early(), first)


def test_every_fault_of_a_catalogue_is_told_at_once_with_its_range():
    with Shop() as shop:
        bad = shop.root / "catalogue" / "bad.conf"
        bad.write_text("""products = {
  bad-one = { title = "Bad"; surface = "roof"; role = "base"; again = "shop";
    cure = { wash_days = [21, 14]; };
    wear = { life_days = [-30, 40]; share = 1.5; };
    care = { what = "topper"; interval_days = 42; extends = 0.5; };
    exposures = ( { name = "moonlight"; factor = 2; } );
    basis = { cure = "x"; life = "x"; share = "x"; care = "x"; exposures = "x"; }; };
};
""")
        status, out, err = shop.run("check")
        assert status == 1 and err == "", err
        lines = out.splitlines()
        for line, parts in ((2, ("surface", "roof", "soft top")),
                            (3, ("wash_days", "21 is more than 14", "0 to 366")),
                            (4, ("life_days", "-30", "0.25 to 36525")), (4, ("share", "0 to 1")),
                            (5, ("extends", "0.5", "1 to 100")), (6, ("moonlight", "winter salt"))):
            found = [one for one in lines if one.startswith(f"{bad}:{line}: product \"bad-one\"")
                     and all(part in one for part in parts)]
            assert len(found) == 1, (line, parts, out)
        assert len(lines) == 6, out


def test_a_script_that_corrects_by_sql_is_on_record_and_replans():
    with Shop() as shop:
        filled(shop)
        shop.sql("DELETE FROM touched")
        shop.sql("UPDATE job SET temp_c = 3 WHERE id = 1")
        shop.sql("UPDATE mileage SET km = 48300 WHERE id = 1")
        assert shop.sql("SELECT DISTINCT customer FROM touched") == [(1,)]
        said = [(row["thing"], row["said"]) for row in car(shop)["corrected"]]
        assert said == [("mileage", "mileage 48 210 km"), ("job", "degrees C 14")], said
        assert wash_date(shop) == "2026-04-14"


def test_corrections_and_their_opposites_leave_the_plan_as_it_was():
    seed = random.randrange(10 ** 9)
    print("seed", seed)
    chance = random.Random(seed)
    with Shop() as shop:
        filled(shop)
        ids = [row["treatment"] for row in car(shop)["treatments"]]

        def plan():
            return sorted((row["kind"], row["subject"], row["ordinal"], row["from"], row["not_after"],
                           str(row["held"])) for row in shop.json("list", "dues", now=NOW))
        before = plan()
        for _ in range(8):
            treatment = chance.choice(ids)
            there, back = chance.choice((
                (["change", "job", "1", "--temp", str(chance.randrange(-5, 30))],
                 ["change", "job", "1", "--temp", "14"]),
                (["change", "job", "1", "--at", f"2026-03-{chance.randrange(1, 12):02} 10:00"],
                 ["change", "job", "1", "--at", JOB]),
                (["change", "job", "1", "--mileage", str(chance.randrange(1, 90000))],
                 ["change", "mileage", "1", "48210"]),
                (["change", "treatment", str(treatment), "--part", "front"],
                 ["change", "treatment", str(treatment), "--part", "none"]),
                (["change", "treatment", str(treatment), "--again", "customer"],
                 ["change", "treatment", str(treatment), "--again", "none"])))
            shop.must(*there, now=NOW)
            shop.must(*back, now=NOW)
            assert plan() == before, (there, back)


run_tests(globals())
