"""Text messages for real: the built daemon through an HTTPS service with keys, and what of it is
stored."""

import os
import random
import subprocess
import sys
import threading
from collections import Counter

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import web as text_service
from through import (CONNECTIONS, begin, kill_and_restart, shop_over_http, states, stored,
                     wait_until, write_secret)
from shop import COMMAND, run_tests

SEED = int(os.environ.get("BL_SEED", "20261125"))
COUNT = 500


def preview(shop, message):
    return subprocess.run([COMMAND, "--settings", shop.settings, "preview", str(message), "--raw"],
                          capture_output=True, check=True, timeout=60).stdout.decode()


def test_every_text_arrives_once_and_whole_and_its_reference_is_stored():
    with text_service.Web() as web, shop_over_http(web) as shop:
        numbers = begin(shop, web.token, COUNT, "sms")
        status, log = shop.until_idle()
        assert status == 0, log
        messages = stored(shop)
        assert states(shop) == {"sent": COUNT}, states(shop)
        assert len(web.delivered) == len(web.requests) == COUNT
        assert sorted(body["to"] for _, body, _ in web.delivered) == sorted(numbers)
        for path, headers, _ in web.requests:
            assert path == "/v1/messages" and headers["Content-Type"] == "application/json"
        for key, body, reference in web.delivered:
            message = messages[key]
            assert set(body) == {"to", "text"}
            assert body["to"] == message["address"]
            assert body["text"] == message["text"]
            assert message["reference"] == reference, (message["reference"], reference)
            assert message["attempts"] == 1
        for key, body, _ in random.Random(SEED).sample(web.delivered, 25):
            assert preview(shop, messages[key]["id"]) == body["text"] + "\n"
        assert web.token not in log


def test_a_certificate_of_another_authority_hears_no_token_and_gets_no_text():
    with text_service.Web() as web, shop_over_http(web, ca=web.other_ca) as shop:
        begin(shop, web.token, 40, "sms")
        status, log = shop.until_idle()
        assert status == 0, log
        assert "not taken" in log
        assert web.wait_until(lambda w: w.broken > 0)
        assert web.requests == []
        assert states(shop) == {"planned": 40}, states(shop)


def test_a_wrong_token_sends_no_text_and_the_right_one_sends_all():
    with text_service.Web() as web, shop_over_http(web) as shop:
        begin(shop, "wrong", 40, "sms")
        status, log = shop.until_idle()
        assert status == 0, log
        assert web.delivered == [] and states(shop) == {"planned": 40}, states(shop)
        assert 1 <= len(web.requests) <= CONNECTIONS
        write_secret(shop, web.token)
        daemon = shop.daemon()
        wait_until(lambda: states(shop) == {"sent": 40}, seconds=60, what="the texts")
        assert daemon.end() == 0, daemon.log
        assert len(web.delivered) == 40


def kill(web, shop, points, done):
    """The first two kills while the service thinks about its answers, then as kill_and_restart.
    How many there were."""
    for _ in range(2):
        web.gate = threading.Event()
        before = len(web.requests)
        daemon = shop.daemon()
        assert web.wait_until(lambda w: len(w.requests) >= before + CONNECTIONS), daemon.log
        daemon.process.kill()
        daemon.end()
        web.gate.set()
    web.gate = None
    return 2 + kill_and_restart(shop, points, done)[1]


def test_a_kill_in_mid_flight_loses_nothing_and_no_key_is_delivered_twice():
    chance = random.Random(SEED)
    points = [0, 1] + [chance.randrange(5, 25) for _ in range(8)] + [0]
    with text_service.Web() as web, shop_over_http(web) as shop:
        numbers = begin(shop, web.token, COUNT, "sms")
        kills = kill(web, shop, points, lambda s: s == {"sent": COUNT})
        messages = stored(shop)
        keys = Counter(key for key, _, _ in web.delivered)
        assert set(keys) == set(messages), "lost: %s" % (set(messages) - set(keys))
        assert keys.total() == COUNT, "a key was delivered twice"
        assert sorted(body["to"] for _, body, _ in web.delivered) == sorted(numbers), \
            "somebody got his text under two keys"
        asked = Counter(headers["Idempotency-Key"] for _, headers, _ in web.requests)
        unsure = Counter(key for key, in shop.sql(
            "SELECT m.key FROM attempt a JOIN message m ON m.id = a.message"
            " WHERE a.verdict = 'unknown'"))
        for key, times in asked.items():
            assert times <= 1 + unsure[key], f"{key} was asked {times} times"
        assert unsure.total() >= 2 * CONNECTIONS and kills >= 5
        for key, body, reference in web.delivered:
            assert body["text"] == messages[key]["text"], "sent again as another text"
            assert messages[key]["reference"] == reference
        print(f"     (seed {SEED}: {kills} kills, {COUNT} texts, {unsure.total()} "
              f"unsure, {asked.total() - COUNT} asked again, 0 twice, 0 lost)")


def test_after_a_kill_nothing_is_asked_again_where_no_key_is_honoured():
    with text_service.Web() as web, shop_over_http(web, unsure="ask") as shop:
        begin(shop, web.token, 150, "sms")
        kill(web, shop, [10, 10, 0], lambda s: s.get("sent", 0) + s.get("unsure", 0) == 150)
        messages = stored(shop)
        asked = Counter(headers["Idempotency-Key"] for _, headers, _ in web.requests)
        assert max(asked.values()) == 1, "one was asked twice"
        found = states(shop)
        assert found["unsure"] >= 2 * CONNECTIONS and set(found) == {"sent", "unsure"}, found
        for key, message in messages.items():
            assert key in asked or message["state"] == "unsure", "lost"
        # The owner looks each up at the service and settles it.
        for key, message in messages.items():
            if message["state"] == "unsure":
                shop.must("settle", str(message["id"]), "sent" if key in asked else "resend")
        status, log = shop.until_idle()
        assert status == 0, log
        assert states(shop) == {"sent": 150}, states(shop)
        assert sorted(key for key, _, _ in web.delivered) == sorted(messages)


if __name__ == "__main__":
    run_tests(globals())
