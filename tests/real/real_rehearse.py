"""The rehearsal as its owner uses it: nothing leaves and nothing changes, what it lists is what the
service then does, and the page is one private file that holds nothing it should not."""
import contextlib
import hashlib
import html.parser
import json
import os
import pathlib
import random
import re
import signal
import socket
import stat
import subprocess
import tempfile
import zoneinfo
from datetime import datetime, timedelta, timezone

from shop import COMMAND, Shop, run_tests, wait_until

NOW = "2026-03-12 16:00"
LONDON = zoneinfo.ZoneInfo("Europe/London")
HOSTILE = ("<script>alert(1)</script>", "\"><img src=x onerror=alert(1)>", "a' onload='x",
           "</title></style><b>", "&lt;b&gt; &amp; co", "]]><!-- -->", "javascript:alert(1)")


@contextlib.contextmanager
def small_shop(more=""):
    """Customers by text, by mail, in German and by hand; two cars of one; short and long lives."""
    with Shop(hours="", more=more) as shop:
        agreed = ("--tips", "yes", "--offers", "yes", "--how", "asked")
        shop.must("add", "customer", "Ada Example", "--phone", "07700 900123", *agreed, now=NOW)
        shop.must("add", "customer", "Ben Sample", "--mail", "ben@example.org", "--language", "de",
                  *agreed, now=NOW)
        shop.must("add", "customer", "Cy Byhand", *agreed, now=NOW)
        shop.must("add", "customer", "Di Quiet", "--phone", "07700 900124", now=NOW)
        for owner, plate in (("ada", "AB12 CDE"), ("ada", "AB34 CDE"), ("ben", "XY99 ZZZ"),
                             ("cy", "CY11 AAA"), ("di", "DI22 AAA")):
            shop.must("add", "car", owner, plate, "--distance-a-year", "19400", now=NOW)
        shop.must("add", "job", "ab12cde", "full-3y", "wheel-spray", "--at", "15:40", now=NOW)
        shop.must("add", "job", "ab34cde", "windscreen-coating", "--at", "14:00", now=NOW)
        shop.must("add", "job", "xy99zzz", "full-1y", "--at", "13:00", now=NOW)
        shop.must("add", "job", "cy11aaa", "glass-coating", "trim-protectant", "--at", "12:00",
                  now=NOW)
        shop.must("add", "job", "di22aaa", "coating-1y", "--at", "11:00", now=NOW)
        yield shop


def bytes_of(folder):
    """Every file below the folder, by name: its bytes' digest and its mode."""
    return {str(path.relative_to(folder)): (hashlib.sha256(path.read_bytes()).hexdigest(),
                                            stat.S_IMODE(path.stat().st_mode))
            for path in sorted(folder.rglob("*")) if path.is_file()}


def rehearse(shop, until, *words, now=NOW, **options):
    done = subprocess.run([COMMAND, "--settings", shop.settings, "--now", now, "rehearse",
                           "--until", until, *words], capture_output=True, text=True, timeout=300,
                          **options)
    assert done.returncode == 0 and done.stderr == "", done.stderr
    return done.stdout


def entries(shop, until, now=NOW):
    """(messages, ends) as --json has them."""
    rows = [json.loads(line) for line in rehearse(shop, until, "--json", now=now).splitlines()]
    assert {row["entry"] for row in rows} <= {"message", "end"}
    return ([row for row in rows if row["entry"] == "message"],
            [row for row in rows if row["entry"] == "end"])


def refused(shop, words, *parts, status=1, **options):
    done = subprocess.run([COMMAND, "--settings", shop.settings, "--now", NOW, "rehearse", *words],
                          capture_output=True, text=True, timeout=300, **options)
    assert done.returncode == status, f"{words}: {done.returncode}: {done.stdout}{done.stderr}"
    assert done.stdout == "" and done.stderr.count("\n") == 1, f"{words}: {done.stderr!r}"
    for part in ("beadline: ", *parts):
        assert part in done.stderr, f"{words}: no {part!r} in {done.stderr!r}"


# --- nothing happens ------------------------------------------------------------------------------

def test_nothing_is_sent_and_the_shop_stays_byte_for_byte_as_it_was():
    with small_shop() as shop, tempfile.TemporaryDirectory() as aside:
        before = bytes_of(shop.root)
        page = shop.folder / "page.html"
        out = rehearse(shop, "2027-06-30", "--html", page,
                       env={**os.environ, "TMPDIR": aside})
        assert re.search(r"^\d\d+ messages, [1-9]\d* of them by hand; \d+ dues end without one\. "
                         r"Nothing was sent\.$", out, re.MULTILINE), out[-500:]
        assert bytes_of(shop.root) == before
        assert not shop.outbox.exists() or not list(shop.outbox.iterdir())
        assert os.listdir(aside) == [], "the copy left something behind"


def test_no_gateway_is_reached_and_no_secret_is_read():
    """The service would refuse to start: the secret has two lines."""
    listener = socket.create_server(("127.0.0.1", 0))
    listener.setblocking(False)
    port = listener.getsockname()[1]
    secret = tempfile.NamedTemporaryFile()
    secret.write(b"one line\nand another\n")
    secret.flush()
    more = (f'gateways = ( {{ name = "texts"; kind = "http"; url = "http://127.0.0.1:{port}/";'
            f' secret_file = "{secret.name}"; body_kind = "text";'
            ' headers = ( { name = "Authorization"; value = "Bearer {{secret}}"; } );'
            ' body = "{{to}} {{text}}"; },'
            f' {{ name = "post"; kind = "smtp"; host = "127.0.0.1"; port = {port}; tls = "none";'
            ' from = "alex@shop.example"; } ); carry = { sms = "texts"; mail = "post"; };')
    with listener, secret, small_shop(more) as shop:
        status, log = shop.until_idle()
        assert status != 0 and "secret" in log, log
        messages, _ = entries(shop, "2026-04-30")
        assert {"sms", "mail", "by hand"} == {row["channel"] for row in messages}
        try:
            listener.accept()
            raise AssertionError("somebody rang")
        except BlockingIOError:
            pass


def test_another_writer_is_neither_waited_for_nor_disturbed():
    with small_shop() as shop:
        with contextlib.closing(__import__("sqlite3").connect(shop.database)) as other:
            other.isolation_level = None
            other.execute("BEGIN IMMEDIATE")
            other.execute("INSERT INTO customer (name, added_at) VALUES ('Not yet', 1700000000)")
            messages, _ = entries(shop, "2026-04-30")
            other.execute("COMMIT")
        assert messages and "Not yet" not in {row["customer"] for row in messages}


def test_a_killed_rehearsal_leaves_no_copy_behind():
    with small_shop() as shop, tempfile.TemporaryDirectory() as aside:
        child = subprocess.Popen([COMMAND, "--settings", shop.settings, "--now", NOW, "rehearse",
                                  "--until", "2036-01-01"], stdout=subprocess.DEVNULL,
                                 env={**os.environ, "TMPDIR": aside})
        modes = []

        def copy_is_open():
            if child.poll() is not None:
                return True
            for name in os.listdir(f"/proc/{child.pid}/fd"):
                path = f"/proc/{child.pid}/fd/{name}"
                with contextlib.suppress(FileNotFoundError):
                    target = os.readlink(path)
                    if target.startswith(aside) and target.endswith(" (deleted)"):
                        modes.append(stat.S_IMODE(os.stat(path).st_mode))
            return bool(modes)

        wait_until(copy_is_open, what="the copy")
        child.send_signal(signal.SIGKILL)
        child.wait(20)
        assert modes and set(modes) == {0o600}, modes
        assert os.listdir(aside) == []


def test_a_signal_while_the_copy_still_has_a_name_waits_until_it_has_none():
    ended, seen = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP), 0
    with small_shop() as shop, tempfile.TemporaryDirectory() as aside:
        for n in range(30):
            child = subprocess.Popen([COMMAND, "--settings", shop.settings, "--now", NOW,
                                      "rehearse", "--until", "2036-01-01"],
                                     stdout=subprocess.DEVNULL, env={**os.environ, "TMPDIR": aside})
            while child.poll() is None and not os.listdir(aside):
                pass
            child.send_signal(ended[n % 3])
            seen += bool(os.listdir(aside))
            assert child.wait(60) == -ended[n % 3]
            assert os.listdir(aside) == [], "the copy was left lying about"
            if seen == 6:
                break
    assert seen, "no copy ever had a name"


# --- it comes true --------------------------------------------------------------------------------

def at_of(text):
    return int(datetime.fromisoformat(text).timestamp())


def typed(at):
    return datetime.fromtimestamp(at, timezone.utc).isoformat()


def next_wake(shop, now):
    """The next instant the database itself names, read by another program."""
    return shop.sql(
        "SELECT min(at) FROM (SELECT min(go_at) AS at FROM message WHERE state = 'planned'"
        " AND go_at > ?1 UNION ALL SELECT min(not_after) + 1 FROM message"
        " WHERE state IN ('planned', 'paused') AND not_after >= ?1 UNION ALL"
        " SELECT min(not_after) + 1 FROM due WHERE end IS NULL AND not_after >= ?1"
        " UNION ALL SELECT min(at) FROM replan WHERE at > ?1)".replace("?1", str(now)))[0][0]


def live(shop, began, until):
    """The service at each of its instants, and the owner who tells what goes by hand."""
    now = began
    while now is not None and now < until:
        status, log = shop.until_idle("--now", typed(now))
        assert status == 0, log
        by_hand = shop.sql("SELECT id FROM message WHERE state = 'planned' AND channel = 'by hand'"
                           f" AND go_at <= {now}")
        if by_hand:
            shop.must("told", *(str(row[0]) for row in by_hand), now=typed(now))
            continue
        now = next_wake(shop, now)


def compare(shop, began, last):
    """Rehearses until that day, lets the service live until then; the (messages, ends) of both."""
    end = datetime.fromisoformat(last).replace(tzinfo=LONDON) + timedelta(1)
    messages, ends = entries(shop, last, now=f"{began:%Y-%m-%d %H:%M}")
    gone_before = shop.sql("SELECT count(*) FROM message WHERE state = 'sent'")[0][0]
    assert gone_before == 0
    live(shop, int(began.timestamp()), int(end.timestamp()))
    went = shop.sql("SELECT m.claimed_at, m.kind, m.channel, c.name, m.address,"
                    " coalesce(m.subject, m.text) FROM message m"
                    " JOIN customer c ON c.id = m.customer WHERE m.state = 'sent'")
    said = sorted((at, kind, channel, name, to or "", (line or "").split("\n")[0])
                  for at, kind, channel, name, to, line in went)
    listed = sorted((at_of(row["at"]), row["kind"], row["channel"], row["customer"],
                     row["to"] or "", row["line"] if row["to"] else "") for row in messages)
    assert listed == said, [row for row in set(listed) ^ set(said)]
    assert all(row["line"] for row in messages)
    ended = shop.sql("SELECT d.ended_at, d.kind, c.name, d.end, d.reason FROM due d JOIN customer c"
                     " ON c.id = d.customer WHERE d.end IS NOT NULL AND d.end <> 'sent'"
                     " AND NOT d.vanished")
    assert sorted((at_of(row["at"]), row["kind"], row["customer"], row["end"], row["reason"])
                  for row in ends) == sorted(ended)
    files = list(shop.outbox.iterdir()) if shop.outbox.exists() else []
    assert len(files) == sum(1 for row in went if row[4])
    return messages, ends


def test_what_it_lists_is_what_the_service_then_does():
    with small_shop() as shop:
        began = datetime.fromisoformat(NOW).replace(tzinfo=LONDON)
        messages, ends = compare(shop, began, "2026-08-15")
        assert ends and {"handover", "wash", "care", "top-up"} <= {row["kind"] for row in messages}


PRODUCTS = ("coating-1y", "coating-3y", "fabric-protection", "glass-coating", "glass-sealant",
            "leather-coating", "soft-top-protection", "spray-sealant", "topper", "trim-coating",
            "trim-dressing", "trim-protectant", "tyre-coating", "tyre-dressing", "wax",
            "wheel-coating", "wheel-spray", "windscreen-coating", "full-1y", "full-3y", "refresh")


def random_customer(shop, chance, n, now):
    reach = chance.choice((("--phone", f"07700 9001{n:02}"), ("--mail", f"c{n}@example.com"),
                           ("--mail", f"c{n}@example.com", "--language", "de"), ()))
    wants = [word for name in ("--tips", "--offers")
             for word in (name, chance.choice(("yes", "yes", "yes", "no")))]
    shop.must("add", "customer", f"Customer {n}", *reach, *wants, "--how", "asked", now=now)


def random_car(shop, chance, plate, owner, began):
    """A car with jobs, readings and happenings of the last year, in order of time."""
    def ago(days):
        return f"{began - timedelta(days=days, minutes=chance.randrange(600)):%Y-%m-%d %H:%M}"
    shop.must("add", "car", owner, plate, "--distance-a-year",
              str(chance.randrange(3000, 60000)), now=ago(420))
    km, days = chance.randrange(1000, 90000), 400
    while (days := days - chance.randrange(20, 160)) > 0:
        km += chance.randrange(100, 6000)
        now = ago(days)
        products = chance.sample(PRODUCTS, chance.randrange(1, 4))
        shop.run("add", "job", plate, *products, now=now)  # some do not go together
        if chance.random() < 0.6:
            shop.must("add", "mileage", plate, str(km), now=now)
        if chance.random() < 0.4:
            shop.must("add", "event", plate, chance.choice(("care", "harsh-wash", "polished")),
                      now=ago(days - 10))


def test_a_random_shop_then_does_what_its_rehearsal_lists():
    """BL_SEED makes another shop."""
    seed = int(os.environ.get("BL_SEED", 1))
    print("seed", seed)
    chance = random.Random(seed)
    began = datetime(2026, chance.randrange(3, 12), chance.randrange(1, 28),
                     chance.randrange(24), chance.randrange(60), tzinfo=LONDON)
    with Shop(hours="") as shop:
        for n in range(3):
            random_customer(shop, chance, n, f"{began - timedelta(days=430):%Y-%m-%d %H:%M}")
            for _ in range(chance.choice((1, 1, 2))):
                random_car(shop, chance, f"BD{chance.randrange(10 ** 5):05} EX", f"Customer {n}",
                           began)
        last = (began + timedelta(days=70)).date().isoformat()
        messages, ends = compare(shop, began, last)
        assert messages or ends


def test_each_day_up_to_the_last_is_played_and_none_beyond():
    with small_shop() as shop:
        all_of_them, _ = entries(shop, "2026-09-30")
        days = sorted({row["at"][:10] for row in all_of_them})
        for day in days[:3] + days[-2:]:
            until, _ = entries(shop, day)
            assert until == [row for row in all_of_them if row["at"][:10] <= day], day
        before = (datetime.fromisoformat(days[0]) - timedelta(1)).date().isoformat()
        if before >= NOW[:10]:
            assert entries(shop, before)[0] == []


def test_what_ends_without_a_message_says_why():
    with small_shop() as shop:
        _, ends = entries(shop, "2027-12-31")
        quiet = [row for row in ends if row["customer"] == "Di Quiet" and row["kind"] == "top-up"]
        assert quiet and all("consent" in row["reason"] for row in quiet), ends
        out = rehearse(shop, "2027-12-31")
        assert "Without a message" in out and "no consent for offers" in out


def test_what_is_silenced_or_paused_stays_so_in_the_rehearsal():
    with small_shop() as shop:
        shop.must("silence", "ada", "--how", "at the door", now=NOW)
        messages, _ = entries(shop, "2026-12-31")
        assert not [row for row in messages if row["to"] == "+447700900123"]
        assert [row for row in messages if row["customer"] == "Ben Sample"]


def test_a_shop_without_anything_has_nothing_to_rehearse():
    with Shop(hours="") as shop:
        page = shop.folder / "page.html"
        out = rehearse(shop, "2027-01-01", "--html", page)
        assert out.startswith("No message would go.") and "0 messages" in out
        Page(page.read_text())


def test_a_line_by_hand_says_what_it_is_about():
    with small_shop() as shop:
        messages, _ = entries(shop, "2026-04-30")
        handovers = [row["line"] for row in messages
                     if row["channel"] == "by hand" and row["kind"] == "handover"]
        assert handovers and all("CY11 AAA" in line for line in handovers), handovers


# --- the page -------------------------------------------------------------------------------------

class Page(html.parser.HTMLParser):
    """Reads a page and objects to what a page of its own must not have."""

    EMPTY = {"meta", "br", "link", "img"}
    DRAWN = {"circle", "line", "path", "rect", "stop"}  # closed by a slash

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.stack, self.ids, self.links, self.text, self.seen = [], [], [], [], set()
        self.policy = None
        self.feed(text)
        self.close()
        assert not self.stack, f"not closed: {self.stack}"
        assert len(set(self.ids)) == len(self.ids), "an id stands twice"
        for link in self.links:
            assert link[0] == "#" and link[1:] in self.ids, link

    def handle_starttag(self, tag, attrs):
        self.look(tag, attrs)
        if tag not in self.EMPTY:
            self.stack.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.look(tag, attrs)

    def handle_endtag(self, tag):
        assert self.stack and self.stack[-1] == tag, f"</{tag}> in {self.stack}"
        self.stack.pop()

    def handle_comment(self, data):
        raise AssertionError(f"a comment: {data}")

    def handle_data(self, data):
        (self.text if self.stack[-1:] != ["style"] else []).append(data)

    def look(self, tag, attrs):
        self.seen.add(tag)
        assert tag not in {"script", "link", "img", "iframe", "object", "embed", "form", "base",
                           "image", "foreignobject", "audio", "video", "a"}, tag
        for name, value in attrs:
            assert not name.startswith("on") and name not in {"src", "style", "action", "xmlns"}, \
                (tag, name)
            if name in {"href", "xlink:href"}:
                self.links.append(value)
            if name == "id":
                self.ids.append(value)
            for reference in re.findall(r"url\(([^)]*)\)", value or ""):
                self.links.append(reference)
        values = dict(attrs)
        if values.get("http-equiv") == "Content-Security-Policy":
            self.policy = values["content"]

    def words(self):
        return "".join(self.text)


def test_the_page_is_whole_and_asks_nobody_for_anything():
    with small_shop() as shop:
        path = shop.folder / "page.html"
        rehearse(shop, "2028-03-31", "--html", path)
        text = path.read_text(encoding="utf-8")
        page = Page(text)
        assert "default-src 'none'" in page.policy
        assert not re.search(r"https?:|//|@import|url\((?!#)", text), "a reference to elsewhere"
        assert "nan" not in re.findall(r'"(-?nan|-?inf)', text)
        for plate in ("AB12 CDE", "AB34 CDE", "XY99 ZZZ", "CY11 AAA"):
            assert plate in page.words(), plate
        assert "screen and (prefers-color-scheme:dark" in text and "@media print" in text


def test_the_page_tells_each_message_and_keeps_addresses_to_itself():
    with small_shop() as shop:
        path = shop.folder / "page.html"
        rehearse(shop, "2026-12-31", "--html", path)
        messages, _ = entries(shop, "2026-12-31")
        words = " ".join(Page(path.read_text(encoding="utf-8")).words().split())
        for row in messages:
            assert " ".join(row["line"].split())[:80] in words, row
        for address in {row["to"] for row in messages if row["to"]}:
            assert address not in words, address


def test_a_hostile_name_is_only_a_name():
    with Shop(hours="") as shop:
        for n, name in enumerate(HOSTILE):
            shop.must("add", "customer", f"{name} {n}", "--mail", f"c{n}@example.com", now=NOW)
            shop.must("add", "car", f"c{n}@example.com", f"BD{n} EX", "--name", f"car {name}",
                      now=NOW)
            shop.must("add", "job", f"BD{n} EX", "wheel-spray/front", "--at", "15:00", now=NOW)
            shop.sql("UPDATE treatment SET part = ? WHERE id = ?", name, n + 1)
        # Another program wrote what the command would not take: an override, a line separator.
        shop.sql("UPDATE customer SET name = ? WHERE id = 1", "\u202etxt.<b>\u2028x")
        path = shop.folder / "page.html"
        rehearse(shop, "2026-06-30", "--html", path)
        text = path.read_text(encoding="utf-8")
        words = Page(text).words()
        for name in HOSTILE:
            assert f"car {name}" in words and f"wheels, {name}" in words, name
        assert not re.search("[\u202e\u2028]", text)


# --- the file -------------------------------------------------------------------------------------

def mode(path):
    return stat.S_IMODE(os.stat(path).st_mode)


def test_the_page_is_private_and_never_replaces_another_unasked():
    with small_shop() as shop:
        path = shop.folder / "page.html"
        rehearse(shop, "2026-04-30", "--html", path, umask=0)
        assert mode(path) == 0o600
        first = path.read_text()
        refused(shop, ["--until", "2026-05-31", "--html", path], "page.html", "--force")
        assert path.read_text() == first
        path.chmod(0o644)
        rehearse(shop, "2026-05-31", "--html", path, "--force")
        assert mode(path) == 0o600 and path.read_text() != first
        assert sorted(os.listdir(shop.folder)) == ["page.html", "shop"], "something lies about"


def test_the_page_goes_only_where_a_plain_file_can_be():
    with small_shop() as shop:
        target = shop.folder / "precious"
        target.write_text("mine")
        link = shop.folder / "link.html"
        link.symlink_to(target)
        for path, part in ((link, "plain file"), (shop.root, "plain file"),
                           (pathlib.Path("/dev/null"), "plain file"),
                           (shop.folder / "none" / "page.html", "No such file"),
                           (target / "page.html", "Not a directory")):
            refused(shop, ["--until", "2026-04-30", "--html", path, "--force"], part)
        assert target.read_text() == "mine" and link.is_symlink()
        refused(shop, ["--until", "2026-04-30"], "none",
                env={**os.environ, "TMPDIR": str(shop.folder / "none")})


# --- bad input ------------------------------------------------------------------------------------

def test_a_bad_date_is_one_clear_line_and_nothing_is_played():
    with small_shop() as shop:
        before = bytes_of(shop.root)
        for date, part in (("2026-02-30", "2026-02-30"), ("tomorrow", "tomorrow"), ("", ""),
                           ("2026-13-01", "2026-13-01"), ("2026-03-11", "is over"),
                           ("1969-12-31", "is over"), ("2036-03-13", "more than 10 years"),
                           ("9999-12-31", "more than 10 years"), ("2026-3", "2026-3"),
                           ("\x1b[2J", "\\x1b"), ("2026-04-30; x", "x")):
            refused(shop, ["--until", date], part)
        refused(shop, [], "--until", status=2)
        refused(shop, ["--until", "2026-04-30", "--force"], "--html", status=2)
        refused(shop, ["--until", "2026-04-30", "more"], "no words", status=2)
        assert bytes_of(shop.root) == before
        entries(shop, "2026-03-12")
        entries(shop, "2036-03-12")


if __name__ == "__main__":
    run_tests(globals())
