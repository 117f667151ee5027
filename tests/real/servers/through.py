"""What the scripts beside it share: settings for the two gateways, what was stored, and killing
the daemon in the middle of its work."""

import os
import re
import signal
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
import fill
from shop import Shop, wait_until

CONNECTIONS = 4

SMTP = """
gateways = ( {{ name = "post"; kind = "smtp"; host = "localhost"; port = {port}; tls = "{tls}";
                from = "alex@shop.example"; ca_file = "{ca}"; user = "{user}";
                secret_file = "secret"; connections = {connections}; unsure = "{unsure}"; }} );
carry = {{ mail = "post"; }};
retry = {{ first_s = 1; longest_s = 2; }};
"""

HTTP = """
gateways = ( {{ name = "texts"; kind = "http"; url = "{url}"; ca_file = "{ca}";
                secret_file = "secret"; connections = {connections}; unsure = "{unsure}";
                headers = ( {{ name = "Authorization"; value = "Bearer {{{{secret}}}}"; }} );
                body = "{{\\"to\\": \\"{{{{to}}}}\\", \\"text\\": \\"{{{{text}}}}\\"}}";
                accepted = [202]; accepted_path = "status"; accepted_value = "queued";
                reference_path = "messages.0.id"; }} );
carry = {{ sms = "texts"; }};
retry = {{ first_s = 1; longest_s = 2; }};
"""


def write_secret(shop, secret):
    path = shop.root / "secret"
    path.write_text(secret + "\n")
    path.chmod(0o600)


def shop_over_smtp(mta, tls, ca=None, unsure="resend", **more):
    port = mta.tls_port if tls == "tls" else mta.starttls_port
    values = {"port": port, "tls": tls, "ca": ca or mta.ca, "user": mta.user, "unsure": unsure,
              "connections": CONNECTIONS, **more}
    return Shop(more=SMTP.format(**values))


def shop_over_http(web, ca=None, unsure="resend"):
    return Shop(more=HTTP.format(url=web.url, ca=ca or web.ca, unsure=unsure,
                                 connections=CONNECTIONS))


def begin(shop, secret, count, route):
    """The secret, the catalogue and so many due handovers; their addresses."""
    write_secret(shop, secret)
    status, log = shop.until_idle()
    assert status == 0, log
    return fill.fill(shop, count, route)


def stored(shop):
    """The handovers as the database has them, by key."""
    names = ("id", "key", "state", "reason", "address", "subject", "text", "html", "reference",
             "attempts")
    rows = shop.sql(f"SELECT {', '.join('m.' + n for n in names)}, c.name FROM message m"
                    " JOIN customer c ON c.id = m.customer WHERE m.kind = 'handover'")
    return {row[1]: dict(zip(names + ("name",), row)) for row in rows}


def states(shop):
    found = {}
    for message in stored(shop).values():
        found[message["state"]] = found.get(message["state"], 0) + 1
    return found


def kill_and_restart(shop, points, done):
    """Kills the daemon each time it has reported so many more messages as sent (0: none, but
    it has said something), then lets it finish. The ids that a start listed as unsure, and the number of
    kills that came before the end."""
    log, kills = "", 0
    for point in points:
        daemon = shop.daemon()

        def come_so_far():
            news = daemon.read(0.02)
            sent = len(re.findall(r"through \w+: sent", daemon.log))
            return news and sent >= point or done(states(shop))
        wait_until(come_so_far, seconds=60, what=f"{point} messages")
        kills += not done(states(shop))
        daemon.end(signal.SIGKILL)
        log += daemon.log
    status, rest = shop.until_idle()
    assert status == 0 and done(states(shop)), (states(shop), rest)
    return [int(n) for n in re.findall(r"message (\d+) was on the wire when the daemon ended",
                                       log + rest)], kills
