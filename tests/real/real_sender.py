"""The sender against servers that do what servers do: every fault at every moment of a transfer
has its one right verdict, and what was accepted is what was sent."""

import base64
import email.message
import json
import os
import random
import shutil
import ssl
import subprocess
import sys
import tempfile
import threading
import unittest
import warnings

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import certificates
from http_server import Answer, HttpServer
from smtp_server import Bytes, Dribble, Drop, Hang, Reply, SmtpServer

TOOL = os.path.join(os.environ.get("BL_BUILD", "build"), "tests", "send_tool")
SEED = int(os.environ.get("BL_SEED", "20261125"))
LIMIT = 120  # seconds until a run that hangs is called a failure


def escape(value):
    return (str(value).replace("\\", "\\\\").replace("\n", "\\n").replace("\r", "\\r")
            .replace("\t", "\\t"))


class Plan:
    """What send_tool is to do: gateways and parcels, and the outcomes it printed."""

    def __init__(self, folder):
        self.folder = tempfile.mkdtemp(dir=folder)
        self.lines, self.count = [], 0

    def gateway(self, name, **fields):
        self.lines.append(f"[gateway {name}]")
        self.lines += [f"{key}={escape(value)}" for key, value in fields.items()]
        return name

    def smtp(self, name, server, **fields):
        return self.gateway(name, **{"kind": "smtp", "host": "127.0.0.1", "port": server.port,
                                     "tls": "none", "from": "shop@example.com", **fields})

    def http(self, name, server, **fields):
        return self.gateway(name, **{"kind": "http", "url": server.url,
                                     "accepted_path": "status", "accepted_value": "queued",
                                     "reference_path": "messages.0.id", **fields})

    def parcel(self, gateway, **fields):
        self.count += 1
        body = fields.pop("body", None)
        if body is not None:
            fields["body_file"] = os.path.join(self.folder, f"body{self.count}")
            with open(fields["body_file"], "wb") as out:
                out.write(body)
        self.lines.append(f"[parcel {self.count}]")
        fields = {"gateway": gateway, "key": f"key{self.count}", **fields}
        self.lines += [f"{key}={escape(value)}" for key, value in fields.items()]
        return self.count

    def mail(self, gateway, **fields):
        return self.parcel(gateway, **{"to": "ada@example.com", "body": mail(self.count + 1),
                                       **fields})

    def text(self, gateway, server, **fields):
        key = f"key{self.count + 1}"
        return self.parcel(gateway, **{"to": "+447700900123", "body": b'{"text": "hello"}',
                                       "url": server.url,
                                       "headers": f"Idempotency-Key: {key};"
                                                  "Content-Type: application/json;", **fields})

    def start(self):
        path = os.path.join(self.folder, "plan")
        with open(path, "w", encoding="utf-8") as out:
            out.write("\n".join(self.lines) + "\n")
        self.process = subprocess.Popen([TOOL, path], stdin=subprocess.PIPE,
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        self.watch = threading.Timer(LIMIT, self.process.kill)
        self.watch.start()
        return self

    def outcomes(self):
        """The outcomes one by one, as they come."""
        for line in self.process.stdout:
            yield json.loads(line)

    def finish(self):
        """Closes the tool's input and waits for its end: (status, its errors)."""
        self.process.stdin.close()
        errors = self.process.stderr.read().decode()
        self.process.stdout.close()
        self.process.stderr.close()
        status = self.process.wait()
        self.watch.cancel()
        return status, errors

    def run(self):
        """All outcomes by id."""
        self.start()
        found = {}
        for outcome in self.outcomes():
            assert outcome["id"] not in found, "two outcomes for one parcel"
            found[outcome["id"]] = outcome
        status, errors = self.finish()
        if status != 0 or len(found) != self.count:
            raise AssertionError(f"status {status}, {len(found)} of {self.count}: {errors}")
        return found


def mail(number, text="Safe to wash now.\r\n"):
    """A mail as compose makes them: CRLF only, its key in the Message-ID."""
    return (f"Message-ID: <key{number}@example.com>\r\nSubject: Your car\r\n"
            f"From: shop@example.com\r\nTo: ada@example.com\r\n\r\n{text}").encode()


def two(outcome):
    return outcome["verdict"], outcome["failure"]


class SenderTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.holder = tempfile.TemporaryDirectory()
        cls.folder = cls.holder.name
        cls.ca = certificates.authority(cls.folder)
        cls.context = certificates.context(cls.folder, cls.ca, "server")

    @classmethod
    def tearDownClass(cls):
        cls.holder.cleanup()

    def plan(self):
        return Plan(self.folder)

    def secret(self, text="s3cret-Word"):
        handle, path = tempfile.mkstemp(dir=self.folder)
        os.write(handle, text.encode() + b"\n")
        os.close(handle)
        return path

    # --- SMTP: every fault at every moment ----------------------------------------------------

    def check_smtp_faults(self, rows, **fields):
        """rows: (what, script, (verdict, failure), was it taken). All of them in one run."""
        plan, servers = self.plan(), []
        logins = {"shop": "s3cret-Word"} if "user" in fields else None
        for what, script, _, _ in rows:
            servers.append(SmtpServer(script=script, logins=logins).__enter__())
        try:
            for number, server in enumerate(servers):
                plan.mail(plan.smtp(f"g{number}", server, **fields),
                          body=mail(number + 1, "x" * 70 + "\r\n" * 20000))
            found = plan.run()
        finally:
            for server in servers:
                server.__exit__()
        for number, (what, _, expected, taken) in enumerate(rows):
            with self.subTest(what):
                self.assertEqual(two(found[number + 1]), expected, found[number + 1]["answer"])
                self.assertEqual(len(servers[number].mails), taken)
        return found, servers

    def test_a_server_that_drops_is_later_before_the_354_and_unknown_after_it(self):
        network = ("later", "network")
        self.check_smtp_faults([
            ("at the greeting", {"greeting": Drop()}, network, 0),
            ("at EHLO", {"ehlo": Drop()}, network, 0),
            ("at MAIL", {"mail": Drop()}, network, 0),
            ("at RCPT", {"rcpt": Drop()}, network, 0),
            ("at DATA", {"data": Drop()}, network, 0),
            ("in the middle of its 354", {"data": Bytes(b"354 go", Drop())}, network, 0),
            ("in the middle of a 354 of two lines", {"data": Bytes(b"354-a\r\n", Drop())}, network,
             0),
            ("in the middle of the mail", {"body": Drop()}, ("unknown", "network"), 0),
            ("in the middle of the mail, by a reset", {"body": Drop(reset=True)},
             ("unknown", "network"), 0),
            ("after the dot, not having taken it", {"dot": Drop()}, ("unknown", "network"), 0),
            ("after the dot, having taken it", {"dot": Drop(take=True)}, ("unknown", "network"),
             1),
            ("after the dot, by a reset", {"dot": Drop(reset=True)}, ("unknown", "network"), 0),
        ])

    def test_a_refusal_before_the_354_is_final_only_when_it_is_about_the_mail(self):
        busy, refused, login = ("later", "busy"), ("refused", "message"), ("later", "login")
        self.check_smtp_faults([
            ("421 as a greeting", {"greeting": Reply("421 4.3.2 not now")}, busy, 0),
            ("554 as a greeting: no mail was offered yet", {"greeting": Reply("554 go away")},
             busy, 0),
            ("421 to EHLO", {"ehlo": Reply("421 not now")}, busy, 0),
            ("550 to EHLO and HELO", {"ehlo": Reply("550 not you")}, busy, 0),
            ("451 to MAIL", {"mail": Reply("451 4.3.0 try later")}, busy, 0),
            ("421 to MAIL", {"mail": Reply("421 too many")}, busy, 0),
            ("452 to MAIL", {"mail": Reply("452 4.3.1 disk full")}, busy, 0),
            ("550 to MAIL", {"mail": Reply("550 5.1.0 who?")}, refused, 0),
            ("530 to MAIL", {"mail": Reply("530 5.7.0 log in first")}, login, 0),
            ("450 to RCPT", {"rcpt": Reply("450 4.2.0 greylisted")}, busy, 0),
            ("421 to RCPT", {"rcpt": Reply("421 closing")}, busy, 0),
            ("550 to RCPT", {"rcpt": Reply("550 5.1.1 nobody")}, refused, 0),
            ("550 to RCPT in two lines", {"rcpt": Reply("550-5.1.1 nobody", "550 here")}, refused,
             0),
            ("451 to DATA", {"data": Reply("451 later")}, busy, 0),
            ("554 to DATA", {"data": Reply("554 no")}, refused, 0),
            ("250 to DATA, which is no 354", {"data": Reply("250 well")}, ("later", "network"), 0),
            ("garbage as a greeting", {"greeting": Bytes(b"hello there\r\n", Drop())},
             ("later", "network"), 0),
            ("garbage to RCPT", {"rcpt": Bytes(b"\x00\xff\r\n", Drop())}, ("later", "network"), 0),
            ("a 354 to RCPT", {"rcpt": Reply("354 too soon")}, ("later", "network"), 0),
        ])

    def test_after_the_dot_a_whole_line_decides_and_nothing_else(self):
        accepted, unknown = ("accepted", "none"), ("unknown", "network")
        self.check_smtp_faults([
            ("250", {}, accepted, 1),
            ("251", {"dot": Reply("251 forwarded")}, accepted, 1),
            ("250 in two lines", {"dot": Reply("250-taken", "250 really")}, accepted, 1),
            ("250 byte by byte", {"dot": Dribble(b"250 2.0.0 taken\r\n")}, accepted, 1),
            ("a bare 250", {"dot": Bytes(b"250\r\n", Drop())}, accepted, 1),
            ("250 and then gone", {"dot": Bytes(b"250 taken\r\n", Drop())}, accepted, 1),
            ("250 and 421 in one packet", {"dot": Bytes(b"250 taken\r\n421 bye\r\n", Drop())},
             accepted, 1),
            ("half a 250", {"dot": Bytes(b"250", Drop())}, unknown, 1),
            ("a 250 without its line end", {"dot": Bytes(b"250 taken", Drop())}, unknown, 1),
            ("the first line of two", {"dot": Bytes(b"250-taken\r\n", Drop())}, unknown, 1),
            ("garbage", {"dot": Bytes(b"taken, thanks\r\n", Drop())}, unknown, 1),
            ("a code that is none", {"dot": Bytes(b"999 taken\r\n", Drop())}, unknown, 1),
            ("an intermediate code", {"dot": Bytes(b"350 more?\r\n", Drop())}, unknown, 1),
            ("451", {"dot": Reply("451 4.3.0 not stored")}, ("later", "busy"), 0),
            ("421", {"dot": Reply("421 shutting down")}, ("later", "busy"), 0),
            ("452", {"dot": Reply("452 4.3.1 disk full")}, ("later", "busy"), 0),
            ("554", {"dot": Reply("554 5.7.1 spam")}, ("refused", "message"), 0),
            ("552 while the mail is still being written",
             {"body": Bytes(b"552 5.3.4 too big\r\n", Drop())}, ("refused", "message"), 0),
            ("421 while the mail is still being written",
             {"body": Bytes(b"421 4.3.2 later\r\n", Drop())}, ("later", "busy"), 0),
        ])

    def test_an_answer_before_the_end_of_the_mail_accepts_nothing(self):
        """The server reads no further, so the mail cannot have been written to its end."""
        big = mail(1, ("x" * 76 + "\r\n") * 300000)  # more than the sockets' buffers hold
        read_on = threading.Event()
        with SmtpServer({"body": Bytes(b"250 taken\r\n", Hang(until=read_on))}) as server:
            plan = self.plan()
            plan.mail(plan.smtp("g", server), body=big)
            plan.start()
            self.assertEqual([two(o) for o in plan.outcomes()], [("unknown", "network")])
            self.assertEqual(plan.finish()[0], 0)
            read_on.set()

    def test_a_silent_server_is_given_up_after_its_time_and_no_sooner(self):
        later, unknown = ("later", "network"), ("unknown", "network")
        self.check_smtp_faults([
            ("no greeting", {"greeting": Hang()}, later, 0),
            ("half a greeting", {"greeting": Bytes(b"220 ma", Hang())}, later, 0),
            ("no answer to MAIL", {"mail": Hang()}, later, 0),
            ("no answer to RCPT", {"rcpt": Hang()}, later, 0),
            ("no answer to DATA", {"data": Hang()}, later, 0),
            ("no answer after the dot", {"dot": Hang()}, unknown, 1),
            ("half an answer after the dot", {"dot": Bytes(b"250", Hang())}, unknown, 1),
        ], timeout_s=1, answer_timeout_s=2)

    def test_a_login_that_fails_says_so_and_never_blames_the_mail(self):
        login = ("later", "login")
        self.check_smtp_faults([
            ("535", {"auth": Reply("535 5.7.8 no")}, login, 0),
            ("534", {"auth": Reply("534 5.7.9 too weak")}, login, 0),
            ("454, which passes", {"auth": Reply("454 4.7.0 try later")}, ("later", "busy"), 0),
            ("dropped", {"auth": Drop()}, ("later", "network"), 0),
            ("well", {}, ("accepted", "none"), 1),
        ], user="shop", secret_file=self.secret())

    def test_no_mail_leaves_without_the_login_that_was_asked_for(self):
        with SmtpServer() as server:  # offers no AUTH
            plan = self.plan()
            plan.mail(plan.smtp("g", server, user="shop", secret_file=self.secret()))
            found = plan.run()
        self.assertEqual(two(found[1]), ("later", "login"))
        self.assertFalse([line for _, line in server.commands if line.startswith("MAIL")])

    # --- SMTP: time, connections, bytes -------------------------------------------------------

    def test_nothing_waits_for_a_server_that_thinks_after_the_dot(self):
        """A second server hangs at its greeting, so its outcome is the clock: timeout_s is over,
        and the first one, whose mail was said long before, is still waited for."""
        answer = threading.Event()
        with SmtpServer({"dot": Hang(until=answer)}) as slow, SmtpServer() as quick, \
                SmtpServer({"greeting": Hang()}) as clock:
            plan = self.plan()
            first = plan.mail(plan.smtp("slow", slow, timeout_s=1))
            plan.smtp("quick", quick, connections=2)
            others = {plan.mail("quick") for _ in range(40)}
            late = plan.mail(plan.smtp("clock", clock, timeout_s=1))
            plan.start()
            order = []
            for outcome in plan.outcomes():
                order.append(outcome["id"])
                self.assertEqual(outcome["verdict"],
                                 "later" if outcome["id"] == late else "accepted")
                if len(order) == len(others) + 1:
                    answer.set()
            answer.set()
            self.assertEqual(plan.finish()[0], 0)
        self.assertEqual(order[-1], first)
        self.assertEqual(set(order), others | {first, late})

    def test_the_programs_end_waits_for_no_goodbye(self):
        with SmtpServer({"quit": Hang()}) as server:
            plan = self.plan()
            plan.mail(plan.smtp("g", server))
            self.assertEqual(plan.run()[1]["verdict"], "accepted")
            self.assertTrue(server.wait_until(lambda s: s.open == 0))
        self.assertIn("QUIT", [line for _, line in server.commands])

    def test_five_hundred_mails_arrive_byte_by_byte_over_four_connections(self):
        chance = random.Random(SEED)
        print(f"seed {SEED}")
        with SmtpServer() as server:
            plan = self.plan()
            plan.smtp("g", server, connections=4)
            sent = {}
            for number in range(1, 501):
                pieces = [chance.choice([".", "..", ". ", "", "x" * 998, "a.b", ".\t.",
                                         "Safe to wash."]) for _ in range(chance.randrange(12))]
                end = "\r\n" if chance.random() < 0.8 or not pieces else ""
                body = mail(number, "\r\n".join(pieces) + end)
                sent[f"<key{number}@example.com>"] = body if body.endswith(b"\r\n") \
                    else body + b"\r\n"
                plan.mail("g", body=body)
            found = plan.run()
        self.assertEqual({outcome["verdict"] for outcome in found.values()}, {"accepted"})
        self.assertEqual(len(server.mails), 500)
        for arrived in server.mails:
            self.assertEqual(arrived.data, sent.pop(arrived.message_id))
            self.assertEqual(arrived.recipients, ["ada@example.com"])
            self.assertEqual(arrived.sender, "shop@example.com")
        self.assertEqual(server.connections, 4)
        self.assertLessEqual(server.peak, 4)

    def test_one_refused_address_holds_nobody_else_up(self):
        def rcpt(recipient):
            return Reply("550 5.1.1 nobody") if recipient.startswith("gone") else None
        with SmtpServer({"rcpt": rcpt}) as server:
            plan = self.plan()
            plan.smtp("g", server, connections=1)
            for name in ["ada", "gone", "bea", "gone2", "cem"]:
                plan.mail("g", to=f"{name}@example.com")
            found = plan.run()
        self.assertEqual([found[n]["verdict"] for n in range(1, 6)],
                         ["accepted", "refused", "accepted", "refused", "accepted"])
        self.assertEqual([m.recipients for m in server.mails],
                         [["ada@example.com"], ["bea@example.com"], ["cem@example.com"]])
        self.assertEqual(server.connections, 1)

    def test_a_kept_connection_that_died_costs_a_mail_nothing(self):
        for what, script in [
                ("closed after the first mail", {"dot": [Bytes(b"250 taken\r\n", Drop()), None]}),
                ("closed at the second MAIL", {"mail": [None, Drop(), None]}),
                ("421 at the second MAIL", {"mail": [None, Bytes(b"421 idle\r\n", Drop()), None]})]:
            with self.subTest(what), SmtpServer(script) as server:
                plan = self.plan()
                plan.smtp("g", server, connections=1)
                first = plan.mail("g")
                plan.mail("g", after=first)
                found = plan.run()
                self.assertEqual([found[n]["verdict"] for n in (1, 2)], ["accepted"] * 2)
                self.assertEqual([m.message_id for m in server.mails],
                                 ["<key1@example.com>", "<key2@example.com>"])
                self.assertEqual(server.connections, 2)

    def test_an_address_that_would_be_a_second_line_opens_no_connection(self):
        with SmtpServer() as server:
            plan = self.plan()
            plan.smtp("g", server)
            for address in ["ada@example.com\r\nRCPT TO:<bea@example.com>", "ada@example.com>\r\n",
                            "ada@example.com,bea@example.com", "<>", "-f@example.com", "",
                            "ada@example.com\nDATA", "Ada <ada@example.com>", "+447700900123"]:
                plan.mail("g", to=address)
            for body in [mail(1, "one\ntwo\r\n"), mail(1, "one\n.\r\nMAIL FROM:<x@example.com>"),
                         mail(1, "one\r.\r\n"), mail(1, "x" * 999), mail(1, "a\0b")]:
                plan.mail("g", body=body)
            found = plan.run()
        for outcome in found.values():
            self.assertEqual(two(outcome), ("refused", "message"), outcome["answer"])
        self.assertEqual((server.connections, server.mails), (0, []))

    def test_a_server_that_talks_without_end_is_given_up(self):
        with SmtpServer({"dot": Bytes(b"250-more\r\n" * 40000, Hang())}) as server:
            plan = self.plan()
            plan.mail(plan.smtp("g", server))
            found = plan.run()
        self.assertEqual(two(found[1]), ("unknown", "network"))
        self.assertIn("256 KiB", found[1]["answer"])

    # --- TLS ----------------------------------------------------------------------------------

    def login(self):
        return {"user": "shop", "secret_file": self.secret()}

    def check_tls(self, server, expected, **fields):
        with server:
            plan = self.plan()
            plan.mail(plan.smtp("g", server, host="localhost", **self.login(), **fields))
            outcome = plan.run()[1]
        self.assertEqual(outcome["verdict"], expected, outcome["answer"])
        if expected != "accepted":
            self.assertEqual(outcome["failure"], "network", outcome["answer"])
            self.assertEqual((server.raw_credentials, server.mails), ([], []))
            said = " ".join(line for _, line in server.commands)
            self.assertNotIn("AUTH", said)
            self.assertNotIn("MAIL", said)

    def test_mails_go_over_implicit_tls_and_starttls_with_a_login(self):
        for tls in ["tls", "starttls"]:
            with self.subTest(tls):
                server = SmtpServer(tls=tls, context=self.context,
                                    logins={"shop": "s3cret-Word"})
                self.check_tls(server, "accepted", tls=tls, ca_file=self.ca)
                self.assertEqual(len(server.mails), 1)
                self.assertEqual([base64.b64decode(c) for c in server.raw_credentials],
                                 [b"\0shop\0s3cret-Word"])

    def test_a_stripped_starttls_gets_no_password(self):
        logins = {"shop": "s3cret-Word"}
        self.check_tls(SmtpServer(logins=logins), "later", tls="starttls", ca_file=self.ca)
        for what in [Reply("454 4.7.0 TLS not available"), Bytes(b"220 go\r\n250 injected\r\n")]:
            with self.subTest(what):
                server = SmtpServer({"starttls": what}, tls="starttls", context=self.context,
                                    logins=logins)
                with server:
                    plan = self.plan()
                    plan.mail(plan.smtp("g", server, host="localhost", tls="starttls",
                                        ca_file=self.ca, **self.login()))
                    outcome = plan.run()[1]
                self.assertEqual(outcome["verdict"], "later")
                self.assertEqual((server.raw_credentials, server.mails), ([], []))

    def test_a_false_certificate_gets_no_password(self):
        other = certificates.authority(self.folder, "other")
        old = certificates.context(self.folder, self.ca, "server-old")
        old.set_ciphers("DEFAULT:@SECLEVEL=0")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # that it is old is the point
            old.minimum_version = ssl.TLSVersion.TLSv1
            old.maximum_version = ssl.TLSVersion.TLSv1_1
        contexts = {
            "wrong name": certificates.context(self.folder, self.ca, "wrong", "mail.example.com"),
            "run out": certificates.context(self.folder, self.ca, "expired",
                                            dates=("20200101000000Z", "20210101000000Z")),
            "unknown authority": certificates.context(self.folder, other, "stranger"),
            "TLS 1.1": old,
        }
        for what, context in contexts.items():
            for tls in ["tls", "starttls"]:
                with self.subTest(what, tls=tls):
                    self.check_tls(SmtpServer(tls=tls, context=context,
                                              logins={"shop": "s3cret-Word"}),
                                   "later", tls=tls, ca_file=self.ca)
            with self.subTest(what, tls="https"), HttpServer(context=context) as server:
                plan = self.plan()
                plan.text(plan.http("g", server, ca_file=self.ca, **self.login()), server)
                self.assertEqual(two(plan.run()[1]), ("later", "network"))
                self.assertEqual(server.requests, [])

    def test_a_pinned_authority_is_the_only_one(self):
        with HttpServer(context=self.context) as server:
            plan = self.plan()
            plan.text(plan.http("pinned", server, ca_file=self.ca, **self.login()), server)
            plan.text(plan.http("system", server, **self.login()), server)
            found = plan.run()
        self.assertEqual([found[n]["verdict"] for n in (1, 2)], ["accepted", "later"])
        self.assertEqual([r.headers["authorization"] for r in server.requests],
                         ["Basic " + base64.b64encode(b"shop:s3cret-Word").decode()])

    def test_nothing_is_sent_in_clear_to_another_machine(self):
        for fields in [{"kind": "smtp", "host": "mail.example.com", "tls": "none",
                        "from": "shop@example.com"},
                       {"kind": "smtp", "host": "127.example.com", "tls": "none",
                        "from": "shop@example.com"},
                       {"kind": "http", "url": "http://sms.example.com/send"},
                       {"kind": "http", "url": "http://127.0.0.1.example.com/send"},
                       {"kind": "http", "url": "http://localhost@sms.example.com/"},
                       {"kind": "http", "url": "http://[::1].example.com/"},
                       {"kind": "http", "url": "file:///etc/hostname"}]:
            plan = self.plan()
            plan.gateway("g", **fields)
            status, errors = plan.start().finish()
            self.assertEqual(status, 1, fields)
            self.assertIn('gateway "g"', errors)

    def test_a_gateway_that_lacks_something_is_named_before_anything_is_sent(self):
        whole = {"kind": "smtp", "host": "mail.example.com", "from": "shop@example.com"}
        for fields, problem in [({"kind": "smtp", "from": "shop@example.com"}, "no host"),
                                ({**whole, "from": "shop"}, "no valid from"),
                                ({**whole, "from": "a@example.com\r\nx"}, "no valid from"),
                                ({**whole, "ca_file": "/nowhere/ca.pem"}, "ca_file"),
                                ({**whole, "secret_file": "/nowhere/secret"}, "/nowhere/secret"),
                                ({"kind": "http"}, "needs a url"),
                                ({"kind": "folder"}, "no folder")]:
            with self.subTest(problem):
                plan = self.plan()
                plan.gateway("g", **fields)
                status, errors = plan.start().finish()
                self.assertEqual(status, 1)
                self.assertIn(problem, errors)

    def test_servers_are_reached_by_the_newer_protocol_too(self):
        try:
            mails, texts = SmtpServer(address="::1"), HttpServer(address="::1")
        except OSError:
            self.skipTest("this machine has no IPv6 loopback")
        with mails, texts:
            plan = self.plan()
            plan.mail(plan.smtp("m", mails, host="::1"))
            plan.text(plan.http("t", texts), texts)
            self.assertEqual([o["verdict"] for o in plan.run().values()], ["accepted"] * 2)

    # --- HTTP ---------------------------------------------------------------------------------

    def check_http_faults(self, rows, **fields):
        """rows: (what, answer, (verdict, failure), more of the outcome)."""
        plan, servers = self.plan(), []
        for _, answer, _, _ in rows:
            servers.append(HttpServer(answer).__enter__())
        try:
            for number, server in enumerate(servers):
                plan.text(plan.http(f"g{number}", server, **fields), server)
            found = plan.run()
        finally:
            for server in servers:
                server.__exit__()
        for number, (what, _, expected, more) in enumerate(rows):
            with self.subTest(what):
                outcome = found[number + 1]
                self.assertEqual(two(outcome), expected, outcome["answer"])
                self.assertEqual({**outcome, **more}, outcome)
                self.assertLessEqual(len(servers[number].requests), 1)

    def test_an_answer_of_a_gateway_that_honours_the_key_has_its_verdict(self):
        unknown = ("unknown", "network")
        queued = '{"status": "queued", "messages": [{"id": "a1"}]}'
        self.check_http_faults([
            ("taken", None, ("accepted", "none"), {"reference": "ref-key1"}),
            ("taken with another of the statuses", Answer(200, queued), ("accepted", "none"),
             {"reference": "a1"}),
            ("the body is lost", Answer(202, queued, cut=0), unknown, {}),
            ("half the body is lost", Answer(202, queued, cut=20), unknown, {}),
            ("no answer at all", Answer(drop="after"), unknown, {}),
            ("half a status line", Answer(raw=b"HTTP/1.1 20"), unknown, {}),
            ("garbage", Answer(raw=b"\x00\x01\x02\r\n\r\n"), unknown, {}),
            ("in progress", Answer(409, '{"error": "in progress"}'), ("later", "busy"), {}),
            ("too fast", Answer(429, headers={"Retry-After": "37"}), ("later", "busy"),
             {"retry_after": 37}),
            ("too fast, for longer than a day", Answer(429, headers={"Retry-After": "9999999"}),
             ("later", "busy"), {"retry_after": 86400}),
            ("down, with a date on its own clock",
             Answer(503, headers={"Date": "Wed, 25 Nov 2026 10:00:00 GMT",
                                  "Retry-After": "Wed, 25 Nov 2026 10:02:03 GMT"}),
             ("later", "busy"), {"retry_after": 123}),
            ("broken", Answer(500), ("later", "busy"), {}),
            ("no login", Answer(401), ("later", "login"), {}),
            ("not allowed", Answer(403), ("later", "login"), {}),
            ("a bad number", Answer(422, '{"error": "no such number"}'), ("refused", "message"),
             {}),
            ("a page instead of an answer", Answer(200, "<html>Welcome</html>"), unknown, {}),
            ("a failure inside a 200", Answer(200, '{"status": "failed"}'),
             ("refused", "message"), {}),
            ("an answer of another shape", Answer(200, '{"status": {"a": 1}}'), unknown, {}),
            ("nested too deep", Answer(200, "[" * 17 + "]" * 17), unknown, {}),
            ("endless", Answer(200, " " * (256 * 1024) + queued), unknown, {}),
            ("opted out there", Answer(400, '{"error": {"code": 21}}'), ("refused", "message"),
             {"opted_out": True}),
        ], opted_out_path="error.code", opted_out_value="21")

    def test_a_gateway_without_keys_is_never_asked_twice_by_guess(self):
        self.check_http_faults([
            ("broken", Answer(500), ("unknown", "busy"), {}),
            ("a dead back end", Answer(502), ("unknown", "busy"), {}),
            ("down", Answer(503), ("unknown", "busy"), {}),
            ("down, and says until when", Answer(503, headers={"Retry-After": "5"}),
             ("later", "busy"), {"retry_after": 5}),
            ("no answer at all", Answer(drop="after"), ("unknown", "network"), {}),
        ], unsure="ask")

    def test_a_silent_gateway_is_given_up_after_its_time(self):
        self.check_http_faults([("silent", Answer(hang=True), ("unknown", "network"), {})],
                               timeout_s=1, answer_timeout_s=1)

    def test_a_gateway_that_is_not_there_was_not_asked(self):
        with HttpServer() as server:
            url, port = server.url, server.port
        plan = self.plan()
        server.url = url
        plan.text(plan.http("http", server), server)
        server.port = port
        plan.mail(plan.smtp("smtp", server))
        found = plan.run()
        self.assertEqual([two(found[n]) for n in (1, 2)], [("later", "network")] * 2)

    def test_a_redirect_reaches_no_second_host(self):
        with HttpServer() as second:
            for status in [301, 302, 303, 307, 308]:
                for place in [second.url, "file:///etc/hostname", "//127.0.0.1:1/"]:
                    with HttpServer(Answer(status, headers={"Location": place})) as server:
                        plan = self.plan()
                        plan.text(plan.http("g", server), server)
                        self.assertIn(plan.run()[1]["verdict"], ["later", "unknown"])
            self.assertEqual(second.connections, 0)

    def test_a_request_leaves_once_though_its_kept_connection_dies(self):
        for method, body in [("POST", b"{}"), ("PUT", b"{}"), ("GET", None), ("POST", None)]:
            with self.subTest(method, body=body), \
                    HttpServer([None, Answer(drop="after"), None]) as server:
                plan = self.plan()
                plan.http("g", server, method=method, connections=1, unsure="ask")
                first = plan.text("g", server, **({"body": body} if body else {"body": None}))
                plan.text("g", server, after=first,
                          **({"body": body} if body else {"body": None}))
                found = plan.run()
                self.assertEqual([found[n]["verdict"] for n in (1, 2)], ["accepted", "unknown"])
                self.assertEqual([r.key for r in server.requests], ["key1", "key2"])
                self.assertEqual([r.connection for r in server.requests], [1, 1])
                self.assertEqual({r.method for r in server.requests}, {method})

    def test_five_hundred_requests_arrive_once_over_four_connections(self):
        with HttpServer() as server:
            plan = self.plan()
            plan.http("g", server, connections=4)
            bodies = {}
            for number in range(1, 501):
                bodies[f"key{number}"] = body = json.dumps({"text": "ü" * number}).encode()
                plan.text("g", server, body=body)
            found = plan.run()
        self.assertEqual({o["verdict"] for o in found.values()}, {"accepted"})
        self.assertEqual(sorted(r.key for r in server.requests), sorted(bodies))
        for request in server.requests:
            self.assertEqual(request.body, bodies[request.key])
            self.assertEqual(request.headers["content-type"], "application/json")
            self.assertNotIn("expect", request.headers)
        self.assertEqual(found[7]["reference"], "ref-key7")
        self.assertLessEqual(server.peak, 4)
        self.assertEqual(server.connections, 4)

    def test_a_number_or_header_that_is_none_opens_no_connection(self):
        with HttpServer() as server:
            plan = self.plan()
            plan.http("g", server)
            for number in ["07700900123", "+44 7700 900123", "+4477009001234567", "+0123456789",
                           "+447700900123\r\nX: y", "", "+"]:
                plan.text("g", server, to=number)
            plan.text("g", server, headers="X: a\r\nY: b;")
            plan.text("g", server, key="../key")
            found = plan.run()
        for outcome in found.values():
            self.assertEqual(two(outcome), ("refused", "message"), outcome["answer"])
        self.assertEqual(server.connections, 0)

    def test_no_proxy_of_the_environment_is_asked(self):
        with HttpServer() as proxy, HttpServer() as server, SmtpServer() as mails:
            names = ["http_proxy", "https_proxy", "all_proxy", "ALL_PROXY", "HTTPS_PROXY"]
            os.environ.update({name: f"http://127.0.0.1:{proxy.port}" for name in names})
            try:
                plan = self.plan()
                plan.text(plan.http("g", server), server)
                plan.mail(plan.smtp("m", mails))
                found = plan.run()
            finally:
                for name in names:
                    del os.environ[name]
        self.assertEqual([o["verdict"] for o in found.values()], ["accepted"] * 2)
        self.assertEqual(proxy.connections, 0)

    def test_an_idle_connection_takes_its_leave_by_itself(self):
        """Within its ten seconds, while the program waits for something else."""
        with SmtpServer() as server:
            plan = self.plan()
            first = plan.mail(plan.smtp("g", server))
            plan.mail("g", after="stdin")
            plan.start()
            outcomes = plan.outcomes()
            self.assertEqual(next(outcomes)["id"], first)
            self.assertTrue(server.wait_until(lambda s: s.open == 0))
            self.assertEqual([line for _, line in server.commands][-1], "QUIT")
            plan.process.stdin.write(b"go\n")
            plan.process.stdin.flush()
            self.assertEqual([o["verdict"] for o in outcomes], ["accepted"])
            self.assertEqual(plan.finish()[0], 0)

    def test_a_server_that_closes_an_idle_connection_is_noticed(self):
        with SmtpServer({"dot": [Bytes(b"250 taken\r\n", Drop()), None]}) as server:
            plan = self.plan()
            plan.mail(plan.smtp("g", server))
            plan.mail("g", after="stdin")
            plan.start()
            outcomes = plan.outcomes()
            next(outcomes)
            self.assertTrue(server.wait_until(lambda s: s.open == 0))
            plan.process.stdin.write(b"go\n")
            plan.process.stdin.flush()
            self.assertEqual([o["verdict"] for o in outcomes], ["accepted"])
            self.assertEqual(plan.finish()[0], 0)
        self.assertEqual([m.message_id for m in server.mails],
                         ["<key1@example.com>", "<key2@example.com>"])

    # --- the wait -----------------------------------------------------------------------------

    def test_the_wait_wakes_for_the_callers_own_descriptor(self):
        with SmtpServer() as server:
            plan = self.plan()
            plan.smtp("g", server)
            plan.mail("g", after="stdin")
            plan.start()
            plan.process.stdin.write(b"go\n")
            plan.process.stdin.flush()
            self.assertEqual([o["verdict"] for o in plan.outcomes()], ["accepted"])
            self.assertEqual(plan.finish()[0], 0)


if __name__ == "__main__":
    if not os.path.exists(TOOL):
        print(f"skipped: {TOOL} is not built")
        sys.exit(77)
    if not shutil.which("openssl"):
        print("skipped: certificates need the openssl command: apt-get install openssl")
        sys.exit(77)
    unittest.main(verbosity=1)
