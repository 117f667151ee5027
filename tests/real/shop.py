"""A shop in a temporary folder, driven by the built programs as its owner would.

Used by the scripts beside it. BL_BUILD is the build whose bin/ is tested, BL_SOURCE the source.
"""
import json
import os
import pathlib
import re
import select
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import traceback

BUILD = pathlib.Path(os.environ.get("BL_BUILD", "build")).resolve()
SOURCE = pathlib.Path(os.environ.get("BL_SOURCE", pathlib.Path(__file__).parents[2])).resolve()
COMMAND = BUILD / "bin" / "beadline"
DAEMON = BUILD / "bin" / "beadlined"

SETTINGS = """
shop = {{ name = "Example Shine"; owner = "Alex"; phone = "07700 900123";
         mail = "alex@shop.example"; zone = "{zone}"; language = "en"; }};
phone = {{ calling_code = "44"; trunk = "0"; exit_code = "00"; }};
hours = {{ {hours} }};
clock = "unchecked";
{more}
"""

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
ALL_DAY = "".join(f'{day} = "00:00-24:00"; ' for day in DAYS) + "outside_eight_to_nine = true;"


class Shop:
    """`with Shop() as shop:` makes the folder; leaving it ends every daemon it started."""

    def __init__(self, hours=ALL_DAY, zone="Europe/London", more="", folder=None):
        self.folder = pathlib.Path(folder or tempfile.mkdtemp(prefix="beadline-test-"))
        self.root = self.folder / "shop"
        self.settings = self.root / "beadline.conf"
        self.text = SETTINGS.format(hours=hours, zone=zone, more=more)
        self.daemons = []

    def __enter__(self):
        made = subprocess.run([COMMAND, "init", self.root], capture_output=True, text=True)
        assert made.returncode == 0, made.stderr
        self.settings.write_text(self.text)
        return self

    def __exit__(self, *unused):
        for daemon in self.daemons:
            daemon.end(signal.SIGKILL)
        shutil.rmtree(self.folder)

    @property
    def database(self):
        return self.root / "beadline.db"

    @property
    def outbox(self):
        return self.root / "outbox"

    def run(self, *words, now=None):
        """The command's (status, standard output, standard error)."""
        first = [COMMAND, "--settings", self.settings] + (["--now", now] if now else [])
        done = subprocess.run(first + list(words), capture_output=True, text=True, timeout=120)
        return done.returncode, done.stdout, done.stderr

    def must(self, *words, now=None):
        """The command's standard output; it must succeed."""
        status, out, err = self.run(*words, now=now)
        assert status == 0, f"{words}: {status}: {err}"
        return out

    def json(self, *words, now=None):
        return [json.loads(line) for line in self.must("--json", *words, now=now).splitlines()]

    def sql(self, text, *values):
        """One statement by another program's hand."""
        other = sqlite3.connect(self.database, timeout=30)
        with other:
            rows = other.execute(text, values).fetchall()
        other.close()
        return rows

    def daemon(self, *words, env=None, prefix=()):
        daemon = Daemon(list(prefix) + [DAEMON, "--settings", self.settings, *words], env)
        self.daemons.append(daemon)
        return daemon

    def until_idle(self, *words):
        """The daemon's (status, log) when it has done all that is due."""
        done = subprocess.run([DAEMON, "--settings", self.settings, "--until-idle", *words],
                              capture_output=True, text=True, timeout=300)
        return done.returncode, done.stderr


class Daemon:
    """A running daemon whose log is read as it comes."""

    def __init__(self, words, env=None):
        self.process = subprocess.Popen(words, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL,
                                        env={**os.environ, **(env or {})})
        os.set_blocking(self.process.stderr.fileno(), False)
        self.log = ""

    def read(self, seconds):
        """Waits for more of the log; False at its end or after so many seconds."""
        ready, _, _ = select.select([self.process.stderr], [], [], seconds)
        got = self.process.stderr.read() if ready else None
        self.log += (got or b"").decode(errors="replace")
        return bool(got)

    def wait_log(self, pattern, seconds=30):
        """The match of the pattern in the log, waited for."""
        until = time.monotonic() + seconds
        while True:
            found = re.search(pattern, self.log)
            if found:
                return found
            left = until - time.monotonic()
            if left <= 0 or (not self.read(left) and self.process.poll() is not None):
                raise AssertionError(f"no {pattern!r} in the log within {seconds} s:\n{self.log}")

    def end(self, how=signal.SIGTERM, seconds=20):
        """Ends it and returns its status."""
        if self.process.poll() is None:
            self.process.send_signal(how)
        if not self.process.stderr.closed:
            _, rest = self.process.communicate(timeout=seconds)
            self.log += (rest or b"").decode(errors="replace")
        return self.process.returncode


def wait_until(condition, seconds=30, what="it"):
    """Looks again and again for something outside that has no event to wait for."""
    until = time.monotonic() + seconds
    pause = select.poll()
    while not condition():
        if time.monotonic() > until:
            raise AssertionError(f"{what} did not happen within {seconds} s")
        pause.poll(20)


def run_tests(names):
    """Runs every function of a script that is named test_..., or those whose name has one of the
    script's arguments in it, prints each, and exits."""
    failed = 0
    tests = [(name, test) for name, test in names.items() if name.startswith("test_")
             and (not sys.argv[1:] or any(word in name for word in sys.argv[1:]))]
    for name, test in tests:
        try:
            test()
            print("ok  ", name[5:].replace("_", " "), flush=True)
        except Exception:
            failed += 1
            print("FAIL", name[5:].replace("_", " "))
            traceback.print_exc()
    print(f"{len(tests) - failed} passed, {failed} failed")
    sys.exit(1 if failed else 0)
