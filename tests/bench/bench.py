"""How fast, and how big: 10 000 due messages through SMTP and through HTTP on loopback, each
outcome committed to a real disk, beside a bare libcurl loop with as many connections and the same
bytes on the same server in the same run.

    bench.py [--count N] [--runs N] [--connections N] [smtp] [http]

The messages are planned beforehand by the daemon itself, a few hours earlier by the shop's clock;
what is measured is `beadlined --until-idle` from its start to its end: first with every letter
composed as it leaves, then with letters that are ready, which leaves claiming, sending and storing.
"""

import argparse
import datetime
import os
import shutil
import sqlite3
import statistics
import subprocess
import sys
import time

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "real"))
import fill
from shop import BUILD, DAEMON, DAYS, Shop

HOURS = "".join(f'{day} = "09:00-19:00"; ' for day in DAYS)
FOLDER = 'gateways = ( { name = "out"; kind = "folder"; } );'
GATEWAY = {
    "smtp": 'gateways = ( {{ name = "out"; kind = "smtp"; host = "127.0.0.1"; port = {port};'
            ' tls = "none"; from = "alex@shop.example"; connections = {connections}; }} );',
    "http": 'gateways = ( {{ name = "out"; kind = "http"; connections = {connections};'
            ' url = "http://127.0.0.1:{port}/send"; accepted_path = "status";'
            ' accepted_value = "queued"; reference_path = "id"; unsure = "resend";'
            ' body = "{{\\"to\\": \\"{{{{to}}}}\\", \\"text\\": \\"{{{{text}}}}\\"}}"; }} );',
}
CHANNEL = {"smtp": "mail", "http": "sms"}


def noon_zone():
    """A zone where it is between 12 and 13 o'clock now, so the sending hours are open."""
    ahead = 12 - datetime.datetime.now(datetime.timezone.utc).hour
    return f"Etc/GMT{'-' if ahead >= 0 else '+'}{abs(ahead)}", ahead


class Sink:
    def __init__(self, kind):
        self.process = subprocess.Popen([BUILD / "bench" / "sink", kind], text=True, bufsize=1,
                                        stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self.port = int(self.process.stdout.readline())

    def count(self):
        """(messages, different keys) since the last look."""
        self.process.stdin.write("?\n")
        return tuple(int(n) for n in self.process.stdout.readline().split())

    def close(self):
        self.process.stdin.close()
        self.process.wait(10)


def on_disk(folder):
    kind = subprocess.run(["stat", "-f", "-c", "%T", folder], capture_output=True, text=True,
                          check=True).stdout.strip()
    assert kind != "tmpfs", f"{folder} is in memory: set BL_BENCH_FOLDER to a folder on a disk"
    return kind


def plan(shop, kind, count, early):
    """Everything planned for nine o'clock today, nothing sent."""
    carry = f'carry = {{ {CHANNEL[kind]} = "out"; }};\n'
    shop.settings.write_text(shop.text + FOLDER + carry)
    for step in (lambda: None, lambda: fill.fill(shop, count, CHANNEL[kind], ago=86400)):
        step()
        status, log = shop.until_idle("--now", early)
        assert status == 0, log
    planned = shop.sql("SELECT count(*) FROM message WHERE kind = 'handover' AND"
                       " state = 'planned' AND send_at <= unixepoch()")[0][0]
    assert planned == count, f"{planned} of {count} are due"
    shutil.copy(shop.database, shop.root / "planned.db")
    return carry


def have_texts_ready(shop, late):
    """A second plan whose messages have their texts already, as after a failed attempt: they
    leave as they are, so what is measured is claiming, sending and storing alone."""
    status, log = shop.until_idle("--now", late)
    assert status == 0, log
    shutil.copy(shop.root / "planned.db", shop.root / "ready.db")
    other = sqlite3.connect(shop.root / "ready.db")
    with other:
        other.execute("ATTACH ? AS sent", (str(shop.database),))
        other.execute("UPDATE message AS m SET attempts = 1, (subject, text, html) ="
                      " (SELECT subject, text, html FROM sent.message s WHERE s.id = m.id)"
                      " WHERE kind = 'handover'")
    other.close()


def sample(shop, kind):
    """The bytes of one message, as the daemon sends them."""
    first = str(shop.sql("SELECT id FROM message WHERE kind = 'handover' ORDER BY id"
                         " LIMIT 1 OFFSET 5")[0][0])
    path = shop.root / "sample"
    text = subprocess.run([BUILD / "bin" / "beadline", "--settings", shop.settings, "preview",
                           first, "--raw"], capture_output=True, check=True).stdout
    if kind == "http":
        text = b'{"to": "+447700900123", "text": "' + text.replace(b"\n", b"\\n") + b'"}'
    path.write_bytes(text)
    return path


def peak_kib(pid):
    with open(f"/proc/{pid}/status", encoding="ascii") as status:
        for line in status:
            if line.startswith("VmHWM:"):
                return int(line.split()[1])
    return 0


def run_daemon(shop, plan, sink, count):
    """Seconds and peak resident KiB of one run over a fresh copy of the plan."""
    for name in ("beadline.db-wal", "beadline.db-shm"):
        (shop.root / name).unlink(missing_ok=True)
    shutil.copy(shop.root / plan, shop.database)
    os.sync()
    with open(shop.root / "log", "wb") as log:
        began = time.monotonic()
        daemon = subprocess.Popen([*words_before(), DAEMON, "--settings", shop.settings, "--until-idle"],
                                  stderr=log)
        peak = 0
        while True:
            try:
                peak = max(peak, peak_kib(daemon.pid))
                daemon.wait(0.1)
                break
            except subprocess.TimeoutExpired:
                pass
        took = time.monotonic() - began
    assert daemon.returncode == 0, (shop.root / "log").read_text()[-2000:]
    sent = shop.sql("SELECT count(*) FROM message WHERE kind = 'handover' AND state = 'sent'")
    assert sent[0][0] == count, (f"{sent[0][0]} of {count} are stored as sent",
                                 (shop.root / "log").read_text()[-2000:])
    assert sink.count() == (count, count), "not every message arrived once"
    return took, peak


def words_before():
    """A profiler to run it under, such as BL_BENCH_UNDER="perf record -g -o perf.data"."""
    return os.environ.get("BL_BENCH_UNDER", "").split()


def run_bare(kind, sink, path, connections, count):
    target = {"smtp": f"smtp://127.0.0.1:{sink.port}/bench.example.com",
              "http": f"http://127.0.0.1:{sink.port}/send"}[kind]
    done = subprocess.run([BUILD / "bench" / f"bare_{kind}", target, str(connections), str(count),
                           path], capture_output=True, text=True, check=True)
    assert sink.count()[0] == count
    return float(done.stdout)


def bench(kind, words, folder):
    zone, ahead = noon_zone()
    today = datetime.datetime.now(datetime.timezone.utc) + datetime.timedelta(hours=ahead)
    more = "restraint = { messages_a_day = 20; };\n"
    sink = Sink(kind)
    with Shop(hours=HOURS, zone=zone, more=more, folder=folder) as shop:
        carry = plan(shop, kind, words.count, f"{today:%Y-%m-%d} 05:00")
        have_texts_ready(shop, f"{today:%Y-%m-%d} 12:00")
        gateway = GATEWAY[kind].format(port=sink.port, connections=words.connections)
        shop.settings.write_text(shop.text + gateway + carry)
        path = sample(shop, kind)
        size = path.stat().st_size
        ours, ready, bare, peaks = [], [], [], []
        for run in range(words.runs):
            bare.append(words.count / run_bare(kind, sink, path, words.connections, words.count))
            for rates, name in ((ours, "planned.db"), (ready, "ready.db")):
                took, peak = run_daemon(shop, name, sink, words.count)
                rates.append(words.count / took)
                peaks.append(peak)
            print(f"  {kind} run {run + 1}: daemon {ours[-1]:.0f}/s, with texts ready "
                  f"{ready[-1]:.0f}/s, bare {bare[-1]:.0f}/s", flush=True)
    sink.close()
    mine, theirs = statistics.median(ours), statistics.median(bare)
    kept = statistics.median(ready)
    print(f"{kind}: {words.count} messages of {size} bytes over {words.connections} connections: "
          f"daemon {mine:.0f} a second ({kept:.0f} with texts ready), bare libcurl {theirs:.0f} a "
          f"second, ratio {mine / theirs:.2f} ({kept / theirs:.2f}); peak resident {max(peaks) / 1024:.1f} MiB", flush=True)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=10000)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--connections", type=int, default=16)
    parser.add_argument("kinds", nargs="*", default=["smtp", "http"])
    words = parser.parse_args()
    home = os.environ.get("BL_BENCH_FOLDER", str(BUILD))
    print(f"disk: {on_disk(home)}, SQLite {sqlite3.sqlite_version}, medians of {words.runs}")
    for kind in words.kinds:
        bench(kind, words, os.path.join(home, f"bench-{kind}-{os.getpid()}"))


if __name__ == "__main__":
    main()
