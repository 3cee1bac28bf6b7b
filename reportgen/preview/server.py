"""The server of a preview, for the person at this computer.

It listens on 127.0.0.1 alone, answers to that name alone, and gives the files of the site's folder
alone. Threads are bounded: at most MOST_ANSWERS answers are being sent, further requests wait in
the system's queue, and pages that wait for the next build (server-sent events) count apart, so that
none of them keeps a page from being sent.
"""

import os
import sys
import threading
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, Final

from reportgen.preview.responses import OWN_FOLDER, Response, plain_text, respond
from reportgen.preview.status import BuildStatus

HOST: Final = "127.0.0.1"
PORT: Final = 8000
QUEUE: Final = 1024  # connections that may wait to be accepted; the system may allow fewer
MOST_ANSWERS: Final = 64  # sent at the same time
MOST_STREAMS: Final = 128  # pages that wait for the next build at the same time
SLOWEST: Final = 10.0  # seconds that a browser may let a request or an answer stand still
KEEP_ALIVE: Final = (
    15.0  # seconds after which a silent stream is tried, so that one that is dead is given up
)
# Every answer says: keep nothing, guess no type, be no part of another site's page.
ALWAYS: Final = {
    "Cache-Control": "no-store",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "same-origin",
}


class PortTakenError(Exception):
    """The preview cannot have the port that was asked for; the message says so."""


class Server(ThreadingHTTPServer):
    """The server of one preview; `port` 0 takes a free one.

    Raises OSError where the port is taken.
    """

    allow_reuse_address = os.name != "nt"  # there it would let two servers have one port
    request_queue_size = QUEUE

    def __init__(self, root: Path, status: BuildStatus, port: int) -> None:
        self.root = root
        self.status = status
        self.free_streams = threading.BoundedSemaphore(MOST_STREAMS)
        self._free_answers = threading.BoundedSemaphore(MOST_ANSWERS)
        self._answering = threading.local()
        super().__init__((HOST, port), Handler)

    def process_request(self, request: Any, client_address: Any) -> None:
        """Answer in a thread of its own, once fewer than MOST_ANSWERS are being sent."""
        self._free_answers.acquire()
        try:
            super().process_request(request, client_address)
        except RuntimeError:  # the system has no thread left
            self._free_answers.release()
            raise

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        """Answer, and make room for another."""
        self._answering.counts = True
        try:
            super().process_request_thread(request, client_address)
        finally:
            self.stop_counting()

    def stop_counting(self) -> None:
        """Make room for another answer, though the one of this thread goes on."""
        if self._answering.counts:
            self._answering.counts = False
            self._free_answers.release()

    def answers_to(self, hosts: list[str]) -> bool:
        """Tell whether a request means this server: another name may be a site that points to this
        computer.
        """
        own = {f"{name}:{self.server_port}" for name in (HOST, "localhost")}
        if self.server_port == 80:
            own |= {HOST, "localhost"}
        return len(hosts) == 1 and hosts[0].casefold() in own

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Say nothing of a browser that went away."""
        if not isinstance(sys.exception(), ConnectionError | TimeoutError):
            super().handle_error(request, client_address)


class Handler(BaseHTTPRequestHandler):
    """Answers one request: only looking is allowed."""

    server: Server
    timeout = SLOWEST

    def do_GET(self) -> None:
        """Send a file, a page of the preview's own, or the stream of events."""
        build = self.server.status.last
        if not self.server.answers_to(self.headers.get_all("Host", [])):
            self._send(
                plain_text(
                    HTTPStatus.FORBIDDEN,
                    "This preview answers only to the address that it printed.",
                )
            )
        elif build is None:
            self._send(plain_text(HTTPStatus.SERVICE_UNAVAILABLE, "The preview has ended."))
        elif self.path == f"{OWN_FOLDER}events":
            self._stream()
        else:
            self._send(respond(self.server.root, self.path, build))

    do_HEAD = do_GET  # noqa: N815

    def do_POST(self) -> None:
        """Refuse to change anything."""
        self._send(
            plain_text(
                HTTPStatus.METHOD_NOT_ALLOWED, "Only GET and HEAD.", (("Allow", "GET, HEAD"),)
            )
        )

    do_PUT = do_PATCH = do_DELETE = do_OPTIONS = do_TRACE = do_CONNECT = do_POST  # noqa: N815

    def _send(self, response: Response) -> None:
        self.send_response(response.status)
        self.send_header("Content-Type", response.content_type)
        self.send_header("Content-Length", str(len(response.body)))
        for name, value in response.headers:
            self.send_header(name, value)
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(response.body)

    def _stream(self) -> None:
        """Send the stream of events where there is room for it."""
        if not self.server.free_streams.acquire(blocking=False):
            self._send(
                plain_text(HTTPStatus.SERVICE_UNAVAILABLE, "Too many pages are open. Close some.")
            )
            return
        try:
            self.server.stop_counting()
            self._send_events()
        finally:
            self.server.free_streams.release()

    def _send_events(self) -> None:
        """Send the name of the last build at once, and of each that follows (HTML standard,
        server-sent events).
        """
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream")
        self.end_headers()
        sent = ""
        while self.command == "GET" and (
            build := self.server.status.wait_for_next(sent, KEEP_ALIVE)
        ):
            if build.name == sent:
                self.wfile.write(b": still here\n\n")
            else:
                self.wfile.write(f"data: {build.name}\n\n".encode())
            sent = build.name

    def end_headers(self) -> None:
        """Add what every answer says."""
        for name, value in ALWAYS.items():
            self.send_header(name, value)
        super().end_headers()

    def version_string(self) -> str:
        """Name the program, and no versions."""
        return "reportgen"

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002
        """Leave the terminal to what was built."""


def listen(root: Path, status: BuildStatus, port: int | None) -> Server:
    """Return the server on a port, or on the usual one where `port` is None, a free one where that
    is taken.

    Raises PortTakenError where `port` cannot be had.
    """
    try:
        return Server(root, status, PORT if port is None else port)
    except OSError as error:
        if port is None:
            return Server(root, status, 0)
        raise PortTakenError(
            f"Port {port} cannot be had ({error.strerror}). Choose another, or none."
        ) from error
