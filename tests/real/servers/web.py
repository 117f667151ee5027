"""A text service over HTTPS: Python's own HTTP server with a certificate of the test's authority.

It honours Idempotency-Key as such services do: a key that was taken is answered with the same
reference again and delivered once. It records what it was asked and what it delivered.
"""

import http.server
import json
import os
import pathlib
import shutil
import sys
import tempfile
import threading

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
import certificates


class Handler(http.server.BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def do_POST(self):
        length = int(self.headers["Content-Length"])
        body = self.rfile.read(length)
        if len(body) < length:  # the other side went away in the middle: nothing was asked
            self.close_connection = True
            return
        status, answer = self.server.web.take(self.path, self.headers, body)
        text = json.dumps(answer).encode()
        self.send_response(status)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(text)))
        self.end_headers()
        self.wfile.write(text)

    def log_message(self, *_):
        pass


class Server(http.server.ThreadingHTTPServer):
    request_queue_size = 64

    def get_request(self):
        """The handshake belongs to the peer's own thread."""
        plain, address = super().get_request()
        return self.web.context.wrap_socket(plain, server_side=True,
                                            do_handshake_on_connect=False), address

    def handle_error(self, request, client_address):
        with self.web.changed:
            self.web.broken += 1


class Web:
    token = "t0ken-= /+="

    def __enter__(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="bl-web-"))
        self.ca = certificates.authority(str(self.folder))
        self.other_ca = certificates.authority(str(self.folder), "other")
        self.context = certificates.context(str(self.folder), self.ca, "server")
        self.changed = threading.Condition()
        self.requests, self.delivered, self.broken = [], [], 0
        self.taken = {}  # key -> reference
        self.gate = None  # an event awaited between taking and answering
        self.server = Server(("127.0.0.1", 0), Handler)
        self.server.web = self
        self.server.daemon_threads = True
        self.url = f"https://localhost:{self.server.server_port}/v1/messages"
        self.thread = threading.Thread(target=self.server.serve_forever)
        self.thread.start()
        return self

    def __exit__(self, *_):
        self.server.shutdown()
        self.server.server_close()
        self.thread.join()
        shutil.rmtree(self.folder)

    def take(self, path, headers, body):
        with self.changed:
            self.requests.append((path, headers, body))
            if headers["Authorization"] != f"Bearer {self.token}":
                return 401, {"error": "no such token"}
            key = headers["Idempotency-Key"]
            if key is None or key not in self.taken:
                reference = f"ref-{len(self.delivered) + 1}"
                self.taken[key] = reference
                self.delivered.append((key, json.loads(body), reference))
            answer = 202, {"status": "queued", "messages": [{"id": self.taken.get(key)}]}
            self.changed.notify_all()
        if self.gate:
            self.gate.wait(60)
        return answer

    def wait_until(self, condition, seconds=30):
        with self.changed:
            return self.changed.wait_for(lambda: condition(self), seconds)
