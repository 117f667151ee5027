"""Sixty seconds of idleness, watched from outside: with nothing due the daemon makes no system
call and is never woken, whatever its gateway."""

import os
import re
import signal
import subprocess
import sys
from contextlib import ExitStack

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
import fill
from http_server import HttpServer
from shop import Shop, run_tests, wait_until
from smtp_server import SmtpServer

WINDOW_S = 60

SMTP = """
gateways = ( {{ name = "post"; kind = "smtp"; host = "127.0.0.1"; port = {port}; tls = "none";
                from = "alex@shop.example"; }} );
carry = {{ mail = "post"; }};
"""
HTTP = """
gateways = ( {{ name = "texts"; kind = "http"; url = "{url}"; body = "{{{{text}}}}";
                body_kind = "text"; }} );
carry = {{ sms = "texts"; }};
"""


def wake_ups(pid):
    """How often any of its threads went to sleep so far: each time it had been woken."""
    total = 0
    for task in os.listdir(f"/proc/{pid}/task"):
        with open(f"/proc/{pid}/task/{task}/status", encoding="ascii") as status:
            total += int(re.search(r"\nvoluntary_ctxt_switches:\s+(\d+)", status.read()).group(1))
    return total


def busy_then_idle(shop, route):
    """A daemon that has sent something and has nothing more to do for days."""
    status, log = shop.until_idle()
    assert status == 0, log
    daemon = shop.daemon()
    fill.fill(shop, 8, route)
    wait_until(lambda: sent(shop) == 8, what="the messages")
    return daemon


def sent(shop):
    return shop.sql("SELECT count(*) FROM message WHERE state = 'sent'")[0][0]


def watch(daemons, others):
    """What happened in the window: the system calls of each of the daemons under strace, and how
    often each of the others, which nobody touched, was woken."""
    watchers = [subprocess.Popen(["strace", "-c", "-f", "-p", str(daemon.process.pid)],
                                 stderr=subprocess.PIPE, text=True) for daemon in daemons]
    for watcher in watchers:
        assert "attached" in (line := watcher.stderr.readline()), line
    before = [wake_ups(other.process.pid) for other in others]
    try:
        watchers[0].wait(WINDOW_S)
        raise AssertionError("strace ended: " + watchers[0].stderr.read())
    except subprocess.TimeoutExpired:
        pass
    woken = [wake_ups(other.process.pid) - count for other, count in zip(others, before)]
    calls = []
    for watcher in watchers:
        watcher.send_signal(signal.SIGINT)
        table = watcher.communicate(timeout=20)[1]
        calls.append({words[-1]: int(words[3]) for words in map(str.split, table.splitlines())
                      if len(words) >= 5 and words[3].isdigit() and words[-1] != "total"})
    return calls, woken


def test_in_sixty_seconds_of_idleness_it_is_not_woken_once():
    with ExitStack() as ends:
        smtp, http = ends.enter_context(SmtpServer()), ends.enter_context(HttpServer())
        kinds = {"folder": ("", "mail"), "smtp": (SMTP.format(port=smtp.port), "mail"),
                 "http": (HTTP.format(url=http.url), "sms")}
        shops, daemons = [], []
        for more, route in list(kinds.values()) * 2:
            shops.append(ends.enter_context(Shop(more=more)))
            daemons.append(busy_then_idle(shops[-1], route))
        assert smtp.wait_until(lambda s: s.open == 0), "an idle connection stays open"
        half = len(kinds)
        for kind, calls, woken in zip(kinds, *watch(daemons[:half], daemons[half:])):
            print(f"     ({kind}: {woken} wake-ups and {sum(calls.values())} system calls in "
                  f"{WINDOW_S} s)")
            assert woken == 0 and not calls, (woken, calls)
        for shop, daemon, (_, route) in zip(shops, daemons, list(kinds.values()) * 2):
            fill.fill(shop, 1, route, first=9)
            wait_until(lambda shop=shop: sent(shop) == 9, seconds=5, what="waking up again")
            assert daemon.end() == 0, daemon.log


if __name__ == "__main__":
    if os.geteuid() != 0:
        print("skipped: watching another process needs root")
        sys.exit(77)
    run_tests(globals())
