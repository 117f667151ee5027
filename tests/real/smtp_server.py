"""An SMTP server for tests: it records every mail it took and everything it was told, and does
the one wrong thing it is scripted to do.

    with SmtpServer(script={"dot": Drop()}) as server:
        ... server.port ...
        server.mails, server.commands

A script maps a moment to what happens there instead of the usual reply:

    greeting ehlo starttls auth mail rcpt data   instead of the reply to it
    body                                         after the first bytes of the mail, before its end
    dot                                          after the final dot, instead of the 250
    quit                                         instead of the 221

A value is an action, a list of actions (one a time, the last one for ever), or a function of the
argument (the recipient for rcpt, the message's key for dot) that returns an action or None.
"""

import email
import socket
import ssl
import threading


class Reply:
    """Says these lines (CRLF is added to each) and goes on."""

    def __init__(self, *lines):
        self.bytes = b"".join(line.encode() + b"\r\n" for line in lines)


class Bytes:
    """Says exactly these bytes; then goes on, or hangs, or drops."""

    def __init__(self, data, then=None):
        self.data, self.then = data, then


class Dribble:
    """Says the bytes one by one, each in a packet of its own."""

    def __init__(self, data):
        self.data = data


class Drop:
    """Closes the connection; with reset=True by an RST."""

    def __init__(self, reset=False, take=False):
        self.reset, self.take = reset, take


class Hang:
    """Says nothing until the server ends, or until `until` is set; then the usual reply."""

    def __init__(self, until=None):
        self.until = until


class Closed(Exception):
    pass


class Mail:
    def __init__(self, sender, recipients, data, connection):
        self.sender, self.recipients, self.connection = sender, recipients, connection
        self.data = data  # as it came, dots undone
        self.message_id = email.message_from_bytes(data)["Message-ID"]


class SmtpServer:
    def __init__(self, script=None, tls=None, context=None, logins=None, offers=(),
                 address="127.0.0.1"):
        self.script = dict(script or {})
        self.tls, self.context = tls, context  # tls: None, "tls" or "starttls"
        self.logins = logins  # {user: password}; None: AUTH is not offered
        self.offers = offers
        self.lock = threading.Lock()
        self.mails, self.commands, self.connections = [], [], 0
        self.raw_credentials = []  # AUTH lines and what followed, however they came
        self.open, self.peak = 0, 0
        self.changed = threading.Condition(self.lock)
        self.socket = socket.create_server(
            (address, 0), backlog=128,
            family=socket.AF_INET6 if ":" in address else socket.AF_INET)
        self.port = self.socket.getsockname()[1]
        self.threads, self.live = [], set()
        self.awaited = []  # events a session waits for: a test that fails must not leave it there

    def __enter__(self):
        self.thread = threading.Thread(target=self.accept)
        self.thread.start()
        return self

    def __exit__(self, *_):
        for event in self.awaited:
            event.set()
        self.socket.shutdown(socket.SHUT_RDWR)
        self.socket.close()
        with self.lock:
            for live in self.live:
                try:
                    live.shutdown(socket.SHUT_RDWR)
                except OSError:
                    pass
        self.thread.join()
        for thread in self.threads:
            thread.join()

    def accept(self):
        while True:
            try:
                connection, _ = self.socket.accept()
            except OSError:
                return
            connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            thread = threading.Thread(target=self.serve, args=(connection,))
            with self.lock:
                self.connections += 1
                self.live.add(connection)
                number = self.connections
            self.threads.append(thread)
            thread.args = number
            thread.start()

    def serve(self, connection):
        session = Session(self, connection, threading.current_thread().args)
        with self.lock:
            self.open += 1
            self.peak = max(self.peak, self.open)
        try:
            session.run()
        except (Closed, OSError, ssl.SSLError):
            pass
        finally:
            with self.changed:
                self.open -= 1
                self.live.discard(connection)
                self.changed.notify_all()
            session.close()

    def action(self, moment, argument=None):
        with self.lock:
            action = self.script.get(moment)
            if isinstance(action, list):
                action = action.pop(0) if len(action) > 1 else action[0]
        return action(argument) if callable(action) else action

    def wait_until(self, condition, seconds=30):
        """Waits until condition(self) holds; whether it came to that."""
        with self.changed:
            return self.changed.wait_for(lambda: condition(self), seconds)


class Session:
    def __init__(self, server, connection, number):
        self.server, self.socket, self.number = server, connection, number
        self.buffer = b""
        self.secure, self.user = False, None
        self.sender, self.recipients = None, []

    # --- bytes

    def close(self):
        self.socket.close()

    def secure_now(self):
        plain = self.socket
        with self.server.lock:
            self.server.live.discard(plain)
        self.socket = self.server.context.wrap_socket(plain, server_side=True)
        with self.server.lock:
            self.server.live.add(self.socket)
        self.secure = True

    def line(self):
        while b"\n" not in self.buffer:
            data = self.socket.recv(65536)
            if not data:
                raise Closed
            self.buffer += data
        line, self.buffer = self.buffer.split(b"\n", 1)
        return line.rstrip(b"\r").decode("latin-1")

    def say(self, *lines):
        self.socket.sendall(b"".join(line.encode() + b"\r\n" for line in lines))

    # --- acting

    def act(self, moment, usual, argument=None):
        """Does what is scripted, or says the usual lines. True when it went as usual."""
        action = self.server.action(moment, argument)
        if action is None:
            self.say(*usual)
            return True
        return self.do(action, usual)

    def do(self, action, usual):
        if isinstance(action, Reply):
            self.socket.sendall(action.bytes)
            return action.bytes[:1] in (b"2", b"3")
        if isinstance(action, Bytes):
            self.socket.sendall(action.data)
            return self.do(action.then, usual) if action.then else False
        if isinstance(action, Dribble):
            for i in range(len(action.data)):
                self.socket.sendall(action.data[i:i + 1])
            return action.data[:1] in (b"2", b"3")
        if isinstance(action, Hang):
            return self.hang(action, usual)
        if action.reset:
            self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER,
                                   b"\1\0\0\0\0\0\0\0")
        raise Closed

    def hang(self, action, usual):
        if action.until:
            self.server.awaited.append(action.until)
            action.until.wait()
            self.say(*usual)
            return True
        try:  # until the client or the server ends
            while self.socket.recv(65536):
                pass
        except OSError:
            pass
        raise Closed

    # --- the dialogue

    def run(self):
        if self.server.tls == "tls":
            self.secure_now()
        self.act("greeting", ["220 mail.example.com ready"])
        while True:
            line = self.line()
            verb, _, rest = line.partition(" ")
            with self.server.changed:
                self.server.commands.append((self.number, line))
                self.server.changed.notify_all()
            handler = getattr(self, "do_" + verb.lower(), None)
            if handler is None:
                self.say("500 what?")
            else:
                handler(rest)

    def do_ehlo(self, _):
        lines = ["mail.example.com"] + list(self.server.offers)
        if self.server.tls == "starttls" and not self.secure:
            lines.append("STARTTLS")
        if self.server.logins is not None:
            lines.append("AUTH PLAIN LOGIN")
        usual = ["250-" + line for line in lines[:-1]] + ["250 " + lines[-1]]
        self.act("ehlo", usual)

    do_helo = do_ehlo

    def do_starttls(self, _):
        if self.act("starttls", ["220 go"]):
            self.secure_now()

    def do_auth(self, rest):
        import base64
        mechanism, _, first = rest.partition(" ")
        if mechanism.upper() != "PLAIN":
            self.say("504 PLAIN only")
            return
        if not first:
            self.say("334 ")
            first = self.line()
        with self.server.lock:
            self.server.raw_credentials.append(first)
        _, user, password = base64.b64decode(first).decode().split("\0")
        good = self.server.logins.get(user) == password
        usual = ["235 welcome"] if good else ["535 5.7.8 no such login"]
        if self.act("auth", usual) and good:
            self.user = user

    def do_mail(self, rest):
        if self.server.logins is not None and not self.user:
            self.say("530 5.7.0 log in first")
        elif self.sender is not None:
            self.say("503 5.5.1 one mail at a time")
        elif self.act("mail", ["250 ok"], rest):
            self.sender, self.recipients = rest[len("FROM:"):].strip("<> "), []

    def do_rcpt(self, rest):
        recipient = rest[len("TO:"):].strip("<> ")
        if self.act("rcpt", ["250 ok"], recipient):
            self.recipients.append(recipient)

    def do_rset(self, _):
        self.sender, self.recipients = None, []
        self.act("rset", ["250 ok"])

    def do_noop(self, _):
        self.say("250 ok")

    def do_quit(self, _):
        self.act("quit", ["221 bye"])
        raise Closed

    def do_data(self, _):
        if not self.recipients:
            self.say("503 5.5.1 nobody to send to")
            return
        if not self.act("data", ["354 go on"]):
            return
        self.early()
        mail = Mail(self.sender, list(self.recipients), self.body(), self.number)
        action = self.server.action("dot", mail.message_id)
        refuses = isinstance(action, Reply) and action.bytes[:1] not in (b"2",)
        if not refuses and not (isinstance(action, Drop) and not action.take):
            with self.server.changed:
                self.server.mails.append(mail)
                self.server.changed.notify_all()
        self.sender, self.recipients = None, []
        if action is None:
            self.say("250 2.0.0 taken")
        else:
            self.do(action, ["250 2.0.0 taken"])

    def early(self):
        """What happens in the middle of the mail."""
        action = self.server.action("body")
        if action is None:
            return
        while len(self.buffer) < 16:
            data = self.socket.recv(65536)
            if not data:
                raise Closed
            self.buffer += data
        self.do(action, [])

    def body(self):
        """The mail up to its final dot, as bytes: no line end but CRLF ends anything here."""
        while not (self.buffer.startswith(b".\r\n") or b"\r\n.\r\n" in self.buffer):
            data = self.socket.recv(65536)
            if not data:
                raise Closed
            self.buffer += data
        if self.buffer.startswith(b".\r\n"):
            data, self.buffer = b"", self.buffer[3:]
        else:
            data, self.buffer = self.buffer.split(b"\r\n.\r\n", 1)
            data += b"\r\n"
        lines = data.split(b"\r\n")
        return b"\r\n".join(line[1:] if line.startswith(b".") else line for line in lines)
