"""The daemon by itself: how it starts, wakes, is told things, and ends. Its servers are scripted
ones and its gateway mostly a folder, so nothing but the built programs is needed."""

import os
import re
import select
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import fill
from shop import ALL_DAY, BUILD, DAEMON, Shop, run_tests, wait_until
from smtp_server import Drop, Hang, Reply, SmtpServer

SENT = r"message \d+ through \w+: sent"
NOTICED_S = 2.0  # between a writer's commit and its message

SMTP = """
gateways = ( {{ name = "post"; kind = "smtp"; host = "127.0.0.1"; port = {port}; tls = "none";
                from = "alex@shop.example"; connections = {connections}; }} );
carry = {{ mail = "post"; }};
retry = {{ first_s = 1; longest_s = 2; }};
"""


def smtp(server, connections=4):
    return SMTP.format(port=server.port, connections=connections)


def stored(shop):
    """The shop with its catalogue in the database, as a daemon leaves it."""
    status, log = shop.until_idle()
    assert status == 0, log
    return shop


def states(shop, kind="handover"):
    return dict(shop.sql("SELECT state, count(*) FROM message WHERE kind = ? GROUP BY state",
                         kind))


def no_exit(daemon, seconds):
    """Watches the daemon for so long: it must not end."""
    try:
        status = daemon.process.wait(seconds)
    except subprocess.TimeoutExpired:
        return
    daemon.end()
    raise AssertionError(f"the daemon ended with {status}: {daemon.log}")


# --- one daemon a database ------------------------------------------------------------------


def test_a_second_daemon_on_the_same_database_ends_at_once_with_one_clear_line():
    with Shop() as shop:
        stored(shop)
        first = shop.daemon()
        fill.fill(shop, 1)
        first.wait_log(SENT)
        for _ in range(5):
            began = time.monotonic()
            second = subprocess.run([DAEMON, "--settings", shop.settings], capture_output=True,
                                    text=True, timeout=20)
            took = time.monotonic() - began
            assert second.returncode == 1, second
            assert took < 1.0, f"it took {took:.2f} s"
            assert re.fullmatch(r"<3>ended: another daemon looks after [^\n]*\n",
                                second.stderr), second.stderr
        assert first.end() == 0, first.log


def test_a_daemon_that_was_killed_leaves_no_lock_behind():
    with Shop() as shop:
        stored(shop)
        first = shop.daemon()
        fill.fill(shop, 1)
        first.wait_log(SENT)
        assert first.end(signal.SIGKILL) == -signal.SIGKILL
        status, log = shop.until_idle()
        assert status == 0, log


# --- ending ---------------------------------------------------------------------------------


def end_while_the_server_hangs(moment):
    """40 mails towards a server that says nothing more at that moment: SIGTERM, then a server
    that is well. Each arrives; what may have arrived twice was listed as unsure."""
    with SmtpServer({moment: [None, None, None, Hang()]}) as server, \
            Shop(more=smtp(server)) as shop:
        stored(shop)
        addresses = fill.fill(shop, 40)
        daemon = shop.daemon()
        assert server.wait_until(lambda s: len(s.mails) >= 3 and s.open >= 4), len(server.mails)
        no_exit(daemon, 0.3)
        began = time.monotonic()
        status = daemon.end(signal.SIGTERM)
        took = time.monotonic() - began
        assert status == 0, daemon.log
        assert took < 10, f"it took {took:.1f} s"
        on_the_wire = states(shop).get("claimed", 0)
        assert on_the_wire <= 4, states(shop)

        server.script = {}
        status, log = shop.until_idle()
        assert status == 0, log
        assert states(shop) == {"sent": 40}, states(shop)
        got = [mail.recipients[0] for mail in server.mails]
        assert set(got) == set(addresses), "lost: %s" % (set(addresses) - set(got))
        unsure = set(re.findall(r"message (\d+) was on the wire", log))
        keys = {key for key, in shop.sql("SELECT key FROM message WHERE id IN (%s)"
                                         % (",".join(unsure) or "0"))}
        for address in addresses:
            copies = [m.message_id for m in server.mails if m.recipients == [address]]
            assert len(set(copies)) == 1, copies
            assert len(copies) == 1 or copies[0].strip("<>").split("@")[0] in keys, copies
        return f"     (hung at {moment}: ended in {took:.1f} s, {on_the_wire} on the wire, " \
               f"{len(got) - 40} twice)"


def test_the_end_comes_within_ten_seconds_wherever_a_server_hangs_and_nothing_is_lost():
    with ThreadPoolExecutor() as each:
        for line in each.map(end_while_the_server_hangs,
                             ("greeting", "ehlo", "rcpt", "data", "dot")):
            print(line)


def test_the_end_comes_within_ten_seconds_though_the_database_is_locked():
    with Shop() as shop:
        stored(shop)
        daemon = shop.daemon()
        fill.fill(shop, 1)
        daemon.wait_log(SENT)
        other = fill.connect(shop)
        other.execute("BEGIN EXCLUSIVE")
        began = time.monotonic()
        assert daemon.end() == 0, daemon.log
        assert time.monotonic() - began < 10
        other.execute("ROLLBACK")
        other.close()


def test_until_idle_does_what_is_due_and_leaves_the_rest_for_later():
    with Shop() as shop:
        stored(shop)
        fill.fill(shop, 50)
        status, log = shop.until_idle()
        assert status == 0, log
        assert len(list(shop.outbox.glob("*.eml"))) == 50
        assert states(shop) == {"sent": 50}
        assert states(shop, "wash") == {"planned": 50}, states(shop, "wash")
        assert shop.until_idle() == (0, "")
        assert len(list(shop.outbox.iterdir())) == 50


# --- being told -----------------------------------------------------------------------------


def test_wrong_settings_are_refused_fault_by_fault_and_the_old_ones_go_on():
    with Shop() as shop:
        stored(shop)
        daemon = shop.daemon()
        fill.fill(shop, 1)
        daemon.wait_log(SENT)
        shop.settings.write_text(shop.text.replace('language = "en"', 'langage = "en"')
                                 .replace('clock = "unchecked"', 'clock = "perhaps"')
                                 .replace('calling_code = "44"', 'calling_code = "none"'))
        daemon.process.send_signal(signal.SIGHUP)
        daemon.wait_log("the old ones stay in force")
        for word in ("langage", "perhaps", "calling_code"):
            assert re.search(rf"<3>[^\n]*beadline\.conf:\d+: [^\n]*{word}", daemon.log), daemon.log
        fill.fill(shop, 1, first=2)
        wait_until(lambda: len(list(shop.outbox.glob("*.eml"))) == 2, what="the second mail")
        assert daemon.end() == 0, daemon.log


def test_right_settings_are_taken_while_it_runs():
    with Shop() as shop:
        stored(shop)
        daemon = shop.daemon()
        fill.fill(shop, 1)
        daemon.wait_log(r"message \d+ through outbox: sent")
        shop.settings.write_text(shop.text.replace("Example Shine", "Sample Gleam") +
                                 'gateways = ( { name = "drawer"; kind = "folder";'
                                 ' folder = "drawer"; } ); carry = { mail = "drawer"; };\n')
        daemon.process.send_signal(signal.SIGHUP)
        daemon.wait_log("settings, catalogue and templates read again")
        fill.fill(shop, 1, first=2)
        daemon.wait_log(r"message \d+ through drawer: sent")
        found, = (shop.root / "drawer").glob("*.eml")
        assert b"Sample Gleam" in found.read_bytes()
        assert daemon.end() == 0, daemon.log


def test_settings_are_taken_as_soon_as_what_is_on_the_wire_has_its_answer():
    """No claim is made meanwhile, so the change must come as soon as the last answer."""
    with SmtpServer({"dot": Hang(until=(held := threading.Event()))}) as server, \
            Shop(more=smtp(server)) as shop:
        stored(shop)
        fill.fill(shop, 30)
        daemon = shop.daemon()
        assert server.wait_until(lambda s: len(s.mails) == 4)
        shop.settings.write_text(shop.text.replace("Example Shine", "Sample Gleam"))
        daemon.process.send_signal(signal.SIGHUP)
        no_exit(daemon, 0.3)
        assert "read again" not in daemon.log
        held.set()
        daemon.wait_log("settings, catalogue and templates read again", 10)
        assert server.wait_until(lambda s: len(s.mails) == 30), len(server.mails)
        wait_until(lambda: states(shop) == {"sent": 30}, what="the last outcome")
        new = [m for m in server.mails if b"Sample Gleam" in m.data]
        assert len(new) == 26, len(new)
        assert daemon.end() == 0, daemon.log


def test_a_storm_of_signals_to_read_again_loses_nothing():
    with SmtpServer() as server, Shop(more=smtp(server)) as shop:
        stored(shop)
        addresses = fill.fill(shop, 200)
        daemon = shop.daemon()
        for count in range(1, 200, 4):
            assert server.wait_until(lambda s, count=count: len(s.mails) >= count), \
                (count, len(server.mails), daemon.end(signal.SIGKILL), daemon.log[-2000:])
            daemon.process.send_signal(signal.SIGHUP)
        wait_until(lambda: states(shop) == {"sent": 200}, what="the last outcome")
        assert sorted(m.recipients[0] for m in server.mails) == sorted(addresses)
        assert daemon.end() == 0, daemon.log


def test_a_false_time_is_refused_unless_all_goes_into_folders():
    with SmtpServer() as server, Shop(more=smtp(server)) as shop:
        status, log = shop.until_idle("--now", "2027-03-01 10:00")
        assert status == 1 and "folder" in log and log.count("\n") == 1, log
        assert server.connections == 0
    with Shop() as shop:
        stored(shop)
        fill.fill(shop, 1)
        wrong = subprocess.run([DAEMON, "--settings", shop.settings, "--now", "2027-03-01 10:00"],
                               capture_output=True, text=True, timeout=20)
        assert wrong.returncode == 2 and "--until-idle" in wrong.stderr, wrong
        # A week before it is due it stays planned; on its day the wash message goes.
        assert shop.until_idle()[0] == 0
        at, = shop.sql("SELECT strftime('%Y-%m-%d %H:%M', send_at + 60, 'unixepoch') FROM message"
                       " WHERE kind = 'wash'")
        status, log = shop.until_idle("--now", at[0])
        assert status == 0 and states(shop, "wash") == {"sent": 1}, (log, at)


# --- the service manager --------------------------------------------------------------------


class Manager:
    """The receiving end of the readiness protocol, in the file system or the abstract space."""

    def __init__(self, path):
        self.socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.socket.bind(path.replace("@", "\0", 1) if path.startswith("@") else path)
        self.states = []

    def wait(self, condition, seconds=20):
        until = time.monotonic() + seconds
        while not condition(self.states):
            ready, _, _ = select.select([self.socket], [], [], until - time.monotonic())
            assert ready, f"only {self.states} within {seconds} s"
            self.states.append(self.socket.recv(4096).decode())

    def drain(self):
        self.socket.setblocking(False)
        try:
            while True:
                self.states.append(self.socket.recv(4096).decode())
        except BlockingIOError:
            self.socket.setblocking(True)


def notified(where, extra):
    with Shop() as shop:
        stored(shop)
        path = where or str(shop.root / "notify")
        manager = Manager(path)
        daemon = shop.daemon(env={"NOTIFY_SOCKET": path, **extra})
        manager.wait(lambda s: "READY=1" in s)
        assert manager.states[0] == "READY=1", manager.states
        yield shop, daemon, manager
        assert daemon.end() == 0, daemon.log
        manager.drain()
        assert manager.states.count("READY=1") == 1, manager.states
        assert manager.states.count("STOPPING=1") == 1, manager.states
        assert "READY=1" not in manager.states[manager.states.index("STOPPING=1"):]
        manager.socket.close()


def test_the_service_manager_hears_when_it_is_ready_and_when_it_stops():
    for where in (None, f"@beadline-test-{os.getpid()}"):
        for shop, daemon, _ in notified(where, {}):
            fill.fill(shop, 1)
            daemon.wait_log(SENT)


def test_the_watchdog_is_fed_at_least_twice_in_its_time():
    for _, _, manager in notified(None, {"WATCHDOG_USEC": "1000000"}):
        began = time.monotonic()
        before = manager.states.count("WATCHDOG=1")
        manager.wait(lambda s: s.count("WATCHDOG=1") >= before + 6, 10)
        took = time.monotonic() - began
        assert took < 4.0, f"six times in {took:.1f} s"


def test_a_watchdog_meant_for_another_process_is_not_fed():
    for _, daemon, manager in notified(None, {"WATCHDOG_USEC": "200000", "WATCHDOG_PID": "1"}):
        no_exit(daemon, 1.5)
        manager.drain()
        assert manager.states.count("WATCHDOG=1") <= 3, manager.states


def test_a_daemon_that_is_held_up_is_not_ready_before_its_database_is_open():
    with Shop() as shop:
        stored(shop)
        path = str(shop.root / "notify")
        manager = Manager(path)
        other = fill.connect(shop)
        other.execute("BEGIN EXCLUSIVE")
        daemon = shop.daemon(env={"NOTIFY_SOCKET": path})
        no_exit(daemon, 7)  # longer than any single wait for a lock
        manager.drain()
        assert manager.states == [], manager.states
        other.execute("ROLLBACK")
        other.close()
        manager.wait(lambda s: "READY=1" in s)
        assert daemon.end() == 0, daemon.log
        manager.socket.close()


def test_a_daemon_that_is_held_up_ends_when_it_is_told_to():
    with Shop() as shop:
        stored(shop)
        other = fill.connect(shop)
        other.execute("BEGIN EXCLUSIVE")
        daemon = shop.daemon()
        daemon.wait_log("<4>waiting to begin: ")
        began = time.monotonic()
        assert daemon.end() == 0, daemon.log
        assert time.monotonic() - began < 10
        other.close()


# --- the log --------------------------------------------------------------------------------


def test_log_lines_carry_a_priority_and_neither_an_address_nor_a_text():
    refused = Reply("550 5.1.1 <customer3@example.com>: nobody here")
    with SmtpServer({"rcpt": lambda to: refused if "3@" in to else None,
                     "dot": [None, None, Drop(), None]}) as server, \
            Shop(more=smtp(server, 2)) as shop:
        stored(shop)
        addresses = fill.fill(shop, 30)
        daemon = shop.daemon()
        wait_until(lambda: set(states(shop)) == {"sent", "failed"}, what="the last outcome")
        assert daemon.end() == 0, daemon.log
        assert states(shop)["failed"] == 3, states(shop)
        lines = daemon.log.splitlines()
        assert len(lines) >= 30
        for line in lines:
            assert re.match(r"<[3-6]>\S", line), line
            assert "@" not in line and "+44" not in line, line
            for secret in ("Ada", "BD0", "coating", "wash", "Wash", *addresses):
                assert secret not in line, line


# --- waking ---------------------------------------------------------------------------------

WRITER = """
import os, sys, time
sys.path.insert(0, sys.argv[1])
import fill
class Shop: database = sys.argv[2]
fill.fill(Shop, 1, first=int(sys.argv[3]))
print(time.monotonic(), flush=True)
"""


def test_a_job_of_a_writer_with_a_slow_disk_is_noticed_within_two_seconds_of_its_commit():
    shim = BUILD / "tests" / "slow_sync.so"
    assert shim.exists(), shim
    with Shop() as shop:
        stored(shop)
        daemon = shop.daemon()
        fill.fill(shop, 1)
        daemon.wait_log(SENT)
        took = []
        for n in range(2, 7):
            before = len(re.findall(SENT, daemon.log))
            began = time.monotonic()
            writer = subprocess.run(
                [sys.executable, "-c", WRITER, os.path.dirname(os.path.abspath(__file__)),
                 shop.database, str(n)], capture_output=True, text=True, timeout=60,
                env={**os.environ, "LD_PRELOAD": str(shim), "SLOW_SYNC_MS": "700"})
            assert writer.returncode == 0, writer.stderr
            committed = float(writer.stdout)
            assert committed - began > 0.7, "the shim slows nothing down"
            daemon.wait_log(rf"(?s)(?:{SENT}.*){{{before + 1}}}", 10)
            took.append(time.monotonic() - committed)
        print("     (noticed after %s s)" % ", ".join(f"{t:.2f}" for t in took))
        assert max(took) < NOTICED_S, took
        assert daemon.end() == 0, daemon.log


def planned(shop):
    """What the plan says about customer 1's cars now: when each wash message goes."""
    return shop.sql("SELECT customer, send_at FROM message WHERE kind = 'wash'"
                    " AND state = 'planned' ORDER BY id")


def noticed(shop, change):
    """Whether the daemon planned again because of a change by another program's hand."""
    before = planned(shop)
    committed = change()
    until = (committed or time.monotonic()) + NOTICED_S
    wait_until(lambda: planned(shop) != before, seconds=max(0.1, until - time.monotonic()),
               what=f"planning after {change.__name__}")


def test_writers_that_replace_fail_or_ignore_foreign_keys_are_noticed():
    with Shop() as shop:
        stored(shop)
        daemon = shop.daemon()
        fill.fill(shop, 1)
        daemon.wait_log(SENT)
        other = fill.connect(shop)
        other.execute("PRAGMA foreign_keys = OFF")

        def replaced():
            other.execute("REPLACE INTO job (id, car, customer, finished_at, temp_c, entered_at)"
                          " SELECT id, car, customer, finished_at - 86400 * 2, temp_c, entered_at"
                          " FROM job WHERE id = 1")
            other.execute("UPDATE treatment SET last_coat_at = last_coat_at - 86400 * 2"
                          " WHERE job = 1")

        def moved_by_replace():
            """A job of another car under the first one's number: REPLACE fires no delete
            trigger, and customer 1 loses his job."""
            customer = fill.add_customer(other, "Mover", int(time.time()), mail="m@example.com")
            car = fill.add_car(other, customer, "MV 1", int(time.time()))
            other.execute("REPLACE INTO job (id, car, customer, finished_at, temp_c, entered_at)"
                          " SELECT id, ?, ?, finished_at, temp_c, entered_at FROM job"
                          " WHERE id = 1", (car, customer))

        def failed_in_the_middle():
            """INSERT OR FAIL keeps the rows before the one that failed."""
            now = int(time.time())
            rule, = other.execute("SELECT max(id) FROM rule_version WHERE product = 'coating-1y'"
                                  ).fetchone()
            other.execute("INSERT INTO job (id, car, customer, finished_at, temp_c, entered_at)"
                          " VALUES (77, 1, 1, ?, 15, ?)", (now - 7200, now))
            try:
                other.execute("INSERT OR FAIL INTO treatment (job, rule, surface, last_coat_at)"
                              " VALUES (77, ?1, 'paint', ?2), (77, ?1, 'paint', ?2)",
                              (rule, now - 7200))
                raise AssertionError("the second row was no clash")
            except sqlite3.IntegrityError:
                pass

        def orphaned():
            """Without foreign keys a car goes and its jobs stay."""
            other.execute("DELETE FROM car WHERE id = 1")

        for change in (replaced, moved_by_replace, failed_in_the_middle, orphaned):
            noticed(shop, change)
        other.close()
        assert daemon.end() == 0, daemon.log


def test_writers_that_come_and_go_with_the_log_are_noticed():
    """Each opens the database, writes, empties the -wal and closes; the daemon alone is left."""
    with Shop() as shop:
        stored(shop)
        wal = shop.root / "beadline.db-wal"
        assert not wal.exists()  # the last one to close took it away
        daemon = shop.daemon()
        for n in range(1, 9):
            other = fill.connect(shop)
            known = fill.rules(other)
            now = int(time.time())
            other.execute("BEGIN IMMEDIATE")
            customer = fill.add_customer(other, f"Come {n}", now, mail=f"come{n}@example.com")
            car = fill.add_car(other, customer, f"GO {n}", now)
            fill.add_job(other, known, customer, car, now - 60)
            other.execute("COMMIT")
            committed = time.monotonic()
            if n % 2:
                other.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            other.close()
            daemon.wait_log(rf"(?s)(?:{SENT}.*){{{n}}}", NOTICED_S)
            assert time.monotonic() - committed < NOTICED_S
        assert daemon.end() == 0, daemon.log
        assert not wal.exists()


def test_a_locked_database_is_waited_out():
    with Shop() as shop:
        stored(shop)
        daemon = shop.daemon()
        fill.fill(shop, 1)
        daemon.wait_log(SENT)
        other = fill.connect(shop)
        known = fill.rules(other)
        now = int(time.time())
        other.execute("BEGIN EXCLUSIVE")
        customer = fill.add_customer(other, "Slow", now, mail="slow@example.com")
        fill.add_job(other, known, customer, fill.add_car(other, customer, "SL 1", now), now - 60)
        no_exit(daemon, 7)  # longer than any single wait for a lock
        assert len(re.findall(SENT, daemon.log)) == 1
        other.execute("COMMIT")
        committed = time.monotonic()
        daemon.wait_log(rf"(?s)(?:{SENT}.*){{2}}", 10)
        assert time.monotonic() - committed < NOTICED_S
        other.close()
        assert daemon.end() == 0, daemon.log


def test_outcomes_wait_for_a_locked_database_and_are_kept():
    with SmtpServer({"dot": Hang(until=(held := threading.Event()))}) as server, \
            Shop(more=smtp(server)) as shop:
        stored(shop)
        fill.fill(shop, 4)
        daemon = shop.daemon()
        assert server.wait_until(lambda s: len(s.mails) == 4)
        other = fill.connect(shop)
        other.execute("BEGIN EXCLUSIVE")
        held.set()
        no_exit(daemon, 3)
        other.execute("ROLLBACK")
        other.close()
        wait_until(lambda: states(shop) == {"sent": 4}, what="the outcomes")
        assert daemon.end() == 0, daemon.log
        assert len(server.mails) == 4


# --- idleness -------------------------------------------------------------------------------


def test_with_nothing_due_it_makes_no_system_call():
    with Shop() as shop:
        stored(shop)
        trace = shop.root.parent / "trace"
        # A leak check cannot run in a traced process.
        daemon = shop.daemon(prefix=["strace", "-f", "-o", str(trace)],
                             env={"ASAN_OPTIONS": "detect_leaks=0"})
        fill.fill(shop, 3)
        daemon.wait_log(rf"(?s)(?:{SENT}.*){{3}}")
        quiet(trace)
        before = trace.read_bytes().count(b"\n")
        assert before > 100, "strace saw nothing"
        no_exit(daemon, 5)
        after = trace.read_bytes().count(b"\n")
        assert after == before, trace.read_text()[-2000:]
        fill.fill(shop, 1, first=4)  # and it is awake at once
        daemon.wait_log(rf"(?s)(?:{SENT}.*){{4}}", NOTICED_S + 5)
        end_traced(daemon, trace)


def end_traced(daemon, trace):
    """Ends the traced process itself: strace goes with it."""
    pid = int(trace.read_text().split(None, 1)[0])
    os.kill(pid, signal.SIGTERM)
    assert daemon.process.wait(20) == 0, daemon.log


def quiet(trace):
    """Waits until the trace has not grown for a second."""
    last = [trace.stat().st_size, time.monotonic()]

    def still():
        size = trace.stat().st_size
        if size != last[0]:
            last[:] = size, time.monotonic()
        return time.monotonic() - last[1] > 1.0
    wait_until(still, what="quiet")


if __name__ == "__main__":
    run_tests(globals())
