"""Mail for real: the built daemon through a postfix of its own, with TLS and a login, into a
Maildir that is compared byte by byte."""

import email.policy
import os
import random
import re
import subprocess
import sys
from collections import Counter

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import mta as mail_server
from through import (CONNECTIONS, begin, kill_and_restart, shop_over_smtp, states, stored,
                     wait_until, write_secret)
from shop import COMMAND, run_tests

SEED = int(os.environ.get("BL_SEED", "20261125"))
COUNT = 400


def raw(shop, message):
    """The bytes that the command shows for a message."""
    return subprocess.run([COMMAND, "--settings", shop.settings, "preview", str(message), "--raw"],
                          capture_output=True, check=True, timeout=60).stdout


def part(mail, kind):
    found = [p for p in mail.walk() if p.get_content_type() == kind]
    assert len(found) == 1, kind
    assert found[0]["Content-Transfer-Encoding"] == "quoted-printable"
    assert found[0].get_content_charset() == "utf-8"
    return found[0].get_content().replace("\r\n", "\n")


def check_whole(delivered, message):
    """One mail against what the database says was sent."""
    mail = delivered.mail
    assert not delivered.has_cr, "a CR that was no part of a line end"
    assert all(len(line) <= 998 for line in delivered.bytes.split(b"\r\n"))
    assert all(byte < 128 for byte in delivered.bytes), "a byte that is not ASCII"
    assert not mail.defects and not [d for p in mail.walk() for d in p.defects]
    assert delivered.to == message["address"]
    to, = mail["To"].addresses
    assert (to.addr_spec, to.display_name) == (message["address"], message["name"]), mail["To"]
    assert mail["Subject"] == message["subject"]
    assert mail["Message-ID"] == f"<{message['key']}@shop.example>"
    assert mail["Auto-Submitted"] == "auto-generated"
    assert mail["List-Unsubscribe"].startswith("<mailto:alex@shop.example")
    assert part(mail, "text/plain") == message["text"]
    assert part(mail, "text/html") == message["html"]


def arrives_once(mta, tls):
    mta.empty()
    with shop_over_smtp(mta, tls) as shop:
        addresses = begin(shop, mta.password, COUNT, "mail")
        status, log = shop.until_idle()
        assert status == 0, log
        messages = stored(shop)
        assert {m["state"] for m in messages.values()} == {"sent"}, states(shop)
        delivered = mta.mails()
        assert sorted(d.to for d in delivered) == sorted(addresses)
        assert {d.key for d in delivered} == set(messages)
        chance = random.Random(SEED)
        looked_at = chance.sample(delivered, 25)
        for one in delivered:
            check_whole(one, messages[one.key])
        for one in looked_at:
            assert one.bytes == raw(shop, messages[one.key]["id"]), "preview shows other bytes"


def test_every_mail_arrives_once_and_whole_over_starttls():
    with Server() as mta:
        arrives_once(mta, "starttls")


def test_every_mail_arrives_once_and_whole_over_tls_from_the_first_byte():
    with Server() as mta:
        arrives_once(mta, "tls")


def logins(mta, since):
    """How often somebody tried to log in and has hung up since, as the mail server counts."""
    return sum(int(tried or good) for good, tried in
               re.findall(r"disconnect from .* auth=(\d+)(?:/(\d+))?", mta.log()[since:]))


def test_a_wrong_password_sends_no_mail_and_is_not_tried_again_and_again():
    with Server() as mta, shop_over_smtp(mta, "starttls") as shop:
        mta.empty()
        begin(shop, "wrong", 40, "mail")
        shop.settings.write_text(shop.text.replace("first_s = 1; longest_s = 2;",
                                                   "first_s = 3600; longest_s = 3600;"))
        since = len(mta.log())
        daemon = shop.daemon()
        daemon.wait_log(r"message \d+ through post: not taken, tried again later")
        try:
            daemon.process.wait(3)
            raise AssertionError(daemon.log)
        except subprocess.TimeoutExpired:
            pass
        assert daemon.end() == 0, daemon.log
        wait_until(lambda: logins(mta, since), what="the end of a connection")
        assert logins(mta, since) <= CONNECTIONS, logins(mta, since)
        assert states(shop) == {"planned": 40}, states(shop)
        assert mta.mails() == []
        assert "wrong" not in daemon.log
        # With the right one at last all of them go.
        write_secret(shop, mta.password)
        shop.settings.write_text(shop.text)
        shop.sql("UPDATE message SET not_before = 0 WHERE state = 'planned'")
        daemon = shop.daemon()
        wait_until(lambda: states(shop) == {"sent": 40}, seconds=60, what="the mails")
        assert daemon.end() == 0, daemon.log
        assert len(mta.mails()) == 40


def test_a_certificate_of_another_authority_hears_no_login_and_gets_no_mail():
    for tls in ("starttls", "tls"):
        with Server() as mta, shop_over_smtp(mta, tls, ca=mta.other_ca) as shop:
            mta.empty()
            begin(shop, mta.password, 40, "mail")
            since = len(mta.log())
            status, log = shop.until_idle()
            assert status == 0, log
            assert "not taken" in log
            wait_until(lambda: "disconnect from" in mta.log()[since:], what="the connection")
            assert not re.search(r"auth=|mail=|rcpt=", mta.log()[since:])
            assert set(states(shop)) == {"planned"}, states(shop)
            assert mta.mails() == []


def test_a_server_without_tls_hears_no_login_and_gets_no_mail():
    with Server() as mta, shop_over_smtp(mta, "starttls", port=mta.plain_port) as shop:
        mta.empty()
        begin(shop, mta.password, 40, "mail")
        since = len(mta.log())
        status, log = shop.until_idle()
        assert status == 0, log
        assert "not taken" in log
        assert not re.search(r"auth=|mail=|rcpt=", mta.log()[since:])
        assert mta.mails() == []


def test_a_refused_address_fails_and_the_others_arrive():
    with Server() as mta, shop_over_smtp(mta, "tls") as shop:
        mta.empty()
        begin(shop, mta.password, 60, "mail")
        shop.sql("UPDATE customer SET mail = replace(mail, 'example.com', 'nobody.example')"
                 " WHERE id % 10 = 0")
        daemon = shop.daemon()
        wait_until(lambda: states(shop) == {"sent": 54, "failed": 6}, what="the mails")
        assert daemon.end() == 0, daemon.log
        failed = [m for m in stored(shop).values() if m["state"] == "failed"]
        assert all(m["address"].endswith("@nobody.example") and "550" in m["reason"]
                   for m in failed), failed
        assert len(mta.mails()) == 54


def without_date(delivered):
    return re.sub(rb"\r\nDate: [^\r]*", b"", delivered.bytes, count=1)


def test_a_kill_in_mid_flight_loses_nothing_and_doubles_only_what_it_listed_as_unsure():
    chance = random.Random(SEED)
    points = [0, 1] + [chance.randrange(5, 25) for _ in range(8)] + [0]
    with Server() as mta, shop_over_smtp(mta, "starttls") as shop:
        mta.empty()
        addresses = begin(shop, mta.password, COUNT, "mail")
        listed, kills = kill_and_restart(shop, points, lambda s: s == {"sent": COUNT})
        messages = stored(shop)
        by_key = {}
        for one in mta.mails():
            by_key.setdefault(one.key, []).append(one)
        assert set(by_key) == set(messages), "lost: %s" % (set(messages) - set(by_key))
        assert sorted(copies[0].to for copies in by_key.values()) == sorted(addresses)
        # What the database lists as unsure the log does too; it may say one more that was killed
        # before the start that said it was stored.
        unsure = Counter(m for m, in shop.sql(
            "SELECT message FROM attempt WHERE verdict = 'unknown'"))
        assert unsure <= Counter(listed), (unsure, listed)
        twice = 0
        for key, copies in by_key.items():
            check_whole(copies[0], messages[key])
            resent = unsure[messages[key]["id"]]
            assert len(copies) <= 1 + resent, f"message {messages[key]['id']} came too often"
            assert len({without_date(copy) for copy in copies}) == 1, "two texts under one key"
            twice += len(copies) - 1
        assert unsure.total() <= CONNECTIONS * len(points), "a whole queue was unsure"
        assert unsure and kills >= 5, "too few kills came while mails were on the wire"
        print(f"     (seed {SEED}: {kills} kills, {COUNT} mails, {unsure.total()} unsure, "
              f"{twice} twice, 0 lost)")


def test_after_a_kill_nothing_goes_twice_where_the_owner_wants_to_be_asked():
    with Server() as mta, shop_over_smtp(mta, "tls", unsure="ask") as shop:
        mta.empty()
        begin(shop, mta.password, 120, "mail")
        listed, _ = kill_and_restart(shop, [0, 15, 15, 0],
                                     lambda s: s.get("sent", 0) + s.get("unsure", 0) == 120)
        messages = stored(shop)
        keys = [one.key for one in mta.mails()]
        assert len(keys) == len(set(keys)), "one came twice"
        unsure = {m["id"] for m in messages.values() if m["state"] == "unsure"}
        assert unsure == set(listed) and unsure, (unsure, listed)
        for key, message in messages.items():
            assert message["state"] == "unsure" or key in keys, "lost"
        # The owner looks each up at the server and settles it.
        for key, message in messages.items():
            if message["state"] == "unsure":
                shop.must("settle", str(message["id"]), "sent" if key in keys else "resend")
        status, log = shop.until_idle()
        assert status == 0, log
        assert states(shop) == {"sent": 120}, states(shop)
        assert sorted(one.key for one in mta.mails()) == sorted(messages)


class Server:
    """One mail server for all tests of the script, started by the first and stopped at the end."""
    running = None

    def __enter__(self):
        if not Server.running:
            Server.running = mail_server.Mta()
            Server.running.__enter__()
        return Server.running

    def __exit__(self, *_):
        pass


if __name__ == "__main__":
    mail_server.need()
    try:
        run_tests(globals())
    finally:
        if Server.running:
            Server.running.__exit__()
