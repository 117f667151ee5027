"""No value can leave its place in an HTTP request.

Hostile payloads stand in each value in turn; the address, the JSON, the form and the headers that
come out are read by Python's own parsers and must hold exactly the names that were written into
the forms, each with exactly the value that was given (in a header: as one line).
"""
import email.parser
import email.policy
import json
import os
import pathlib
import random
import subprocess
import sys
import unicodedata
import urllib.parse

TOOL = pathlib.Path(os.environ["BL_BUILD"]) / "tests" / "request_tool"
URL = "https://texts.example.com/v1/{{to_digits}}?from={{shop}}&text={{{text}}}&ref={{key}}#x"
BODIES = {
    "json": '{"to": "{{to}}", "digits": "{{to_digits}}", "text": "{{{text}}}", "n": {"shop": '
            '"{{&shop}}", "key": "<{{key}}>"}}',
    "form": "to={{to}}&digits={{to_digits}}&text={{{text}}}&shop={{&shop}}&key={{key}}",
    "text": "{{{text}}}",
}
TYPES = {"json": "application/json", "form": "application/x-www-form-urlencoded",
         "text": "text/plain; charset=utf-8"}
PLAIN = {"to": "+447700900123", "text": "Safe to wash now", "key": "0123456789abcdef" * 2,
         "shop": "Test & Sons", "secret": "s3cret"}


def payloads(chance):
    hooks = ["\r\nX-Evil: 1", "\nX-Evil: 1", "\rX-Evil: 1", "%0d%0aX-Evil: 1", "\r\n\r\nbody",
             '","evil":"1', '\\","evil":"1', '"}, "evil": {"', "&evil=1", "?evil=1", "#evil",
             "/../evil", "@evil.example", "\u2028evil\u2029", "\u0085X-Evil: 1", "\\", '"', "'",
             "\\u0022,\\u0022evil", "{{secret}}", "{{=<% %>=}}", "}}", "%", "%2", "+", ";", ":",
             "beadline-value", "=", "é車😀", "\u202eevil", "\ufeff"]
    hooks += [chr(code) + "evil" for code in [*range(1, 32), *range(0x7F, 0xA0)]]
    for hook in hooks:
        yield from (hook, "a" + hook, "a" + hook + "b", hook * 3)
    for _ in range(200):
        yield "".join(chance.choices(hooks, k=chance.randrange(2, 7)))


def run(cases):
    """(url, headers as bytes lines, body) of each (kind, values)."""
    def hexed(text):
        return text.encode().hex()
    lines = [" ".join([kind, hexed(URL), hexed(BODIES[kind])]
                      + [hexed(values[name]) for name in ("to", "text", "key", "shop", "secret")])
             for kind, values in cases]
    done = subprocess.run([TOOL], input="\n".join(lines) + "\n", text=True, check=True,
                          stdout=subprocess.PIPE)
    for block in done.stdout.split("end\n")[:-1]:
        fields = [line.split(" ", 1) for line in block.splitlines()]
        assert all(name != "error" for name, _ in fields), block
        url, *headers, body = (bytes.fromhex(text) for _, text in fields)
        yield url.decode("ascii"), headers, body


def one_line(text):
    """As it may stand in a header: whatever ends a line for somebody is a space."""
    return "".join(" " if unicodedata.category(c) in ("Cc", "Zl", "Zp") else c for c in text)


def check_url(url, values):
    parts = urllib.parse.urlsplit(url)
    assert (parts.scheme, parts.netloc, parts.fragment) == ("https", "texts.example.com", "x")
    assert parts.path.count("/") == 2
    assert urllib.parse.unquote(parts.path[4:]) == values["to"].removeprefix("+")
    query = urllib.parse.parse_qsl(parts.query, keep_blank_values=True, strict_parsing=True)
    assert query == [("from", values["shop"]), ("text", values["text"]), ("ref", values["key"])]


def check_headers(headers, kind, values):
    raw = b"\r\n".join(headers) + b"\r\n\r\n"
    assert len(raw.splitlines()) == len(headers) + 1, raw
    read = email.parser.BytesParser(policy=email.policy.HTTP).parsebytes(raw)
    assert read.keys() == ["Authorization", "X-To", "X-Text", "X-Shop", "X-Key",
                           "Idempotency-Key", "Content-Type"], read.keys()
    assert not read.get_payload()
    want = {"Authorization": "Bearer " + values["secret"], "X-To": values["to"],
            "X-Text": "<" + values["text"] + ">", "X-Shop": values["shop"],
            "X-Key": values["key"], "Idempotency-Key": values["key"], "Content-Type": TYPES[kind]}
    for header in headers:
        name, value = header.decode().split(": ", 1)
        assert value == one_line(want[name]).strip(" "), (name, value)


def check_body(body, kind, values):
    text = body.decode()
    flat = {"to": values["to"], "digits": values["to"].removeprefix("+"), "text": values["text"]}
    if kind == "json":
        assert json.loads(text, object_pairs_hook=list) == [
            *flat.items(), ("n", [("shop", values["shop"]), ("key", "<" + values["key"] + ">")])]
    elif kind == "form":
        got = urllib.parse.parse_qsl(text, keep_blank_values=True, strict_parsing=True)
        assert got == [*flat.items(), ("shop", values["shop"]), ("key", values["key"])]
    else:
        assert text == values["text"]


def main():
    seed = int(os.environ.get("BL_SEED", random.randrange(1 << 32)))
    hostile = list(payloads(random.Random(seed)))
    cases = [(kind, PLAIN | {name: payload}) for kind in BODIES
             for name in ("to", "text", "shop", "secret", "key") for payload in hostile]
    wrong = 0
    for (kind, values), (url, headers, body) in zip(cases, run(cases), strict=True):
        try:
            check_url(url, values)
            check_headers(headers, kind, values)
            check_body(body, kind, values)
        except (AssertionError, ValueError) as fault:
            wrong += 1
            if wrong <= 5:
                print(f"{kind} {values!r}: {fault!r}\n  {url}\n  {headers}\n  {body!r}")
    print(f"requests: {len(cases) - wrong} of {len(cases)} hold, {len(hostile)} payloads in each "
          f"value, BL_SEED={seed}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
