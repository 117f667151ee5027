"""An HTTP gateway for tests: records every request, takes each Idempotency-Key once, and gives
the answer it is scripted to give.

    with HttpServer(script=lambda request: Answer(429, headers={"Retry-After": "7"})) as server:
        ... server.url ...
        server.requests, server.accepted

The script may be an Answer, a list of them (one a request, the last one for ever), or a function
of the request. None: 202 with {"status": "queued", "messages": [{"id": "..."}]}.
"""

import json
import socket
import ssl
import threading


class Answer:
    """body: bytes or str. cut: bytes of the body that are really sent before the connection is
    closed. raw: exactly these bytes instead. drop: "before" (nothing is read), "after" (the
    request is taken, nothing is answered). until: an event awaited first. hang: no answer."""

    def __init__(self, status=202, body=None, headers=None, cut=None, raw=None, drop=None,
                 until=None, hang=False, close=False):
        self.status, self.headers, self.cut = status, headers or {}, cut
        self.body = body.encode() if isinstance(body, str) else body
        self.raw, self.drop, self.until = raw, drop, until
        self.hang, self.close = hang, close


class Request:
    def __init__(self, method, path, headers, body, connection):
        self.method, self.path, self.headers = method, path, headers
        self.body, self.connection = body, connection
        self.key = headers.get("idempotency-key")


class Closed(Exception):
    pass


class HttpServer:
    def __init__(self, script=None, context=None, address="127.0.0.1"):
        self.script, self.context = script, context
        self.lock = threading.Lock()
        self.changed = threading.Condition(self.lock)
        self.requests, self.accepted = [], {}
        self.connections = self.open = self.peak = self.busy = self.busiest = 0
        self.raw_bytes = b""  # everything that came in clear before or without TLS
        self.socket = socket.create_server(
            (address, 0), backlog=128,
            family=socket.AF_INET6 if ":" in address else socket.AF_INET)
        self.port = self.socket.getsockname()[1]
        scheme = "https" if context else "http"
        host = f"[{address}]" if ":" in address else "localhost"
        self.url = f"{scheme}://{host}:{self.port}/send"
        self.threads, self.live = [], set()

    def __enter__(self):
        self.thread = threading.Thread(target=self.accept)
        self.thread.start()
        return self

    def __exit__(self, *_):
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
            with self.lock:
                self.connections += 1
                number = self.connections
                self.live.add(connection)
            thread = threading.Thread(target=self.serve, args=(connection, number))
            self.threads.append(thread)
            thread.start()

    def serve(self, connection, number):
        plain = connection
        with self.lock:
            self.open += 1
            self.peak = max(self.peak, self.open)
        try:
            if self.context:
                connection = self.context.wrap_socket(connection, server_side=True)
                with self.lock:
                    self.live.discard(plain)
                    self.live.add(connection)
            buffer = b""
            while True:
                request, buffer = self.read(connection, buffer, number)
                self.answer(connection, request)
        except (Closed, OSError, ssl.SSLError, ValueError):
            pass
        finally:
            with self.changed:
                self.open -= 1
                self.live.discard(connection)
                self.live.discard(plain)
                self.changed.notify_all()
            connection.close()

    def read(self, connection, buffer, number):
        while b"\r\n\r\n" not in buffer:
            data = connection.recv(65536)
            if not data:
                raise Closed
            buffer += data
        head, buffer = buffer.split(b"\r\n\r\n", 1)
        lines = head.decode("latin-1").split("\r\n")
        method, path, _ = lines[0].split(" ", 2)
        pairs = [line.split(":", 1) for line in lines[1:]]
        headers = {name.lower(): value.strip() for name, value in pairs}
        length = int(headers.get("content-length", "0"))
        while len(buffer) < length:
            data = connection.recv(65536)
            if not data:
                raise Closed
            buffer += data
        return Request(method, path, headers, buffer[:length], number), buffer[length:]

    def next_answer(self, request):
        with self.lock:
            self.requests.append(request)
            self.busy += 1
            self.busiest = max(self.busiest, self.busy)
            self.changed.notify_all()
            script = self.script
            if isinstance(script, list):
                script = script.pop(0) if len(script) > 1 else script[0]
        return script(request) if callable(script) else script

    def answer(self, connection, request):
        answer = self.next_answer(request)
        if answer is not None and answer.until:
            answer.until.wait()
        with self.changed:
            self.busy -= 1
            if answer is None or (answer.status < 300 and not answer.raw) or answer.drop:
                self.accepted.setdefault(request.key, request)
            self.changed.notify_all()
        if answer is None:
            text = json.dumps({"status": "queued", "messages": [{"id": "ref-" + str(request.key)}]})
            answer = Answer(202, text, {"Content-Type": "application/json"})
        if answer.drop:
            raise Closed
        if answer.hang:
            while connection.recv(65536):
                pass
            raise Closed
        if answer.raw is not None:
            connection.sendall(answer.raw)
            raise Closed
        self.write(connection, answer)

    def write(self, connection, answer):
        body = answer.body or b""
        headers = {"Content-Length": str(len(body)), **answer.headers}
        head = f"HTTP/1.1 {answer.status} Scripted\r\n" + "".join(
            f"{name}: {value}\r\n" for name, value in headers.items()) + "\r\n"
        connection.sendall(head.encode() + (body if answer.cut is None else body[:answer.cut]))
        if answer.cut is not None or answer.close:
            raise Closed

    def wait_until(self, condition, seconds=30):
        with self.changed:
            return self.changed.wait_for(lambda: condition(self), seconds)
