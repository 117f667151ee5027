"""Mails against Python's email package: what goes in comes out, whatever people are called.

Each mail is parsed by policy.default; it must have no defect anywhere, exactly the headers and
recipients it should have, and the name, subject and bodies that went in.
"""
import datetime
import email
import email.header
import email.policy
import os
import pathlib
import random
import re
import subprocess
import sys
import unicodedata
import zoneinfo

TOOL = pathlib.Path(os.environ["BL_BUILD"]) / "tests" / "mail_tool"
HEADERS = ["From", "To", "Reply-To", "Subject", "Date", "Message-ID", "Auto-Submitted",
           "List-Unsubscribe", "MIME-Version", "Content-Type"]
ZONES = ["Europe/London", "America/New_York", "Asia/Kolkata", "Australia/Lord_Howe",
         "Pacific/Chatham", "America/St_Johns", "UTC"]

INJECTED = [
    "Ada Example", "J\u00fcrgen M\u00fc\u00dfler", "O'Neil \"Bo\" (x), <y@example.com>",
    "a\r\nBcc: evil@example.com", "a\nBcc: evil@example.com\n\nbody", "a\rX: y",
    "=?utf-8?Q?evil=0D=0ABcc:_x@example.com?=", "=?utf-8?B?QmNjOiB4QGV4YW1wbGUuY29t?= tail",
    "=?", "?=", "=?broken", "a =?utf-8?q?=?= b", "=?utf-8?q?a?= =?utf-8?q?b?=",
    "a@example.com, b@example.com", "<b@example.com>", "group: a@example.com;", "\\", "\"", "(", ")",
    "back\\slash \"quoted\"", "tab\there", "nul-like \x01\x02 controls \x7f", "\u2028line\u2029para",
    "\u202eright to left\u202c", "\ufeffbom", "%0d%0aBcc: x", "  blanks   everywhere  ",
    "x" * 200, "\u00e9" * 200, "\U0001f600" * 200, "word " * 40, "a" * 70 + " " + "b" * 70,
    "\u4e2d\u6587" * 100, "e\u0301" * 60, ".", "-", "...", "Smith, John", "Dr. Who", "A.B.", "a..b",
    "semi;colon", "co:lon", "[brackets]", "x=y", "a_b", "question?", "1234", "=3D", "_underscore_",
    "From me", "\u00a0hard\u00a0space", "\u200bzero\u200bwidth", "\u0645\u0631\u062d\u0628\u0627",
]
ALPHABET = ("abc XYZ 019 \r\n\t\"\\<>@,;:()[]=?_.-'%&!#$*+/^`{|}~ "
            "\u00e9\u00df\u0151\u4e2d\U0001f600\u2028\u0301\x00\x1b").replace("\x00", "\x02")


def told(text):
    """What a reader must see of a name or a subject: one line, controls and blanks one space."""
    spaced = "".join(" " if unicodedata.category(c) == "Cc" or c in "\u2028\u2029" else c for c in text)
    return re.sub(" +", " ", spaced).strip(" ")


def names(rng):
    yield from INJECTED
    for _ in range(240):
        yield "".join(rng.choice(ALPHABET) for _ in range(rng.choice([1, 3, 10, 40, 120, 200])))


def bodies(rng):
    lines = ["Hello \u00fc\u00df, = sign", "", ".", "..", "From here on", "trailing blank ", "\t tab",
             "--=_0123456789abcdef0123456789abcdef", "x" * 1500, "\u4e2d" * 400, "<p class=\"a\">&amp;</p>",
             "=3D =?utf-8?q?x?="]
    return "".join(rng.choice(lines) + "\n" for _ in range(rng.randint(1, 25)))


class Tool:
    def __init__(self):
        self.process = subprocess.Popen([TOOL], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def mail(self, **values):
        for name, value in values.items():
            plain = name in ("key", "now", "zone")
            text = value if plain else value.encode().hex()
            self.process.stdin.write(f"{name.replace('_', '-')} {text}\n")
        self.process.stdin.write("go\n")
        self.process.stdin.flush()
        verdict, rest = self.process.stdout.readline().rstrip("\n").split(" ", 1)
        return bytes.fromhex(rest) if verdict == "ok" else rest

    def close(self):
        self.process.stdin.close()
        assert self.process.wait() == 0, "the tool failed"


def check_bytes(raw):
    assert not re.search(rb"(?<!\r)\n|\r(?!\n)", raw), "a bare CR or LF"
    lines = raw.split(b"\r\n")
    for line in lines:  # an address cannot be folded
        assert len(line) <= 78 or (len(line) <= 998 and re.fullmatch(rb"([A-Za-z-]+:)? <\S+>", line)), line
    assert all(byte < 128 and (byte >= 32 or byte in (9, 10, 13)) for byte in raw), "a raw octet"
    assert raw.count(b"MIME-Version:") == 1


def defects(message):
    found = [(part.get_content_type(), part.defects) for part in message.walk() if part.defects]
    for name, value in message.items():
        if getattr(value, "defects", ()):
            found.append((name, value.defects))
    return found


def displayed(message, name, by_policy):
    """The display name a reader sees. policy.default keeps the fold between two encoded words of a
    phrase, which RFC 2047 section 6.2 wants dropped; decode_header drops it."""
    (raw,) = (value for header, value in message.raw_items() if header == name)
    phrase = re.sub(r"\r?\n", "", raw).rsplit("<", 1)[0].strip()
    if not phrase.startswith("=?"):
        return by_policy
    whole = str(email.header.make_header(email.header.decode_header(phrase)))
    assert whole.replace(" ", "") == by_policy.replace(" ", ""), (whole, by_policy)
    return whole


def check_mail(raw, given):
    check_bytes(raw)
    message = email.message_from_bytes(raw, policy=email.policy.default)
    assert not defects(message), defects(message)
    assert sorted(h.lower() for h in message.keys()) == sorted(h.lower() for h in HEADERS), message.keys()
    for name, display, address in (("To", given["to_name"], given["to"]),
                                   ("From", given["shop_name"], given["shop_mail"]),
                                   ("Reply-To", given["shop_name"], given["shop_mail"])):
        (mailbox,) = message[name].addresses
        assert mailbox.addr_spec == address, (name, mailbox.addr_spec)
        shown = displayed(message, name, mailbox.display_name)
        assert shown == told(display), (name, shown, told(display))
    assert str(message["Subject"]) == told(given["subject"]), (message["Subject"], given["subject"])
    domain = given["shop_mail"].split("@")[1]
    assert message["Message-ID"] == "<%s@%s>" % (given["key"], domain)
    assert message["Auto-Submitted"] == "auto-generated"
    zone = zoneinfo.ZoneInfo(given["zone"])
    when = datetime.datetime.fromtimestamp(int(given["now"]), zone)
    assert message["Date"].datetime == when and message["Date"].datetime.utcoffset() == when.utcoffset()
    assert message.get_content_type() == "multipart/alternative"
    plain, html = message.iter_parts()
    for part, kind, text in ((plain, "text/plain", given["text"]), (html, "text/html", given["html"])):
        assert part.get_content_type() == kind and part.get_content_charset() == "utf-8"
        assert part["Content-Transfer-Encoding"] == "quoted-printable"
        assert part.get_payload(decode=True).decode() == text.replace("\n", "\r\n"), kind


def check_refusals(tool, given):
    for change in ({"to": "a@example.com\r\nBcc: b@example.com"}, {"to": "a@example.com,b@example.com"},
                   {"to": ""}, {"shop_mail": "no mailbox"}, {"key": "short"},
                   {"key": "0123456789ABCDEF0123456789abcdeg"}):
        answer = tool.mail(**{**given, **change})
        assert isinstance(answer, str) and answer, change


def main():
    seed = int(os.environ.get("BL_SEED", random.SystemRandom().randrange(1 << 32)))
    print("seed", seed)
    rng = random.Random(seed)
    tool = Tool()
    given = {}
    count = 0
    for name in names(rng):
        given = {
            "to_name": name, "subject": "Bright Panel: " + name, "shop_name": rng.choice([name, "Shop & S\u00f6hne"]),
            "shop_mail": rng.choice(["sam@shop.example", "sam+cars?x&y=%z@shop.example"]),
            "to": rng.choice(["ada@example.com", "a.very-long.name+tag" * 3 + "@mail.example.com"]),
            "text": bodies(rng), "html": bodies(rng), "key": "%032x" % rng.getrandbits(128),
            "zone": rng.choice(ZONES), "now": str(rng.randrange(0, 4102444800)),
        }
        raw = tool.mail(**given)
        assert isinstance(raw, bytes), (given, raw)
        try:
            check_mail(raw, given)
        except Exception:
            print(raw[:3000].decode("latin-1"), file=sys.stderr)
            print("name", ascii(name), file=sys.stderr)
            raise
        assert tool.mail(**given) == raw, "the same letter gave other bytes"
        count += 1
    check_refusals(tool, given)
    tool.close()
    print(count, "mails equal what went in, without a defect")
    return 0


sys.exit(main())
